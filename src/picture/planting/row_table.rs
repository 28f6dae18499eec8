//! The table of all rows, in runs side by side.

use crate::{
    error::Error,
    maths::float,
    picture::{
        Anchor, Colour, Hand,
        colours::{INK, SOFT_INK},
        furniture::{Furniture, HEADING},
        planting::drawing::RowDrawn,
        words,
    },
    units::ReadingUnits,
};

/// Lettering of the table of rows, and the paper it takes.
#[derive(Debug, Clone, Copy)]
struct RowType {
    hand: Hand,
    /// Height of a line.
    line_mm: f64,
    /// Width of one run.
    width_mm: f64,
}

/// The least that is read: beside the plan, and where rows fill a page.
const SMALLEST: RowType = RowType::times(1.0);
/// From the largest on: few rows on a page of their own are lettered large.
const TYPES: [RowType; 3] = [RowType::times(1.5), RowType::times(1.25), SMALLEST];
/// Height of the table's heading and of the names of its columns, rounded up.
const HEAD_MM: f64 = 9.6;
/// Paper between two runs.
const APART_MM: f64 = 3.0;

impl RowType {
    const fn times(factor: f64) -> Self {
        Self {
            hand: Hand { size_mm: 2.8 * factor, bold: false },
            line_mm: 3.7 * factor,
            width_mm: 24.0 * factor,
        }
    }

    fn runs(self, width: f64) -> f64 {
        ((width + APART_MM) / (self.width_mm + APART_MM)).floor().max(1.0)
    }

    fn held(self, [width, height]: [f64; 2]) -> f64 {
        let lines = ((height - HEAD_MM) / self.line_mm).floor().max(0.0);
        lines * self.runs(width)
    }
}

/// How many rows a table of this width and height holds.
pub(super) fn rows_held(room_mm: [f64; 2]) -> f64 {
    SMALLEST.held(room_mm)
}

/// The table beside the plan.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_table(
    rows: &[RowDrawn],
    units: ReadingUnits,
    width: f64,
) -> Result<Furniture, Error> {
    lettered(rows, units, width, SMALLEST)
}

/// The table on a page of its own, lettered as large as it has room.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_page(
    rows: &[RowDrawn],
    units: ReadingUnits,
    room_mm: [f64; 2],
) -> Result<Furniture, Error> {
    let fits = |row_type: &RowType| row_type.held(room_mm) >= float(rows.len());
    lettered(rows, units, room_mm[0], TYPES.into_iter().find(fits).unwrap_or(SMALLEST))
}

/// Rows with their vines and their lengths.
///
/// # Errors
/// When a letter has no shape.
fn lettered(
    rows: &[RowDrawn],
    units: ReadingUnits,
    width: f64,
    row_type: RowType,
) -> Result<Furniture, Error> {
    // As even as the runs allow.
    let deep = (float(rows.len()) / row_type.runs(width)).ceil();
    let mut table = Furniture::default();
    table.paragraph("Rows", HEADING, (width, INK))?;
    let top = table.height_mm;
    let (mut run, mut line) = (0.0, 0.0);
    for row in rows {
        let length = words::row_length(row.length_m, units);
        let left = run * (row_type.width_mm + APART_MM);
        table.height_mm = top + line * row_type.line_mm;
        if line < 0.5 {
            let unit = words::unit(units);
            row_line(&mut table, (left, row_type), ["row", "vines", unit], SOFT_INK);
            line = 1.0;
            table.height_mm = top + row_type.line_mm;
        }
        let cells = [row.number.to_string(), words::grouped(row.vines), length];
        row_line(&mut table, (left, row_type), cells.each_ref().map(String::as_str), INK);
        line += 1.0;
        if line > deep + 0.5 {
            (run, line) = (run + 1.0, 0.0);
        }
    }
    table.height_mm = top + (deep + 1.0) * row_type.line_mm;
    Ok(table)
}

fn row_line(
    table: &mut Furniture,
    (left, row_type): (f64, RowType),
    cells: [&str; 3],
    colour: Colour,
) {
    let ends = [0.25, 0.583, 1.0].map(|share| share * row_type.width_mm);
    for (cell, end) in cells.into_iter().zip(ends) {
        let base = 1.05 * row_type.hand.size_mm;
        table.letter((left + end, base), cell, row_type.hand, (Anchor::End, colour));
    }
}
