//! Numbers of a file -> longitude and latitude, or what they look like instead.

use geo::Coord;
use geojson::Position;

use crate::{
    finding::{Finding, Place},
    geodesy::LonLat,
};

/// Farther from the equator nothing is planted and the plane of a block would fail.
const FARTHEST_LATITUDE: f64 = 84.0;
/// Nearer to longitude 0, latitude 0 than this, in degrees, numbers were lost, not drawn.
const NULL_ISLAND_DEGREES: f64 = 0.01;

/// How the numbers of a file are to be understood.
#[derive(Debug, Clone, Default)]
pub(super) struct Axes {
    /// Latitude stands first.
    pub(super) swapped: bool,
    /// The projected grid of `--crs`.
    pub(super) crs: Option<String>,
}

impl Axes {
    /// The positions of a line or ring, in longitude and latitude; heights are dropped and said.
    ///
    /// # Errors
    /// What the first numbers that are no longitude and latitude look like.
    pub(super) fn line(
        &self,
        positions: &[Position],
        place: &Place,
    ) -> Result<Vec<Coord<f64>>, Finding> {
        positions.iter().map(|position| self.position(position, place)).collect()
    }

    /// One position.
    ///
    /// # Errors
    /// What the numbers look like, when they are no longitude and latitude.
    pub(super) fn position(
        &self,
        position: &Position,
        place: &Place,
    ) -> Result<Coord<f64>, Finding> {
        let &[first, second, ..] = position.as_slice() else {
            return Err(Finding::fault(place.clone(), "a position of fewer than two numbers")
                .mend("write [longitude, latitude]"));
        };
        let (x, y) = if self.swapped { (second, first) } else { (first, second) };
        self.pair(x, y, place).map(|at| Coord { x: at.lon(), y: at.lat() })
    }

    /// A longitude and a latitude that were named as such.
    ///
    /// # Errors
    /// What the numbers look like, when they are no longitude and latitude.
    pub(super) fn pair(&self, x: f64, y: f64, place: &Place) -> Result<LonLat, Finding> {
        if let Some(crs) = &self.crs {
            return to_lon_lat(Coord { x, y }, crs, place);
        }
        let at = LonLat::new(x, y).ok_or_else(|| no_lon_lat(x, y, place))?;
        if at.lat().abs() > FARTHEST_LATITUDE {
            let what = format!("latitude {y} is too near a pole for vines");
            return Err(Finding::fault(place.clone(), what).mend("check the coordinates"));
        }
        if x.abs() < NULL_ISLAND_DEGREES && y.abs() < NULL_ISLAND_DEGREES {
            return Err(Finding::fault(
                place.clone(),
                format!("the position {x}, {y} is in the Gulf of Guinea"),
            )
            .because("zeros stand where coordinates were lost")
            .mend("export the file again, or delete the position"));
        }
        Ok(at)
    }
}

/// Positions of a projected grid in longitude and latitude.
fn to_lon_lat(position: Coord<f64>, crs: &str, place: &Place) -> Result<LonLat, Finding> {
    let what = format!("{}, {} cannot be converted from {crs} yet", position.x, position.y);
    Err(Finding::fault(place.clone(), what)
        .mend("convert the file to longitude and latitude: ogr2ogr -t_srs EPSG:4326"))
}

fn no_lon_lat(x: f64, y: f64, place: &Place) -> Finding {
    let fault = |what: String| Finding::fault(place.clone(), what);
    let shown = format!("{x}, {y}");
    if LonLat::new(y, x).is_some() {
        return fault(format!("{shown} has no such latitude; the axes look swapped"))
            .because("GeoJSON puts longitude first")
            .mend("pass --swap-axes if the file names latitude first");
    }
    let utm = (100_000.0..=900_000.0).contains(&x) && (0.0..=10_000_000.0).contains(&y);
    let mercator = x.abs() <= 20_037_509.0 && y.abs() <= 20_048_967.0;
    let grid = if utm {
        "it looks like UTM metres; pass the zone's code, such as --crs EPSG:32610"
    } else if mercator && x.abs() > 1000.0 {
        "it looks like metres of a grid (Web Mercator is EPSG:3857); pass --crs EPSG:n"
    } else {
        "if it is in metres of a grid, pass --crs EPSG:n"
    };
    fault(format!("{shown} is no longitude and latitude")).mend(grid)
}
