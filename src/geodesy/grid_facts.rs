//! What a person with a receiver must know of a grid: its unit, datum, scale, and the UTM zone of a
//! place.

use super::{GeodesyError, GridTransform, LonLat, proj_calls};
use crate::units::Degrees;

/// The unit in which a grid counts eastings and northings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GridUnit {
    /// The metre.
    Metre,
    /// The international foot, 0.3048 m exactly.
    Foot,
    /// The US survey foot, 1200/3937 m exactly.
    SurveyFoot,
}

impl GridUnit {
    const ALL: [Self; 3] = [Self::Metre, Self::Foot, Self::SurveyFoot];

    /// Metres in the unit.
    ///
    /// # Source
    /// NIST SP 811 (2008), appendix B.6, for both feet.
    pub const fn metres(self) -> f64 {
        match self {
            Self::Metre => 1.0,
            Self::Foot => 0.3048,
            Self::SurveyFoot => 1200.0 / 3937.0,
        }
    }

    /// The unit as file names and tables have it: `m`, `ft`, `ftus`.
    pub const fn short(self) -> &'static str {
        match self {
            Self::Metre => "m",
            Self::Foot => "ft",
            Self::SurveyFoot => "ftus",
        }
    }

    /// Its name in words, which foot it is included.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Metre => "metre",
            Self::Foot => "international foot (0.3048 m)",
            Self::SurveyFoot => "US survey foot (1200/3937 m)",
        }
    }
}

/// What the register says of a grid.
#[derive(Debug, Clone, PartialEq)]
pub struct GridFacts {
    /// Its name, such as `WGS 84 / UTM zone 33N`.
    pub name: String,
    /// Its datum.
    pub datum: String,
    /// The year that coordinates of a datum that moves with the ground hold for, if known.
    pub epoch: Option<f64>,
    /// Metres by which the frames of a datum that is a family of frames differ.
    pub family_m: Option<f64>,
    /// The unit of easting and northing.
    pub unit: GridUnit,
}

/// How a grid lies at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridFactors {
    /// Grid north, clockwise from true north.
    pub convergence: Degrees,
    /// Length on the grid over length on the ellipsoid, along the meridian.
    pub scale: f64,
    /// The same along the parallel; it differs on a grid that is not conformal.
    pub scale_along_parallel: f64,
}

impl GridTransform {
    /// The grid of the UTM zone that a place lies in, on WGS84, with the exceptions of Norway and
    /// Svalbard.
    ///
    /// # Errors
    /// None that a sound place brings about: PROJ knows every zone.
    ///
    /// # Source
    /// Zones and exceptions: NGA.STND.0037, Universal Grids (2014), §3; codes: EPSG register,
    /// 32601 … 32660 north and 32701 … 32760 south of the equator.
    pub fn utm(at: LonLat) -> Result<Self, GeodesyError> {
        let south = if at.lat() < 0.0 { 100 } else { 0 };
        Self::new(&format!("EPSG:{}", 32_600 + south + utm_zone(at)))
    }

    /// What the register says of the grid.
    ///
    /// # Errors
    /// A grid that does not count east and north, or not in metres or one of the two feet.
    pub fn facts(&self) -> Result<GridFacts, GeodesyError> {
        let unknown = || GeodesyError::UnknownGrid(self.code().to_owned());
        let registered = proj_calls::registered(self.code()).ok_or_else(unknown)?;
        let [one, other] = &registered.axes;
        let ways = [one.direction.as_str(), other.direction.as_str()];
        if ways != ["east", "north"] && ways != ["north", "east"] {
            let ways = format!("{} and {}", one.direction, other.direction);
            return Err(GeodesyError::OtherAxes { crs: self.code().to_owned(), ways });
        }
        let is = |unit: &GridUnit, metres: f64| (unit.metres() - metres).abs() < 1e-12;
        let unit = GridUnit::ALL.into_iter().find(|u| is(u, one.metres) && is(u, other.metres));
        let unit = unit.ok_or_else(|| GeodesyError::OtherUnit {
            crs: self.code().to_owned(),
            unit: one.unit.clone(),
        })?;
        let proj_calls::Registered { name, datum, epoch, family_m, .. } = registered;
        Ok(GridFacts { name, datum, epoch, family_m, unit })
    }

    /// Convergence and scale at a place.
    ///
    /// # Errors
    /// A place that the grid does not reach.
    pub fn factors_at(&self, at: LonLat) -> Result<GridFactors, GeodesyError> {
        let off =
            || GeodesyError::OffGrid { crs: self.code().to_owned(), x: at.lon(), y: at.lat() };
        let factors = proj_calls::factors(self.code(), at).ok_or_else(off)?;
        Ok(GridFactors {
            convergence: factors.convergence,
            scale: factors.scale,
            scale_along_parallel: factors.scale_along_parallel,
        })
    }
}

