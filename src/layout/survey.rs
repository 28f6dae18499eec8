//! How even surveyed rows are: which of them stand out, and by how much.
//!
//! A row is held against the block's own spacings and against the other rows. Every measure has a
//! tolerance, and a row that exceeds one of them is told.
//!
//! | measure | held against | told from |
//! | --- | --- | --- |
//! | gap to the next surveyed row, mean across | the row spacing, for each number | the tolerance, for each number |
//! | direction, end to end | the median of the surveyed rows | ends the tolerance off that line |
//! | length | the rows before and after; for the first and last row, how the two beside go on | a vine spacing beyond both |
//! | distance between `vines` places | the vine spacing | two vines more or fewer than fit |

use super::planned::mean_across;
use crate::{
    frame::{Site, StandingRow},
    maths::float,
    settings::RowRules,
    units::{Degrees, Metres},
};

/// A number of vines that differs by more than this from what the spacing allows is told.
const VINES_OFF: f64 = 1.5;

/// Up to so many uneven rows stay in the order of their numbers.
const MOST_IN_ORDER: usize = 20;

/// What a survey of rows says about itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Surveyed rows, pieces of one row taken together.
    pub rows: usize,
    /// Least, mean and greatest distance from a row to the next, for each row number; none with
    /// fewer than two rows.
    pub gaps: Option<[Metres; 3]>,
    /// The median direction of the rows, clockwise from true north.
    pub bearing: Degrees,
    /// How far off a row must be to be told.
    pub tolerance: Metres,
    /// Rows that stand out, by number; when they are many, the worst first.
    pub uneven: Vec<UnevenRow>,
}

/// A surveyed row that stands out.
#[derive(Debug, Clone, PartialEq)]
pub struct UnevenRow {
    /// Its number.
    pub row: u32,
    /// The next surveyed row and how far away it is; where that is off.
    pub gap: Option<(u32, Measured)>,
    /// Degrees from true north; where the row is askew.
    pub bearing: Option<Measured>,
    /// Metres from end post to end post; where that differs from the rows beside it.
    pub length: Option<Measured>,
    /// Metres between its vines, as its number of vines implies; where that is off.
    pub vine_spacing: Option<Measured>,
    /// How many times its tolerance the worst of these is off.
    pub worst: f64,
}

/// A measure beside what was expected, in the same unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// As surveyed.
    pub is: f64,
    /// As the block or the other rows have it.
    pub expected: f64,
}

/// Holds the surveyed rows of a block against its spacings and against each other; `None` where no
/// row was surveyed.
pub fn survey(site: &Site, tolerance: Metres) -> Option<Survey> {
    let rows = lines_of(&site.standing_rows, &site.rules);
    let median = median(rows.iter().map(|row| row.turn.degrees()))?;
    let gaps: Vec<f64> = rows.windows(2).map(|pair| pair[0].gap_to(&pair[1])).collect();
    let held = Held { rows: &rows, rules: &site.rules, median, tolerance_m: tolerance.metres() };
    let bearing = site.frame.bearing().true_north.degrees();
    let towards = if held.rules.rows_to == crate::block::RowsTo::Right { 1.0 } else { -1.0 };
    let true_north = |turn: f64| Degrees::new(bearing + towards * turn).normalised().degrees();
    let mut uneven: Vec<UnevenRow> = (0..rows.len()).filter_map(|at| held.row(at)).collect();
    for measured in uneven.iter_mut().filter_map(|row| row.bearing.as_mut()) {
        let off = measured.is - measured.expected;
        measured.expected = true_north(measured.expected);
        // Both on the same side of north, so that their difference can be read.
        measured.is = measured.expected + towards * off;
    }
    if uneven.len() > MOST_IN_ORDER {
        uneven.sort_by(|a, b| b.worst.total_cmp(&a.worst).then(a.row.cmp(&b.row)));
    }
    let gaps = least_mean_greatest(&gaps);
    Some(Survey {
        rows: rows.len(),
        gaps: gaps.map(|gaps| gaps.map(Metres::new)),
        bearing: Degrees::new(true_north(median)),
        tolerance,
        uneven,
    })
}

/// A surveyed row as one line, its pieces taken together.
struct Line {
    number: u32,
    across_m: f64,
    /// From the axis of the rows.
    turn: Degrees,
    extent_m: f64,
    length_m: f64,
    /// Places said, and metres from the first to the last of them if they stand as surveyed.
    said: Option<(f64, f64)>,
}

impl Line {
    fn gap_to(&self, next: &Self) -> f64 {
        (next.across_m - self.across_m).abs() / steps(self, next)
    }
}

fn steps(one: &Line, next: &Line) -> f64 {
    f64::from(next.number) - f64::from(one.number)
}

/// By rising number, as the site has them.
fn lines_of(rows: &[StandingRow], rules: &RowRules) -> Vec<Line> {
    let pieces = rows.chunk_by(|one, next| one.number == next.number);
    pieces.filter_map(|pieces| line_of(pieces, rules)).collect()
}

