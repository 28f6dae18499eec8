//! Rounding of shapes, and the right-hand rule after it.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | `decimals` | decimals of a degree kept | – |
//! | `turned` | twice the area of a ring, counter-clockwise positive | degrees² |

use crate::{
    geodesy::LonLat,
    write::{
        Shape,
        layers::{Area, rounded},
    },
};

/// A place as written: longitude, latitude.
pub(crate) type Position = [f64; 2];

/// A shape as written: coordinates rounded, rings closed, borders counter-clockwise and holes
/// clockwise.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum WrittenShape {
    /// A place.
    Point(Position),
    /// A line.
    Line(Vec<Position>),
    /// Parts, each a border and its holes.
    Areas(Vec<Vec<Vec<Position>>>),
}

/// Rounds a shape to so many decimals of a degree.
///
/// A ring that rounding leaves without area is left out, a part whose border it is with its holes.
///
/// # Source
/// The order of rings: RFC 7946, 3.1.6 (right-hand rule).
pub(crate) fn written_shape(shape: &Shape, decimals: u8) -> WrittenShape {
    match shape {
        Shape::Point(at) => WrittenShape::Point(position(*at, decimals)),
        Shape::Line(places) => {
            WrittenShape::Line(places.iter().map(|at| position(*at, decimals)).collect())
        }
        Shape::Areas(areas) => {
            WrittenShape::Areas(areas.iter().filter_map(|area| rings(area, decimals)).collect())
        }
    }
}

fn position(at: LonLat, decimals: u8) -> Position {
    [rounded(at.lon(), decimals), rounded(at.lat(), decimals)]
}

fn rings(area: &Area, decimals: u8) -> Option<Vec<Vec<Position>>> {
    let outer = ring(&area.outer, decimals, true)?;
    let holes = area.holes.iter().filter_map(|hole| ring(hole, decimals, false));
    Some(std::iter::once(outer).chain(holes).collect())
}

fn ring(places: &[LonLat], decimals: u8, counter_clockwise: bool) -> Option<Vec<Position>> {
    let mut ring: Vec<Position> = places.iter().map(|at| position(*at, decimals)).collect();
    ring.dedup();
    while ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    let turned = turned(&ring);
    if ring.len() < 3 || turned == 0.0 {
        return None;
    }
    if (turned > 0.0) != counter_clockwise {
        ring.reverse();
    }
    ring.push(*ring.first()?);
    Some(ring)
}

/// Taken from the first corner, so that small rings far from the zero meridian keep their digits.
fn turned(ring: &[Position]) -> f64 {
    let Some(&[lon0, lat0]) = ring.first() else { return 0.0 };
    let cross =
        |a: Position, b: Position| (a[0] - lon0) * (b[1] - lat0) - (b[0] - lon0) * (a[1] - lat0);
    ring.windows(2).map(|pair| cross(pair[0], pair[1])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(ring: &[[f64; 2]]) -> Vec<LonLat> {
        ring.iter().map(|&[lon, lat]| LonLat::new(lon, lat).unwrap()).collect()
    }

    fn areas(outer: &[[f64; 2]], hole: &[[f64; 2]]) -> Shape {
        Shape::Areas(vec![Area { outer: places(outer), holes: vec![places(hole)] }])
    }

    #[test]
    fn borders_run_counter_clockwise_and_holes_clockwise() {
        let square = [[10.0, 44.0], [10.0, 44.001], [10.001, 44.001], [10.001, 44.0]];
        let hole = [[10.0002, 44.0002], [10.0004, 44.0002], [10.0004, 44.0004]];
        let WrittenShape::Areas(parts) = written_shape(&areas(&square, &hole), 8) else {
            panic!("areas")
        };
        let [outer, hole] = parts[0].as_slice() else { panic!("a border and a hole") };
        assert!(turned(outer) > 0.0 && turned(hole) < 0.0);
        assert_eq!((outer.len(), hole.len()), (5, 4));
        assert_eq!((outer.first(), hole.first()), (outer.last(), hole.last()));
    }

    #[test]
    fn a_hole_that_rounding_closes_is_left_out() {
        let square = [[10.0, 44.0], [10.001, 44.0], [10.001, 44.001], [10.0, 44.001]];
        let speck = [[10.000_5, 44.000_5], [10.000_500_001, 44.000_5], [10.000_5, 44.000_500_001]];
        let WrittenShape::Areas(parts) = written_shape(&areas(&square, &speck), 8) else {
            panic!("areas")
        };
        assert_eq!(parts[0].len(), 1);
    }
}
