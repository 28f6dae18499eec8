//! What GDAL reads, and what it is held against.

use std::{path::Path, process::Command};

use catchwire::units::Degrees;
use serde_json::{Value, json};

use crate::support::skipped;

/// A centimetre on the ground, in degrees of latitude: 0.01 m / (111 km a degree).
pub(super) const CENTIMETRE_DEG: f64 = 0.01 / 111_000.0;

/// One layer of a file as GDAL sees it, as GeoJSON; `None` where GDAL is not here.
pub(super) fn through_gdal(file: &Path, layer: &str) -> Option<Value> {
    through_gdal_with(file, layer, &[])
}

/// The same with options for opening the file.
pub(super) fn through_gdal_with(file: &Path, layer: &str, opening: &[&str]) -> Option<Value> {
    let options = ["-q", "-f", "GeoJSON", "-lco", "COORDINATE_PRECISION=11", "/vsistdout/"];
    match Command::new("ogr2ogr").args(options).args(opening).arg(file).arg(layer).output() {
        Ok(output) => {
            let said = String::from_utf8_lossy(&output.stderr).into_owned();
            assert!(output.status.success(), "{}, {layer}: {said}", file.display());
            assert!(!said.contains("Warning"), "{}, {layer}: {said}", file.display());
            Some(serde_json::from_slice(&output.stdout).expect("GeoJSON of GDAL"))
        }
        Err(error) => {
            skipped(&format!("ogr2ogr is not here ({error})"));
            None
        }
    }
}

/// The positions of a geometry, flattened, without the point that closes a ring twice.
fn positions(geometry: &Value, found: &mut Vec<[f64; 2]>) {
    let list = geometry.as_array().expect("coordinates");
    match list.first() {
        Some(Value::Number(_)) => {
            found.push([0, 1].map(|axis| list[axis].as_f64().expect("a coordinate")));
        }
        _ => list.iter().for_each(|inner| positions(inner, found)),
    }
}

/// Every feature's positions.
pub(super) fn places(document: &Value) -> Vec<Vec<[f64; 2]>> {
    let features = document["features"].as_array().expect("features").iter();
    let of = |feature: &Value| {
        let mut found = Vec::new();
        positions(&feature["geometry"]["coordinates"], &mut found);
        found
    };
    features.map(of).collect()
}

/// A column of every feature.
pub(super) fn ids(document: &Value, column: &str) -> Vec<String> {
    let features = document["features"].as_array().expect("features").iter();
    features.map(|feature| feature["properties"][column].to_string()).collect()
}

/// Features lie where they should, point by point, within a centimetre.
#[track_caller]
pub(super) fn same_places(read: &Value, written: &Value, what: &str) {
    let (read, written) = (places(read), places(written));
    assert_eq!(read.len(), written.len(), "{what}");
    for (one, other) in read.iter().zip(&written) {
        assert_eq!(one.len(), other.len(), "{what}");
        for (a, b) in one.iter().zip(other) {
            let off = (a[0] - b[0]).hypot(a[1] - b[1]);
            assert!(off < CENTIMETRE_DEG, "{what}: {a:?} {b:?}");
        }
    }
}

/// A ring may begin at another corner: the same corners within a centimetre, feature by feature.
#[track_caller]
pub(super) fn same_corners(read: &Value, written: &Value, what: &str) {
    let near = |a: &[f64; 2], b: &[f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]) < CENTIMETRE_DEG;
    let within = |some: &[[f64; 2]], all: &[[f64; 2]]| {
        some.iter().all(|corner| all.iter().any(|other| near(corner, other)))
    };
    let (read, written) = (places(read), places(written));
    assert_eq!(read.len(), written.len(), "{what}");
    for (one, other) in read.iter().zip(&written) {
        assert!(one.len() == other.len(), "{what}: {} corners, not {}", one.len(), other.len());
        assert!(within(one, other) && within(other, one), "{what}: {one:?} {other:?}");
    }
}

/// Features have the same properties, by name and value.
#[track_caller]
pub(super) fn same_values(read: &Value, written: &Value, what: &str) {
    let features = |document: &Value| document["features"].as_array().expect("features").clone();
    let (read, written) = (features(read), features(written));
    assert_eq!(read.len(), written.len(), "{what}");
    for (read, written) in read.iter().zip(&written) {
        let [read, written] =
            [read, written].map(|feature| feature["properties"].as_object().expect("properties"));
        assert!(read.keys().eq(written.keys()), "{what}: {read:?} {written:?}");
        for (name, value) in written {
            // GDAL writes a whole number of a decimal column as 3.0, we as 3.
            let same =
                &read[name] == value || value.is_number() && read[name].as_f64() == value.as_f64();
            assert!(same, "{what}, {name}: {}, {value}", read[name]);
        }
    }
}

