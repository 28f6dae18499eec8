//! `bearings.csv`: what every candidate bearing gives.

use super::property::Properties;
use crate::{
    layout::compare::{Candidate, Comparison, RowSlopes, SunOnRows},
    units::{Degrees, METRES_PER_FOOT, ReadingUnits},
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Table, Value,
    },
};

/// Decimals of a length.
const LENGTH: u8 = 3;

/// One line a candidate by rising axis; with columns in feet beside those in metres where people
/// read feet.
pub fn bearings_table(comparison: &Comparison, units: ReadingUnits) -> Table {
    let properties = properties();
    let facts = |candidate| properties.values(&Facts { comparison, candidate });
    let table = Table {
        name: "bearings",
        heads: properties.columns().iter().map(|column| column.name.to_owned()).collect(),
        rows: comparison.candidates.iter().map(facts).collect(),
    };
    match units {
        ReadingUnits::Metric => table,
        ReadingUnits::Us => with_feet(&table),
    }
}

pub(super) struct Facts<'a> {
    comparison: &'a Comparison,
    candidate: &'a Candidate,
}

impl Facts<'_> {
    fn marks(&self) -> Option<String> {
        let marks = [("own", self.candidate.own), ("longest-edge", self.candidate.longest_edge)];
        let marks: Vec<&str> = marks.iter().filter(|(_, is)| *is).map(|(mark, _)| *mark).collect();
        (!marks.is_empty()).then(|| marks.join("; "))
    }

    fn length(&self, at: usize) -> Option<f64> {
        self.candidate.counted.row_lengths_m.map(|lengths| lengths[at])
    }

    fn slope(&self, slope: impl Fn(RowSlopes) -> f64) -> Option<f64> {
        self.candidate.slopes.map(slope)
    }

    fn sun(&self, hours: impl Fn(SunOnRows) -> f64) -> Option<f64> {
        self.candidate.sun.map(hours)
    }

    fn faces(&self, turn: f64) -> Option<&'static str> {
        let side = Degrees::new(self.candidate.bearing.degrees() + turn);
        self.candidate.sun.map(|_| side.compass_point())
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

fn properties<'a>() -> Properties<'a, Facts<'a>> {
    sunned(sloped(counted(Properties::new())))
}

fn counted<'a>(properties: Properties<'a, Facts<'a>>) -> Properties<'a, Facts<'a>> {
    let properties = properties
        .column("bearing_true_deg", Number(4), "degrees", "bearing to lay out, from true north")
        .is(|facts| facts.candidate.bearing.normalised().degrees())
        .column(
            "direction",
            Text,
            "",
            "the same in words, such as N14.5E, whichever way it is walked",
        )
        .is(|facts| facts.candidate.bearing.line_words())
        .column(
            "marks",
            Text,
            "",
            "own: the block's own bearing; longest-edge: that of its longest side",
        )
        .is(Facts::marks)
        .column("rows", Integer, "rows", "rows with vines")
        .is(|facts| facts.candidate.counted.rows)
        .column("vines", Integer, "places", "places for vines, as `layout` would lay them")
        .is(|facts| facts.candidate.counted.vines)
        .column("vines_fewest", Integer, "places", "fewest over all places of the first row")
        .is(|facts| facts.candidate.counted.vines_by_offset.map(|vines| vines[0]))
        .column("vines_most", Integer, "places", "most over all places of the first row")
        .is(|facts| facts.candidate.counted.vines_by_offset.map(|vines| vines[1]))
        .column("planted_ha", Number(6), "hectares", "row length times row spacing")
        .is(|facts| facts.candidate.counted.planted_ha)
        .column("planted_share", Number(5), "", "planted ground over ground inside the outline")
        .is(|facts| facts.candidate.counted.planted_ha / facts.comparison.block_ha);
    lengths(properties)
}

