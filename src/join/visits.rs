//! Which of several visits to a place is used.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Ground, Target, timing::Why};
use crate::{
    counts::Count,
    finding::{Finding, Findings, Place},
    names::{agreeing, number_of},
};

/// Records by place, as indices into the placed ones.
pub(super) type ByPlace = BTreeMap<Target, Vec<usize>>;

/// For every place, the records of its latest visit among those that are let in, by their indices
/// into the placed ones.
pub(super) fn latest(ground: &Ground<'_>, let_in: impl Fn(usize) -> bool) -> ByPlace {
    let placed = ground.placed;
    let mut by_place = all(ground, let_in);
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

/// For every place, its records among those that are let in.
pub(super) fn all(ground: &Ground<'_>, let_in: impl Fn(usize) -> bool) -> ByPlace {
    let mut by_place = ByPlace::new();
    for (at, record) in ground.placed.iter().enumerate().filter(|(at, _)| let_in(*at)) {
        by_place.entry(record.target).or_default().push(at);
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

/// True when the label says that the work was still to be done: `before`, `before thinning`.
pub(super) fn is_before_work(count: &Count) -> bool {
    visit(count).1.contains("before")
}

/// True when nothing since the record may have taken the shoots.
pub(super) fn still_holds(count: &Count, not_before: Option<Date>) -> bool {
    not_before.is_none_or(|frost| count.date.is_some_and(|date| date >= frost))
}

/// Says which counts of shoots are not used because of when they were made.
pub(super) fn tell(ground: &Ground<'_>, not_before: Option<Date>, findings: &mut Findings) {
    let of = |why: Option<Why>| -> Vec<&Count> {
        let records = ground.placed.iter().zip(&ground.timing);
        let counts = records.filter(|(_, own)| **own == why).map(|(record, _)| record.count);
        counts.filter(|count| count.shoots.is_some()).collect()
    };
    let what = |are: &str| format!("of shoots {are} of another season and {are} not used");
    let why = "they are more than 200 days older than the latest";
    push(findings, &of(Some(Why::OtherSeason)), what, why, "");
    let what = |are: &str| format!("of shoots {are} labelled as after the work and {are} not used");
    let why = "they tell what was left, not what was there";
    push(findings, &of(Some(Why::LabelledAfter)), what, why, "");
    let what = |are: &str| format!("of shoots made where work had been done {are} not used");
    let why = "a record with minutes, or one labelled `after`, of the same vines comes before them";
    let mend = "label them `after`, or `before` where nothing had been thinned";
    push(findings, &of(Some(Why::AfterKnownWork)), what, why, mend);
    let what =
        |are: &str| format!("of shoots {are} labelled as before the work and {are} no recount");
    let why = "a recount tells what was left";
    let mend = "pass them with --counts, or label them `after` if they were made after the work";
    push(findings, &of(Some(Why::LabelledBefore)), what, why, mend);
    if let Some(frost) = not_before {
        let what =
            |are: &str| format!("of shoots from before {frost}, or without a date, {are} not used");
        let why = "the frost of that day may have taken the shoots";
        let mend = "count again, and give each count its date";
        push(findings, &of(Some(Why::BeforeFrost)), what, why, mend);
    }
    tell_undated(&of(None), findings);
    tell_several(ground, findings);
}

/// Undated counts beside dated ones: nothing says which came first.
fn tell_undated(used: &[&Count], findings: &mut Findings) {
    let undated: Vec<&Count> = used.iter().copied().filter(|count| count.date.is_none()).collect();
    if undated.len() < used.len() {
        let what = |are: &str| format!("of shoots {are} without a date, and others have one");
        let why = "they are taken as of the same season, and as older where a place has both";
        push(findings, &undated, what, why, "give each count its date");
    }
}

fn tell_several(ground: &Ground<'_>, findings: &mut Findings) {
    let by_place = all(ground, |at| ground.tells_shoots(at));
    let several = by_place.values().filter(|records| {
        let mut visits = records.iter().map(|&at| visit(ground.placed[at].count));
        let first = visits.next();
        visits.any(|other| Some(other) != first)
    });
    let several = several.count();
    if several > 0 {
        let what = format!(
            "{} {} counted on several visits: the latest before the work is used",
            number_of(several, "place"),
            agreeing(several, "was", "were")
        );
        findings.push(Finding::note(Place::field("visit"), what));
    }
}

/// Tells counts with what they are, which agrees with their number.
fn push(
    findings: &mut Findings,
    counts: &[&Count],
    what: impl Fn(&str) -> String,
    why: &str,
    mend: &str,
) {
    let Some(first) = counts.first() else { return };
    let place = Place { line: None, ..first.place.clone() };
    let what = what(agreeing(counts.len(), "is", "are"));
    let finding = Finding::warning(place, format!("{} {what}", number_of(counts.len(), "count")));
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
