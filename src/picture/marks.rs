//! Vines, counts, zones and ground as marks: vines one by one where they have room, else as strips
//! along their rows.

use geo::{LineString, MultiPolygon};

use crate::{
    frame::RowPoint,
    picture::{
        Colour, Mark, Outline, PaperPoint, Shape, Stroke,
        classes::Look,
        colours::{GROUND, INK, KEPT_OUT, NO_ESTIMATE, PAPER, RULE, SOFT_INK},
        map::Placement,
        subject::{Spot, Subject},
    },
};

/// Vines nearer than this on paper run together into strips, millimetres.
const LEAST_VINE_GAP_MM: f64 = 1.4;

/// How large vines are on paper, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Size {
    /// Vines one by one, with this radius.
    Disc(f64),
    /// Strips along the rows, with this width.
    Strip(f64),
}

impl Size {
    /// What the scale leaves room for.
    pub(super) fn at(placement: &Placement, gaps_m: [f64; 2]) -> Self {
        let [row_gap, vine_gap] = gaps_m.map(|gap| placement.mm(gap));
        if vine_gap.min(row_gap) >= LEAST_VINE_GAP_MM {
            Self::Disc((0.46 * vine_gap.min(row_gap)).min(3.0))
        } else {
            // Where rows are near each other on paper, white between them would only shimmer.
            let share = if row_gap < 1.2 { 0.94 } else { 0.78 };
            Self::Strip((share * row_gap).min(4.0))
        }
    }
}

/// The ground of the block and what is not planted.
pub(super) fn ground(subject: &Subject, placement: &Placement) -> Vec<Mark> {
    let mut marks =
        vec![area(&placement.polygon(&subject.outline), Some(GROUND), Some((RULE, 0.3)))];
    for (_, kept_out) in &subject.keep_outs {
        marks.push(area(&placement.polygon(kept_out), Some(KEPT_OUT), Some((RULE, 0.2))));
    }
    marks
}

/// All vines in the looks of their classes.
pub(super) fn vines(subject: &Subject, placement: &Placement, size: Size) -> Vec<Mark> {
    let mut marks = Vec::new();
    for (class, look) in subject.classes.iter().map(|(at, class)| (at, class.look)) {
        let outlines = match size {
            Size::Disc(_) => discs(subject, placement, class),
            Size::Strip(_) => strips(subject, placement, class),
        };
        if !outlines.is_empty() {
            marks.extend(looks(&outlines, look, size));
        }
    }
    marks
}

/// Vines of one look; discs come as lines of one point.
pub(super) fn looks(places: &[Vec<PaperPoint>], look: Look, size: Size) -> Vec<Mark> {
    match size {
        Size::Disc(radius) => disc_looks(places, look, radius),
        Size::Strip(width) => strip_looks(places, look, width),
    }
}

fn strip_looks(places: &[Vec<PaperPoint>], look: Look, width: f64) -> Vec<Mark> {
    let lines = |colour, width, dash_mm| {
        let outlines = places.iter().cloned().map(Outline::Line).collect();
        let stroke = Some(Stroke { colour, width_mm: width, dash_mm });
        Mark::Shape(Shape { outlines, fill: None, stroke })
    };
    match look {
        Look::Solid(colour) => vec![lines(colour, width, None)],
        Look::Open(colour) => vec![lines(colour, width, None), lines(PAPER, 0.58 * width, None)],
        Look::Hatched => vec![lines(NO_ESTIMATE, width, Some([0.3, 0.5]))],
        Look::Slight => vec![lines(NO_ESTIMATE, 0.3 * width, None)],
        Look::Gap => vec![lines(RULE, 0.15, None)],
    }
}

