//! The place of a record by the position of a receiver.
//!
//! A position chooses a row only when it is sure to a quarter of the row spacing; with the row
//! given it chooses the panel, and the vine only when it is sure to a quarter of the vine spacing.
//! Where two places are as near as each other within its accuracy, it chooses none.

use geo::{Distance, Euclidean, LineString, Point};

use super::{Target, places::Places};
use crate::{counts::Position, frame::RowPoint};

/// The place nearest to a position, or why it cannot be told.
pub(super) fn find(
    places: &Places<'_>,
    row: Option<u32>,
    position: Position,
) -> Result<Target, String> {
    let at = places.site.frame.to_row(position.at);
    let accuracy_m = position.accuracy.metres();
    let row = match row {
        Some(row) => given_row(places, row, at, accuracy_m)?,
        None => nearest_row(places, at, accuracy_m)?,
    };
    let vine_limit_m = places.site.rules.vine_spacing.metres() / 4.0;
    if accuracy_m < vine_limit_m {
        nearest_vine(places, row, at, accuracy_m)
    } else {
        nearest_panel(places, row, at, vine_limit_m)
    }
}

/// The given row, when the position does not lie on another one.
fn given_row(places: &Places<'_>, row: u32, at: RowPoint, accuracy_m: f64) -> Result<u32, String> {
    let spacing_m = places.site.rules.row_spacing.metres();
    let off_m = off_row(places, row, at)
        .ok_or_else(|| format!("row {row} is not in this block, or has no vines"))?;
    if off_m > spacing_m / 2.0 + accuracy_m {
        return Err(format!("the position lies {off_m:.1} m from row {row}, which it names"));
    }
    Ok(row)
}

fn nearest_row(places: &Places<'_>, at: RowPoint, accuracy_m: f64) -> Result<u32, String> {
    let spacing_m = places.site.rules.row_spacing.metres();
    if accuracy_m >= spacing_m / 4.0 {
        return Err(format!(
            "a position good to {accuracy_m} m does not tell rows {spacing_m:.2} m apart (it must \
             be under a quarter of that); give the row"
        ));
    }
    let mut rows: Vec<(f64, u32)> = places
        .layout
        .rows
        .iter()
        .filter_map(|row| off_row(places, row.number, at).map(|off_m| (off_m, row.number)))
        .collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let &(nearest_m, row) = rows.first().ok_or_else(|| "the block has no rows".to_owned())?;
    if nearest_m > spacing_m / 2.0 + accuracy_m {
        return Err(format!("the position lies {nearest_m:.1} m from the nearest row, {row}"));
    }
    match rows.get(1) {
        Some(&(next_m, next)) if next_m - nearest_m < accuracy_m => {
            Err(format!("the position lies as near to row {next} as to row {row}; give the row"))
        }
        _ => Ok(row),
    }
}

/// Metres from a row's own line, pieces only.
fn off_row(places: &Places<'_>, row: u32, at: RowPoint) -> Option<f64> {
    let rows = &places.layout.rows;
    let found = rows.binary_search_by_key(&row, |row| row.number).ok()?;
    let pieces = &places.layout.pieces[rows[found].pieces.clone()];
    pieces.iter().map(|piece| off_line(&piece.path, at)).min_by(f64::total_cmp)
}

fn nearest_vine(
    places: &Places<'_>,
    row: u32,
    at: RowPoint,
    accuracy_m: f64,
) -> Result<Target, String> {
    let vines = places.of_row(row).map(|vine| {
        let there = places.layout.vines[vine].at;
        let off_m = (there.along_m - at.along_m).hypot(there.across_m - at.across_m);
        (off_m, Target::Vine(vine))
    });
    chosen(vines.collect(), accuracy_m, "vine")
}

fn nearest_panel(
    places: &Places<'_>,
    row: u32,
    at: RowPoint,
    tie_m: f64,
) -> Result<Target, String> {
    let rows = &places.layout.rows;
    let found = rows.binary_search_by_key(&row, |row| row.number);
    let found = found.map_err(|_| format!("row {row} is not in this block"))?;
    let pieces = &places.layout.pieces[rows[found].pieces.clone()];
    let panels = pieces
        .iter()
        .flat_map(|piece| piece.panels.clone())
        .map(|panel| (off_line(&places.layout.panels[panel].path, at), Target::Panel(panel)));
    chosen(panels.collect(), tie_m, "panel")
}

/// The nearest, unless the next one is as near within `tie_m`.
fn chosen(mut all: Vec<(f64, Target)>, tie_m: f64, noun: &str) -> Result<Target, String> {
    all.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    match all[..] {
        [] => Err(format!("the row has no {noun}")),
        [(nearest_m, _), (next_m, _), ..] if next_m - nearest_m < tie_m => {
            Err(format!("the position lies as near to one {noun} as to the next; give its number"))
        }
        [(_, nearest), ..] => Ok(nearest),
    }
}

fn off_line(line: &LineString<f64>, at: RowPoint) -> f64 {
    Euclidean.distance(&Point::new(at.along_m, at.across_m), line)
}
