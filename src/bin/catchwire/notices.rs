//! What was noticed, as lines for a person: the few one by one, the many by their kind.
//!
//! Findings of one kind say the same of the same column of a file. Where there are more than fit,
//! each kind tells its first and how many more there are, so that five hundred wrong dates do not
//! hide the one wrong weight. `--json` lists all of them.

use std::{collections::BTreeMap, fmt::Write as _};

use catchwire::{finding::Place, jobs::report::FindingReport, names::number_of};

/// Most findings told one by one.
const MOST_FINDINGS: usize = 20;
/// Notes of one kind that are told one by one where there are more than one beyond: nothing is wrong.
const NOTES_OF_A_KIND: usize = 3;

/// Findings of one kind, in the order found.
struct Kind<'a>(Vec<&'a FindingReport>);

/// The lines of all findings; of the notes too unless they are unwanted.
pub(crate) fn findings_text(found: &[FindingReport], quiet: bool) -> String {
    let told: Vec<&FindingReport> =
        found.iter().filter(|finding| !(quiet && finding.severity == "note")).collect();
    let kinds = kinds_of(&told);
    let all_fit = kinds.iter().map(|kind| kind.most(MOST_FINDINGS)).sum::<usize>() == told.len();
    let mut text = String::new();
    if told.len() <= MOST_FINDINGS && all_fit {
        for finding in &told {
            let _ = writeln!(text, "{}", finding_line(finding));
        }
        return text;
    }
    let number = kinds.len();
    let kinds = gravest(kinds);
    let each = share(&kinds);
    for kind in &kinds {
        kind.tell(each, &mut text);
    }
    if number > kinds.len() {
        let kinds = number_of(number - kinds.len(), "kind");
        let _ = writeln!(text, "… and {kinds} of message more");
    }
    let listed: usize = kinds.iter().map(|kind| kind.most(each)).sum();
    let _ = writeln!(text, "… and {} more; `--json` lists them all", told.len() - listed);
    text
}

/// By kind, in the order in which the first of each was found.
fn kinds_of<'a>(told: &[&'a FindingReport]) -> Vec<Kind<'a>> {
    let mut index = BTreeMap::new();
    let mut kinds: Vec<Kind<'a>> = Vec::new();
    for &finding in told {
        let Place { file, field, .. } = &finding.at;
        let key = (finding.severity, file, field, shape(&finding.what));
        let at = *index.entry(key).or_insert(kinds.len());
        match kinds.get_mut(at) {
            Some(kind) => kind.0.push(finding),
            None => kinds.push(Kind(vec![finding])),
        }
    }
    kinds
}

/// What a sentence says without the values in it: numbers, and what stands in backticks.
fn shape(what: &str) -> String {
    let outside = what.split('`').step_by(2);
    let mut shape = String::new();
    for letter in outside.flat_map(|part| part.chars().chain(['`'])) {
        let digit = letter.is_ascii_digit() || (letter == '.' && shape.ends_with('0'));
        if !digit {
            shape.push(letter);
        } else if !shape.ends_with('0') {
            shape.push('0');
        }
    }
    shape
}

