//! The frame of a block: degrees to metres along and across its rows, and back.
//!
//! # Source
//! Ground scale: 1 + h / R with the IUGG mean radius R = 6 371 008.8 m (Moritz 2000, Geodetic
//! Reference System 1980, J. Geodesy 74:128–133).

use geo::{Coord, MapCoords};

use super::{AppliedBearing, GroundPoint, RowPoint, row_axes::RowAxes};
use crate::{
    block::RowsTo,
    geodesy::{GeodesyError, LocalPlane, LonLat, PlanePoint, azimuth, destination, distance},
    units::{Degrees, Metres},
};

/// Mean radius of the earth, metres.
const MEAN_RADIUS_M: f64 = 6_371_008.8;

/// How a block's plane lies on the globe.
///
/// Transverse Mercator on WGS84 with scale 1 at the area centroid of the outline, enlarged by
/// 1 + h / 6 371 008.8 m so that a metre is a metre of tape at elevation h. At the origin the
/// plane's north is true north: the bearing holds there.
#[derive(Debug, Clone)]
pub struct Frame {
    origin: LonLat,
    elevation: Metres,
    bearing: AppliedBearing,
    rows_to: RowsTo,
    largest_scale_error_ppm: f64,
    plane: LocalPlane,
    axes: RowAxes,
    ground_scale: f64,
}

impl Frame {
    /// A frame that touches the globe at `origin`.
    ///
    /// # Errors
    /// When PROJ refuses the plane, which no sound origin brings about.
    pub fn new(
        origin: LonLat,
        elevation: Metres,
        bearing: AppliedBearing,
        rows_to: RowsTo,
    ) -> Result<Self, GeodesyError> {
        Ok(Self {
            origin,
            elevation,
            bearing,
            rows_to,
            largest_scale_error_ppm: 0.0,
            plane: LocalPlane::centred_on(origin)?,
            axes: RowAxes::new(bearing.true_north, rows_to),
            ground_scale: 1.0 + elevation.metres() / MEAN_RADIUS_M,
        })
    }

    /// The same frame, with the largest scale error at these places (see
    /// [`Frame::largest_scale_error_ppm`]).
    pub(super) fn measured_at(self, places: impl IntoIterator<Item = LonLat>) -> Self {
        let errors = places.into_iter().filter_map(|at| self.plane.scale_at(at));
        let largest = errors.map(|scale| (scale - 1.0).abs()).fold(0.0, f64::max);
        Self { largest_scale_error_ppm: largest * 1e6, ..self }
    }

    /// The same plane with rows of another bearing from true north.
    #[must_use]
    pub fn turned(&self, bearing: Degrees) -> Self {
        let bearing = AppliedBearing::from_true_north(bearing);
        Self { bearing, axes: RowAxes::new(bearing.true_north, self.rows_to), ..self.clone() }
    }

    /// The same frame so many degrees farther east: the ellipsoid is round about its axis, so that
    /// nothing changes but the longitude of every place.
    ///
    /// # Errors
    /// When PROJ refuses the plane, which no sound origin brings about.
    pub fn turned_about_the_axis(&self, east_deg: f64) -> Result<Self, GeodesyError> {
        let lon = Degrees::new(self.origin.lon() + east_deg).normalised().degrees();
        let lon = if lon > 180.0 { lon - 360.0 } else { lon };
        let origin = LonLat::clamped(lon, self.origin.lat());
        Ok(Self { origin, plane: LocalPlane::centred_on(origin)?, ..self.clone() })
    }

    /// Where the plane touches the globe: the area centroid of the outline.
    pub const fn origin(&self) -> LonLat {
        self.origin
    }

    /// Height of the ground above the ellipsoid.
    pub const fn elevation(&self) -> Metres {
        self.elevation
    }

    /// The bearing of the rows at the origin, and how it came from the one that was given.
    pub const fn bearing(&self) -> AppliedBearing {
        self.bearing
    }

    /// On which side of row 1 row 2 lies.
    pub const fn rows_to(&self) -> RowsTo {
        self.rows_to
    }

    /// The plane in PROJ's words, without the ground scale.
    pub fn proj_string(&self) -> &str {
        self.plane.definition()
    }

    /// Length on the ground over length on the plane.
    pub const fn ground_scale(&self) -> f64 {
        self.ground_scale
    }

