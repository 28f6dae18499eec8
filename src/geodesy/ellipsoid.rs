//! Distances, azimuths and areas on the WGS84 ellipsoid.
//!
//! # Source
//! Karney, C. F. F. (2013), Algorithms for geodesics, J. Geodesy 87:43–55, as in `geographiclib-rs`
//! through `geo`.

use geo::{Bearing, Destination, Distance, Geodesic, GeodesicArea, MultiPolygon, Point};

use super::LonLat;
use crate::units::{Degrees, Metres};

/// The shortest way between two places along the ellipsoid.
pub fn distance(from: LonLat, to: LonLat) -> Metres {
    Metres::new(Geodesic.distance(point(from), point(to)))
}

/// The direction of that way where it starts, clockwise from true north, 0 … 360°.
pub fn azimuth(from: LonLat, to: LonLat) -> Degrees {
    Degrees::new(Geodesic.bearing(point(from), point(to))).normalised()
}

/// Where that way ends: so far from `from`, setting out in direction `azimuth`.
pub fn destination(from: LonLat, azimuth: Degrees, distance: Metres) -> LonLat {
    let end = Geodesic.destination(point(from), azimuth.degrees(), distance.metres());
    LonLat::clamped(end.x(), end.y())
}

/// The area inside outlines in degrees of longitude and latitude, holes out, square metres.
///
/// # Units
/// Square metres on the ellipsoid, at height 0.
pub fn area_m2(outline: &MultiPolygon<f64>) -> f64 {
    outline.geodesic_area_signed().abs()
}

fn point(at: LonLat) -> Point<f64> {
    Point::new(at.lon(), at.lat())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_way_leads_where_it_says() {
        let from = LonLat::new(-73.2, 44.45).unwrap();
        let to = destination(from, Degrees::new(17.5), Metres::new(300.0));
        assert!((distance(from, to).metres() - 300.0).abs() < 1e-8);
        assert!((azimuth(from, to).degrees() - 17.5).abs() < 1e-8);
    }
}
