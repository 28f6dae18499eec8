//! Labels on a planting plan: keep-outs, headland, side margin, check points.

use crate::{
    error::Error,
    frame::RowPoint,
    picture::{
        Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        boxes::{edges, holds},
        colours::{INK, PAPER},
        labels::Labels,
        lettering::printable,
        map::{Area, Placement},
        planting::{
            drawing::{Drawing, RowDrawn},
            row_words::Lettered,
        },
        words,
    },
    units::Metres,
};

/// A name.
const NAME: Hand = Hand { size_mm: 3.2, bold: true };
/// What is said of it.
const WORDS: Hand = Hand { size_mm: 3.0, bold: false };
/// Radius of a check point.
const CHECK_MM: f64 = 1.3;
/// Margins narrower than this on paper are in the legend alone.
const LEAST_MARGIN_MM: f64 = 1.0;
/// A leader to a margin longer than this tells less than the legend.
const LONGEST_LEADER_MM: f64 = 30.0;
/// Rows at whose ends a place for the headland's label is looked for.
const ROWS_TRIED: usize = 15;

/// Every label that finds free paper, clear of what is lettered already.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn callouts(
    drawing: &Drawing<'_>,
    placement: &Placement,
    (area, lettered): (Area, Lettered),
) -> Result<Vec<Mark>, Error> {
    let outline = placement.polygon(&drawing.site.outline);
    let mut labels = Labels::new(area, &outline, lettered.taken, &[]);
    let mut marks = Vec::new();
    for mark in &drawing.notes.check_points {
        let at = placement.point(mark.at);
        marks.extend(check_point(at));
        labels.call_out(&[at], &[(&printable(&mark.name), NAME)], f64::INFINITY)?;
    }
    if let Some(vine_1) = lettered.row_1_without_name {
        labels.call_out(&[placement.point(vine_1)], &[("row 1, vine 1", NAME)], f64::INFINITY)?;
    }
    for kept_out in &drawing.site.keep_outs {
        let name = kept_out.name.as_deref().map_or("not planted".to_owned(), printable);
        let own = words::clear(kept_out.clearance, drawing.notes.units);
        let wider = kept_out.clearance.metres() > drawing.site.rules.side_margin.metres();
        let clear = match (kept_out.turning, wider) {
            (true, true) => format!("kept clear as at the outline, and {own}"),
            (true, false) => "kept clear as at the outline".to_owned(),
            (false, _) => format!("kept clear {own}"),
        };
        let shape = placement.polygon(&kept_out.shape);
        let forms = [&[(name.as_str(), NAME), (clear.as_str(), WORDS)][..], &[(&name, NAME)]];
        labels.place_where_free(&shape, &forms)?;
    }
    margin(drawing, placement, &mut labels, Margin::Headland)?;
    margin(drawing, placement, &mut labels, Margin::Side)?;
    marks.extend(labels.into_marks());
    Ok(marks)
}

/// A cross in a circle, as surveyors mark a point.
pub(super) fn check_point(at: PaperPoint) -> Vec<Mark> {
    let line = |x: f64, y: f64| {
        let end = |side: f64| PaperPoint::new(at.x_mm + side * x, at.y_mm + side * y);
        Outline::Line(vec![end(-1.0), end(1.0)])
    };
    let reach = 1.5 * CHECK_MM;
    let disc = Outline::Disc { centre: at, radius_mm: CHECK_MM };
    let stroke = Some(Stroke { colour: INK, width_mm: 0.3, dash_mm: None });
    let shape = |outlines, fill| Mark::Shape(Shape { outlines, fill, stroke });
    vec![shape(vec![disc], Some(PAPER)), shape(vec![line(reach, 0.0), line(0.0, reach)], None)]
}

/// Ground that is kept clear within the outline.
#[derive(Clone, Copy)]
enum Margin {
    Headland,
    Side,
}

/// Labels a margin with its length, from the first of many places that can be led out.
fn margin(
    drawing: &Drawing<'_>,
    placement: &Placement,
    labels: &mut Labels,
    which: Margin,
) -> Result<(), Error> {
    let [headland, side] = drawing.margins();
    let (name, clear, places) = match which {
        Margin::Headland => ("headland", headland, ahead_of_rows(drawing, headland)),
        Margin::Side => ("side margin", side, beside_rows(drawing, side)),
    };
    if placement.mm(clear.metres()) < LEAST_MARGIN_MM {
        return Ok(());
    }
    let outline = edges(&drawing.site.outline);
    let inside = |at: &RowPoint| holds(&outline, geo::Coord { x: at.along_m, y: at.across_m });
    let length = words::clear(clear, drawing.notes.units);
    let places: Vec<PaperPoint> =
        places.into_iter().filter(inside).map(|place| placement.point(place)).collect();
    labels.call_out(&places, &[(&format!("{name} {length}"), WORDS)], LONGEST_LEADER_MM)?;
    Ok(())
}

/// Half the headland ahead of row ends, and half a row spacing beside the row's own line, where
/// numbers of rows stand.
fn ahead_of_rows(drawing: &Drawing<'_>, headland: Metres) -> Vec<RowPoint> {
    let half_row = drawing.site.rules.row_spacing.metres() / 2.0;
    let ahead = |row: &RowDrawn| {
        row.ends.map(|end| {
            let out = (end.outermost.along_m - end.inward.along_m).signum();
            RowPoint {
                along_m: end.outermost.along_m + 0.5 * out * headland.metres(),
                across_m: end.outermost.across_m + half_row,
            }
        })
    };
    let apart = drawing.rows.len().div_ceil(ROWS_TRIED).max(1);
    drawing.rows.iter().step_by(apart).flat_map(ahead).collect()
}

/// Half the side margin beside the first and the last row, at several places along them.
fn beside_rows(drawing: &Drawing<'_>, side: Metres) -> Vec<RowPoint> {
    let outer = [(drawing.rows.first(), -0.5), (drawing.rows.last(), 0.5)];
    let outer = outer.into_iter().filter_map(|(row, out)| Some((row?, out)));
    let beside = |(row, out): (&RowDrawn, f64)| {
        let [from, to] = row.ends.map(|end| end.outermost);
        [0.5, 0.35, 0.65, 0.2, 0.8, 0.1, 0.9].map(|share| RowPoint {
            along_m: from.along_m + share * (to.along_m - from.along_m),
            across_m: from.across_m + share * (to.across_m - from.across_m) + out * side.metres(),
        })
    };
    outer.flat_map(beside).collect()
}
