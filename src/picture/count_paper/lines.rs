//! The table of places: boxes of 8 mm to write in, and a total for every row of vines.

use crate::{
    error::Error,
    picture::{
        Anchor, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture::{BODY, Furniture, SMALL},
        lettering::shorten,
    },
    sample::SheetLine,
};

/// Height of a box: as large as a digit written with a cold hand.
const BOX_MM: f64 = 8.0;
/// Height of a line.
const LINE_MM: f64 = 10.0;
/// Where the words begin, and how wide the box for the number is.
const PLACE_MM: f64 = 11.0;
const NUMBER_MM: f64 = 28.0;
/// Share of the width that numbers and words take.
const WORDS_SHARE: f64 = 0.45;

/// The heads of the columns.
pub(super) fn table_head(width: f64) -> Furniture {
    let mut head = Furniture::default();
    let [number, note] = boxes(width).map(|[from, _]| from);
    let words = [(0.0, "no."), (PLACE_MM, "place"), (number, "shoots"), (note, "note")];
    for (from, words) in words {
        head.letter((from, 3.6), words, SMALL, (Anchor::Start, SOFT_INK));
    }
    head.space(5.0);
    head
}

/// Left and right of the boxes for the number and the note.
fn boxes(width: f64) -> [[f64; 2]; 2] {
    let number = WORDS_SHARE * width;
    [[number, number + NUMBER_MM], [number + NUMBER_MM + 2.0, width]]
}

/// The places of a row, and its total; the total stays with the last of them.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn of_row(row: &[SheetLine], width: f64) -> Result<Vec<Furniture>, Error> {
    let Some((last, others)) = row.split_last() else { return Ok(Vec::new()) };
    let mut pieces = Vec::new();
    for line in others {
        pieces.push(place(line, width)?);
    }
    let mut end = place(last, width)?;
    end.below(total(last.row, width));
    pieces.push(end);
    Ok(pieces)
}

fn place(line: &SheetLine, width: f64) -> Result<Furniture, Error> {
    let mut one = Furniture::default();
    let bold = crate::picture::Hand { bold: true, ..BODY };
    let room = boxes(width)[0][0] - PLACE_MM - 2.0;
    one.letter((0.0, 4.6), line.stop.to_string(), bold, (Anchor::Start, INK));
    one.letter((PLACE_MM, 4.6), shorten(&line.place, BODY, room)?, BODY, (Anchor::Start, INK));
    let detail = shorten(&line.detail, SMALL, room)?;
    one.letter((PLACE_MM, 8.6), detail, SMALL, (Anchor::Start, SOFT_INK));
    for sides in boxes(width) {
        one.marks.push(boxed(sides, 0.25));
    }
    one.space(LINE_MM);
    Ok(one)
}

fn total(row: u32, width: f64) -> Furniture {
    let mut one = Furniture::default();
    let [number, _] = boxes(width);
    let bold = crate::picture::Hand { bold: true, ..BODY };
    let words = format!("Row {row}, total");
    one.letter((number[0] - 3.0, 6.2), words, bold, (Anchor::End, INK));
    one.marks.push(boxed(number, 0.6));
    one.space(LINE_MM);
    let ends = [0.0, width].map(|x| PaperPoint::new(x, one.height_mm - 0.6)).to_vec();
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.3, dash_mm: None });
    one.marks.push(Mark::Shape(Shape { outlines: vec![Outline::Line(ends)], fill: None, stroke }));
    one.space(0.6);
    one
}

/// A box to write in, a millimetre below the top of its line.
fn boxed([left, right]: [f64; 2], width_mm: f64) -> Mark {
    let (top, bottom) = (1.0, 1.0 + BOX_MM);
    let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
    let ring = Outline::Ring(corners.map(|(x, y)| PaperPoint::new(x, y)).to_vec());
    let stroke = Some(Stroke { colour: INK, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![ring], fill: None, stroke })
}
