//! Numbers in the wrong grid, unit or order -> which grid, unit or order would fit.
//!
//! A proposal is only made where the numbers come out in the area for which a grid is made, or near
//! something whose place is known; it is told and never applied.

use geo::Coord;

use crate::geodesy::{GridTransform, LonLat, distance};

/// The international foot, metres.
const FOOT_M: f64 = 0.3048;
/// The two kinds of feet put a state's northings this far from each other at most.
const FEET_APART_M: f64 = 40.0;
/// A block lies this near to its counts, controls and neighbours.
const NEAR_M: f64 = 30_000.0;
/// More proposals would be guesses.
const MOST_PROPOSED: usize = 3;

/// What numbers look like, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Doubt {
    /// What they look like.
    pub(super) why: String,
    /// How to pass them rightly.
    pub(super) mend: String,
}

/// What numbers look like that lie outside the area of their grid, which the file itself states or
/// which was passed.
pub(super) fn outside_its_area(
    at: Coord<f64>,
    grid: &GridTransform,
    stated: bool,
) -> Option<Doubt> {
    let code = grid.code();
    if fits(grid, at.y, at.x).is_some() {
        return Some(Doubt {
            why: format!(
                "the other way round they lie where {code} is used: northing stands first"
            ),
            mend: "pass --swap-axes".to_owned(),
        });
    }
    match (in_the_other_hemisphere(at, grid, stated), in_another_unit(at, grid, stated)) {
        (Some(one), Some(other)) => Some(Doubt {
            why: format!("{}, or {}", one.why, other.why),
            mend: format!("{}; or {}", one.mend, other.mend),
        }),
        (one, other) => one.or(other),
    }
}

fn in_another_unit(at: Coord<f64>, grid: &GridTransform, stated: bool) -> Option<Doubt> {
    let code = grid.code();
    let sides = [("feet", "metres", FOOT_M), ("metres", "feet", 1.0 / FOOT_M)];
    let (unit, grids_unit, place) = sides.into_iter().find_map(|(unit, grids_unit, factor)| {
        let (east, north) = (at.x * factor, at.y * factor);
        let place = fits(grid, east, north)?;
        let unit_m = distance(place, grid.to_lon_lat(east + 1000.0, north).ok()?).metres() / 1000.0;
        let in_feet = unit_m < 0.5;
        (in_feet == (grids_unit == "feet")).then_some((unit, grids_unit, place))
    })?;
    let siblings: Vec<String> =
        near(&GridTransform::around(place), at, place, FEET_APART_M).into_iter().collect();
    let mend = match siblings.as_slice() {
        [] => format!("convert the file to {grids_unit}, or pass the grid that is in {unit}"),
        codes => format!("the grid in {unit} is {}: {}", codes.join(" or "), pass(stated)),
    };
    let why = format!("the numbers look like {unit}, {code} is in {grids_unit}");
    Some(Doubt { why, mend })
}

/// UTM numbers of the other half of the earth.
fn in_the_other_hemisphere(at: Coord<f64>, grid: &GridTransform, stated: bool) -> Option<Doubt> {
    let (south, other) = match grid.code().split_at_checked("EPSG:326".len())? {
        ("EPSG:326", zone) => (true, format!("EPSG:327{zone}")),
        ("EPSG:327", zone) => (false, format!("EPSG:326{zone}")),
        _ => return None,
    };
    let place = fits(&GridTransform::new(&other).ok()?, at.x, at.y)?;
    let half = if south { "south" } else { "north" };
    Some(Doubt {
        why: format!("in {other} they lie {half} of the equator, at {}", told(place)),
        mend: format!("if the vines are there, the grid is {other}: {}", pass(stated)),
    })
}

/// What would bring something near to a place that is known: other axes, or another grid.
pub(super) fn far_from(at: LonLat, known: LonLat, grid: Option<&GridTransform>) -> Option<Doubt> {
    let swapped = LonLat::new(at.lat(), at.lon());
    if swapped.is_some_and(|swapped| distance(swapped, known).metres() <= NEAR_M) {
        return Some(Doubt {
            why: "longitude and latitude look swapped".to_owned(),
            mend: "pass --swap-axes if the file names latitude first".to_owned(),
        });
    }
    let grid = grid?;
    let plane = grid.from_lon_lat(at).ok()?;
    let numbers = Coord { x: plane.east, y: plane.north };
    let mut codes = near(&zones_around(known), numbers, known, NEAR_M);
    if codes.is_empty() {
        codes = near(&GridTransform::around(known), numbers, known, NEAR_M);
    }
    codes.retain(|code| code != grid.code());
    (!codes.is_empty()).then(|| Doubt {
        why: format!("its numbers were taken as {}", grid.code()),
        mend: format!("{} would fit: pass it with --crs", codes.join(" or ")),
    })
}

