//! What is printed elsewhere and used by its name: numbers that no settings file changes.

use super::{crop_load::published_bands, size::published_limits};
use crate::{block::VineType, settings::BudRule};

impl BudRule {
    /// Its bands, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Cornell => {
                "under 20 % dead as usual; to 80 % as many more nodes, in percent; above, minimal pruning"
            }
            Self::Purdue => {
                "to 15 % dead as usual; to 35 % 35 % more nodes; to 50 % 50 % more; above, minimal pruning"
            }
            Self::Michigan => {
                "to 15 % dead as usual; to 50 % nodes / share that lives; above, minimal pruning"
            }
            Self::Survival => "nodes / share that lives",
        }
    }
}

/// Every published rule with its numbers, unit and source, a line each.
pub fn published_rules() -> Vec<String> {
    let rules = BudRule::ALL.into_iter().map(|rule| {
        format!("dead buds, {}: {}; source: {}", rule.word(), rule.words(), rule.source())
    });
    let limits = [1, 2].into_iter().flat_map(|curtains| {
        published_limits(curtains).map(|limits| {
            format!(
                "prunings of a balanced vine, {curtains} curtains: {:.2} to {:.2} kg a metre of canopy; \
                 source: {}",
                limits.low.per_metre(),
                limits.high.per_metre(),
                limits.source
            )
        })
    });
    let kinds = [(None, 1), (None, 2), (Some(VineType::Hybrid), 1)];
    let bands = kinds.into_iter().flat_map(|(kind, curtains)| {
        published_bands(kind, curtains).into_iter().map(move |band| {
            let (low, high) = (band.low, band.high);
            format!(
                "crop load, {curtains} curtains: {low} to {high} kg of crop a kg of prunings; source: {}",
                band.source
            )
        })
    });
    let mut lines: Vec<String> = Vec::new();
    for line in rules.chain(limits).chain(bands) {
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_has_its_numbers_and_source_once() {
        let lines = published_rules();
        assert!(lines.len() >= 12, "{lines:#?}");
        assert!(lines.iter().all(|line| line.contains("source: ")));
        for said in ["0.30 to 0.60 kg", "0.50 to 1.00 kg", "4 to 15 kg", "5 to 10 kg", "80 %"] {
            assert!(lines.iter().any(|line| line.contains(said)), "{said}: {lines:#?}");
        }
    }
}
