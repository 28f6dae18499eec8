//! A page that needs no language: what stays and what goes, in six drawings.

use super::drawings::{self, Draw};
use crate::picture::{
    Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke, colours::INK,
    furniture::Furniture,
};
use crate::plan::TakeOff;

/// Paper between two frames.
const APART_MM: f64 = 8.0;
/// The number of what goes first, second, third.
const NUMBER: Hand = Hand { size_mm: 11.0, bold: true };

/// The first five drawings, with the number of what goes.
fn drawn(take_off: TakeOff) -> [(&'static str, Draw); 5] {
    match take_off {
        TakeOff::DoublesFirst => [
            ("", drawings::stays),
            ("1", drawings::doubles),
            ("2", drawings::base),
            ("3", drawings::weak),
            ("", drawings::renewal),
        ],
        TakeOff::DoublesStay => [
            ("", drawings::stays),
            ("", drawings::doubles_stay),
            ("1", drawings::base),
            ("2", drawings::weak),
            ("", drawings::renewal),
        ],
    }
}

/// The six drawings, in frames side by side.
pub(super) fn wordless(take_off: TakeOff, [width, height]: [f64; 2]) -> Furniture {
    let frame = [(width - APART_MM) / 2.0, (height - 2.0 * APART_MM) / 3.0];
    let mut page = Furniture { marks: vec![], height_mm: height };
    let corner = |at: u32| {
        let [column, row] = [f64::from(at % 2), f64::from(at / 2)];
        PaperPoint::new(column * (frame[0] + APART_MM), row * (frame[1] + APART_MM))
    };
    for (at, (number, draw)) in (0_u32..).zip(drawn(take_off)) {
        let scale = (frame[0] - 16.0) / drawings::FIELD[0];
        let scale = scale.min((frame[1] - 12.0) / drawings::FIELD[1]);
        page.marks.extend(framed(draw(scale), (number, scale), frame).at(corner(at)));
    }
    page.marks.extend(change(frame).at(corner(5)));
    page
}

/// A drawing in the middle of its frame.
fn framed(marks: Vec<Mark>, (number, scale): (&str, f64), [width, height]: [f64; 2]) -> Furniture {
    let mut frame = Furniture { marks: vec![edge([width, height])], height_mm: height };
    let left = (width - scale * drawings::FIELD[0]) / 2.0;
    let top = (height - scale * drawings::FIELD[1]) / 2.0;
    let drawing = Furniture { marks, height_mm: 0.0 };
    frame.marks.extend(drawing.at(PaperPoint::new(left, top)));
    let at = PaperPoint::new(4.0, 3.0 + 0.8 * NUMBER.size_mm);
    frame.marks.push(Mark::Lettering(Lettering::level(at, number, NUMBER, (Anchor::Start, INK))));
    frame
}

/// The same stretch before and, below an arrow, after.
fn change([width, height]: [f64; 2]) -> Furniture {
    let drawn = drawings::TALLEST;
    let scale = ((height - 20.0) / (2.0 * drawn)).min((width - 24.0) / drawings::FIELD[0]);
    let mut frame = Furniture { marks: vec![edge([width, height])], height_mm: height };
    let left = (width - scale * drawings::FIELD[0]) / 2.0;
    let parts: [(f64, Vec<Mark>); 3] = [
        (3.0, drawings::before(scale)),
        (3.0 + scale * drawn, drawings::arrow(scale)),
        (height - 3.0 - scale * drawn, drawings::after(scale)),
    ];
    for (top, marks) in parts {
        let drawing = Furniture { marks, height_mm: 0.0 };
        frame.marks.extend(drawing.at(PaperPoint::new(left, top)));
    }
    frame
}

fn edge([width, height]: [f64; 2]) -> Mark {
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    let ring = Outline::Ring(corners.map(|(x, y)| PaperPoint::new(x, y)).to_vec());
    let stroke = Some(Stroke { colour: INK, width_mm: 0.5, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![ring], fill: None, stroke })
}