    /// How far lengths on the plane are off on the ellipsoid at the worst place of the outline.
    ///
    /// # Units
    /// Millionths.
    pub const fn largest_scale_error_ppm(&self) -> f64 {
        self.largest_scale_error_ppm
    }

    /// A place in metres along and across the rows.
    ///
    /// Beyond the reach of the plane (some thousand kilometres) true distance and azimuth from the
    /// origin stand in, so that a place on the other side of the globe is finite and far.
    pub fn to_row(&self, at: LonLat) -> RowPoint {
        let plane = self.near(at).then(|| self.plane.to_plane(at)).flatten();
        let PlanePoint { east, north } = plane.unwrap_or_else(|| self.by_geodesic(at));
        self.from_ground(GroundPoint {
            east_m: east * self.ground_scale,
            north_m: north * self.ground_scale,
        })
    }

    /// The place that lies there, in degrees of longitude and latitude.
    pub fn to_lon_lat(&self, at: RowPoint) -> LonLat {
        let ground = self.to_ground(at);
        let plane = PlanePoint {
            east: ground.east_m / self.ground_scale,
            north: ground.north_m / self.ground_scale,
        };
        self.plane.to_lon_lat(plane).unwrap_or_else(|| {
            // Only far beyond any block.
            let way = Metres::new(plane.east.hypot(plane.north));
            destination(self.origin, Degrees::from_radians(plane.east.atan2(plane.north)), way)
        })
    }

    /// Metres of ground east and north of the origin.
    pub fn to_ground(&self, at: RowPoint) -> GroundPoint {
        self.axes.to_ground(at)
    }

    /// Metres along and across the rows.
    pub fn from_ground(&self, at: GroundPoint) -> RowPoint {
        self.axes.to_row(at)
    }

    /// A shape in degrees of longitude and latitude, as one in metres: `x` along and `y` across the
    /// rows. Edges stay straight between the same corners.
    pub fn shape_to_rows<G: MapCoords<f64, f64>>(&self, shape: &G) -> G::Output {
        shape.map_coords(|Coord { x, y }| {
            let RowPoint { along_m, across_m } = self.to_row(LonLat::clamped(x, y));
            Coord { x: along_m, y: across_m }
        })
    }

    /// Far off, the projection answers with wild numbers instead of refusing.
    fn near(&self, at: LonLat) -> bool {
        let reach = 10.0;
        (at.lon() - self.origin.lon()).abs() < reach && (at.lat() - self.origin.lat()).abs() < reach
    }

    fn by_geodesic(&self, at: LonLat) -> PlanePoint {
        let way = distance(self.origin, at).metres();
        let (sin, cos) = azimuth(self.origin, at).radians().sin_cos();
        PlanePoint { east: way * sin, north: way * cos }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn frame() -> Frame {
        let bearing = AppliedBearing::from_true_north(Degrees::new(14.5));
        let origin = LonLat::new(-73.2, 44.45).unwrap();
        Frame::new(origin, Metres::new(300.0), bearing, RowsTo::Right).unwrap()
    }

    #[test]
    fn there_and_back_is_the_same_place() {
        let frame = frame();
        for at in [(0.0, 0.0), (120.0, -80.0), (-9000.0, 9000.0)] {
            let row = RowPoint { along_m: at.0, across_m: at.1 };
            let back = frame.to_row(frame.to_lon_lat(row));
            let off = (back.along_m - row.along_m).hypot(back.across_m - row.across_m);
            assert!(off < 1e-6, "{off} m");
        }
    }

    #[test]
    fn the_other_side_of_the_globe_is_finite_and_far() {
        for (lon, lat) in [(106.8, -44.45), (17.0, 0.0), (-73.2, 90.0), (180.0, 0.0)] {
            let there = frame().to_row(LonLat::new(lon, lat).unwrap());
            let far = there.along_m.hypot(there.across_m);
            assert!(far.is_finite() && far > 1e6, "{far} m");
        }
        let beyond = RowPoint { along_m: 3e7, across_m: -2e7 };
        assert!(frame().to_lon_lat(beyond).lon().is_finite());
    }

    #[test]
    fn any_thread_may_ask() {
        let frame = frame();
        let at = RowPoint { along_m: 10.0, across_m: 20.0 };
        let here = frame.to_lon_lat(at);
        let there = std::thread::spawn(move || frame.to_lon_lat(at)).join().unwrap();
        assert_eq!(here, there);
    }
}
