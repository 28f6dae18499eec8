//! The ground of the invented estate: shapes drawn in metres, written in degrees.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | a, e² | semi-major axis and squared eccentricity of WGS84 | m, – |
//! | M, N | radii of curvature along the meridian and across it | m |

use std::f64::consts::TAU;

use crate::{maths::random::Random, units::Degrees};

/// Where the estate's metres start: open moor, as far from any vine as the invention needs.
const ORIGIN_LON: Degrees = Degrees::new(-5.77);
const ORIGIN_LAT: Degrees = Degrees::new(56.075);

const A_M: f64 = 6_378_137.0;
const E_SQUARED: f64 = 0.006_694_379_990_14;

/// A drawing board laid on the ground: its origin and the bearing of its first axis.
#[derive(Debug, Clone, Copy)]
pub(super) struct Board {
    /// Metres east and north of the estate's origin.
    pub(super) at_m: [f64; 2],
    /// Of the first axis, clockwise from true north; the second axis lies to its right.
    pub(super) bearing: Degrees,
}

/// Points on a board: metres along its first axis and to the right of it.
pub(super) type Drawn = Vec<[f64; 2]>;

impl Board {
    /// The ring of a polygon in longitude and latitude, closed, 8 decimals of a degree.
    pub(super) fn ring(&self, drawn: &[[f64; 2]]) -> Vec<String> {
        let first = drawn.first().into_iter();
        drawn.iter().chain(first).map(|point| self.position(*point)).collect()
    }

    fn position(&self, [along, right]: [f64; 2]) -> String {
        let (sin, cos) = self.bearing.radians().sin_cos();
        let east = self.at_m[0] + along * sin + right * cos;
        let north = self.at_m[1] + along * cos - right * sin;
        let (lon, lat) = lon_lat(east, north);
        format!("[{lon:.8}, {lat:.8}]")
    }
}

/// Degrees of a place near the estate's origin: good to 0.1 m within a kilometre, which is enough
/// for ground that does not exist.
fn lon_lat(east_m: f64, north_m: f64) -> (f64, f64) {
    let (sin, cos) = ORIGIN_LAT.radians().sin_cos();
    let w = 1.0 - E_SQUARED * sin * sin;
    let m = A_M * (1.0 - E_SQUARED) / (w * w.sqrt());
    let n = A_M / w.sqrt();
    let lat = ORIGIN_LAT.degrees() + Degrees::from_radians(north_m / m).degrees();
    let lon = ORIGIN_LON.degrees() + Degrees::from_radians(east_m / (n * cos)).degrees();
    (lon, lat)
}

/// A counter-clockwise ring of `points` points around `[0, 0]`: semi-axes in metres, both ends bent
/// to the right by `bend_m`, and every point off by a walker's wobble (standard deviation, metres).
pub(super) fn walked_ring(
    points: u32,
    semi_axes_m: [f64; 2],
    bend_m: f64,
    wobble_m: f64,
    seed: u64,
) -> Drawn {
    let mut random = Random::new(seed);
    (0..points)
        .map(|i| {
            let (sin, cos) = (TAU * f64::from(i) / f64::from(points)).sin_cos();
            let along = semi_axes_m[0] * cos + wobble_m * random.normal();
            let right = -semi_axes_m[1] * sin + bend_m * cos * cos + wobble_m * random.normal();
            [along, right]
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_metre_on_the_board_is_a_metre_on_the_ground() {
        // Geodesics on WGS84 (Karney) from the origin: the board's own radii must agree.
        use geo::{Distance, Geodesic, Point};
        let origin = Point::new(ORIGIN_LON.degrees(), ORIGIN_LAT.degrees());
        for [east, north] in [[300.0, 0.0], [0.0, -300.0], [-200.0, 250.0]] {
            let (lon, lat) = lon_lat(east, north);
            let found = Geodesic.distance(origin, Point::new(lon, lat));
            assert!((found - f64::hypot(east, north)).abs() < 0.05, "{east}, {north}: {found} m");
        }
    }

    #[test]
    fn the_second_axis_lies_to_the_right_of_the_first() {
        let board = Board { at_m: [0.0, 0.0], bearing: Degrees::new(0.0) };
        let ring = board.ring(&[[0.0, 0.0], [100.0, 0.0], [100.0, 50.0]]);
        assert_eq!(ring.len(), 4);
        assert_eq!(ring[0], ring[3]);
        assert_eq!(ring[0], "[-5.77000000, 56.07500000]");
        let lon = |position: &str| -> f64 { position[1..12].parse().unwrap() };
        assert!(lon(&ring[2]) > lon(&ring[1]), "{ring:?}");
    }
}
