//! Which questions are asked of the earth: projections, true distances and bearings, declination.

mod ellipsoid;
mod north;
mod proj_calls;
mod transform;

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

    /// Degrees east of Greenwich.
    pub const fn lon(self) -> f64 {
        self.lon
    }

    /// Degrees north of the equator.
    pub const fn lat(self) -> f64 {
        self.lat
    }
}
