//! What makes a shape of cleaned rings no shape: rings that cross, holes outside, parts that overlap.
//!
//! The rules are those of OGC simple features, as `geo::Validation` has them, without its test of
//! every pair of sides.

use geo::{
    BoundingRect, Coord, Intersects, LineString, MultiPolygon, Polygon, PreparedGeometry, Relate,
    coordinate_position::CoordPos, dimensions::Dimensions, relate::IntersectionMatrix,
};

use super::crossing::{Crossing, self_crossing};
use crate::finding::{Finding, Place};

/// Everything wrong with a shape, with its place on the globe where that helps.
pub(super) fn shape_faults(shape: &MultiPolygon<f64>, place: &Place) -> Vec<Finding> {
    let fault = |what: String| Finding::fault(place.clone(), what);
    let mut faults: Vec<Finding> =
        shape.0.iter().flat_map(|part| ring_faults(part, place)).collect();
    if !faults.is_empty() {
        // Rings that cross have no inside that could be compared.
        return faults;
    }
    faults.extend(shape.0.iter().flat_map(|part| hole_faults(part, place)));
    for (index, part) in shape.0.iter().enumerate() {
        for (before, earlier) in shape.0[..index].iter().enumerate() {
            let both = format!("part {} and part {}", before + 1, index + 1);
            match how_they_meet(earlier, part) {
                Meeting::Apart => {}
                Meeting::OnALine => faults.push(
                    fault(format!("{both} share an edge"))
                        .because("parts may touch in corners only")
                        .mend("draw the two as one"),
                ),
                Meeting::OnGround => faults.push(
                    fault(format!("{both} overlap"))
                        .because("each ground belongs to one part")
                        .mend("draw the two as one"),
                ),
            }
        }
    }
    faults
}

fn ring_faults(part: &Polygon<f64>, place: &Place) -> Vec<Finding> {
    rings(part)
        .filter_map(|(name, ring)| match self_crossing(ring) {
            Crossing::Nowhere => None,
            Crossing::At(meeting) => Some(
                Finding::fault(
                    place.clone(),
                    format!("{name} crosses or touches itself{}", at(meeting.at)),
                )
                .because("what is inside and what outside is unclear")
                .mend("move the corners there apart"),
            ),
            Crossing::TooIntricate => Some(
                Finding::fault(place.clone(), format!("{name} is too intricate to be checked"))
                    .because("too many of its sides lie side by side")
                    .mend("simplify it to the corners that matter"),
            ),
        })
        .collect()
}

fn rings(part: &Polygon<f64>) -> impl Iterator<Item = (String, &LineString<f64>)> {
    let holes = part.interiors().iter().enumerate();
    std::iter::once(("the outline".to_owned(), part.exterior()))
        .chain(holes.map(|(index, hole)| (format!("hole {}", index + 1), hole)))
}

fn hole_faults(part: &Polygon<f64>, place: &Place) -> Vec<Finding> {
    let fault = |what: String| Finding::fault(place.clone(), what);
    let holes: Vec<Polygon<f64>> = part.interiors().iter().cloned().map(filled).collect();
    if holes.is_empty() {
        return Vec::new();
    }
    let outline = filled(part.exterior().clone());
    let outline = PreparedGeometry::from(&outline);
    let mut faults = Vec::new();
    for (index, hole) in holes.iter().enumerate() {
        let relation = outline.relate(hole);
        if !relation.is_contains() {
            let place = hole.exterior().0.first().copied().map_or_else(String::new, at);
            let what = format!("hole {} lies outside the outline{place}", index + 1);
            faults.push(
                fault(what)
                    .because("a hole is cut out of its outline")
                    .mend("move or delete the hole"),
            );
        } else if edges_meet(&relation) {
            let what = format!("hole {} shares an edge with the outline", index + 1);
            faults.push(fault(what).mend("draw the outline around it instead"));
        }
        for (before, earlier) in holes[..index].iter().enumerate() {
            if how_they_meet(earlier, hole) != Meeting::Apart {
                let what = format!("hole {} and hole {} overlap", before + 1, index + 1);
                let what = format!("{what} or share an edge");
                faults.push(fault(what).mend("draw the two apart, or as one"));
            }
        }
    }
    faults
}

fn filled(ring: LineString<f64>) -> Polygon<f64> {
    Polygon::new(ring, Vec::new())
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Meeting {
    /// Not at all, or in single points.
    Apart,
    /// Along an edge.
    OnALine,
    /// On an area.
    OnGround,
}

fn how_they_meet(one: &Polygon<f64>, other: &Polygon<f64>) -> Meeting {
    let boxes = one.bounding_rect().zip(other.bounding_rect());
    if !boxes.is_some_and(|(one, other)| one.intersects(&other)) {
        return Meeting::Apart;
    }
    let relation = one.relate(other);
    if relation.get(CoordPos::Inside, CoordPos::Inside) == Dimensions::TwoDimensional {
        Meeting::OnGround
    } else if edges_meet(&relation) {
        Meeting::OnALine
    } else {
        Meeting::Apart
    }
}

fn edges_meet(relation: &IntersectionMatrix) -> bool {
    relation.get(CoordPos::OnBoundary, CoordPos::OnBoundary) == Dimensions::OneDimensional
}

fn at(point: Coord<f64>) -> String {
    format!(" at longitude {:.7}, latitude {:.7}", point.x, point.y)
}
