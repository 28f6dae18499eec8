//! What spreadsheets do to a table: dates made of ids, decimal commas.

use super::{dates::without_time, table::Table};
use crate::finding::{Finding, Findings, Place};

/// True for what a spreadsheet makes of an id: `12-Mar`, `2026-03-12`, `3/12/2026`, `1.2E+05`.
pub(super) fn is_made_by_a_spreadsheet(id: &str) -> bool {
    const MONTHS: &[&str] =
        &["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    let lower = without_time(id).0.to_lowercase();
    let parts: Vec<&str> = lower.split(['-', '/', '.', ' ']).collect();
    let numeric = |part: &&str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
    let dated = parts.len() == 3 && parts.iter().all(numeric);
    let month = (parts.len() == 2 || parts.len() == 3)
        && parts.iter().any(numeric)
        && parts.iter().any(|part| MONTHS.contains(part));
    let scientific = lower.contains("e+") && lower.starts_with(|c: char| c.is_ascii_digit());
    dated || month || scientific
}

/// Tells once a file that decimal commas were understood.
pub(super) fn tell_decimal_commas(table: &Table, file: &Place, findings: &mut Findings) {
    let is_decimal_comma = |cell: &String| {
        cell.split_once(',').is_some_and(|(whole, rest)| {
            let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
            digits(whole.trim().trim_start_matches('-')) && digits(rest.trim())
        })
    };
    if table.rows.iter().any(|row| row.cells.iter().any(is_decimal_comma)) {
        findings.push(Finding::note(file.clone(), "decimal commas are read as decimal points"));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_that_became_dates_or_numbers_are_known() {
        for spoiled in [
            "12-Mar",
            "mar-12",
            "2026-03-12",
            "2026-03-12T00:00:00",
            "2026-03-12 14:24",
            "3/12/2026",
            "1.2E+05",
            "1E+12",
        ] {
            assert!(is_made_by_a_spreadsheet(spoiled), "{spoiled}");
        }
        for sound in ["R012V034", "r1v2", "12-34", "3.4", "Mary-Ann", "R012P07", "north-3"] {
            assert!(!is_made_by_a_spreadsheet(sound), "{sound}");
        }
    }
}