fn line_of(pieces: &[StandingRow], rules: &RowRules) -> Option<Line> {
    let first = pieces.first()?.path.0.first()?;
    let last = pieces.last()?.path.0.last()?;
    let lengths: Vec<f64> = pieces.iter().map(length).collect();
    let length_m: f64 = lengths.iter().sum();
    let across = pieces.iter().zip(&lengths).map(|(piece, m)| m * mean_across(&piece.path));
    let across: f64 = across.sum();
    let alone = pieces.len() == 1;
    let said = pieces[0].vines.filter(|_| alone).map(|vines| {
        let end_gap = pieces[0].end_gap.unwrap_or(rules.end_gap).metres();
        (f64::from(vines), length_m - 2.0 * end_gap)
    });
    (length_m > 0.0).then(|| Line {
        number: pieces[0].number,
        across_m: across / length_m,
        turn: Degrees::from_radians((last.y - first.y).atan2(last.x - first.x)),
        extent_m: (last.x - first.x).hypot(last.y - first.y),
        length_m,
        said,
    })
}

fn length(row: &StandingRow) -> f64 {
    row.path.lines().map(|line| super::strand::length(line.start, line.end)).sum()
}

fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    Some(values.get(half)?.midpoint(values[(values.len() - 1) / 2]))
}

fn least_mean_greatest(values: &[f64]) -> Option<[f64; 3]> {
    let least = values.iter().copied().min_by(f64::total_cmp)?;
    let greatest = values.iter().copied().max_by(f64::total_cmp)?;
    Some([least, values.iter().sum::<f64>() / float(values.len()), greatest])
}

/// What the rows are held against.
struct Held<'a> {
    rows: &'a [Line],
    rules: &'a RowRules,
    /// Degrees from the axis of the rows.
    median: f64,
    tolerance_m: f64,
}

impl Held<'_> {
    /// The row if it stands out.
    fn row(&self, at: usize) -> Option<UnevenRow> {
        let (gap, bearing, length, vines) =
            (self.gap(at), self.bearing(at), self.length(at), self.vine_spacing(at));
        let all = [gap.map(|gap| gap.2), Some(bearing.1), length.map(|l| l.1)];
        let worst = all.into_iter().chain([vines.map(|v| v.1)]).flatten();
        let worst = worst.max_by(f64::total_cmp)?;
        (worst > 1.0).then(|| UnevenRow {
            row: self.rows[at].number,
            gap: gap.filter(|gap| gap.2 > 1.0).map(|gap| (gap.0, gap.1)),
            bearing: off(Some(bearing)),
            length: off(length),
            vine_spacing: off(vines),
            worst,
        })
    }

    fn gap(&self, at: usize) -> Option<(u32, Measured, f64)> {
        let (row, next) = (&self.rows[at], self.rows.get(at + 1)?);
        let steps = steps(row, next);
        let expected = steps * self.rules.row_spacing.metres();
        let is = next.across_m - row.across_m;
        let off = (is - expected).abs() / (steps * self.tolerance_m);
        Some((next.number, Measured { is, expected }, off))
    }

    fn bearing(&self, at: usize) -> (Measured, f64) {
        let row = &self.rows[at];
        let is = row.turn.degrees();
        let turn = Degrees::new(is - self.median).radians();
        let off = (turn.sin() * row.extent_m / 2.0).abs() / self.tolerance_m;
        (Measured { is, expected: self.median }, off)
    }

    fn length(&self, at: usize) -> Option<(Measured, f64)> {
        let length = |at: usize| self.rows.get(at).map(|row| row.length_m);
        let is = length(at)?;
        let before = at.checked_sub(1).and_then(length);
        let (low, high) = match (before, length(at + 1)) {
            (Some(before), Some(after)) => (before.min(after), before.max(after)),
            // The first and the last row: as the two beside it go on.
            (Some(one), None) => alike(2.0 * one - length(at.checked_sub(2)?)?),
            (None, Some(one)) => alike(2.0 * one - length(at + 2)?),
            (None, None) => return None,
        };
        let off = (low - is).max(is - high).max(0.0) / self.rules.vine_spacing.metres();
        Some((Measured { is, expected: low.midpoint(high) }, off))
    }

    fn vine_spacing(&self, at: usize) -> Option<(Measured, f64)> {
        let (vines, room) = self.rows[at].said?;
        let expected = self.rules.vine_spacing.metres();
        let off = (vines - 1.0 - room / expected).abs() / VINES_OFF;
        Some((Measured { is: room / (vines - 1.0).max(1.0), expected }, off))
    }
}

const fn alike(length: f64) -> (f64, f64) {
    (length, length)
}

fn off(measured: Option<(Measured, f64)>) -> Option<Measured> {
    measured.filter(|(_, off)| *off > 1.0).map(|(measured, _)| measured)
}
