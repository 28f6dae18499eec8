//! Where the zone lies: its rows thick, a dot where the crew begins.

use crate::{
    error::Error,
    frame::RowPoint,
    picture::{
        Anchor, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{GROUND, INK, KEPT_OUT, PAPER, RULE, SOFT_INK},
        furniture::{Furniture, SMALL},
        ground_words::{NumberedRows, row_numbers},
        lettering::wrap,
        looks::Size,
        map::{Area, Compass, Ladder, Placement, Room},
        marks::area,
        subject::{ground_extent, row_ends, spots},
    },
    plan::{Evidence, work::ZoneWork},
    units::{Degrees, Metres, ReadingUnits},
};

/// Height of the map without its words, and paper kept free around the block.
const HEIGHT_MM: f64 = 46.0;
const COLLAR_MM: f64 = 5.0;

/// The map, north up, and what it shows.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn map(
    evidence: Evidence<'_>,
    work: &ZoneWork,
    (units, words): (ReadingUnits, &str),
    width: f64,
) -> Result<Furniture, Error> {
    let (site, layout) = (evidence.site, evidence.layout);
    let compass =
        Compass { bearing: site.frame.bearing().true_north, rows_to: site.frame.rows_to() };
    let whole = Area { corner: PaperPoint::new(0.0, 0.0), width_mm: width, height_mm: HEIGHT_MM };
    let inner = Area {
        corner: PaperPoint::new(COLLAR_MM, COLLAR_MM),
        width_mm: width - 2.0 * COLLAR_MM,
        height_mm: HEIGHT_MM - 2.0 * COLLAR_MM,
    };
    let room = Room { area: inner, units, ladder: Ladder::Map };
    let placement = Placement::fit(&ground_extent(site, layout), compass, Degrees::new(0.0), room)
        .ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))?;
    let gaps_m = [site.rules.row_spacing, site.rules.vine_spacing].map(Metres::metres);
    let (rows, vines) = (row_ends(layout), spots(layout));
    let numbered = NumberedRows { rows: &rows, vines: &vines, zones: &[], gaps_m };
    let (numbers, _) = row_numbers(&numbered, (&placement, Size::at(&placement, gaps_m)), whole)?;
    let ground = |shape, fill| area(&placement.polygon(shape), Some(fill), Some((SOFT_INK, 0.25)));
    let mut map = Furniture { marks: vec![ground(&site.outline, GROUND)], height_mm: HEIGHT_MM };
    map.marks.extend(site.keep_outs.iter().map(|kept_out| ground(&kept_out.shape, KEPT_OUT)));
    let all = layout.pieces.iter().map(|piece| &piece.path);
    map.marks.push(lines(all, &placement, (RULE, 0.2)));
    let thick = (0.5 * placement.mm(gaps_m[0])).clamp(0.35, 1.2);
    let panels = work.rows.iter().flat_map(|row| &row.panels);
    let own = panels.map(|panel| &layout.panels[panel.panel].path);
    map.marks.push(lines(own, &placement, (INK, thick)));
    map.marks.extend(numbers);
    map.marks.extend(start(evidence, work).map(|at| dot(placement.point(at))));
    map.marks.extend(north(width));
    for line in wrap(words, SMALL, width)? {
        map.letter((0.0, 1.05 * SMALL.size_mm), line, SMALL, (Anchor::Start, SOFT_INK));
        map.space(1.32 * SMALL.size_mm);
    }
    Ok(map)
}

fn lines<'a>(
    paths: impl Iterator<Item = &'a geo::LineString<f64>>,
    placement: &Placement,
    (colour, width_mm): (crate::picture::Colour, f64),
) -> Mark {
    let point = |at: &geo::Coord<f64>| placement.point(RowPoint { along_m: at.x, across_m: at.y });
    let outlines = paths.map(|path| Outline::Line(path.coords().map(point).collect())).collect();
    let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: None, stroke })
}

/// Where the first vine of the walk stands.
fn start(evidence: Evidence<'_>, work: &ZoneWork) -> Option<RowPoint> {
    let row = work.rows.first()?;
    let [first, _] = row.vines()?;
    let panel = &evidence.layout.panels[row.panels.first()?.panel];
    let mut vines = evidence.layout.vines[panel.vines.clone()].iter();
    vines.find(|vine| vine.vine == first).map(|vine| vine.at)
}

fn dot(centre: PaperPoint) -> Mark {
    let outlines = vec![Outline::Disc { centre, radius_mm: 1.5 }];
    let stroke = Some(Stroke { colour: PAPER, width_mm: 0.5, dash_mm: None });
    Mark::Shape(Shape { outlines, fill: Some(INK), stroke })
}

/// A small arrow to the north, in the upper right corner.
fn north(width: f64) -> [Mark; 2] {
    let (x, y) = (width - 3.0, 4.5);
    let ring = [(x, y), (x + 1.6, y + 6.0), (x, y + 4.8), (x - 1.6, y + 6.0)];
    let outlines = vec![Outline::Ring(ring.map(|(x, y)| PaperPoint::new(x, y)).to_vec())];
    let at = PaperPoint::new(x, y - 1.0);
    [
        Mark::Shape(Shape { outlines, fill: Some(INK), stroke: None }),
        Mark::Lettering(Lettering::level(at, "N", SMALL, (Anchor::Middle, INK))),
    ]
}
