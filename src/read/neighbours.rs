//! What only shows when everything is read: blocks that overlap, positions far from every block.

use geo::{Area, BooleanOps, BoundingRect, Intersects, MultiPolygon, Rect};

use super::{
    grid_doubts::{Doubt, far_from},
    outline::area_m2,
};
use crate::{
    block::Block,
    counts::Count,
    finding::{Finding, Findings},
    geodesy::{GridTransform, LonLat},
};

/// A smaller overlap is the width of a pencil line.
const LEAST_OVERLAP_M2: f64 = 1.0;
/// A position farther from every block than this, in degrees (about 1 km), is in doubt.
const FAR_DEGREES: f64 = 0.01;

/// The blocks of an estate lie nearer to each other than this, in degrees (about 100 km).
const ESTATE_DEGREES: f64 = 1.0;

/// Compares the blocks with each other, their control points and the positions of the counts; `grid`
/// is the one that the numbers of the blocks were in, if they were no degrees.
pub(super) fn compare(
    blocks: &[Block],
    counts: &[Count],
    grid: Option<&GridTransform>,
    findings: &mut Findings,
) {
    let boxes: Vec<Option<Rect<f64>>> = blocks.iter().map(|b| b.outline.bounding_rect()).collect();
    for (index, block) in blocks.iter().enumerate() {
        for (other, box_of_other) in blocks[..index].iter().zip(&boxes) {
            let near = boxes[index].zip(*box_of_other).is_some_and(|(a, b)| a.intersects(&b));
            if near {
                findings.extend(overlap(block, other).into_iter().collect());
            }
        }
    }
    tell_far_blocks(blocks, &boxes, grid, findings);
    tell_far_controls(blocks, &boxes, grid, findings);
    tell_far_counts(&boxes, counts, grid, findings);
}

fn tell_far_blocks(
    blocks: &[Block],
    boxes: &[Option<Rect<f64>>],
    grid: Option<&GridTransform>,
    findings: &mut Findings,
) {
    let Some(Some(first)) = boxes.first() else { return };
    for (block, area) in blocks.iter().zip(boxes).skip(1) {
        let Some(area) = area.filter(|area| is_far(area, first)) else { continue };
        let what = format!("more than 100 km from block \"{}\"", blocks[0].name);
        let finding = Finding::warning(block.place.clone(), what);
        findings.push(match middle(&area).zip(middle(first)) {
            Some((at, known)) => doubtful(finding, far_from(at, known, grid)),
            None => finding,
        });
    }
}

fn tell_far_controls(
    blocks: &[Block],
    boxes: &[Option<Rect<f64>>],
    grid: Option<&GridTransform>,
    findings: &mut Findings,
) {
    for (block, area) in blocks.iter().zip(boxes) {
        let Some(area) = area else { continue };
        let far = block.controls.iter().find(|control| {
            let (lon, lat) = (control.at.lon(), control.at.lat());
            is_far(area, &Rect::new((lon, lat), (lon, lat)))
        });
        let Some((control, at)) = far.zip(middle(area)) else { continue };
        let what = format!("more than 100 km from the control point \"{}\"", control.name);
        let finding = Finding::warning(block.place.clone(), what);
        findings.push(doubtful(finding, far_from(at, control.at, grid)));
    }
}

fn is_far(one: &Rect<f64>, other: &Rect<f64>) -> bool {
    let apart = one.center() - other.center();
    apart.x.abs().max(apart.y.abs()) > ESTATE_DEGREES
}

fn middle(area: &Rect<f64>) -> Option<LonLat> {
    LonLat::new(area.center().x, area.center().y)
}

fn doubtful(finding: Finding, doubt: Option<Doubt>) -> Finding {
    match doubt {
        Some(doubt) => finding.because(doubt.why).mend(doubt.mend),
        None => finding.mend("check its coordinates, and the zone they were taken from"),
    }
}

fn overlap(block: &Block, other: &Block) -> Option<Finding> {
    if same_outline(&block.outline, &other.outline) {
        let what = format!("the same outline as block \"{}\"", other.name);
        return Some(Finding::fault(block.place.clone(), what).mend("delete one of the two"));
    }
    let shared = block.outline.intersection(&other.outline);
    let area = if shared.unsigned_area() > 0.0 { area_m2(&shared) } else { 0.0 };
    (area > LEAST_OVERLAP_M2).then(|| {
        let what = format!("{area:.0} m² also belong to block \"{}\"", other.name);
        Finding::warning(block.place.clone(), what)
            .because("vines there would be planted twice")
            .mend("draw the two apart")
    })
}

/// The same corners, wherever the rings start.
fn same_outline(one: &MultiPolygon<f64>, other: &MultiPolygon<f64>) -> bool {
    let corners = |shape: &MultiPolygon<f64>| {
        let rings = shape.0.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let mut corners: Vec<(u64, u64)> = rings
            .flat_map(|ring| ring.0.iter().skip(1))
            .map(|corner| (corner.x.to_bits(), corner.y.to_bits()))
            .collect();
        corners.sort_unstable();
        corners
    };
    one.0.len() == other.0.len() && corners(one) == corners(other)
}

fn tell_far_counts(
    boxes: &[Option<Rect<f64>>],
    counts: &[Count],
    grid: Option<&GridTransform>,
    findings: &mut Findings,
) {
    if boxes.iter().all(Option::is_none) {
        return;
    }
    let near = |lon: f64, lat: f64| {
        boxes.iter().flatten().any(|area| {
            (area.min().x - FAR_DEGREES..=area.max().x + FAR_DEGREES).contains(&lon)
                && (area.min().y - FAR_DEGREES..=area.max().y + FAR_DEGREES).contains(&lat)
        })
    };
    let far: Vec<&Count> = counts
        .iter()
        .filter(|count| count.spot.position.is_some_and(|p| !near(p.at.lon(), p.at.lat())))
        .collect();
    let Some(first) = far.first() else { return };
    let what = format!("{} positions are more than 1 km from every block", far.len());
    let finding = Finding::warning(first.place.clone(), what);
    let known = first.spot.position.map(|position| position.at);
    let block = boxes.iter().flatten().next().and_then(middle);
    let doubt = block.zip(known).and_then(|(block, known)| far_from(block, known, grid));
    findings.push(match doubt {
        Some(doubt) if doubt.mend.contains("--swap-axes") => finding.because(doubt.why).mend(
            "if the block file names latitude first, pass --swap-axes; else check the column names",
        ),
        Some(doubt) => finding.because(doubt.why).mend(doubt.mend),
        None => finding.mend("check that they belong to these blocks and are in degrees of WGS84"),
    });
}