/// The UTM zone of a place, 1 … 60.
pub fn utm_zone(at: LonLat) -> u32 {
    let (lon, lat) = (at.lon(), at.lat());
    if (56.0..64.0).contains(&lat) && (3.0..12.0).contains(&lon) {
        return 32;
    }
    let svalbard = [(0.0, 9.0, 31), (9.0, 21.0, 33), (21.0, 33.0, 35), (33.0, 42.0, 37)];
    let within = |(west, east, _): &&(f64, f64, u32)| (*west..*east).contains(&lon);
    if lat >= 72.0
        && let Some(&(_, _, zone)) = svalbard.iter().find(within)
    {
        return zone;
    }
    // The 180th meridian ends the last zone as it begins the first.
    (1..60).find(|zone| lon < f64::from(*zone).mul_add(6.0, -180.0)).unwrap_or(60)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    // Source: NGA.STND.0037, Universal Grids (2014), §3, from memory: 6° zones from 180° W; 32V
    // reaches west to 3° E; 31X, 33X, 35X and 37X take the place of 32X, 34X and 36X.
    #[test]
    fn zones_follow_the_standard_with_its_exceptions() {
        let cases = [
            (-180.0, 0.0, 1),
            (-174.0, 0.0, 2),
            (179.999, -44.0, 60),
            (180.0, -44.0, 60),
            (-3.0, 59.0, 30),
            (0.0, 45.0, 31),
            (5.999, 45.0, 31),
            (5.0, 60.0, 32),
            (2.999, 60.0, 31),
            (5.0, 64.0, 31),
            (5.0, 55.999, 31),
            (8.0, 78.0, 31),
            (9.0, 78.0, 33),
            (20.0, 72.0, 33),
            (21.0, 78.0, 35),
            (41.0, 78.0, 37),
            (42.0, 78.0, 38),
            (8.0, 71.999, 32),
        ];
        for (lon, lat, zone) in cases {
            assert_eq!(utm_zone(place(lon, lat)), zone, "{lon}, {lat}");
        }
        assert_eq!(GridTransform::utm(place(147.0, -36.0)).unwrap().code(), "EPSG:32755");
        assert_eq!(GridTransform::utm(place(5.0, 60.0)).unwrap().code(), "EPSG:32632");
    }

    // Source: EPSG register as `projinfo EPSG:n` of PROJ 9.1.1 prints it.
    #[test]
    fn the_register_tells_the_foot() {
        let facts = |code: &str| GridTransform::new(code).unwrap().facts();
        let utm = facts("EPSG:32630").unwrap();
        assert_eq!((utm.name.as_str(), utm.unit), ("WGS 84 / UTM zone 30N", GridUnit::Metre));
        assert_eq!(utm.datum, "World Geodetic System 1984 ensemble");
        assert_eq!(utm.family_m, Some(2.0));
        let california = facts("EPSG:6420").unwrap();
        assert_eq!(california.unit, GridUnit::SurveyFoot);
        assert_eq!(california.datum, "NAD83 (National Spatial Reference System 2011)");
        assert_eq!(facts("EPSG:2222").unwrap().unit, GridUnit::Foot);
        // Gold Coast foot of 6378300/20926201 m.
        let refused = facts("EPSG:2136").unwrap_err().to_string();
        assert!(refused.contains("Gold Coast foot"), "{refused}");
        // North comes first in the register, and still both are counted the usual way.
        assert_eq!(facts("EPSG:31468").unwrap().unit, GridUnit::Metre);
    }

    // Source: EPSG register: the Lo grids of southern Africa count west and south.
    #[test]
    fn a_grid_that_counts_west_and_south_is_refused() {
        let refused = GridTransform::new("EPSG:2048").unwrap().facts().unwrap_err();
        assert!(refused.to_string().contains("west and south"), "{refused}");
        assert!(!refused.mend().is_empty());
    }

    #[test]
    fn a_datum_that_moves_tells_its_year() {
        // Source: EPSG register: SRGI2013 moves, its frame year is 2012; GDA2020 is fixed to its plate.
        let epoch = |code: &str| GridTransform::new(code).unwrap().facts().unwrap().epoch;
        assert_eq!(epoch("EPSG:9480"), Some(2012.0));
        assert_eq!(epoch("EPSG:7855"), None);
        assert_eq!(epoch("EPSG:32630"), None);
    }
}
