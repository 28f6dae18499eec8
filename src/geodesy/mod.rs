//! Which questions are asked of the earth: projections, true distances and bearings, declination,
//! the sun.
//!
//! PROJ stands behind [`LocalPlane`] and [`GridTransform`], which any thread may use; Karney's
//! geodesics and the World Magnetic Model are pure Rust. Every answer is finite or an error:
//! PROJ by itself hands NaN and infinity through.

mod ellipsoid;
mod error;
mod grid_facts;
mod north;
mod proj_calls;
mod sun;
mod transform;

pub use ellipsoid::{area_m2, azimuth, destination, distance};
pub use error::GeodesyError;
pub use grid_facts::{GridFactors, GridFacts, GridUnit, utm_zone};
pub use north::{CompassCaution, Declination, convergence, declination};
pub use proj_calls::Accuracy;
pub use sun::{SUN_YEARS, SunPath};
pub use transform::{AreaOfUse, GridTransform, LocalPlane, PlanePoint};

/// A place in degrees of longitude and latitude (WGS84), finite and on the globe.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LonLat {
    lon: f64,
    lat: f64,
}

impl LonLat {
    /// The place, or `None` unless −180 ≤ longitude ≤ 180 and −90 ≤ latitude ≤ 90.
    pub fn new(lon: f64, lat: f64) -> Option<Self> {
        let on_globe = lon.abs() <= 180.0 && lat.abs() <= 90.0;
        on_globe.then_some(Self { lon, lat })
    }

    /// The place nearest to these degrees that is on the globe; not a number counts as 0.
    pub fn clamped(lon: f64, lat: f64) -> Self {
        let within = |value: f64, limit: f64| {
            if value.is_nan() { 0.0 } else { value.clamp(-limit, limit) }
        };
        Self { lon: within(lon, 180.0), lat: within(lat, 90.0) }
    }

    /// Degrees east of Greenwich.
    pub const fn lon(self) -> f64 {
        self.lon
    }

    /// Degrees north of the equator.
    pub const fn lat(self) -> f64 {
        self.lat
    }
}
