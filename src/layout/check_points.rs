//! Two corners of the outline, far apart, that anybody can find again: a receiver is checked on
//! them before anything is staked.

use geo::{ConvexHull, Coord};

use super::strand::{length, row_point};
use crate::{
    frame::{RowPoint, Site},
    units::Degrees,
};

/// A corner to check a receiver on.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPoint {
    /// Its name in every stake-out file and on the plan: `CHK1` or `CHK2`.
    pub name: &'static str,
    /// Where it is.
    pub at: RowPoint,
    /// What it is, such as `north-west corner of the outline`.
    pub words: String,
}

/// Pairs of corners whose distances differ by less are one as good as the other, metres.
const AS_GOOD_M: f64 = 0.001;

/// The two corners of the outline that lie farthest apart; `CHK1` is the one on row 1's side.
///
/// Of pairs that are equally far apart the one nearest to row 1's start is taken, so that turning or
/// reordering the outline changes nothing.
pub fn check_points(site: &Site) -> [CheckPoint; 2] {
    let hull = site.outline.convex_hull();
    let mut corners = hull.exterior().0.clone();
    corners.pop();
    let [one, other] = farthest(&corners).unwrap_or_default();
    [("CHK1", one), ("CHK2", other)].map(|(name, corner)| {
        let at = row_point(corner);
        let words = format!("{} corner of the outline", side(site, at));
        CheckPoint { name, at, words }
    })
}

/// On which side of the block's middle a place lies.
fn side(site: &Site, at: RowPoint) -> &'static str {
    let ground = site.frame.to_ground(at);
    let azimuth = Degrees::from_radians(ground.east_m.atan2(ground.north_m)).normalised();
    let sides = [
        (22.5, "north"),
        (67.5, "north-east"),
        (112.5, "east"),
        (157.5, "south-east"),
        (202.5, "south"),
        (247.5, "south-west"),
        (292.5, "west"),
        (337.5, "north-west"),
    ];
    sides.iter().find(|(end, _)| azimuth.degrees() < *end).map_or("north", |(_, side)| side)
}

/// The two corners of a convex ring, counter-clockwise and not closed, that lie farthest apart.
fn farthest(ring: &[Coord<f64>]) -> Option<[Coord<f64>; 2]> {
    let mut pairs: Vec<[Coord<f64>; 2]> =
        opposite(ring).into_iter().map(|(one, other)| in_order([ring[one], ring[other]])).collect();
    let apart = |pair: &[Coord<f64>; 2]| length(pair[0], pair[1]);
    let longest = pairs.iter().map(apart).fold(0.0, f64::max);
    pairs.retain(|pair| apart(pair) > longest - AS_GOOD_M);
    pairs.into_iter().min_by_key(|pair| pair.map(rank))
}

/// Pairs of corners that two parallel lines around the ring can touch together: the farthest two
/// are among them.
///
/// # Source
/// Shamos (1978), Computational Geometry, Yale, the rotating calipers; from memory.
fn opposite(ring: &[Coord<f64>]) -> Vec<(usize, usize)> {
    let corners = ring.len();
    if corners < 3 {
        return if corners == 2 { vec![(0, 1)] } else { Vec::new() };
    }
    let next = |at: usize| (at + 1) % corners;
    let height = |edge: usize, at: usize| {
        let (start, way) = (ring[edge], ring[next(edge)] - ring[edge]);
        way.x * (ring[at].y - start.y) - way.y * (ring[at].x - start.x)
    };
    let mut pairs = Vec::with_capacity(4 * corners);
    let mut far = 1;
    for edge in 0..corners {
        while height(edge, next(far)) > height(edge, far) {
            far = next(far);
        }
        // The corner behind it is as far where the two edges are parallel.
        for corner in [far, next(far)] {
            pairs.extend([(edge, corner), (next(edge), corner)]);
        }
    }
    pairs
}

/// The corner on row 1's side first.
fn in_order([one, other]: [Coord<f64>; 2]) -> [Coord<f64>; 2] {
    if rank(one) <= rank(other) { [one, other] } else { [other, one] }
}

/// A corner's place in the order across and along the rows, millimetres: finer differences come
/// from rounding.
fn rank(corner: Coord<f64>) -> (i64, i64) {
    #[expect(clippy::cast_possible_truncation, reason = "a block is 20 km long at most")]
    let millimetres = |metres: f64| (metres * 1000.0).round() as i64;
    (millimetres(corner.y), millimetres(corner.x))
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, Polygon, polygon};

    use super::*;
    use crate::maths::random::Random;

    fn ring(outline: &MultiPolygon<f64>) -> Vec<Coord<f64>> {
        let mut corners = outline.convex_hull().exterior().0.clone();
        corners.pop();
        corners
    }

    #[test]
    fn the_diagonal_nearest_to_row_one_is_taken_of_two_that_are_equal() {
        let outline: MultiPolygon<f64> = polygon![
            (x: 0.0, y: 0.0), (x: 80.0, y: 1e-9), (x: 80.0, y: 45.0), (x: 0.0, y: 45.0)
        ]
        .into();
        let turned: MultiPolygon<f64> = polygon![
            (x: 80.0, y: 45.0), (x: 0.0, y: 45.0), (x: 0.0, y: 1e-9), (x: 80.0, y: 0.0)
        ]
        .into();
        for outline in [outline, turned] {
            let [one, other] = farthest(&ring(&outline)).unwrap();
            assert!(length(one, Coord { x: 0.0, y: 0.0 }) < 1e-6, "{one:?}");
            assert!(length(other, Coord { x: 80.0, y: 45.0 }) < 1e-6, "{other:?}");
        }
    }

    #[test]
    fn no_two_corners_lie_farther_apart() {
        let mut random = Random::new(7);
        for corners in (3..60).chain([400]) {
            let points = (0..corners).map(|_| {
                let (turn, reach) =
                    (random.uniform() * std::f64::consts::TAU, random.uniform() * 90.0);
                Coord { x: turn.cos() * (reach + 10.0), y: turn.sin() * (reach + 10.0) }
            });
            let points: Vec<Coord<f64>> = points.collect();
            let outline = MultiPolygon::new(vec![Polygon::new(points.clone().into(), Vec::new())]);
            let [one, other] = farthest(&ring(&outline)).unwrap();
            let all = points.iter().flat_map(|a| points.iter().map(move |b| length(*a, *b)));
            let longest = all.fold(0.0, f64::max);
            assert!(longest - length(one, other) < AS_GOOD_M, "{corners}: {longest}");
        }
    }
}
