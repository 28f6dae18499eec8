//! Vines, counts, zones and ground as marks: vines one by one where they have room, else as strips
//! along their rows.

use geo::{BoundingRect as _, LineString, MultiLineString, MultiPolygon};

use crate::{
    frame::RowPoint,
    picture::{
        Colour, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{GROUND, INK, KEPT_OUT, PAPER, RULE},
        looks::{Size, little_known, looks},
        map::Placement,
        subject::{Spot, Subject},
        zone_mark::ZoneMark,
    },
};

/// The ground of the block and what is not planted.
pub(super) fn ground(subject: &Subject, placement: &Placement) -> Vec<Mark> {
    let mut marks =
        vec![area(&placement.polygon(&subject.outline), Some(GROUND), Some((RULE, 0.3)))];
    for (_, kept_out) in &subject.keep_outs {
        marks.push(area(&placement.polygon(kept_out), Some(KEPT_OUT), Some((RULE, 0.2))));
    }
    marks
}

/// All vines in the looks of their classes, paper through those of which little is known.
pub(super) fn vines(subject: &Subject, placement: &Placement, size: Size) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (class, look) in subject.classes.iter().map(|(at, class)| (at, class.look)) {
        let outlines = drawn(subject, placement, size, &|vine| {
            subject.classes.of_vine.get(vine) == Some(&class)
        });
        if !outlines.is_empty() {
            marks.extend(looks(&outlines, look, size));
        }
    }
    let little = drawn(subject, placement, size, &|vine| subject.little.get(vine) == Some(&true));
    marks.extend((!little.is_empty()).then(|| little_known(&little, size)));
    marks
}

/// Some of the vines on paper: points, or runs of neighbours.
fn drawn(
    subject: &Subject,
    placement: &Placement,
    size: Size,
    is_wanted: &dyn Fn(usize) -> bool,
) -> Vec<Vec<PaperPoint>> {
    match size {
        Size::Disc(_) => {
            let vines = subject.vines.iter().enumerate().filter(|(at, _)| is_wanted(*at));
            vines.map(|(_, vine)| vec![placement.point(vine.at)]).collect()
        }
        Size::Strip(_) => strips(subject, placement, is_wanted),
    }
}

/// Runs of wanted neighbours on a piece of row, from half a gap before the first to half a gap after
/// the last.
fn strips(
    subject: &Subject,
    placement: &Placement,
    is_wanted: &dyn Fn(usize) -> bool,
) -> Vec<Vec<PaperPoint>> {
    let vines = &subject.vines;
    let mut strips = Vec::new();
    let mut start = 0;
    while start < vines.len() {
        let piece = vines[start].piece;
        let goes_on = |at: &usize| vines[*at].piece == piece && is_wanted(*at);
        let end = (start..vines.len()).take_while(goes_on).last();
        if let Some(end) = end {
            let ground = run(vines, start, end, subject.gaps_m[1]);
            strips.push(straightened(ground.iter().map(|at| placement.point(*at)).collect()));
        }
        start = end.unwrap_or(start) + 1;
    }
    strips
}

fn run(vines: &[Spot], start: usize, end: usize, gap_m: f64) -> Vec<RowPoint> {
    let neighbour = |at: Option<usize>| {
        at.and_then(|at| vines.get(at)).filter(|vine| vine.piece == vines[start].piece)
    };
    let before = neighbour(start.checked_sub(1));
    let after = neighbour(Some(end + 1));
    let first = vines[start].at;
    let last = vines[end].at;
    let inward = neighbour(Some(start + 1))
        .map_or(RowPoint { along_m: first.along_m + gap_m, ..first }, |vine| vine.at);
    let outward = neighbour(end.checked_sub(1))
        .map_or(RowPoint { along_m: last.along_m - gap_m, ..last }, |vine| vine.at);
    let head = before.map_or_else(
        || towards(first, inward, -0.5 * gap_m),
        |vine| towards(first, vine.at, 0.5 * gap_m),
    );
    let tail = after.map_or_else(
        || towards(last, outward, -0.5 * gap_m),
        |vine| towards(last, vine.at, 0.5 * gap_m),
    );
    let inner = vines[start..=end].iter().map(|vine| vine.at);
    std::iter::once(head).chain(inner).chain([tail]).collect()
}

/// The point so many metres from one place towards another.
fn towards(from: RowPoint, to: RowPoint, metres: f64) -> RowPoint {
    let (along, across) = (to.along_m - from.along_m, to.across_m - from.across_m);
    let share = metres / along.hypot(across).max(1e-9);
    RowPoint { along_m: from.along_m + share * along, across_m: from.across_m + share * across }
}

/// A line without the points that lie on the way from the last one kept.
fn straightened(points: Vec<PaperPoint>) -> Vec<PaperPoint> {
    let (Some(first), Some(last)) = (points.first().copied(), points.last().copied()) else {
        return points;
    };
    let (x, y) = (last.x_mm - first.x_mm, last.y_mm - first.y_mm);
    let length = x.hypot(y).max(1e-9);
    let aside = |point: &PaperPoint| {
        ((point.x_mm - first.x_mm) * y - (point.y_mm - first.y_mm) * x).abs() / length
    };
    if points.iter().all(|point| aside(point) < 0.02) { vec![first, last] } else { points }
}

