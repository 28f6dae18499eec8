//! A ruler at the foot of the page, to see whether it was printed at its true size.

use crate::{
    picture::{
        Anchor, Mark, Outline, Paper, PaperPoint, Shape, Stroke,
        colours::{INK, SOFT_INK},
        furniture::{Furniture, SMALL},
    },
    units::ReadingUnits,
};

/// Height that the ruler takes.
pub(super) const HEIGHT_MM: f64 = 8.5;

/// A bar of 100 mm with a tick every 10, or of 4 inches with a tick every quarter, and its words.
pub(super) fn ruler(units: ReadingUnits, paper: Paper) -> Furniture {
    let (length, ticks, words) = match units {
        ReadingUnits::Metric => (100.0, 10, "100 mm"),
        ReadingUnits::Us => (101.6, 16, "4 in"),
    };
    let (top, foot) = (2.2, 4.6);
    let place = PaperPoint::new;
    let mut outlines = vec![Outline::Line(vec![place(0.0, foot), place(length, foot)])];
    for tick in 0..=ticks {
        let x = length * f64::from(tick) / f64::from(ticks);
        let long = tick == 0 || tick == ticks || tick % (ticks / 2) == 0;
        let from = if long { top } else { top + 1.1 };
        outlines.push(Outline::Line(vec![place(x, from), place(x, foot)]));
    }
    let stroke = Some(Stroke { colour: INK, width_mm: 0.2, dash_mm: None });
    let mut furniture = Furniture::default();
    furniture.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
    let told = format!("Print on {} at 100 %: this bar must measure {words}.", paper.word());
    furniture.letter((length + 4.0, foot), told, SMALL, (Anchor::Start, SOFT_INK));
    furniture.height_mm = HEIGHT_MM;
    furniture
}
