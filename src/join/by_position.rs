//! The place of a record by the position of a receiver.
//!
//! A position chooses a row only when it is sure to a quarter of the row spacing; with the row
//! given it chooses the panel, and the vine only when it is sure to a quarter of the vine spacing.
//! Where two places are as near as each other within its accuracy, it chooses none.

use geo::{Closest, ClosestPoint, Distance, Euclidean, LineString, Point};

use super::{Target, places::Places};
use crate::{counts::Position, frame::RowPoint, layout::Piece};

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
    // How far beside its row a position lies says nothing about where along it.
    let at = onto_row(places, row, at);
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
    let lines = pieces_of(places, row).iter().map(|piece| &piece.path);
    lines.map(|line| off_line(line, at)).min_by(f64::total_cmp)
}

/// The point of a row's own line that is nearest to a position.
fn onto_row(places: &Places<'_>, row: u32, at: RowPoint) -> RowPoint {
    let here = Point::new(at.along_m, at.across_m);
    let nearest = pieces_of(places, row)
        .iter()
        .filter_map(|piece| match piece.path.closest_point(&here) {
            Closest::Intersection(point) | Closest::SinglePoint(point) => Some(point),
            Closest::Indeterminate => None,
        })
        .min_by(|a, b| Euclidean.distance(here, *a).total_cmp(&Euclidean.distance(here, *b)));
    nearest.map_or(at, |point| RowPoint { along_m: point.x(), across_m: point.y() })
}

fn pieces_of<'a>(places: &Places<'a>, row: u32) -> &'a [Piece] {
    let layout = places.layout;
    let found = layout.rows.binary_search_by_key(&row, |row| row.number);
    found.map_or(&[], |at| &layout.pieces[layout.rows[at].pieces.clone()])
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
    let panels = pieces_of(places, row)
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

#[cfg(test)]
mod tests {
    use crate::join::{
        FoundBy,
        field::{Field, ROW_M, VINE_M, told},
    };

    /// Which vines a record at a place is about, or why none.
    fn found(
        row: Option<u32>,
        along_m: f64,
        across_m: f64,
        accuracy_m: f64,
    ) -> Result<Vec<usize>, String> {
        let field = Field::new();
        let mut count = field.at(along_m, across_m, accuracy_m);
        count.spot.row = row;
        let (joined, _) = field.join(&[count]);
        match joined.records.first() {
            Some(record) => {
                assert_eq!(record.how, FoundBy::Position);
                Ok(record.vines.clone())
            }
            None => Err(joined.unjoined[0].reason.clone()),
        }
    }

    #[track_caller]
    fn stays_out(found: Result<Vec<usize>, String>, words: &str) {
        let reason = found.unwrap_err();
        assert!(reason.contains(words), "{reason}");
    }

    #[test]
    fn a_sure_position_finds_the_vine() {
        assert_eq!(found(None, 0.6 + 2.0 * VINE_M + 0.1, ROW_M - 0.2, 0.05), Ok(vec![10]));
        assert_eq!(found(Some(2), 0.6, ROW_M, 0.29), Ok(vec![8]));
    }

    #[test]
    fn a_ruder_one_finds_the_panel_and_a_rude_one_needs_the_row() {
        assert_eq!(found(None, 6.0, 2.0 * ROW_M, 0.6), Ok(vec![20, 21, 22, 23]));
        stays_out(found(None, 6.0, ROW_M, 0.625), "does not tell rows 2.50 m apart");
        assert_eq!(found(Some(2), 6.0, ROW_M + 3.0, 5.0), Ok(vec![12, 13, 14, 15]));
        let field = Field::new();
        let mut count = field.at(6.0, ROW_M, 5.0);
        count.spot.row = Some(2);
        assert_eq!(told(&field.join(&[count]).1, "taken for the whole panel"), 1);
    }

    #[test]
    fn ties_and_places_elsewhere_are_not_guessed() {
        stays_out(found(None, 3.0, ROW_M / 2.0, 0.1), "as near to row");
        stays_out(found(Some(1), 0.6 + VINE_M / 2.0, 0.0, 0.1), "as near to one vine");
        stays_out(found(Some(1), 4.8, 0.0, 5.0), "as near to one panel");
        stays_out(found(None, 3.0, -40.0, 0.1), "40.0 m from the nearest row");
        stays_out(found(Some(1), 3.0, 2.0 * ROW_M, 0.5), "m from row 1, which it names");
        stays_out(found(Some(9), 3.0, 0.0, 0.1), "row 9 is not in this block");
        stays_out(found(Some(1), 90.0, 0.0, 0.1), "from row 1");
    }

    #[test]
    fn a_wrong_name_leaves_the_position_to_say_the_vine_or_nothing() {
        let field = Field::new();
        let mut count = field.at(0.6, 0.0, 0.1);
        count.spot.id = Some("R009V001".to_owned());
        let (joined, findings) = field.join(&[count.clone()]);
        assert_eq!(joined.records[0].vines, [0]);
        assert_eq!(told(&findings, "row 9 is not in this block"), 1);
        let mut rude = field.at(0.6, 0.0, 0.5);
        rude.spot.id = count.spot.id;
        assert_eq!(field.join(&[rude]).0.unjoined.len(), 1);
    }
}
