//! The map of the walk on paper: the block, its rows, and the places by their number.

use crate::{
    error::Error,
    frame::{RowPoint, Site},
    layout::Layout,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, Paper, PaperPoint, Shape, Stroke,
        colours::{GROUND, INK, KEPT_OUT, PAPER, RULE, SOFT_INK},
        compass::compass_and_bar,
        furniture::Furniture,
        ground_words::{NumberedRows, row_numbers},
        looks::Size,
        map::{Area, Compass, Ladder, Placement, Room},
        marks::area,
        subject::{ground_extent, row_ends, spots},
    },
    sample::Stop,
    units::{Degrees, Metres, ReadingUnits},
};

/// Height of the map, and of the paper kept free around the block.
const HEIGHT_MM: f64 = 112.0;
const COLLAR_MM: f64 = 8.0;
/// Width of the compass and the bar beside the map.
const BESIDE_MM: f64 = 76.0;
/// A place and its number.
const PLACE_MM: f64 = 1.9;
const NUMBER: Hand = Hand { size_mm: 2.3, bold: true };

/// The map with compass and bar beside it, `width` wide.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn walk(
    (site, layout): (&Site, &Layout),
    stops: &[Stop],
    (units, paper): (ReadingUnits, Paper),
    width: f64,
) -> Result<Furniture, Error> {
    let compass =
        Compass { bearing: site.frame.bearing().true_north, rows_to: site.frame.rows_to() };
    let whole = Area {
        corner: PaperPoint::new(0.0, 0.0),
        width_mm: width - BESIDE_MM,
        height_mm: HEIGHT_MM,
    };
    let inner = Area {
        corner: PaperPoint::new(COLLAR_MM, COLLAR_MM),
        width_mm: whole.width_mm - 2.0 * COLLAR_MM,
        height_mm: whole.height_mm - 2.0 * COLLAR_MM,
    };
    let room = Room { area: inner, units, ladder: Ladder::Map };
    let placement = Placement::fit(&ground_extent(site, layout), compass, Degrees::new(0.0), room)
        .ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))?;
    let gaps_m = [site.rules.row_spacing, site.rules.vine_spacing].map(Metres::metres);
    let (rows, vines) = (row_ends(layout), spots(layout));
    let numbered = NumberedRows { rows: &rows, vines: &vines, zones: &[], gaps_m };
    let size = Size::at(&placement, gaps_m);
    let (numbers, _) = row_numbers(&numbered, (&placement, size), whole)?;
    let mut map = Furniture { marks: ground(site, &placement), height_mm: HEIGHT_MM };
    map.marks.push(lines(layout, &placement));
    map.marks.extend(numbers);
    map.marks.extend(places(stops, &placement));
    let beside = compass_and_bar(&placement, (units, paper), BESIDE_MM);
    let corner = PaperPoint::new(width - BESIDE_MM, HEIGHT_MM - beside.height_mm);
    map.marks.extend(beside.at(corner));
    Ok(map)
}

fn ground(site: &Site, placement: &Placement) -> Vec<Mark> {
    let one = |shape, fill| area(&placement.polygon(shape), Some(fill), Some((SOFT_INK, 0.3)));
    let kept_out = site.keep_outs.iter().map(|ground| one(&ground.shape, KEPT_OUT));
    std::iter::once(one(&site.outline, GROUND)).chain(kept_out).collect()
}

fn lines(layout: &Layout, placement: &Placement) -> Mark {
    let point = |at: &geo::Coord<f64>| placement.point(RowPoint { along_m: at.x, across_m: at.y });
    let outlines = (layout.pieces.iter())
        .map(|piece| Outline::Line(piece.path.coords().map(point).collect()))
        .collect();
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.3, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}

/// The walk from place to place, straight, and the places on it.
fn places(stops: &[Stop], placement: &Placement) -> Vec<Mark> {
    let at: Vec<PaperPoint> = stops.iter().map(|stop| placement.point(stop.at)).collect();
    let dashed = Some(Stroke { colour: SOFT_INK, width_mm: 0.25, dash_mm: Some([1.0, 0.8]) });
    let way = Shape { outlines: vec![Outline::Line(at.clone())], fill: None, stroke: dashed };
    let mut marks = vec![Mark::Shape(way)];
    for (number, place) in (1..).zip(at) {
        let disc = Outline::Disc { centre: place, radius_mm: PLACE_MM };
        let stroke = Some(Stroke { colour: INK, width_mm: 0.3, dash_mm: None });
        marks.push(Mark::Shape(Shape { outlines: vec![disc], fill: Some(PAPER), stroke }));
        let base = PaperPoint::new(place.x_mm, place.y_mm + 0.36 * NUMBER.size_mm);
        let words = u32::to_string(&number);
        marks.push(Mark::Lettering(Lettering::level(base, words, NUMBER, (Anchor::Middle, INK))));
    }
    marks
}
