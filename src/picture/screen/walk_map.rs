//! The map of a walk: the block, its rows, and the places to count by their number.
//!
//! Every place is a `circle` with its number in `data-stop`, so that a page can mark it; the words
//! after it are its number.

use std::fmt::Write as _;

use super::{foot::HEIGHT_MM, foot::foot, sheet::Sheet};
use crate::{
    error::Error,
    frame::{RowPoint, Site},
    layout::Layout,
    picture::{
        Outline,
        colours::{GROUND, INK, KEPT_OUT, PAPER, RULE, SOFT_INK},
        ground_words::ground_numbers,
        map::Compass,
        marks::rings,
        subject::ground_extent,
        svg::{elements, path_data, rounded},
    },
    sample::Stop,
    units::ReadingUnits,
};

/// Radius of a place, and height of its number.
const PLACE_MM: f64 = 2.2;
const NUMBER_MM: f64 = 2.6;

/// The map as an SVG element, a unit a millimetre on a sheet as wide as a phone, north up.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub fn walk_map(
    site: &Site,
    layout: &Layout,
    stops: &[Stop],
    units: ReadingUnits,
) -> Result<String, Error> {
    let compass =
        Compass { bearing: site.frame.bearing().true_north, rows_to: site.frame.rows_to() };
    let sheet = Sheet::for_ground(&ground_extent(site, layout), compass)
        .ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))?;
    let numbers = ground_numbers((site, layout), "row", &sheet.placement, sheet.area())?;
    Ok([
        head(&sheet, stops.len()),
        ground(site, &sheet),
        pieces(layout, &sheet),
        elements(&numbers),
        walk(stops, &sheet),
        places(stops, &sheet),
        foot(&sheet, units),
        "</svg>".to_owned(),
    ]
    .concat())
}

fn head(sheet: &Sheet, stops: usize) -> String {
    let (width, height) = (rounded(sheet.width_mm), rounded(sheet.height_mm + HEIGHT_MM));
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" role=\"img\" aria-labelledby=\"map-title \
         map-desc\"><title id=\"map-title\">Map of the places to count</title><desc id=\"map-desc\">\
         The outline of the block, north up, its rows, and {stops} places numbered in the order of \
         the walk. The table of places says the same.</desc>"
    )
}

fn ground(site: &Site, sheet: &Sheet) -> String {
    let area = |shape, fill| {
        let path = path_data(&rings(&sheet.placement.polygon(shape)));
        format!(
            "<path d=\"{path}\" fill=\"{fill}\" fill-rule=\"evenodd\" stroke=\"{SOFT_INK}\" \
             stroke-width=\".3\"/>"
        )
    };
    let kept_out = site.keep_outs.iter().map(|ground| area(&ground.shape, KEPT_OUT));
    std::iter::once(area(&site.outline, GROUND)).chain(kept_out).collect()
}

fn pieces(layout: &Layout, sheet: &Sheet) -> String {
    let point =
        |at: &geo::Coord<f64>| sheet.placement.point(RowPoint { along_m: at.x, across_m: at.y });
    let line =
        |piece: &crate::layout::Piece| Outline::Line(piece.path.coords().map(point).collect());
    let lines: Vec<Outline> = layout.pieces.iter().map(line).collect();
    let path = path_data(&lines);
    format!("<path d=\"{path}\" fill=\"none\" stroke=\"{RULE}\" stroke-width=\".3\"/>")
}

/// From place to place, straight: which end of a row is walked around is said in words.
fn walk(stops: &[Stop], sheet: &Sheet) -> String {
    let line = Outline::Line(stops.iter().map(|stop| sheet.placement.point(stop.at)).collect());
    format!(
        "<path d=\"{}\" fill=\"none\" stroke=\"{SOFT_INK}\" stroke-width=\".25\" \
         stroke-dasharray=\"1 .8\"/>",
        path_data(&[line])
    )
}

fn places(stops: &[Stop], sheet: &Sheet) -> String {
    let mut drawn = String::new();
    for (at, stop) in stops.iter().enumerate() {
        let (number, place) = (at + 1, sheet.placement.point(stop.at));
        let (x, y) = (rounded(place.x_mm), rounded(place.y_mm));
        let base = rounded(place.y_mm + 0.36 * NUMBER_MM);
        let _ = write!(
            drawn,
            "<circle data-stop=\"{number}\" cx=\"{x}\" cy=\"{y}\" r=\"{PLACE_MM}\" fill=\"{PAPER}\" \
             stroke=\"{INK}\" stroke-width=\".3\"/><text x=\"{x}\" y=\"{base}\" \
             font-size=\"{NUMBER_MM}\" font-weight=\"bold\" text-anchor=\"middle\" \
             fill=\"{INK}\">{number}</text>"
        );
    }
    drawn
}
