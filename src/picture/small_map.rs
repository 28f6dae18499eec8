//! A small map on a sheet of paper, north up: the block, its rows and their numbers.

use crate::{
    error::Error,
    frame::{RowPoint, Site},
    layout::Layout,
    picture::{
        Colour, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{GROUND, KEPT_OUT, RULE, SOFT_INK},
        furniture::Furniture,
        ground_words::ground_numbers,
        map::{Area, Compass, Ladder, Placement, Room},
        marks::area,
        subject::ground_extent,
    },
    units::{Degrees, ReadingUnits},
};

/// The map in a space of this width and height, and where the ground lies on it; the first number has the word
/// for a row before it, and `collar_mm` of paper are kept free around the block.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn small_map(
    (site, layout): (&Site, &Layout),
    (units, row): (ReadingUnits, &str),
    [width_mm, height_mm]: [f64; 2],
    collar_mm: f64,
) -> Result<(Furniture, Placement), Error> {
    let compass =
        Compass { bearing: site.frame.bearing().true_north, rows_to: site.frame.rows_to() };
    let whole = Area { corner: PaperPoint::new(0.0, 0.0), width_mm, height_mm };
    let inner = Area {
        corner: PaperPoint::new(collar_mm, collar_mm),
        width_mm: width_mm - 2.0 * collar_mm,
        height_mm: height_mm - 2.0 * collar_mm,
    };
    let room = Room { area: inner, units, ladder: Ladder::Map };
    let placement = Placement::fit(&ground_extent(site, layout), compass, Degrees::new(0.0), room)
        .ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))?;
    let numbers = ground_numbers((site, layout), row, &placement, whole)?;
    let mut map = Furniture { marks: ground(site, &placement), height_mm };
    let pieces = layout.pieces.iter().map(|piece| &piece.path);
    map.marks.push(lines(pieces, &placement, (RULE, 0.3)));
    map.marks.extend(numbers);
    Ok((map, placement))
}

fn ground(site: &Site, placement: &Placement) -> Vec<Mark> {
    let one = |shape, fill| area(&placement.polygon(shape), Some(fill), Some((SOFT_INK, 0.3)));
    let kept_out = site.keep_outs.iter().map(|ground| one(&ground.shape, KEPT_OUT));
    std::iter::once(one(&site.outline, GROUND)).chain(kept_out).collect()
}

/// Lines along rows.
pub(super) fn lines<'a>(
    paths: impl Iterator<Item = &'a geo::LineString<f64>>,
    placement: &Placement,
    (colour, width_mm): (Colour, f64),
) -> Mark {
    let point = |at: &geo::Coord<f64>| placement.point(RowPoint { along_m: at.x, across_m: at.y });
    let outlines = paths.map(|path| Outline::Line(path.coords().map(point).collect())).collect();
    let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}
