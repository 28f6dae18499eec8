//! Findings about many records, gathered by kind: whoever prints them can tell many as one.

use std::collections::BTreeMap;

use super::Joined;
use crate::finding::{Finding, Findings};

/// Findings gathered by kind.
#[derive(Default)]
pub(super) struct Told {
    kinds: BTreeMap<&'static str, Vec<Finding>>,
}

impl Told {
    /// Adds a finding of a kind.
    pub(super) fn push(&mut self, kind: &'static str, finding: Finding) {
        self.kinds.entry(kind).or_default().push(finding);
    }

    /// Tells them kind by kind, each in the order found.
    pub(super) fn tell(self, findings: &mut Findings) {
        findings.extend(self.kinds.into_values().flatten().collect());
    }
}

/// Says so when there were records and none of them found a place.
pub(super) fn nothing_joined(joined: &Joined, findings: &mut Findings) {
    let Some(first) = joined.unjoined.first() else { return };
    if joined.records.is_empty() {
        let what = format!(
            "none of {} found its place",
            crate::names::number_of(joined.unjoined.len(), "record")
        );
        let warning = Finding::warning(first.count.place.clone(), what)
            .because(format!("the first: {}", first.reason))
            .mend("check that the counts belong to this block and its numbering");
        findings.push(warning);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::Place;

    #[test]
    fn findings_of_a_kind_stand_together_and_none_is_lost() {
        let mut told = Told::default();
        for at in 0..500 {
            let place = Place::default().at_line(at);
            told.push("have no shoots", Finding::warning(place.clone(), "no shoots"));
            told.push("have no canopy", Finding::warning(place, "no canopy"));
        }
        let mut findings = Findings::none();
        told.tell(&mut findings);
        assert_eq!(findings.iter().count(), 1000);
        let whats: Vec<&str> = findings.iter().map(|finding| finding.what.as_str()).collect();
        assert_eq!([whats[0], whats[499], whats[500]], ["no canopy", "no canopy", "no shoots"]);
    }
}