/// As many kinds as can be told, faults before warnings before notes; they stay in their order.
fn gravest(mut kinds: Vec<Kind<'_>>) -> Vec<Kind<'_>> {
    for severity in ["note", "warning", "fault"] {
        while kinds.len() > MOST_FINDINGS
            && let Some(last) = kinds.iter().rposition(|kind| kind.0[0].severity == severity)
        {
            kinds.remove(last);
        }
    }
    kinds
}

/// How many of each kind are told one by one: as many as fit in all, at least one.
fn share(kinds: &[Kind<'_>]) -> usize {
    let in_all = |each: usize| kinds.iter().map(|kind| kind.most(each)).sum::<usize>();
    (1..=MOST_FINDINGS).rev().find(|&each| in_all(each) <= MOST_FINDINGS).unwrap_or(1)
}

impl Kind<'_> {
    /// How many of them are told one by one where each kind may tell so many.
    fn most(&self, each: usize) -> usize {
        let number = self.0.len();
        let notes = self.0.first().is_some_and(|first| first.severity == "note");
        let most = if notes && number > NOTES_OF_A_KIND + 1 { NOTES_OF_A_KIND } else { number };
        most.min(each)
    }

    /// The first of them one by one, then how many more there are and on which lines.
    fn tell(&self, each: usize, text: &mut String) {
        let each = self.most(each);
        for finding in self.0.iter().take(each) {
            let _ = writeln!(text, "{}", finding_line(finding));
        }
        let Some(rest) = self.0.get(each..).filter(|rest| !rest.is_empty()) else { return };
        let place = Place { line: None, feature: lines(rest), ..rest[0].at.clone() }.to_string();
        let place = if place.is_empty() { place } else { format!("{place}: ") };
        let _ = writeln!(text, "{}: {place}{} more like these", rest[0].severity, rest.len());
    }
}

/// `line 7`, `lines 22 to 501`: between these, where they are known.
fn lines(of: &[&FindingReport]) -> Option<String> {
    let lines = || of.iter().filter_map(|finding| finding.at.line);
    let (first, last) = lines().min().zip(lines().max())?;
    Some(if first == last { format!("line {first}") } else { format!("lines {first} to {last}") })
}

fn finding_line(finding: &FindingReport) -> String {
    let severity = finding.severity;
    let place =
        if finding.place.is_empty() { String::new() } else { format!("{}: ", finding.place) };
    let why = if finding.why.is_empty() { String::new() } else { format!(" ({})", finding.why) };
    let mend = if finding.mend.is_empty() { String::new() } else { format!("; {}", finding.mend) };
    format!("{severity}: {place}{}{why}{mend}", finding.what)
}

#[cfg(test)]
mod tests {
    use catchwire::finding::Finding;

    use super::*;

    fn faults(column: &str, number: u64) -> Vec<FindingReport> {
        let place = Place::file("a.csv").at_field(column);
        let fault = |line: u64| {
            Finding::fault(place.at_line(line), format!("`v{line}` is no date, {line}.5"))
        };
        (2..2 + number).map(|line| FindingReport::from(&fault(line))).collect()
    }

    #[test]
    fn many_of_one_kind_are_twenty_and_a_number_with_their_lines() {
        let text = findings_text(&faults("date", 500), false);
        assert_eq!(text.lines().count(), MOST_FINDINGS + 2, "{text}");
        assert!(
            text.contains("fault: a.csv, lines 22 to 501, `date`: 480 more like these"),
            "{text}"
        );
        assert!(text.ends_with("… and 480 more; `--json` lists them all\n"), "{text}");
        let few = findings_text(&faults("date", 20), false);
        assert_eq!((few.lines().count(), few.contains("more")), (20, false), "{few}");
    }

    #[test]
    fn many_of_one_kind_do_not_hide_another() {
        let mut all = faults("date", 300);
        all.extend(faults("shoots", 1));
        all.extend(faults("vine", 200));
        let text = findings_text(&all, false);
        assert!(text.contains("line 2, `shoots`"), "{text}");
        let told = |column: &str| text.matches(&format!("`{column}`: `v")).count();
        assert_eq!([told("date"), told("shoots"), told("vine")], [9, 1, 9], "{text}");
    }

    #[test]
    fn notes_of_one_kind_are_three_and_a_number() {
        let note =
            |line: u64| Finding::note(Place::file("a.csv").at_line(line), format!("V{line}"));
        let notes = |number: u64| -> String {
            let notes: Vec<FindingReport> =
                (2..2 + number).map(|line| FindingReport::from(&note(line))).collect();
            findings_text(&notes, false)
        };
        assert_eq!(notes(4).lines().count(), 4);
        let many = notes(9);
        assert!(many.contains("note: a.csv, lines 5 to 10: 6 more like these"), "{many}");
        assert_eq!(many.lines().count(), 5, "{many}");
    }

    #[test]
    fn of_many_kinds_the_faults_are_told() {
        let note = |at: u8| Finding::note(Place::field(format!("n{at}")), "odd");
        let mut all: Vec<FindingReport> =
            (0..30).map(|at| FindingReport::from(&note(at))).collect();
        all.extend(faults("date", 1));
        let text = findings_text(&all, false);
        assert!(text.contains("fault: a.csv, line 2"), "{text}");
        assert!(text.contains("… and 11 kinds of message more"), "{text}");
        assert!(findings_text(&all, true).starts_with("fault: "), "notes are unwanted");
    }
}
