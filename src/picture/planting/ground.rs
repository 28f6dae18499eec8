//! Ground on a planting plan: the outline, what is kept clear within it, what is not planted.

use geo::MultiPolygon;

use crate::picture::{
    Colour, Mark, Outline, PaperPoint, Shape, Stroke,
    colours::{INK, KEPT_OUT, PAPER, RULE, SOFT_INK},
    map::Placement,
    marks::area,
    planting::drawing::Drawing,
};

/// Headland and side margin.
pub(super) const KEPT_CLEAR: Colour = Colour::new(236, 233, 222);
/// The line within which posts and anchors stand.
pub(super) const INNER: Stroke =
    Stroke { colour: SOFT_INK, width_mm: 0.18, dash_mm: Some([1.6, 0.9]) };
/// The line around a keep-out that nothing is driven within.
pub(super) const AROUND: Stroke =
    Stroke { colour: SOFT_INK, width_mm: 0.18, dash_mm: Some([0.5, 0.7]) };

/// Ground from the lowest to the topmost.
pub(super) fn ground(drawing: &Drawing<'_>, placement: &Placement) -> Vec<Mark> {
    let outline = placement.polygon(&drawing.site.outline);
    let mut marks = vec![area(&outline, Some(KEPT_CLEAR), None)];
    let inner = placement.polygon(&drawing.inner);
    marks.push(area(&inner, Some(PAPER), None));
    marks.push(dashed(&inner, INNER));
    for (kept_out, around) in drawing.site.keep_outs.iter().zip(&drawing.around) {
        if !kept_out.turning {
            marks.push(dashed(&placement.polygon(around), AROUND));
        }
        let shape = placement.polygon(&kept_out.shape);
        marks.push(area(&shape, Some(KEPT_OUT), Some((RULE, 0.25))));
        marks.push(hatched(&shape));
    }
    marks.push(area(&outline, None, Some((INK, 0.45))));
    marks
}

fn dashed(shape: &MultiPolygon<f64>, stroke: Stroke) -> Mark {
    match area(shape, None, None) {
        Mark::Shape(shape) => Mark::Shape(Shape { stroke: Some(stroke), ..shape }),
        other @ Mark::Lettering(_) => other,
    }
}

/// Slanted lines over a shape, so that grey tells it from ground that is only kept clear.
fn hatched(shape: &MultiPolygon<f64>) -> Mark {
    const APART_MM: f64 = 1.8;
    let mut outlines = Vec::new();
    // A slanted line x + y = c crosses the shape between every other pair of its edges.
    let edges = crate::picture::boxes::edges(shape);
    let along = |at: &geo::Coord<f64>| at.x + at.y;
    let reach = edges.iter().flatten().map(along);
    let (low, high) = (reach.clone().fold(f64::INFINITY, f64::min), reach.fold(0.0, f64::max));
    let mut line = (low / APART_MM).ceil() * APART_MM;
    while line < high {
        let crossing = |[from, to]: &crate::picture::boxes::Edge| {
            let (start, end) = (along(from), along(to));
            ((start > line) != (end > line))
                .then(|| from.x + (line - start) / (end - start) * (to.x - from.x))
        };
        let mut across: Vec<f64> = edges.iter().filter_map(crossing).collect();
        across.sort_by(f64::total_cmp);
        for pair in across.chunks_exact(2) {
            let ends = [pair[0], pair[1]].map(|x| PaperPoint::new(x, line - x));
            outlines.push(Outline::Line(ends.to_vec()));
        }
        line += APART_MM;
    }
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.15, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}