fn disc_looks(places: &[Vec<PaperPoint>], look: Look, radius: f64) -> Vec<Mark> {
    let centres: Vec<PaperPoint> = places.iter().filter_map(|line| line.first().copied()).collect();
    let discs = |radius_mm, fill, stroke: Option<(Colour, f64)>| {
        let outlines =
            centres.iter().map(|centre| Outline::Disc { centre: *centre, radius_mm }).collect();
        let stroke = stroke.map(|(colour, width_mm)| Stroke { colour, width_mm, dash_mm: None });
        Mark::Shape(Shape { outlines, fill, stroke })
    };
    let line = (0.16 * radius).max(0.12);
    match look {
        Look::Solid(colour) => vec![discs(radius, Some(colour), Some((SOFT_INK, 0.06)))],
        Look::Open(colour) => {
            vec![discs(0.79 * radius, Some(PAPER), Some((colour, 0.42 * radius)))]
        }
        Look::Hatched => vec![
            discs(0.85 * radius, Some(PAPER), Some((NO_ESTIMATE, line))),
            slashes(&centres, 0.6 * radius, line, &[[1.0, -1.0]]),
        ],
        Look::Slight => vec![discs(0.4 * radius, Some(NO_ESTIMATE), None)],
        Look::Gap => vec![slashes(&centres, 0.4 * radius, line, &[[1.0, -1.0], [1.0, 1.0]])],
    }
}

fn slashes(centres: &[PaperPoint], reach: f64, width_mm: f64, ways: &[[f64; 2]]) -> Mark {
    let slash = |centre: &PaperPoint, [x, y]: [f64; 2]| {
        let end = |side: f64| {
            PaperPoint::new(centre.x_mm + side * reach * x, centre.y_mm + side * reach * y)
        };
        Outline::Line(vec![end(-1.0), end(1.0)])
    };
    let outlines =
        centres.iter().flat_map(|centre| ways.iter().map(move |way| slash(centre, *way))).collect();
    let stroke = Some(Stroke { colour: NO_ESTIMATE, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}

fn discs(subject: &Subject, placement: &Placement, class: usize) -> Vec<Vec<PaperPoint>> {
    (subject.vines.iter().zip(&subject.classes.of_vine))
        .filter(|(_, own)| **own == class)
        .map(|(vine, _)| vec![placement.point(vine.at)])
        .collect()
}

/// Runs of neighbours of one class on a piece of row, from half a gap before the first to half a
/// gap after the last.
fn strips(subject: &Subject, placement: &Placement, class: usize) -> Vec<Vec<PaperPoint>> {
    let vines = &subject.vines;
    let of_vine = &subject.classes.of_vine;
    let mut strips = Vec::new();
    let mut start = 0;
    while start < vines.len() {
        let piece = vines[start].piece;
        let same = |at: &usize| vines[*at].piece == piece && of_vine[*at] == of_vine[start];
        let end = (start..vines.len()).take_while(same).last().unwrap_or(start);
        if of_vine[start] == class {
            let ground = run(vines, start, end, subject.gaps_m[1]);
            strips.push(straightened(ground.iter().map(|at| placement.point(*at)).collect()));
        }
        start = end + 1;
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

/// Zone outlines, with a halo so that they are seen on every class.
pub(super) fn zones(subject: &Subject, placement: &Placement) -> Vec<Mark> {
    let line = |stroke: fn(usize) -> Stroke| {
        subject.zones.iter().map(move |zone| {
            let mark = rings(&placement.polygon(&zone.shape));
            Mark::Shape(Shape { outlines: mark, fill: None, stroke: Some(stroke(zone.planting)) })
        })
    };
    let halo = |_| Stroke { colour: PAPER, width_mm: 0.9, dash_mm: None };
    line(halo).chain(line(zone_stroke)).collect()
}

/// The line around a zone: unbroken and broken by turns where plantings differ.
pub(super) fn zone_stroke(planting: usize) -> Stroke {
    let dash_mm = (planting % 2 == 1).then_some([2.4, 1.2]);
    Stroke { colour: INK, width_mm: 0.5, dash_mm }
}

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

fn rings(shape: &MultiPolygon<f64>) -> Vec<Outline> {
    let rings =
        shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
    rings.map(ring).collect()
}

fn ring(line: &LineString<f64>) -> Outline {
    Outline::Ring(line.coords().map(|place| PaperPoint::new(place.x, place.y)).collect())
}
