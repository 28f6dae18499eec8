//! The shapes of a shapefile -> neutral geometries.
//!
//! Outer rings are wound clockwise there, holes the other way; which hole lies in which ring the
//! file does not say and is found here.

use ::shapefile::{
    PolygonRing, Shape,
    record::{polygon::GenericPolygon, polyline::GenericPolyline, traits::HasXY},
};
use geo::{Area, Coord, Intersects, LineString, Polygon};
use geojson::{GeometryValue, Position};

use super::features::corners;

/// The geometry of a shape.
///
/// # Errors
/// What it is instead, when it cannot be drawn on a plane.
pub(super) fn geometry_of(shape: Shape) -> Result<GeometryValue, &'static str> {
    Ok(match shape {
        Shape::NullShape => return Err("a record without a shape"),
        Shape::Multipatch(_) => return Err("a surface in three dimensions"),
        Shape::Point(point) => GeometryValue::Point { coordinates: position(&point) },
        Shape::PointM(point) => GeometryValue::Point { coordinates: position(&point) },
        Shape::PointZ(point) => GeometryValue::Point { coordinates: position(&point) },
        Shape::Multipoint(points) => points_of(points.points()),
        Shape::MultipointM(points) => points_of(points.points()),
        Shape::MultipointZ(points) => points_of(points.points()),
        Shape::Polyline(line) => lines_of(&line),
        Shape::PolylineM(line) => lines_of(&line),
        Shape::PolylineZ(line) => lines_of(&line),
        Shape::Polygon(polygon) => polygons_of(&polygon),
        Shape::PolygonM(polygon) => polygons_of(&polygon),
        Shape::PolygonZ(polygon) => polygons_of(&polygon),
    })
}

fn position(point: &impl HasXY) -> Position {
    Position::from([point.x(), point.y()])
}

fn line(points: &[impl HasXY]) -> Vec<Position> {
    points.iter().map(position).collect()
}

fn points_of(points: &[impl HasXY]) -> GeometryValue {
    match points {
        [point] => GeometryValue::Point { coordinates: position(point) },
        points => GeometryValue::MultiPoint { coordinates: line(points) },
    }
}

fn lines_of<P: HasXY>(polyline: &GenericPolyline<P>) -> GeometryValue {
    match polyline.parts().as_slice() {
        [part] => GeometryValue::LineString { coordinates: line(part) },
        parts => GeometryValue::MultiLineString {
            coordinates: parts.iter().map(|part| line(part)).collect(),
        },
    }
}

/// Outer rings with the holes that lie in them; a shape of holes only was wound the wrong way.
fn polygons_of<P: HasXY>(polygon: &GenericPolygon<P>) -> GeometryValue {
    let (mut outer, mut holes) = (Vec::new(), Vec::new());
    for ring in polygon.rings() {
        match ring {
            PolygonRing::Outer(points) => outer.push(vec![line(points)]),
            PolygonRing::Inner(points) => holes.push(line(points)),
        }
    }
    if outer.is_empty() {
        outer = holes.drain(..).map(|ring| vec![ring]).collect();
        (outer, holes) = by_nesting(outer);
    }
    for hole in holes {
        // On an island in a lake it is the smaller of the two rings around it that has the hole.
        let around = (0..outer.len()).filter(|at| lies_in(&hole, &outer[*at][0]));
        let home = around.min_by(|a, b| area(&outer[*a][0]).total_cmp(&area(&outer[*b][0])));
        outer[home.unwrap_or(0)].push(hole);
    }
    if outer.len() == 1 {
        GeometryValue::Polygon { coordinates: outer.remove(0) }
    } else {
        GeometryValue::MultiPolygon { coordinates: outer }
    }
}

/// Rings that lie in another are holes, those in a hole outer rings again.
fn by_nesting(rings: Vec<Vec<Vec<Position>>>) -> (Vec<Vec<Vec<Position>>>, Vec<Vec<Position>>) {
    let inside = |at: usize| {
        let others = (0..rings.len()).filter(|other| *other != at);
        others.filter(|other| lies_in(&rings[at][0], &rings[*other][0])).count() % 2 == 1
    };
    let nested: Vec<bool> = (0..rings.len()).map(inside).collect();
    let (mut outer, mut holes) = (Vec::new(), Vec::new());
    for (ring, nested) in rings.into_iter().zip(nested) {
        if nested { holes.extend(ring) } else { outer.push(ring) }
    }
    (outer, holes)
}

fn area(ring: &[Position]) -> f64 {
    Polygon::new(LineString::new(corners(ring)), Vec::new()).unsigned_area()
}

/// True when every corner of one ring lies in or on the other.
fn lies_in(ring: &[Position], around: &[Position]) -> bool {
    let around = Polygon::new(LineString::new(corners(around)), Vec::new());
    let corners: Vec<Coord<f64>> = corners(ring);
    !corners.is_empty() && corners.iter().all(|corner| around.intersects(corner))
}

#[cfg(test)]
mod tests {
    use ::shapefile::{Point, Polygon as ShapePolygon};

    use super::*;

    /// A square of this half-width around the origin, clockwise or the other way.
    fn square(half: f64, clockwise: bool) -> Vec<Point> {
        let mut corners =
            vec![(-half, -half), (-half, half), (half, half), (half, -half), (-half, -half)];
        if !clockwise {
            corners.reverse();
        }
        corners.into_iter().map(|(x, y)| Point::new(x, y)).collect()
    }

    fn rings_of(geometry: &GeometryValue) -> Vec<usize> {
        if let GeometryValue::MultiPolygon { coordinates } = geometry {
            coordinates.iter().map(Vec::len).collect()
        } else {
            Vec::new()
        }
    }

    #[test]
    fn a_hole_goes_to_the_smallest_ring_around_it() {
        let polygon = ShapePolygon::with_rings(vec![
            PolygonRing::Outer(square(5.0, true)),
            PolygonRing::Inner(square(4.0, false)),
            PolygonRing::Outer(square(3.0, true)),
            PolygonRing::Inner(square(1.0, false)),
        ]);
        assert_eq!(rings_of(&polygons_of(&polygon)), [2, 2]);
    }

    #[test]
    fn rings_wound_the_wrong_way_are_told_apart_by_nesting() {
        let rings = [5.0, 4.0, 3.0, 1.0].map(|half| vec![line(&square(half, false))]);
        let (outer, holes) = by_nesting(rings.to_vec());
        assert_eq!((outer.len(), holes.len()), (2, 2));
    }
}
