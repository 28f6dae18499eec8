//! Findings about many records, told without a flood: the first few of a kind, then how many more.

use std::collections::BTreeMap;

use super::Joined;
use crate::finding::{Finding, Findings, Place};

/// Findings of one kind that are told one by one.
const MOST_OF_A_KIND: usize = 8;

/// Findings gathered by kind.
#[derive(Default)]
pub(super) struct Told {
    kinds: BTreeMap<&'static str, Vec<Finding>>,
}

impl Told {
    /// Adds a finding of a kind; `kind` completes "… and 12 more records …".
    pub(super) fn push(&mut self, kind: &'static str, finding: Finding) {
        self.kinds.entry(kind).or_default().push(finding);
    }

    /// Tells kind by kind the first few, in the order found, and how many more there are.
    pub(super) fn tell(self, findings: &mut Findings) {
        for (kind, of_kind) in self.kinds {
            let more = of_kind.len().saturating_sub(MOST_OF_A_KIND);
            let severity = of_kind.first().map(|first| first.severity);
            for finding in of_kind.into_iter().take(MOST_OF_A_KIND) {
                findings.push(finding);
            }
            if let (1.., Some(severity)) = (more, severity) {
                let what = format!("and {more} more records {kind}");
                findings.push(Finding { severity, ..Finding::note(Place::default(), what) });
            }
        }
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

    #[test]
    fn many_of_a_kind_are_told_in_a_few_lines() {
        let mut told = Told::default();
        for _ in 0..500 {
            told.push("have no shoots", Finding::warning(Place::default(), "no shoots"));
        }
        let mut findings = Findings::none();
        told.tell(&mut findings);
        let last = findings.iter().last().unwrap();
        assert_eq!(findings.iter().count(), MOST_OF_A_KIND + 1);
        assert_eq!(last.to_string(), "and 492 more records have no shoots");
    }
}