/// Square metres in a square degree at a latitude: the ellipsoid WGS84, near enough for a block.
fn square_degree_m2(lat: f64) -> f64 {
    let (axis_m, eccentricity2) = (6_378_137.0, 0.006_694_379_990_141);
    let sine2 = Degrees::new(lat).radians().sin().powi(2);
    let left = 1.0 - eccentricity2 * sine2;
    let (east_m, north_m) = (
        axis_m / left.sqrt() * (1.0 - sine2).sqrt(),
        axis_m * (1.0 - eccentricity2) / left.powf(1.5),
    );
    east_m * north_m * (std::f64::consts::PI / 180.0).powi(2)
}

/// The area inside a ring, m².
fn ring_m2(ring: &Value) -> f64 {
    let mut at = Vec::new();
    positions(ring, &mut at);
    let [lon, lat] = at[0];
    let cross =
        |a: &[f64; 2], b: &[f64; 2]| (a[0] - lon) * (b[1] - lat) - (b[0] - lon) * (a[1] - lat);
    let twice: f64 = at.windows(2).map(|pair| cross(&pair[0], &pair[1])).sum();
    twice.abs() / 2.0 * square_degree_m2(lat)
}

/// Every feature's area without its holes, m²; 0 where it has none.
pub(super) fn areas_m2(document: &Value) -> Vec<f64> {
    let polygon = |rings: &Value| {
        let rings: Vec<f64> = rings.as_array().expect("rings").iter().map(ring_m2).collect();
        2.0 * rings[0] - rings.iter().sum::<f64>()
    };
    let area = |feature: &Value| {
        let geometry = &feature["geometry"];
        match geometry["type"].as_str() {
            Some("Polygon") => polygon(&geometry["coordinates"]),
            Some("MultiPolygon") => {
                geometry["coordinates"].as_array().expect("parts").iter().map(polygon).sum()
            }
            _ => 0.0,
        }
    };
    document["features"].as_array().expect("features").iter().map(area).collect()
}

/// Areas are the same within 0.01 %.
#[track_caller]
pub(super) fn same_areas(read: &Value, written: &Value, what: &str) {
    for (read, written) in areas_m2(read).iter().zip(areas_m2(written)) {
        assert!((read - written).abs() <= 1e-4 * written, "{what}: {read} m², not {written} m²");
    }
}

/// A square of a hundredth of a degree with a hole, and a property.
fn square() -> Value {
    let ring = |from: f64, to: f64| [[from, from], [to, from], [to, to], [from, to], [from, from]];
    let geometry =
        json!({ "type": "Polygon", "coordinates": [ring(5.0, 5.01), ring(5.001, 5.002)] });
    json!({ "features": [{ "properties": { "remove": 3.5 }, "geometry": geometry }] })
}

#[test]
fn what_is_read_otherwise_is_seen() {
    let ring = "/features/0/geometry/coordinates";
    let corner = |at: &str, by: f64| {
        let mut other = square();
        let number = other.pointer_mut(&format!("{ring}/{at}")).expect("a number");
        *number = json!(number.as_f64().expect("a number") + by);
        other
    };
    let sees = |check: fn(&Value, &Value, &str), other: &Value| {
        std::panic::catch_unwind(|| check(other, &square(), "")).is_err()
    };
    assert!(!sees(same_places, &square()) && !sees(same_areas, &square()));
    assert!(!sees(same_values, &square()) && !sees(same_corners, &square()));
    // A corner 6 mm and 12 mm off.
    assert!(
        !sees(same_places, &corner("0/1/0", 5e-8)) && sees(same_places, &corner("0/1/0", 1.1e-7))
    );
    assert!(sees(same_corners, &corner("1/2/1", 1.1e-7)));
    // A corner so far off makes 0.005 % and 0.015 % more ground.
    assert!(!sees(same_areas, &corner("0/2/0", 1e-6)) && sees(same_areas, &corner("0/2/0", 3e-6)));
    assert!(sees(same_areas, &corner("1/2/0", 3e-4)), "the hole");
    let mut other = square();
    other["features"][0]["properties"]["remove"] = json!(3.6);
    assert!(sees(same_values, &other));
    other["features"][0]["properties"] = json!({});
    assert!(sees(same_values, &other));
}
