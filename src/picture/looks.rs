//! How vines of a class look, one by one or in strips.

use crate::picture::{
    Colour, Mark, Outline, PaperPoint, Shape, Stroke,
    classes::Look,
    colours::{INK, NO_ESTIMATE, PAPER, RULE, SOFT_INK},
    map::Placement,
};

/// Vines nearer than this on paper run together into strips, millimetres.
const LEAST_VINE_GAP_MM: f64 = 1.4;

/// Width of an outline in ink, and of a bar across a strip.
const EDGE_MM: f64 = 0.14;
const BAR_MM: f64 = 0.3;

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
    let outline = |lines: &dyn Fn(Colour, f64, Option<[f64; 2]>) -> Mark| {
        [lines(INK, width, None), lines(PAPER, (width - 2.0 * EDGE_MM).max(0.0), None)]
    };
    match look {
        Look::Solid(colour) => vec![lines(colour, width, None)],
        Look::Open(colour) => vec![lines(colour, width, None), lines(PAPER, 0.58 * width, None)],
        Look::Weight(share) => {
            let core = lines(INK, share * width, None);
            outline(&lines).into_iter().chain((share > 0.0).then_some(core)).collect()
        }
        Look::Barred(bars) => {
            let apart = 2.4 / f64::from(bars) - BAR_MM;
            outline(&lines).into_iter().chain([lines(INK, width, Some([BAR_MM, apart]))]).collect()
        }
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
        Look::Weight(share) => {
            let ring = discs(radius, Some(PAPER), Some((INK, EDGE_MM)));
            let core = discs(share.sqrt() * radius, Some(INK), None);
            std::iter::once(ring).chain((share > 0.0).then_some(core)).collect()
        }
        Look::Barred(bars) => {
            vec![discs(radius, Some(PAPER), Some((INK, EDGE_MM))), barred(&centres, radius, bars)]
        }
        Look::Hatched => vec![
            discs(0.85 * radius, Some(PAPER), Some((NO_ESTIMATE, line))),
            slashes(&centres, (0.6 * radius, line, NO_ESTIMATE), &[[1.0, -1.0]]),
        ],
        Look::Slight => vec![discs(0.4 * radius, Some(NO_ESTIMATE), None)],
        Look::Gap => {
            let ways = [[1.0, -1.0], [1.0, 1.0]];
            vec![slashes(&centres, (0.4 * radius, line, NO_ESTIMATE), &ways)]
        }
    }
}

/// Level bars through discs.
fn barred(centres: &[PaperPoint], radius: f64, bars: u8) -> Mark {
    let heights: &[f64] = if bars > 1 { &[-0.36, 0.36] } else { &[0.0] };
    let bar = |centre: &PaperPoint, height: f64| {
        let reach = radius * (1.0 - height * height).sqrt();
        let end =
            |side: f64| PaperPoint::new(centre.x_mm + side * reach, centre.y_mm + height * radius);
        Outline::Line(vec![end(-1.0), end(1.0)])
    };
    let outlines = (centres.iter())
        .flat_map(|centre| heights.iter().map(move |height| bar(centre, *height)))
        .collect();
    let stroke = Some(Stroke { colour: INK, width_mm: 0.3 * radius, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}

/// Paper through vines of which little is known: a slash through discs, gaps in strips.
pub(super) fn little_known(places: &[Vec<PaperPoint>], size: Size) -> Mark {
    match size {
        Size::Disc(radius) => {
            let centres: Vec<PaperPoint> =
                places.iter().filter_map(|line| line.first().copied()).collect();
            slashes(&centres, (0.8 * radius, 0.34 * radius, PAPER), &[[1.0, -1.0]])
        }
        Size::Strip(width) => {
            let outlines = places.iter().cloned().map(Outline::Line).collect();
            let stroke =
                Some(Stroke { colour: PAPER, width_mm: width + 0.1, dash_mm: Some([0.4, 1.0]) });
            Mark::Shape(Shape { outlines, fill: None, stroke })
        }
    }
}

fn slashes(
    centres: &[PaperPoint],
    (reach, width_mm, colour): (f64, f64, Colour),
    ways: &[[f64; 2]],
) -> Mark {
    let slash = |centre: &PaperPoint, [x, y]: [f64; 2]| {
        let end = |side: f64| {
            PaperPoint::new(centre.x_mm + side * reach * x, centre.y_mm + side * reach * y)
        };
        Outline::Line(vec![end(-1.0), end(1.0)])
    };
    let outlines =
        centres.iter().flat_map(|centre| ways.iter().map(move |way| slash(centre, *way))).collect();
    let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}
