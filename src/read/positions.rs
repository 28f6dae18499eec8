//! Numbers of a file -> longitude and latitude, or what they look like instead.

use geo::Coord;
use geojson::Position;

use super::grid_doubts::outside_its_area;
use crate::{
    finding::{Finding, Place},
    geodesy::{GridTransform, LonLat},
};

/// Farther from the equator nothing is planted and the plane of a block would fail.
const FARTHEST_LATITUDE: f64 = 84.0;
/// Nearer to longitude 0, latitude 0 than this, in degrees, numbers were lost, not drawn.
const NULL_ISLAND_DEGREES: f64 = 0.01;

/// How the positions of a file are to be understood.
#[derive(Debug, Clone, Default)]
pub(super) struct Axes {
    /// Latitude, or northing, stands first.
    pub(super) swapped: bool,
    /// The projected grid of `--crs`, for numbers that are no degrees.
    pub(super) grid: Option<GridTransform>,
    /// The file itself says that its numbers are in that grid, small ones too.
    pub(super) stated: bool,
}

impl Axes {
    /// One position as longitude and latitude, without its height.
    ///
    /// # Errors
    /// As those of [`Axes::position`].
    pub(super) fn settled(&self, position: &Position, place: &Place) -> Result<Position, Finding> {
        self.position(position, place).map(|at| Position::from([at.lon(), at.lat()]))
    }

    /// One position.
    ///
    /// Numbers that can be degrees are degrees, whatever grid `--crs` names: it also serves
    /// bearings and stake-out files, and no vineyard lies within 180 m of a grid's origin.
    ///
    /// # Errors
    /// What the numbers look like, when they are no longitude and latitude.
    pub(super) fn position(&self, position: &Position, place: &Place) -> Result<LonLat, Finding> {
        let &[first, second, ..] = position.as_slice() else {
            return Err(Finding::fault(place.clone(), "a position of fewer than two numbers")
                .mend("write [longitude, latitude]"));
        };
        let (x, y) = if self.swapped { (second, first) } else { (first, second) };
        match (LonLat::new(x, y), &self.grid) {
            (_, Some(grid)) if self.stated => to_lon_lat(Coord { x, y }, grid, true, place),
            (Some(at), _) => plausible(at, place),
            (None, Some(grid)) => to_lon_lat(Coord { x, y }, grid, false, place),
            (None, None) => Err(no_lon_lat(x, y, place)),
        }
    }
}

/// A longitude and a latitude from columns of these names.
///
/// # Errors
/// What the numbers look like, when they are no longitude and latitude.
pub(super) fn named_degrees(lon: f64, lat: f64, place: &Place) -> Result<LonLat, Finding> {
    if let Some(at) = LonLat::new(lon, lat) {
        return plausible(at, place);
    }
    let what = format!("{lon}, {lat} is no longitude and latitude");
    let mend = if LonLat::new(lat, lon).is_some() {
        "the two columns look swapped: exchange their names"
    } else {
        "these columns are degrees on WGS84: convert the positions, or delete them"
    };
    Err(Finding::fault(place.clone(), what).mend(mend))
}

fn plausible(at: LonLat, place: &Place) -> Result<LonLat, Finding> {
    let (lon, lat) = (at.lon(), at.lat());
    if lat.abs() > FARTHEST_LATITUDE {
        let what = format!("latitude {lat} is too near a pole for vines");
        return Err(Finding::fault(place.clone(), what).mend("check the coordinates"));
    }
    if lon.abs() < NULL_ISLAND_DEGREES && lat.abs() < NULL_ISLAND_DEGREES {
        let what = format!("the position {lon}, {lat} lies in the Gulf of Guinea");
        return Err(Finding::fault(place.clone(), what)
            .because("zeros stand where coordinates were lost")
            .mend("export the file again, or delete the position"));
    }
    Ok(at)
}

/// A position of a projected grid in longitude and latitude.
fn to_lon_lat(
    position: Coord<f64>,
    grid: &GridTransform,
    stated: bool,
    place: &Place,
) -> Result<LonLat, Finding> {
    let at = match grid.to_lon_lat(position.x, position.y) {
        Ok(at) if grid.covers(at) => return plausible(at, place),
        Ok(at) => Some(at),
        Err(_) => None,
    };
    let (x, y, code) = (position.x, position.y, grid.code());
    let what = match at {
        Some(at) => {
            format!("{x}, {y} lies at {:.4}, {:.4}, where {code} is not used", at.lon(), at.lat())
        }
        None => format!("{x}, {y} lies nowhere in {code}"),
    };
    let finding = Finding::fault(place.clone(), what);
    Err(match outside_its_area(position, grid, stated) {
        Some(doubt) => finding.because(doubt.why).mend(doubt.mend),
        None => finding
            .because("it would be measured in the wrong zone")
            .mend("pass the grid that the file was made in with --crs EPSG:n"),
    })
}

fn no_lon_lat(x: f64, y: f64, place: &Place) -> Finding {
    let fault = |what: String| Finding::fault(place.clone(), what);
    if LonLat::new(y, x).is_some() {
        return fault(format!("{x}, {y} has no such latitude; the axes look swapped"))
            .because("GeoJSON puts longitude first")
            .mend("pass --swap-axes if the file names latitude first");
    }
    let utm = (100_000.0..=900_000.0).contains(&x) && (0.0..=10_000_000.0).contains(&y);
    // The edge of Web Mercator's square: π × 6 378 137 m.
    let mercator = x.abs() <= 20_037_509.0 && y.abs() <= 20_037_509.0 && x.abs() > 1000.0;
    let mend = if utm {
        "it looks like UTM metres; pass the zone's code, such as --crs EPSG:32610"
    } else if mercator {
        "it looks like metres of a grid (Web Mercator is EPSG:3857); pass --crs EPSG:n"
    } else {
        "if it is in metres of a grid, pass --crs EPSG:n"
    };
    fault(format!("{x}, {y} is no longitude and latitude")).mend(mend)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lon_lat(axes: &Axes, x: f64, y: f64) -> Result<(f64, f64), String> {
        axes.position(&Position::from([x, y]), &Place::default())
            .map(|at| (at.lon(), at.lat()))
            .map_err(|finding| finding.to_string())
    }

    #[test]
    fn the_axes_are_exchanged_when_asked() {
        let swapped = Axes { swapped: true, ..Axes::default() };
        assert_eq!(lon_lat(&swapped, 44.0, -120.0), Ok((-120.0, 44.0)));
        assert!(lon_lat(&Axes::default(), 44.0, -120.0).unwrap_err().contains("--swap-axes"));
    }

    #[test]
    fn degrees_stay_degrees_beside_a_grid_for_stakes() {
        let grid = Axes { grid: GridTransform::new("EPSG:32610").ok(), ..Axes::default() };
        assert_eq!(lon_lat(&grid, -120.0, 44.0), Ok((-120.0, 44.0)));
    }

    #[test]
    fn what_numbers_look_like_is_said() {
        let plain = Axes::default();
        assert!(lon_lat(&plain, 724_113.0, 4_886_792.0).unwrap_err().contains("UTM"));
        assert!(lon_lat(&plain, -13_358_338.0, 5_465_442.0).unwrap_err().contains("3857"));
        assert!(lon_lat(&plain, 1e12, 1e12).unwrap_err().contains("no longitude and latitude"));
        assert!(named_degrees(44.0, -120.0, &Place::default()).is_err());
    }
}
