//! North arrow and scale bar.

use crate::{
    picture::{
        Anchor, Lettering, Mark, Outline, Paper, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, SOFT_INK},
        furniture::{BODY, Furniture, SMALL},
        map::{Placement, bar_length, scale_words},
    },
    units::ReadingUnits,
};

/// Half the length of the north arrow.
const ARROW_MM: f64 = 6.5;
/// Width that the arrow takes with its words.
const ARROW_WIDTH_MM: f64 = 26.0;
/// Height of arrow and bar.
const HEIGHT_MM: f64 = 25.0;

/// As much paper as arrow and bar take, before a scale is known.
pub(super) fn room_for_compass() -> Furniture {
    Furniture { marks: vec![], height_mm: HEIGHT_MM }
}

/// North arrow and scale bar side by side.
pub(super) fn compass_and_bar(
    placement: &Placement,
    (units, paper): (ReadingUnits, Paper),
    width_mm: f64,
) -> Furniture {
    let mut furniture = Furniture::default();
    furniture.marks.extend(arrow(placement));
    let longest = (width_mm - ARROW_WIDTH_MM - 14.0).min(60.0);
    let (length, [whole, half]) = bar_length(placement.scale, longest, units);
    let (left, bar) = (ARROW_WIDTH_MM + 4.0, placement.mm(length));
    furniture.marks.extend(bar_marks(left, bar));
    let middle = (Anchor::Middle, INK);
    furniture.letter((left, 8.2), "0", BODY, middle);
    furniture.letter((left + bar / 2.0, 8.2), half, BODY, middle);
    furniture.letter((left + bar, 8.2), whole, BODY, middle);
    let soft = (Anchor::Start, SOFT_INK);
    let scale = scale_words(placement.scale, units);
    furniture.letter((left, 17.0), scale, SMALL, soft);
    let length = super::words::number(bar, 1);
    let measure = format!("on {} at 100 %: bar {length} mm", paper.word());
    furniture.letter((left, 21.4), measure, SMALL, soft);
    furniture.height_mm = HEIGHT_MM;
    furniture
}

fn bar_marks(left: f64, length: f64) -> Vec<Mark> {
    let (top, height) = (10.0, 2.0);
    let part = |from: f64, to: f64| {
        let corners = [(from, top), (to, top), (to, top + height), (from, top + height)];
        Outline::Ring(corners.map(|(x, y)| PaperPoint::new(left + x * length, y)).to_vec())
    };
    let stroke = Some(Stroke { colour: INK, width_mm: 0.25, dash_mm: None });
    let shape = |outlines, fill| Mark::Shape(Shape { outlines, fill, stroke });
    vec![shape(vec![part(0.0, 0.5)], Some(INK)), shape(vec![part(0.5, 1.0)], Some(PAPER))]
}

/// An arrow to true north, with its words beyond the tip.
fn arrow(placement: &Placement) -> Vec<Mark> {
    // What points up the page has the bearing τ, so north lies τ to the left of that.
    let (sine, cosine) = placement.up.radians().sin_cos();
    let (right, down) = (-sine, -cosine);
    // Half the words' extent the way the arrow points, and the middle of arrow and words together.
    let reach = 1.4 + (right * 5.6).abs() + (down * 1.5).abs();
    let centre =
        PaperPoint::new(ARROW_WIDTH_MM / 2.0 - right * reach, HEIGHT_MM / 2.0 - down * reach);
    let place = |side: f64, ahead: f64| {
        PaperPoint::new(
            centre.x_mm + ahead * right - side * down,
            centre.y_mm + ahead * down + side * right,
        )
    };
    let half = |side: f64| {
        vec![place(0.0, ARROW_MM), place(side * 2.5, -ARROW_MM), place(0.0, -0.62 * ARROW_MM)]
    };
    let stroke = Some(Stroke { colour: INK, width_mm: 0.25, dash_mm: None });
    let shape =
        |points, fill| Mark::Shape(Shape { outlines: vec![Outline::Ring(points)], fill, stroke });
    let words = place(0.0, ARROW_MM + reach);
    let base = PaperPoint::new(words.x_mm, words.y_mm + 0.36 * BODY.size_mm);
    let words = Lettering::level(base, "true N", BODY, (Anchor::Middle, INK));
    vec![shape(half(-1.0), Some(INK)), shape(half(1.0), Some(PAPER)), Mark::Lettering(words)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        block::RowsTo,
        picture::map::{Area, Compass, Ladder, Room},
        units::Degrees,
    };

    /// Where the words `true N` stand, from the middle of the arrow's box, millimetres.
    fn words_at(up: f64) -> [f64; 2] {
        let compass = Compass { bearing: Degrees::new(0.0), rows_to: RowsTo::Right };
        let area = Area { corner: PaperPoint::new(0.0, 0.0), width_mm: 100.0, height_mm: 100.0 };
        let ground = vec![(0.0, 0.0), (90.0, 60.0)].into();
        let room = Room { area, units: ReadingUnits::Metric, ladder: Ladder::Map };
        let placement = Placement::fit(&ground, compass, Degrees::new(up), room).unwrap();
        let words = arrow(&placement).into_iter().find_map(|mark| match mark {
            Mark::Lettering(words) => Some(words.at),
            Mark::Shape(_) => None,
        });
        let words = words.unwrap();
        [words.x_mm - ARROW_WIDTH_MM / 2.0, words.y_mm - HEIGHT_MM / 2.0]
    }

    #[test]
    fn the_arrow_points_north_however_the_page_is_turned() {
        let [x, y] = words_at(0.0);
        assert!(x.abs() < 1e-9 && y < -3.0, "north up: {x}, {y}");
        // With east up, north is to the left; with west up, to the right.
        assert!(words_at(90.0)[0] < -3.0 && words_at(270.0)[0] > 3.0);
    }
}
