//! Row-lines that share a number: pieces of one row follow each other along it.

use std::collections::BTreeMap;

use geo::LineString;

use crate::{
    block::RowLine,
    finding::{Finding, Findings},
    units::Metres,
};

/// Pieces of one row that overlap by more than this share of a vine spacing are no pieces.
const OVERLAP_SHARE: f64 = 0.5;

/// Refuses lines of one number that lie beside each other: the row is drawn twice, or one of them
/// has the number of another row.
pub(super) fn drawn_twice<'b>(
    rows: impl IntoIterator<Item = (u32, &'b RowLine, &'b LineString<f64>)>,
    vine_spacing: Metres,
) -> Findings {
    let mut by_number: BTreeMap<u32, Vec<(f64, f64, &RowLine)>> = BTreeMap::new();
    for (number, line, path) in rows {
        let along = || path.coords().map(|point| point.x);
        let low = along().fold(f64::MAX, f64::min);
        let high = along().fold(f64::MIN, f64::max);
        by_number.entry(number).or_default().push((low, high, line));
    }
    let mut findings = Findings::none();
    for (number, mut pieces) in by_number {
        pieces.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut reached = f64::MIN;
        for (low, high, line) in pieces {
            let beside_m = reached.min(high) - low;
            if beside_m > OVERLAP_SHARE * vine_spacing.metres() {
                findings.push(told(number, line, beside_m));
            }
            reached = reached.max(high);
        }
    }
    findings
}

fn told(number: u32, line: &RowLine, beside_m: f64) -> Finding {
    let what =
        format!("row {number} is drawn twice: two lines lie beside each other for {beside_m:.1} m");
    Finding::fault(line.place.at_field("row"), what)
        .because("lines with one number are pieces of one row, and follow each other along it")
        .mend("give each row its own number, or remove one of the two lines")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Metres for which pieces of one row lie beside each other, as told.
    fn beside(pieces: &[(f64, f64)]) -> Vec<String> {
        let paths: Vec<LineString<f64>> =
            pieces.iter().map(|(low, high)| vec![(*low, 0.0), (*high, 0.0)].into()).collect();
        let drawn: Vec<RowLine> = paths
            .iter()
            .map(|path| RowLine {
                line: path.clone(),
                row: Some(1),
                vines: None,
                skipped: std::collections::BTreeSet::new(),
                end_gap: None,
                place: crate::finding::Place::default(),
            })
            .collect();
        let rows = drawn.iter().zip(&paths).map(|(line, path)| (1, line, path));
        let findings = drawn_twice(rows, Metres::new(2.0));
        findings
            .iter()
            .filter_map(|finding| Some(finding.what.split_once(" for ")?.1.to_owned()))
            .collect()
    }

    #[test]
    fn a_piece_is_held_against_all_before_it() {
        assert_eq!(beside(&[(0.0, 100.0), (10.0, 10.3), (30.0, 60.0)]), ["30.0 m"]);
        assert_eq!(beside(&[(30.0, 60.0), (0.0, 40.0)]), ["10.0 m"]);
        assert_eq!(beside(&[(60.0, 90.0), (0.0, 20.0), (19.5, 60.9)]), [""; 0]);
    }
}
