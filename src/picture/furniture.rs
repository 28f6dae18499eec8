//! North arrow, scale bar, row numbers.

use crate::{
    error::Error,
    picture::{
        Anchor, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, SOFT_INK},
        labels::Boxed,
        legend::{BODY, Furniture, SMALL},
        lettering::width_mm,
        map::{Area, Placement, bar_length, scale_words},
        subject::{RowEnds, Subject},
    },
};

/// Half the length of the north arrow.
const ARROW_MM: f64 = 7.0;
/// Width that the arrow takes.
const ARROW_WIDTH_MM: f64 = 20.0;

/// North arrow and scale bar side by side.
pub(super) fn compass_and_bar(subject: &Subject, placement: &Placement, width_mm: f64) -> Furniture {
    let mut furniture = Furniture::default();
    let centre = PaperPoint::new(ARROW_WIDTH_MM / 2.0, 11.5);
    furniture.marks.extend(arrow(placement, centre));
    let longest = (width_mm - ARROW_WIDTH_MM - 12.0).min(60.0);
    let (length, [whole, half]) = bar_length(placement.scale, longest, subject.units);
    let (left, bar) = (ARROW_WIDTH_MM + 3.0, placement.mm(length));
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
    furniture.height_mm = 23.0;
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

/// An arrow to true north, with its word beyond the tip.
fn arrow(placement: &Placement, centre: PaperPoint) -> Vec<Mark> {
    let (sine, cosine) = placement.up.radians().sin_cos();
    // North lies τ to the left of what points up the page.
    let turned = |x: f64, y: f64| {
        let (right, up) = (x * cosine - y * sine, x * sine + y * cosine);
        PaperPoint::new(centre.x_mm + right, centre.y_mm - up)
    };
    let half = |side: f64| {
        vec![
            turned(0.0, ARROW_MM),
            turned(side * 2.6, -ARROW_MM),
            turned(0.0, -0.62 * ARROW_MM),
        ]
    };
    let stroke = Some(Stroke { colour: INK, width_mm: 0.25, dash_mm: None });
    let shape = |points, fill| {
        Mark::Shape(Shape { outlines: vec![Outline::Ring(points)], fill, stroke })
    };
    let tip = turned(0.0, ARROW_MM + 3.2);
    let words = Lettering {
        at: PaperPoint::new(tip.x_mm, tip.y_mm + 0.36 * BODY.size_mm),
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
    placement: &Placement,
    area: Area,
) -> Result<(Vec<Mark>, Vec<Boxed>), Error> {
    let gap = placement.mm(subject.gaps_m[0]).max(0.01);
    let every = [1, 2, 5, 10, 20, 50, 100, 200].into_iter().find(|n| f64::from(*n) * gap >= 6.0);
    let every = every.unwrap_or(500);
    let mut marks = Vec::new();
    let mut taken: Vec<Boxed> = Vec::new();
    for (at, row) in subject.rows.iter().enumerate() {
        if at > 0 && row.number % every != 0 {
            continue;
        }
        let words = if at == 0 { format!("row {}", row.number) } else { row.number.to_string() };
        let width = width_mm(&words, SMALL)?;
        let place = beyond(row, placement, width);
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

fn beyond(row: &RowEnds, placement: &Placement, width: f64) -> PaperPoint {
    let (first, last) = (placement.point(row.first), placement.point(row.last));
    let (x, y) = (first.x_mm - last.x_mm, first.y_mm - last.y_mm);
    let length = x.hypot(y).max(1e-9);
    let (x, y) = (x / length, y / length);
    let reach = 2.4 + (x * width / 2.0).abs() + (y * SMALL.size_mm / 2.0).abs();
    PaperPoint::new(first.x_mm + reach * x, first.y_mm + reach * y)
}