fn lengths<'a>(properties: Properties<'a, Facts<'a>>) -> Properties<'a, Facts<'a>> {
    properties
        .column("row_length_m", Number(LENGTH), "metres", "all rows, end post to end post")
        .is(|facts| facts.candidate.counted.row_length_m)
        .column("shortest_row_m", Number(LENGTH), "metres", "the shortest row, all its pieces")
        .is(|facts| facts.length(0))
        .column("median_row_m", Number(LENGTH), "metres", "the median row")
        .is(|facts| facts.length(1))
        .column("longest_row_m", Number(LENGTH), "metres", "the longest row")
        .is(|facts| facts.length(2))
        .column("pieces", Integer, "pieces", "pieces of row, end post to end post")
        .is(|facts| facts.candidate.counted.pieces)
        .column("short_pieces", Integer, "pieces", "of those, shorter than the setting")
        .is(|facts| facts.candidate.counted.short_pieces)
        .column("left_out_pieces", Integer, "pieces", "pieces too short to plant")
        .is(|facts| facts.candidate.counted.left_out)
        .column("turns", Integer, "turns", "one less than pieces: each is driven once")
        .is(|facts| facts.candidate.counted.turns())
        .column("posts_end", Integer, "posts", "end posts, two a piece")
        .is(|facts| facts.candidate.counted.posts_end())
}

fn sloped<'a>(properties: Properties<'a, Facts<'a>>) -> Properties<'a, Facts<'a>> {
    properties
        .column("slope_along_pct", Number(2), "percent", "mean slope along the rows, up or down")
        .is(|facts| facts.slope(|slopes| 100.0 * slopes.along[0]))
        .column("slope_along_max_pct", Number(2), "percent", "the steepest along the rows")
        .is(|facts| facts.slope(|slopes| 100.0 * slopes.along[1]))
        .column(
            "slope_across_pct",
            Number(2),
            "percent",
            "mean slope across the rows, to either side",
        )
        .is(|facts| facts.slope(|slopes| 100.0 * slopes.across[0]))
        .column("slope_across_max_pct", Number(2), "percent", "the steepest across the rows")
        .is(|facts| facts.slope(|slopes| 100.0 * slopes.across[1]))
        .column("descent_m", Number(1), "metres", "longest way down along a piece of row")
        .is(|facts| facts.slope(|slopes| slopes.descent.length.metres()))
        .column("descent_fall_m", Number(2), "metres", "how far that one falls")
        .is(|facts| facts.slope(|slopes| slopes.descent.fall.metres()))
}

fn sunned<'a>(properties: Properties<'a, Facts<'a>>) -> Properties<'a, Facts<'a>> {
    const HOURS: &str = "hours a day";
    properties
        .column("right_faces", Text, "", "where the side to the right along the bearing faces")
        .is(|facts| facts.faces(90.0))
        .column("sun_right_h", Number(3), HOURS, "sun on that side: clear sky, level horizon")
        .is(|facts| facts.sun(|sun| sun.right_h))
        .column("left_faces", Text, "", "where the other side faces")
        .is(|facts| facts.faces(270.0))
        .column("sun_left_h", Number(3), HOURS, "sun on the other side")
        .is(|facts| facts.sun(|sun| sun.left_h))
        .column("sun_difference_h", Number(3), HOURS, "right less left")
        .is(|facts| facts.sun(|sun| sun.right_h - sun.left_h))
        .column("sun_along_h", Number(3), HOURS, "sun near the line of the rows, both sides grazed")
        .is(|facts| facts.sun(|sun| sun.along_h))
}

/// The same table, every column `…_m` followed by its `…_ft`.
fn with_feet(table: &Table) -> Table {
    let foot = |head: &String| head.strip_suffix("_m").map(|name| format!("{name}_ft"));
    let heads = table.heads.iter().flat_map(|head| std::iter::once(head.clone()).chain(foot(head)));
    let feet = |value: &Value| {
        value.as_number().map_or(Value::Null, |m| Value::number(m / METRES_PER_FOOT, LENGTH))
    };
    let row = |row: &Vec<Value>| {
        let cells = table.heads.iter().zip(row);
        let both = cells.flat_map(|(head, cell)| {
            std::iter::once(cell.clone()).chain(foot(head).map(|_| feet(cell)))
        });
        both.collect()
    };
    Table { name: table.name, heads: heads.collect(), rows: table.rows.iter().map(row).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_there_in_feet_too() {
        let heads = ["rows", "descent_m", "planted_ha"].map(str::to_owned).into();
        let rows = vec![vec![3_usize.into(), 30.48.into(), 1.0.into()]];
        let both = with_feet(&Table { name: "bearings", heads, rows });
        assert_eq!(both.heads, ["rows", "descent_m", "descent_ft", "planted_ha"]);
        assert_eq!(both.rows[0][2], Value::Number(100.0));
    }
}
