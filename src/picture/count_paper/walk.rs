//! The map of the walk on paper: the block, its rows, and the places by their number.

use crate::{
    error::Error,
    frame::Site,
    layout::Layout,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, Paper, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, SOFT_INK},
        compass::compass_and_bar,
        furniture::Furniture,
        map::Placement,
        small_map::small_map,
    },
    sample::Stop,
    units::ReadingUnits,
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
    let size = [width - BESIDE_MM, HEIGHT_MM];
    let (mut map, placement) = small_map((site, layout), (units, "row"), size, COLLAR_MM)?;
    map.marks.extend(places(stops, &placement));
    let beside = compass_and_bar(&placement, (units, paper), BESIDE_MM);
    let corner = PaperPoint::new(width - BESIDE_MM, HEIGHT_MM - beside.height_mm);
    map.marks.extend(beside.at(corner));
    Ok(map)
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
