//! Which of several visits to a place is used.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Placed, Target};
use crate::{
    counts::Count,
    finding::{Finding, Findings, Place},
};

/// Records by place, as indices into the placed ones.
pub(super) type ByPlace = BTreeMap<Target, Vec<usize>>;

/// For every place, the records of its latest visit among those that are let in.
pub(super) fn latest(placed: &[Placed<'_>], let_in: impl Fn(&Count) -> bool) -> ByPlace {
    let mut by_place = ByPlace::new();
    for (at, record) in placed.iter().enumerate().filter(|(_, record)| let_in(record.count)) {
        by_place.entry(record.target).or_default().push(at);
    }
    for records in by_place.values_mut() {
        let latest = records
            .iter()
            .map(|&at| (placed[at].count.date, at))
            .max()
            .map(|(_, at)| visit(placed[at].count));
        records.retain(|&at| Some(visit(placed[at].count)) == latest);
    }
    by_place
}

/// A visit: its date and its label.
pub(super) fn visit(count: &Count) -> (Option<Date>, String) {
    (count.date, count.visit.as_deref().unwrap_or_default().trim().to_lowercase())
}

/// True when the label says that the work was done: `after`, `after thinning`, `recount`; but not
/// `after frost` or `afternoon`.
pub(super) fn is_after_work(count: &Count) -> bool {
    let (_, label) = visit(count);
    let words: Vec<&str> =
        label.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let of_work = |word: &str| {
        ["after", "the", "work", "crew", "pass"].contains(&word)
            || word.starts_with("thin")
            || word.bytes().all(|b| b.is_ascii_digit())
    };
    label.contains("recount")
        || (words.contains(&"after") && words.iter().all(|word| of_work(word)))
}

/// True when nothing since the record may have taken the shoots.
pub(super) fn still_holds(count: &Count, not_before: Option<Date>) -> bool {
    not_before.is_none_or(|frost| count.date.is_some_and(|date| date >= frost))
}

/// Says which counts of shoots are not used because of when they were made.
pub(super) fn tell(placed: &[Placed<'_>], not_before: Option<Date>, findings: &mut Findings) {
    let counts: Vec<&Count> =
        placed.iter().map(|record| record.count).filter(|count| count.shoots.is_some()).collect();
    let after: Vec<&Count> = counts.iter().copied().filter(|count| is_after_work(count)).collect();
    let what = "of shoots are labelled as after the work and are not used";
    push(findings, &after, what, "they tell what was left, not what was there", "");
    if let Some(frost) = not_before {
        let old: Vec<&Count> =
            counts.iter().copied().filter(|count| !still_holds(count, not_before)).collect();
        let what = format!("of shoots are from before {frost} or have no date, and are not used");
        let why = "the frost of that day may have taken the shoots";
        push(findings, &old, &what, why, "count again, and give each count its date");
    }
    tell_several(placed, not_before, findings);
}

fn tell_several(placed: &[Placed<'_>], not_before: Option<Date>, findings: &mut Findings) {
    let mut visits: BTreeMap<Target, Vec<(Option<Date>, String)>> = BTreeMap::new();
    let used = |count: &Count| {
        count.shoots.is_some() && !is_after_work(count) && still_holds(count, not_before)
    };
    for record in placed.iter().filter(|record| used(record.count)) {
        let of_place = visits.entry(record.target).or_default();
        let visit = visit(record.count);
        if !of_place.contains(&visit) {
            of_place.push(visit);
        }
    }
    let several = visits.values().filter(|of_place| of_place.len() > 1).count();
    if several > 0 {
        let what = format!(
            "{several} places were counted on several visits: the latest before the work is used"
        );
        findings.push(Finding::note(Place::field("visit"), what));
    }
}

fn push(findings: &mut Findings, counts: &[&Count], what: &str, why: &str, mend: &str) {
    let Some(first) = counts.first() else { return };
    let place = Place { line: None, ..first.place.clone() };
    let finding = Finding::warning(place, format!("{} counts {what}", counts.len()));
    findings.push(finding.because(why).mend(mend));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_labels_of_the_work_are_after_it() {
        let is_after = |label: &str| {
            is_after_work(&Count { visit: Some(label.to_owned()), ..Count::default() })
        };
        for label in ["after", "After thinning", "after-2", "recount", "2nd recount"] {
            assert!(is_after(label), "{label}");
        }
        for label in ["", "before", "after frost", "afternoon", "thinning", "1"] {
            assert!(!is_after(label), "{label}");
        }
    }
}
