//! North arrow, scale bar, row numbers.

use geo::Centroid as _;

use crate::{
    error::Error,
    picture::{
        Anchor, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, SOFT_INK},
        labels::Boxed,
        legend::{BODY, Furniture, SMALL},
        lettering::width_mm,
        map::{Area, Placement, bar_length, extent, scale_words},
        marks::Size,
        subject::{RowEnds, Subject},
    },
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
    subject: &Subject,
    placement: &Placement,
    width_mm: f64,
) -> Furniture {
    let mut furniture = Furniture::default();
    furniture.marks.extend(arrow(placement));
    let longest = (width_mm - ARROW_WIDTH_MM - 14.0).min(60.0);
    let (length, [whole, half]) = bar_length(placement.scale, longest, subject.units);
    let (left, bar) = (ARROW_WIDTH_MM + 4.0, placement.mm(length));
    furniture.marks.extend(bar_marks(left, bar));
    let middle = (Anchor::Middle, INK);
    furniture.letter((left, 8.2), "0", BODY, middle);
    furniture.letter((left + bar / 2.0, 8.2), half, BODY, middle);
    furniture.letter((left + bar, 8.2), whole, BODY, middle);
    let soft = (Anchor::Start, SOFT_INK);
    let scale = scale_words(placement.scale, subject.units);
    furniture.letter((left, 17.0), scale, SMALL, soft);
    let measure = format!("on {} printed at 100 %", subject.paper.word());
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
    let words = Lettering {
        at: PaperPoint::new(words.x_mm, words.y_mm + 0.36 * BODY.size_mm),
        words: "true N".to_owned(),
        hand: BODY,
        anchor: Anchor::Middle,
        colour: INK,
    };
    vec![shape(half(-1.0), Some(INK)), shape(half(1.0), Some(PAPER)), Mark::Lettering(words)]
}

/// Numbers of rows beyond their first vine, as many as there is room for, and the paper they take.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_numbers(
    subject: &Subject,
    (placement, size): (&Placement, Size),
    area: Area,
) -> Result<(Vec<Mark>, Vec<Boxed>), Error> {
    let gap = placement.mm(subject.gaps_m[0]).max(0.01);
    let every = [1, 5, 10, 20, 50, 100, 200].into_iter().find(|n| f64::from(*n) * gap >= 6.0);
    let every = every.unwrap_or(500);
    let mut marks = Vec::new();
    let mut taken: Vec<Boxed> = Vec::new();
    for (at, row) in subject.rows.iter().enumerate() {
        if at > 0 && row.number % every != 0 {
            continue;
        }
        let first = taken.is_empty();
        let words = if first { format!("row {}", row.number) } else { row.number.to_string() };
        let width = width_mm(&words, SMALL)?;
        let place = beyond(row, (placement, size), width);
        let boxed = Boxed::new(place, width + 0.8, SMALL.size_mm + 0.4);
        if !boxed.is_within(&area) || taken.iter().any(|other| other.overlaps(&boxed)) {
            continue;
        }
        taken.push(boxed);
        marks.push(Mark::Lettering(Lettering {
            at: PaperPoint::new(place.x_mm, place.y_mm + 0.36 * SMALL.size_mm),
            words,
            hand: SMALL,
            anchor: Anchor::Middle,
            colour: SOFT_INK,
        }));
    }
    Ok((marks, taken))
}

fn beyond(row: &RowEnds, (placement, size): (&Placement, Size), width: f64) -> PaperPoint {
    let (first, last) = (placement.point(row.first), placement.point(row.last));
    let (x, y) = (first.x_mm - last.x_mm, first.y_mm - last.y_mm);
    let length = x.hypot(y).max(1e-9);
    let (x, y) = (x / length, y / length);
    let radius = match size {
        Size::Disc(radius) => radius,
        Size::Strip(_) => 1.0,
    };
    let reach = radius + 1.4 + (x * width / 2.0).abs() + (y * SMALL.size_mm / 2.0).abs();
    PaperPoint::new(first.x_mm + reach * x, first.y_mm + reach * y)
}

/// Names of ground that is not planted, where they fit on it, and the paper they take.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn ground_names(
    subject: &Subject,
    placement: &Placement,
) -> Result<(Vec<Mark>, Vec<Boxed>), Error> {
    let (mut marks, mut taken) = (Vec::new(), Vec::new());
    for (name, ground) in &subject.keep_outs {
        let ground = placement.polygon(ground);
        let (Some(name), Some(extent), Some(middle)) = (name, extent(&ground), ground.centroid())
        else {
            continue;
        };
        let width = width_mm(name, SMALL)?;
        if width > 0.8 * extent.width() || 1.5 * SMALL.size_mm > extent.height() {
            continue;
        }
        taken.push(Boxed::new(PaperPoint::new(middle.x(), middle.y()), width, SMALL.size_mm));
        marks.push(Mark::Lettering(Lettering {
            at: PaperPoint::new(middle.x(), middle.y() + 0.36 * SMALL.size_mm),
            words: name.clone(),
            hand: SMALL,
            anchor: Anchor::Middle,
            colour: SOFT_INK,
        }));
    }
    Ok((marks, taken))
}