/// The lines around zones, with a halo so that they are seen on every class.
pub(super) fn zones(subject: &Subject, placement: &Placement) -> Vec<Mark> {
    let line = |stroke: &dyn Fn(usize) -> Stroke| -> Vec<Mark> {
        let mark = |zone: &ZoneMark| {
            let outlines = lines(&placement.lines(&zone.borders));
            Mark::Shape(Shape { outlines, fill: None, stroke: Some(stroke(zone.planting)) })
        };
        subject.zones.iter().map(mark).collect()
    };
    let width_mm = BORDER_MM.min(breadth_mm(subject, placement) / 6.0);
    let halo = |_| Stroke { colour: PAPER, width_mm: 1.8 * width_mm, dash_mm: None };
    let border = |planting| Stroke { width_mm, ..zone_stroke(planting) };
    [line(&halo), line(&border)].concat()
}

/// Width of the line around a zone; around a block of a few millimetres less, or nothing else would
/// be seen.
const BORDER_MM: f64 = 0.5;

/// How broad the block is on paper, across its rows.
fn breadth_mm(subject: &Subject, placement: &Placement) -> f64 {
    let extent = subject.outline.bounding_rect();
    extent.map_or(f64::INFINITY, |extent| placement.mm(extent.height()))
}

/// The line around a zone: unbroken and broken by turns where plantings differ.
pub(super) fn zone_stroke(planting: usize) -> Stroke {
    let dash_mm = (planting % 2 == 1).then_some([2.4, 1.2]);
    Stroke { colour: INK, width_mm: BORDER_MM, dash_mm }
}

/// The line around a zone's label, of the kind that is around its zone.
pub(super) fn label_stroke(planting: usize) -> Stroke {
    let dash_mm = (planting % 2 == 1).then_some([1.4, 0.7]);
    Stroke { colour: INK, width_mm: LABEL_MM, dash_mm }
}

/// Width of the line around a label.
const LABEL_MM: f64 = 0.25;

/// What was measured: a dot on a vine, a bar along a whole panel, with a halo to be seen on every
/// class.
pub(super) fn measured(places: &[Vec<PaperPoint>], size: Size) -> Vec<Mark> {
    let radius = match size {
        Size::Disc(radius) => (0.42 * radius).clamp(0.45, 0.9),
        Size::Strip(_) => 0.55,
    };
    let ends = places.iter().filter_map(|line| Some((*line.first()?, *line.last()?)));
    let (panels, vines): (Vec<_>, Vec<_>) = ends.partition(|(first, last)| first != last);
    let bars = |colour, width_mm| {
        let outlines =
            panels.iter().map(|(first, last)| Outline::Line(vec![*first, *last])).collect();
        let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
        Mark::Shape(Shape { outlines, fill: None, stroke })
    };
    let dots = |colour, radius_mm| {
        let outlines =
            vines.iter().map(|(centre, _)| Outline::Disc { centre: *centre, radius_mm }).collect();
        Mark::Shape(Shape { outlines, fill: Some(colour), stroke: None })
    };
    vec![
        bars(PAPER, 1.5 * radius + 0.5),
        dots(PAPER, radius + 0.25),
        bars(INK, 1.5 * radius),
        dots(INK, radius),
    ]
}

/// The places of what was measured.
pub(super) fn measured_places(subject: &Subject, placement: &Placement) -> Vec<Vec<PaperPoint>> {
    (subject.measured.iter())
        .map(|vines| {
            let vines = vines.iter().filter_map(|vine| subject.vines.get(*vine));
            vines.map(|vine| placement.point(vine.at)).collect()
        })
        .collect()
}

/// An area with its edge.
pub(super) fn area(
    shape: &MultiPolygon<f64>,
    fill: Option<Colour>,
    edge: Option<(Colour, f64)>,
) -> Mark {
    let stroke = edge.map(|(colour, width_mm)| Stroke { colour, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines: rings(shape), fill, stroke })
}

/// Lines as they are drawn: those that come back to their start as rings.
pub(super) fn lines(lines: &MultiLineString<f64>) -> Vec<Outline> {
    let drawn = |line: &LineString<f64>| {
        let Outline::Ring(points) = ring(line) else { return ring(line) };
        if line.is_closed() { Outline::Ring(points) } else { Outline::Line(points) }
    };
    lines.iter().map(drawn).collect()
}

/// The outlines of an area.
pub(super) fn rings(shape: &MultiPolygon<f64>) -> Vec<Outline> {
    let rings =
        shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
    rings.map(ring).collect()
}

fn ring(line: &LineString<f64>) -> Outline {
    Outline::Ring(line.coords().map(|place| PaperPoint::new(place.x, place.y)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::{HeatMap, columns, example::Example};

    #[test]
    fn strips_cover_every_vine_from_half_a_gap_before_to_half_a_gap_after() {
        let subject = Example::large().subject(HeatMap::ThinningNeed);
        let (_, placement) = columns::choose_for(std::slice::from_ref(&subject)).unwrap();
        assert!(matches!(Size::at(&placement, subject.gaps_m), Size::Strip(_)));
        let (classes, of_vine) = (subject.classes.iter(), &subject.classes.of_vine);
        let classes = classes.map(|(class, _)| class);
        let lines: Vec<Vec<PaperPoint>> = classes
            .flat_map(|class| strips(&subject, &placement, &|vine| of_vine[vine] == class))
            .collect();
        let length = |line: &Vec<PaperPoint>| -> f64 {
            let parts = line.windows(2);
            parts.map(|p| (p[1].x_mm - p[0].x_mm).hypot(p[1].y_mm - p[0].y_mm)).sum()
        };
        let found: f64 = lines.iter().map(length).sum();
        let wanted = placement.mm(crate::maths::float(subject.vines.len()) * subject.gaps_m[1]);
        assert!((found - wanted).abs() < 1e-6 * wanted, "{found} mm of {wanted} mm");
        // Straight rows need no more than their ends.
        assert!(lines.iter().all(|line| line.len() == 2));
    }
}
