//! Findings as they are handed on: printable, not endless, doubts made faults when asked.

use std::collections::BTreeMap;

use crate::finding::{Finding, Findings, Place, Severity};

/// More findings of one severity in one file are counted, not handed on: the file is no table.
const MOST_TOLD: usize = 10_000;
/// Longer texts are cut: a cell may hold a megabyte.
const LONGEST_TEXT: usize = 400;

/// The findings of a reading, ready for a person, a terminal and a file.
pub(super) fn handed_on(findings: Findings, strict: bool) -> Findings {
    let mut told: BTreeMap<(Option<String>, Severity), usize> = BTreeMap::new();
    let mut kept = Findings::none();
    for finding in findings {
        let finding = printable(if strict { doubt_is_fault(finding) } else { finding });
        let count = told.entry((finding.place.file.clone(), finding.severity)).or_default();
        *count += 1;
        if *count <= MOST_TOLD {
            kept.push(finding);
        }
    }
    for ((file, severity), count) in told {
        if count > MOST_TOLD {
            kept.push(more(file, severity, count - MOST_TOLD));
        }
    }
    kept
}

fn more(file: Option<String>, severity: Severity, count: usize) -> Finding {
    let place = Place { file, ..Place::default() };
    let what = format!("{count} more like these are not listed");
    Finding { severity, ..Finding::note(place, what) }
}

fn doubt_is_fault(finding: Finding) -> Finding {
    match finding.severity {
        Severity::Warning => Finding { severity: Severity::Fault, ..finding },
        Severity::Note | Severity::Fault => finding,
    }
}

fn printable(finding: Finding) -> Finding {
    let place = Place {
        feature: finding.place.feature.map(|text| clean(&text)),
        field: finding.place.field.map(|text| clean(&text)),
        ..finding.place
    };
    Finding {
        severity: finding.severity,
        place,
        what: clean(&finding.what),
        why: clean(&finding.why),
        mend: clean(&finding.mend),
    }
}

/// Text without what could upset a terminal: control characters, overrides of direction.
fn clean(text: &str) -> String {
    let upsets = |c: &char| {
        c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let mut clean: String = text.chars().filter(|c| !upsets(c)).take(LONGEST_TEXT).collect();
    if text.chars().nth(LONGEST_TEXT).is_some() {
        clean.push('…');
    }
    clean
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(number: usize) -> Findings {
        (0..number).map(|_| Finding::fault(Place::file("a.csv"), "wrong")).collect()
    }

    #[test]
    fn findings_without_end_are_counted() {
        let told: Vec<Finding> = handed_on(faults(MOST_TOLD + 960), false).into_iter().collect();
        assert_eq!(told.len(), MOST_TOLD + 1);
        assert!(told[MOST_TOLD].what.starts_with("960 more"));
        assert_eq!(told[MOST_TOLD].severity, Severity::Fault);
        assert_eq!(handed_on(faults(MOST_TOLD), false).iter().count(), MOST_TOLD);
    }

    #[test]
    fn doubts_become_faults_only_when_asked() {
        let doubt = || Findings::from(Finding::warning(Place::default(), "odd"));
        assert!(!handed_on(doubt(), false).any_fault());
        assert!(handed_on(doubt(), true).any_fault());
    }

    #[test]
    fn texts_are_cut_and_cannot_write_to_a_terminal() {
        let text = format!("\u{1b}[31m\u{202e}{}", "x".repeat(1000));
        let told = handed_on(Finding::note(Place::default(), text).into(), false);
        let what = told.iter().next().unwrap().what.clone();
        assert!(what.starts_with("[31mxx"), "{what}");
        assert_eq!(what.chars().count(), LONGEST_TEXT + 1);
    }
}
