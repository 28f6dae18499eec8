//! Where the work lies: its rows thick, a dot where the crew begins.

use crate::{
    error::Error,
    frame::RowPoint,
    picture::{
        Anchor, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, SOFT_INK},
        furniture::{Furniture, SMALL},
        lettering::wrap,
        small_map::{lines, small_map},
    },
    plan::{Evidence, work::ZoneWork},
    units::ReadingUnits,
};

/// Height of the map without its words, and paper kept free around the block.
const HEIGHT_MM: f64 = 44.0;
const COLLAR_MM: f64 = 5.0;

/// The map, north up, and what it shows.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn map(
    evidence: Evidence<'_>,
    work: &ZoneWork,
    (units, [words, row]): (ReadingUnits, [&str; 2]),
    width: f64,
) -> Result<Furniture, Error> {
    let (site, layout) = (evidence.site, evidence.layout);
    let (mut map, placement) =
        small_map((site, layout), (units, row), [width, HEIGHT_MM], COLLAR_MM)?;
    let row_gap = site.rules.row_spacing.metres();
    let thick = (0.5 * placement.mm(row_gap)).clamp(0.35, 1.2);
    let panels = work.rows.iter().flat_map(|row| &row.panels);
    let own = panels.map(|panel| &layout.panels[panel.panel].path);
    map.marks.push(lines(own, &placement, (INK, thick)));
    map.marks.extend(start(evidence, work).map(|at| dot(placement.point(at))));
    map.marks.extend(north(width));
    for line in wrap(words, SMALL, width)? {
        map.letter((0.0, 1.05 * SMALL.size_mm), line, SMALL, (Anchor::Start, SOFT_INK));
        map.space(1.32 * SMALL.size_mm);
    }
    Ok(map)
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
