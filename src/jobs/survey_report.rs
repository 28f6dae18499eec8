//! What is told of a survey of rows, row by row.

use serde::Serialize;

use crate::layout::{Measured, Survey, UnevenRow};

/// What is told of surveyed rows.
#[derive(Debug, Clone, Serialize)]
pub struct SurveyReport {
    /// Surveyed rows.
    pub rows: usize,
    /// Least, mean and greatest distance from row to row, metres, for each number.
    pub gaps_m: Option<[f64; 3]>,
    /// The row spacing of the block, metres.
    pub row_spacing_m: f64,
    /// The median direction of the rows, degrees clockwise from true north.
    pub bearing_true_deg: f64,
    /// How far off a row must be to be told, metres.
    pub tolerance_m: f64,
    /// Rows that are off, by number; more than twenty with the worst first.
    pub uneven: Vec<UnevenRowReport>,
}

/// A row that is off, with the measures that are.
#[derive(Debug, Clone, Serialize)]
pub struct UnevenRowReport {
    /// Its number.
    pub row: u32,
    /// The next surveyed row, where the gap to it is off.
    pub next_row: Option<u32>,
    /// Metres to that row, and as the row spacing would have it.
    pub gap_m: Option<[f64; 2]>,
    /// Degrees from true north, and the median of the rows.
    pub bearing_true_deg: Option<[f64; 2]>,
    /// Metres from end to end, and the mean of the rows before and after.
    pub length_m: Option<[f64; 2]>,
    /// Metres from vine to vine by its number of vines, and the vine spacing.
    pub vine_spacing_m: Option<[f64; 2]>,
    /// How many times its tolerance the worst of these is off.
    pub times_tolerance: f64,
}

impl SurveyReport {
    /// What is told of a survey beside the row spacing.
    pub(super) fn of(survey: &Survey, row_spacing_m: f64) -> Self {
        Self {
            rows: survey.rows,
            gaps_m: survey.gaps.map(|gaps| gaps.map(crate::units::Metres::metres)),
            row_spacing_m,
            bearing_true_deg: survey.bearing.degrees(),
            tolerance_m: survey.tolerance.metres(),
            uneven: survey.uneven.iter().map(UnevenRowReport::from).collect(),
        }
    }
}

impl From<&UnevenRow> for UnevenRowReport {
    fn from(row: &UnevenRow) -> Self {
        let pair = |measured: Measured| [measured.is, measured.expected];
        Self {
            row: row.row,
            next_row: row.gap.map(|(next, _)| next),
            gap_m: row.gap.map(|(_, gap)| pair(gap)),
            bearing_true_deg: row.bearing.map(pair),
            length_m: row.length.map(pair),
            vine_spacing_m: row.vine_spacing.map(pair),
            times_tolerance: row.worst,
        }
    }
}