/// How another grid is passed.
const fn pass(stated: bool) -> &'static str {
    if stated { "state it where the file was made" } else { "pass it with --crs" }
}

/// The UTM zone of a place and the two beside it.
fn zones_around(at: LonLat) -> Vec<GridTransform> {
    let half = if at.lat() < 0.0 { "327" } else { "326" };
    let middle = |zone: u8| f64::from(zone) * 6.0 - 183.0;
    let near = (1..=60_u8).filter(|zone| (middle(*zone) - at.lon()).abs() <= 9.0);
    near.filter_map(|zone| GridTransform::new(&format!("EPSG:{half}{zone:02}")).ok()).collect()
}

/// The grids that put numbers near a place, the nearest first.
fn near(grids: &[GridTransform], at: Coord<f64>, place: LonLat, within_m: f64) -> Vec<String> {
    let off_m = |grid: &GridTransform| {
        grid.to_lon_lat(at.x, at.y).ok().map(|there| distance(there, place).metres())
    };
    let mut fitting: Vec<(f64, String)> = grids
        .iter()
        .filter_map(|grid| Some((off_m(grid)?, grid.code().to_owned())))
        .filter(|(off_m, _)| *off_m <= within_m)
        .collect();
    fitting.sort_by(|one, other| one.0.round().total_cmp(&other.0.round()));
    fitting.into_iter().take(MOST_PROPOSED).map(|(_, code)| code).collect()
}

/// The place of numbers in a grid, when they lie in the area that it is made for.
fn fits(grid: &GridTransform, east: f64, north: f64) -> Option<LonLat> {
    let place = grid.to_lon_lat(east, north).ok()?;
    (grid.area().is_some() && grid.covers(place)).then_some(place)
}

fn told(place: LonLat) -> String {
    format!("{:.4}, {:.4}", place.lon(), place.lat())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn grid(code: &str) -> GridTransform {
        GridTransform::new(code).unwrap()
    }

    #[track_caller]
    fn check(code: &str, east: f64, north: f64, mend: &str) {
        let doubt = outside_its_area(Coord { x: east, y: north }, &grid(code), false);
        let doubt = doubt.unwrap_or_else(|| panic!("no doubt about {east}, {north} in {code}"));
        assert!(doubt.mend.contains(mend), "{doubt:?}");
    }

    #[test]
    fn order_unit_and_hemisphere_are_recognised() {
        check("EPSG:32610", 4_886_792.0, 500_000.0, "--swap-axes");
        // EPSG:4430 is NAD83 / BLM 10N (ftUS): UTM in feet.
        check("EPSG:32610", 500_000.0 / FOOT_M, 4_886_792.0 / FOOT_M, "EPSG:4430");
        // Northings above 9.3 million in a northern zone are those of the south.
        check("EPSG:32655", 500_000.0, 9_900_000.0, "EPSG:32755");
        check("EPSG:32655", 700_000.0, 9_900_000.0, "EPSG:32755");
        let nowhere = Coord { x: 100_000.0, y: 1_000_000.0 };
        assert_eq!(outside_its_area(nowhere, &grid("EPSG:32610"), false), None);
    }

    #[test]
    fn the_grid_in_feet_is_found_for_numbers_in_feet() {
        // EPSG:26941 is California zone 1 in metres, EPSG:2225 the same in US survey feet.
        let at = LonLat::new(-122.5, 41.0).unwrap();
        let feet = grid("EPSG:2225").from_lon_lat(at).unwrap();
        check("EPSG:26941", feet.east, feet.north, "EPSG:2225");
        let metres = grid("EPSG:26941").from_lon_lat(at).unwrap();
        check("EPSG:2225", metres.east, metres.north, "EPSG:26941");
    }

    #[test]
    fn a_zone_that_fits_what_is_known_is_proposed() {
        let known = LonLat::new(-116.9, 46.4).unwrap();
        let numbers = grid("EPSG:32611").from_lon_lat(known).unwrap();
        let read = grid("EPSG:32610").to_lon_lat(numbers.east, numbers.north).unwrap();
        let doubt = far_from(read, known, Some(&grid("EPSG:32610"))).unwrap();
        assert!(doubt.mend.contains("EPSG:32611"), "{doubt:?}");
        let swapped = LonLat::new(44.0, 5.0).unwrap();
        let doubt = far_from(swapped, LonLat::new(5.0, 44.0).unwrap(), None).unwrap();
        assert!(doubt.mend.contains("--swap-axes"), "{doubt:?}");
        assert_eq!(far_from(swapped, known, None), None);
    }
}
