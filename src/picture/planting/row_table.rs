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

/// Lettering of the table of rows.
const ROW_HAND: Hand = Hand { size_mm: 2.8, bold: false };
/// Height of a line of it.
const ROW_LINE_MM: f64 = 3.7;
/// Height of its heading and of the names of its columns, rounded up.
const HEAD_MM: f64 = 9.6;
/// Width of one run of it, and paper between two.
const ROW_WIDTH_MM: f64 = 24.0;
const ROW_APART_MM: f64 = 3.0;

/// How many rows a table of this width and height holds.
pub(super) fn rows_held([width, height]: [f64; 2]) -> f64 {
    let lines = ((height - HEAD_MM) / ROW_LINE_MM).floor().max(0.0);
    lines * runs(width)
}

fn runs(width: f64) -> f64 {
    ((width + ROW_APART_MM) / (ROW_WIDTH_MM + ROW_APART_MM)).floor().max(1.0)
}

/// Rows with their vines and their lengths.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_table(
    rows: &[RowDrawn],
    units: ReadingUnits,
    width: f64,
) -> Result<Furniture, Error> {
    // As even as the runs allow.
    let deep = (float(rows.len()) / runs(width)).ceil();
    let mut table = Furniture::default();
    table.paragraph("Rows", HEADING, (width, INK))?;
    let top = table.height_mm;
    let (mut run, mut line) = (0.0, 0.0);
    for row in rows {
        let length = words::row_length(row.length_m, units);
        let left = run * (ROW_WIDTH_MM + ROW_APART_MM);
        table.height_mm = top + line * ROW_LINE_MM;
        if line < 0.5 {
            let unit = words::unit(units);
            row_line(&mut table, left, ["row", "vines", unit], SOFT_INK);
            line = 1.0;
            table.height_mm = top + ROW_LINE_MM;
        }
        let cells = [row.number.to_string(), words::grouped(row.vines), length];
        row_line(&mut table, left, cells.each_ref().map(String::as_str), INK);
        line += 1.0;
        if line > deep + 0.5 {
            (run, line) = (run + 1.0, 0.0);
        }
    }
    table.height_mm = top + (deep + 1.0) * ROW_LINE_MM;
    Ok(table)
}

fn row_line(table: &mut Furniture, left: f64, cells: [&str; 3], colour: Colour) {
    let ends = [6.0, 14.0, ROW_WIDTH_MM];
    for (cell, end) in cells.into_iter().zip(ends) {
        let base = 1.05 * ROW_HAND.size_mm;
        table.letter((left + end, base), cell, ROW_HAND, (Anchor::End, colour));
    }
}
