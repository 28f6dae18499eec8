//! What the grower's own zones explain, beside as many drawn ones.
//!
//! Both foretell the same held-out counts from the same kept ones: by the mean of the kept counts in
//! the zone. Drawn borders are drawn anew in each fold; the grower's stand, whatever was counted.

use std::collections::BTreeMap;

use super::{
    Stage,
    draw::why_flat,
    how_many::{errors_by_counts, held_out_errors},
    planting::Planting,
};
use crate::{names::number_of, settings::ZoneSettings};

/// What zones explain of the variance of held-out counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Score {
    /// The grower's own; below 0 where they foretell worse than one mean a planting.
    pub(super) given: f64,
    /// As many drawn ones; `None` where the counts allow no border.
    pub(super) drawn: Option<f64>,
    /// Zones without a count, foretold by their planting's mean.
    pub(super) without_counts: usize,
}

impl Score {
    pub(super) fn words(&self) -> String {
        let share = |share: f64| format!("{:.0} %", 100.0 * share);
        let given = if self.given > 0.0 {
            format!(
                "they explain {} of the variance of counts that were held out",
                share(self.given)
            )
        } else {
            "they foretell held-out counts no better than one mean a planting".to_owned()
        };
        let drawn = match self.drawn {
            Some(drawn) if drawn > 0.0 => {
                format!("; as many zones drawn from the counts would explain {}", share(drawn))
            }
            Some(_) => "; as many zones drawn from the counts would explain nothing".to_owned(),
            None => String::new(),
        };
        let empty = match self.without_counts {
            0 => String::new(),
            1 => "; 1 zone has no count and is foretold by its planting".to_owned(),
            n => format!(
                "; {} have no count and are foretold by their planting",
                number_of(n, "zone")
            ),
        };
        format!("{given}{drawn}{empty}")
    }
}

/// Scores groups of panels; `None` where no planting has enough counts with a map.
///
/// `groups` holds the panels of each zone by planting.
pub(super) fn score(
    stage: Stage<'_>,
    groups: &BTreeMap<usize, Vec<Vec<usize>>>,
    settings: &ZoneSettings,
) -> Option<Score> {
    // Panels are the parts whatever the grower's zones are made of.
    let settings = ZoneSettings { whole_rows: false, ..settings.clone() };
    let (mut given, mut drawn, mut one, mut without_counts) = (0.0, 0.0, 0.0, 0);
    for (&planting, zones) in groups {
        let panels: Vec<usize> = stage.panels_by_planting().remove(&planting)?;
        let Some(known) = Planting::new(stage, planting, &panels, &settings) else { continue };
        let zone_of: BTreeMap<usize, usize> = zones
            .iter()
            .enumerate()
            .flat_map(|(zone, panels)| panels.iter().map(move |&panel| (panel, zone)))
            .collect();
        let labels = known.labels_of(|panel| zone_of.get(&panel).copied().unwrap_or(0));
        without_counts += zones.len() - known.counted(&labels).len();
        let folds = known.folds();
        given += folds.iter().flat_map(|fold| errors_by_counts(fold, &labels)).sum::<f64>();
        let errors = held_out_errors(
            known.panels(),
            &folds,
            (zones.len(), settings.border_cost),
            errors_by_counts,
        );
        one += errors.first().map_or(0.0, |errors| errors.iter().sum());
        drawn += errors.last().map_or(0.0, |errors| errors.iter().sum());
    }
    let flat = why_flat(&stage.estimate.shoots).is_some();
    (one > 0.0).then(|| Score {
        given: 1.0 - given / one,
        drawn: (!flat).then(|| 1.0 - drawn / one),
        without_counts,
    })
}
