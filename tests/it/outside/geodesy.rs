//! The frame of a block against geodesics, a second transverse Mercator and published numbers.

use catchwire::{
    block::{Block, BlockKeys},
    finding::Place,
    frame::{RowPoint, Site, place_block},
    geodesy::{
        GridTransform, LocalPlane, LonLat, area_m2, azimuth, convergence, declination, destination,
        distance,
    },
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::{Degrees, Metres},
};
use geo::{LineString, MultiPolygon, Polygon};
use jiff::civil::date;

/// A block of about 500 m by 500 m around a place.
fn block(at: LonLat, bearing: f64, elevation_m: f64) -> Block {
    let corner = |turn: f64| {
        let at = destination(at, Degrees::new(turn), Metres::new(350.0));
        (at.lon(), at.lat())
    };
    let ring = LineString::from(vec![corner(225.0), corner(135.0), corner(45.0), corner(315.0)]);
    Block {
        name: "Outside".parse().expect("a name"),
        outline: MultiPolygon::new(vec![Polygon::new(ring, Vec::new())]),
        keys: BlockKeys {
            row_bearing: Some(Degrees::new(bearing)),
            row_spacing: Some(Metres::new(2.5)),
            vine_spacing: Some(Metres::new(1.0)),
            elevation: Some(Metres::new(elevation_m)),
            ..BlockKeys::default()
        },
        keep_outs: Vec::new(),
        row_lines: Vec::new(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        vines: Vec::new(),
        place: Place::file("outside.geojson"),
    }
}

fn site(block: &Block) -> Site {
    let circumstances = Circumstances {
        defaults: Settings::default().layout(),
        standing: Some(true),
        allow_unusual: false,
        grid: None,
    };
    let rules = row_rules(block, &circumstances).expect("sound keys");
    place_block(block, rules, planting_rules(block)).expect("a sound block").0
}

/// Blocks from 50° S to 65° N, from the sea to 1500 m.
fn blocks() -> impl Iterator<Item = (LonLat, f64, f64)> {
    let places = [
        (-70.5, -50.0),
        (149.1, -33.3),
        (18.9, -20.0),
        (-78.5, 0.0),
        (35.9, 34.0),
        (-73.2, 44.45),
        (179.9, 51.0),
        (22.3, 65.0),
    ];
    let bearings = [0.0, 17.5, 90.0, 211.0, 333.3];
    places.into_iter().enumerate().flat_map(move |(i, (lon, lat))| {
        let at = LonLat::new(lon, lat).expect("on the globe");
        bearings.into_iter().map(move |bearing| (at, bearing, [0.0, 400.0, 1500.0][i % 3]))
    })
}

/// Source: Karney 2013, J. Geodesy 87:43–55, as in geographiclib-rs.
#[test]
fn every_row_has_its_length_and_bearing_on_the_ellipsoid() {
    let (mut worst_m, mut worst_degrees, mut rows) = (0.0_f64, 0.0_f64, 0);
    for (at, bearing, elevation_m) in blocks() {
        let frame = site(&block(at, bearing, elevation_m)).frame;
        for across in -10..=10 {
            let across_m = f64::from(across) * 25.0;
            let end = |along_m| frame.to_lon_lat(RowPoint { along_m, across_m });
            let (start, end) = (end(-250.0), end(250.0));
            let tape_m = distance(start, end).metres() * (1.0 + elevation_m / 6_371_008.8);
            worst_m = worst_m.max((tape_m - 500.0).abs());
            // A row beside the origin is straight and parallel in the frame; the meridians there
            // are not, by their convergence sin φ Δλ.
            let turn = convergence_at(frame.origin(), start);
            let off = azimuth(start, end).degrees() - bearing - turn;
            worst_degrees = worst_degrees.max(((off + 540.0).rem_euclid(360.0) - 180.0).abs());
            rows += 1;
        }
    }
    assert_eq!(rows, 8 * 5 * 21);
    assert!(worst_m < 1e-6, "a row of 500 m is off by {worst_m} m");
    assert!(worst_degrees < 5e-7, "a row is turned by {worst_degrees}°");
}

/// Meridian convergence on a sphere: tan γ = tan Δλ · sin φ.
fn convergence_at(origin: LonLat, at: LonLat) -> f64 {
    let turn = Degrees::new(at.lon() - origin.lon()).radians();
    Degrees::from_radians((turn.tan() * Degrees::new(at.lat()).radians().sin()).atan()).degrees()
}

#[test]
fn a_row_through_the_origin_starts_along_its_bearing() {
    for (at, bearing, elevation_m) in blocks() {
        let frame = site(&block(at, bearing, elevation_m)).frame;
        let end = frame.to_lon_lat(RowPoint { along_m: 250.0, across_m: 0.0 });
        let off = azimuth(frame.origin(), end).degrees() - bearing;
        let off = (off + 540.0).rem_euclid(360.0) - 180.0;
        assert!(off.abs() < 1e-7, "{off}° at {at:?}");
    }
}

/// Area on the plane against the ellipsoid's.
#[test]
fn hectares_on_the_plane_are_hectares_on_the_ellipsoid() {
    use geo::Area;
    for (at, bearing, _) in blocks() {
        let block = block(at, bearing, 0.0);
        let (plane, globe) = (site(&block).outline.unsigned_area(), area_m2(&block.outline));
        assert!((plane / globe - 1.0).abs() < 5e-9, "{plane} m² against {globe} m² at {at:?}");
    }
}

/// Krüger's series to the sixth order in the third flattening, written apart from PROJ.
///
/// Source: Karney 2011, Transverse Mercator with an accuracy of a few nanometers, J. Geodesy
/// 85:475–485, equations 7 to 11 and 35.
fn krueger(origin: LonLat, at: LonLat) -> (f64, f64) {
    const A: f64 = 6_378_137.0;
    const F: f64 = 1.0 / 298.257_223_563;
    let n: f64 = F / (2.0 - F);
    let powers = |terms: [f64; 6]| terms.iter().rev().fold(0.0, |sum: f64, term| (sum + term) * n);
    let alpha = [
        powers([1. / 2., -2. / 3., 5. / 16., 41. / 180., -127. / 288., 7891. / 37800.]),
        powers([0., 13. / 48., -3. / 5., 557. / 1440., 281. / 630., -1_983_433. / 1_935_360.]),
        powers([0., 0., 61. / 240., -103. / 140., 15061. / 26880., 167_603. / 181_440.]),
        powers([0., 0., 0., 49561. / 161_280., -179. / 168., 6_601_661. / 7_257_600.]),
        powers([0., 0., 0., 0., 34729. / 80640., -3_418_889. / 1_995_840.]),
        powers([0., 0., 0., 0., 0., 212_378_941. / 319_334_400.]),
    ];
    let radius = A / (1.0 + n) * (1.0 + n.powi(2) / 4.0 + n.powi(4) / 64.0 + n.powi(6) / 256.0);
    let e = (F * (2.0 - F)).sqrt();
    let plane = |lat: f64, turn: f64| {
        let (phi, lambda) = (Degrees::new(lat).radians(), Degrees::new(turn).radians());
        let tau = phi.tan();
        let sigma = (e * (e * tau / 1.0_f64.hypot(tau)).atanh()).sinh();
        let conformal = tau * 1.0_f64.hypot(sigma) - sigma * 1.0_f64.hypot(tau);
        let xi = conformal.atan2(lambda.cos());
        let eta = (lambda.sin() / conformal.hypot(lambda.cos())).asinh();
        let (mut north, mut east) = (xi, eta);
        let mut order = 0.0;
        for term in alpha {
            order += 2.0;
            north += term * (order * xi).sin() * (order * eta).cosh();
            east += term * (order * xi).cos() * (order * eta).sinh();
        }
        (radius * east, radius * north)
    };
    let (east, north) = plane(at.lat(), at.lon() - origin.lon());
    (east, north - plane(origin.lat(), 0.0).1)
}

#[test]
fn the_plane_is_that_of_a_second_transverse_mercator() {
    let (mut worst_m, mut points) = (0.0_f64, 0);
    for (at, bearing, elevation_m) in blocks() {
        let frame = site(&block(at, bearing, elevation_m)).frame;
        for step in -20..=20 {
            for other in -20..=20 {
                let row =
                    RowPoint { along_m: f64::from(step) * 12.5, across_m: f64::from(other) * 12.5 };
                let (east, north) = krueger(frame.origin(), frame.to_lon_lat(row));
                let ground = frame.to_ground(row);
                let scale = frame.ground_scale();
                let off = (east * scale - ground.east_m).hypot(north * scale - ground.north_m);
                worst_m = worst_m.max(off);
                points += 1;
            }
        }
    }
    assert_eq!(points, 8 * 5 * 41 * 41);
    assert!(worst_m < 1e-7, "the planes are {worst_m} m apart");
}

/// Source: from memory of the test values that NOAA publishes with the World Magnetic Model 2025
/// (date 2025.0, height 0), which `pygeomag` 1.1.0 reproduces with NOAA's `WMM_2025.COF`.
#[test]
fn declination_is_that_of_the_published_test_values() {
    let cases = [(0.0, 80.0, 1.28), (120.0, 0.0, -0.16), (-120.0, -80.0, 68.78)];
    for (lon, lat, expected) in cases {
        let at = LonLat::new(lon, lat).expect("on the globe");
        let found = declination(at, Metres::new(0.0), date(2025, 1, 1)).expect("in its years");
        let off = found.angle.degrees() - expected;
        assert!(off.abs() < 0.006, "{}° at {at:?}, not {expected}°", found.angle.degrees());
    }
}

#[test]
fn declination_outside_the_models_years_names_them() {
    let at = LonLat::new(10.0, 45.0).expect("on the globe");
    for outside in [date(2019, 12, 31), date(2030, 1, 1), date(-44, 3, 15)] {
        let refusal = declination(at, Metres::new(0.0), outside).expect_err("outside its years");
        assert!(refusal.to_string().contains("from 2020 to 2029"), "{refusal}");
    }
}

/// Source: PROJ 9.6.2 asked from C, `proj_factors`: k = 0.999852251,
/// γ = 1.260729356°; and tan γ = tan Δλ · sin φ on a sphere, 1.2607°.
#[test]
fn grid_convergence_is_proj_s_and_turns_grid_to_true() {
    let at = LonLat::new(-73.2, 44.45).expect("on the globe");
    let turn = convergence("EPSG:32618", at).expect("a grid");
    assert!((turn.degrees() - 1.260_729_356).abs() < 1e-8, "{turn:?}");
    let grid = GridTransform::new("epsg:32618").expect("a grid");
    let here = grid.from_lon_lat(at).expect("in the zone");
    let grid_north = grid.to_lon_lat(here.east, here.north + 10.0).expect("in the zone");
    let off = azimuth(at, grid_north).degrees() - turn.degrees();
    // A grid line bends away from the geodesic: 1e-6° over 10 m so far from the zone's meridian.
    assert!(off.abs() < 2e-6, "grid north is {off}° off");
}

#[test]
fn a_grid_leads_there_and_back_and_says_how_well_it_is_tied() {
    let grid = GridTransform::new("EPSG:32618").expect("a grid");
    let at = LonLat::new(-73.2, 44.45).expect("on the globe");
    let there = grid.from_lon_lat(at).expect("in the zone");
    let back = grid.to_lon_lat(there.east, there.north).expect("in the zone");
    assert!(distance(at, back).metres() < 1e-6);
    assert!(grid.covers(at) && !grid.covers(LonLat::new(20.0, 44.0).expect("on the globe")));
    assert!(!grid.accuracy_at(at).ballpark);
    // Source: EPSG register, OSGB36 to WGS 84 without the OSTN grid: 2 m.
    let british = GridTransform::new("EPSG:27700").expect("a grid");
    let kent = LonLat::new(0.9, 51.2).expect("on the globe");
    assert_eq!(british.accuracy_at(kent).metres, Some(2.0));
    let there = british.from_lon_lat(kent).expect("on the grid");
    let back = british.to_lon_lat(there.east, there.north).expect("on the grid");
    assert!(distance(kent, back).metres() < 0.05, "the datum shift drops a height, no more");
}

#[test]
fn what_is_no_grid_is_refused_by_name() {
    let words = |code: &str| GridTransform::new(code).expect_err("no grid").to_string();
    assert!(words("EPSG:999999").contains("`EPSG:999999` is no grid"));
    assert!(words("+init=file:/etc/passwd").contains("+init"));
    assert!(words("EPSG:4326").contains("no projected grid"));
    let grid = GridTransform::new("EPSG:32618").expect("a grid");
    for (east, north) in [(f64::NAN, 0.0), (f64::INFINITY, 0.0), (9e9, 9e9)] {
        assert!(grid.to_lon_lat(east, north).is_err(), "{east}, {north}");
    }
}

#[test]
fn a_plane_refuses_what_is_not_finite() {
    let origin = LonLat::new(10.0, 45.0).expect("on the globe");
    let plane = LocalPlane::centred_on(origin).expect("a plane");
    let nowhere = catchwire::geodesy::PlanePoint { east: f64::NAN, north: 0.0 };
    assert_eq!(plane.to_lon_lat(nowhere), None);
    assert!((plane.scale_at(origin).expect("on the plane") - 1.0).abs() < 1e-9);
}
