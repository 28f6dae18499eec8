//! Blocks elsewhere on the globe, held against the outline that was given: swapped axes are no legal
//! numbers at 120° W and legal ones at 5° E, and a lost sign shows south of the equator. (A block
//! across 180° is refused: `tests/it/faults`.)

use std::{
    fmt::Write as _,
    path::{Path, PathBuf},
    process::Command,
};

use catchwire::units::Degrees;
use serde_json::Value;

use super::{
    gdal::{CENTIMETRE_DEG, places, same_corners, through_gdal},
    thinned::every_format_tells_the_same,
};
use crate::support::{catchwire, folder, json, put};

/// South-west corners: longitude and latitude.
const PLACES: [[f64; 2]; 4] = [[-120.0, 44.0], [5.0, 44.0], [147.3, -42.8], [-70.7, -33.5]];
/// Rows and their length in vines, 2.5 m and 1 m apart.
const SIZE: (u32, u32) = (16, 60);
const WRITTEN: &str = "vines.geojson,rows.geojson,panels.geojson,zones.geojson,block.gpkg,vines.fgb,rows.fgb,panels.fgb,zones.fgb,map.kmz,\
                       shoot-density.tif";

/// A block of about 40 by 60 m, its rows towards north.
fn block([lon, lat]: [f64; 2]) -> Value {
    let wide = 40.0 / (111_320.0 * Degrees::new(lat).radians().cos());
    let (east, north) = (lon + wide, lat + 60.0 / 111_132.0);
    serde_json::json!({ "type": "FeatureCollection", "features": [{
        "type": "Feature",
        "properties": { "role": "block", "name": "Far", "standing": true, "row_bearing": 0,
            "row_spacing": 2.5, "vine_spacing": 1, "type": "hybrid" },
        "geometry": { "type": "Polygon", "coordinates":
            [[[lon, lat], [east, lat], [east, north], [lon, north], [lon, lat]]] },
    }] })
}

/// Counts that are crowded in the western rows.
fn counts() -> String {
    let (rows, vines) = (SIZE.0 - 1, SIZE.1 - 1);
    let mut sheet = "row,vine,date,shoots,shoot_length_in\n".to_owned();
    for at in 0..60 {
        let (row, vine) = (1 + at * 37 % rows, 1 + at * 53 % vines);
        let shoots = if 2 * row < rows { 26 } else { 13 } + at % 4;
        let _ = writeln!(sheet, "{row},{vine},2026-06-01,{shoots},6");
    }
    sheet
}

/// What `thin` makes of such a block: the folder of its files.
fn thinned(block: &Value, into: &Path) -> PathBuf {
    let block = put(into, "block.geojson", &block.to_string());
    let counts = put(into, "counts.csv", &counts());
    let out = into.join("out");
    let words = ["--write", WRITTEN, "--quiet"].map(PathBuf::from);
    let files = ["thin".into(), block, "--out".into(), out.clone(), "--counts".into(), counts];
    catchwire(files.into_iter().chain(words)).done();
    out.join("far")
}

/// West, south, east and north of some features.
fn bounds(document: &Value) -> [f64; 4] {
    let all = places(document).into_iter().flatten();
    all.fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |[west, south, east, north], [lon, lat]| {
        [west.min(lon), south.min(lat), east.max(lon), north.max(lat)]
    })
}

/// Bounds agree with those of the outline, but for so many metres.
#[track_caller]
fn fill(found: [f64; 4], outline: [f64; 4], within_m: f64, what: &str) {
    // A degree of longitude is shorter, at 44° by 0.72.
    let within = within_m * 100.0 * CENTIMETRE_DEG / 0.7;
    let fits = found.iter().zip(&outline).all(|(one, other)| (one - other).abs() < within);
    assert!(fits, "{what}: {found:?} in {outline:?}");
}

/// West, south, east and north of a raster, as GDAL gives them in degrees.
fn raster_bounds(file: &Path) -> [f64; 4] {
    let output = Command::new("gdalinfo").arg("-json").arg(file).output();
    let output = output.expect("gdalinfo comes with ogr2ogr").stdout;
    let described: Value = serde_json::from_slice(&output).expect("JSON of GDAL");
    let extent = serde_json::json!({ "features": [{ "geometry": described["wgs84Extent"] }] });
    bounds(&extent)
}

/// What a raster says at a place.
fn raster_at(file: &Path, [lon, lat]: [f64; 2]) -> f64 {
    let mut program = Command::new("gdallocationinfo");
    let place = [lon, lat].map(|degrees| format!("{degrees:.9}"));
    let output = program.args(["-valonly", "-wgs84"]).arg(file).args(place).output();
    let output = String::from_utf8(output.expect("it comes with ogr2ogr").stdout).expect("UTF-8");
    output.trim().parse().expect("a number")
}

#[test]
fn a_block_lies_where_it_was_given_in_every_format() {
    for place in PLACES {
        let scratch = folder();
        let given = block(place);
        let folder = thinned(&given, scratch.path());
        if !every_format_tells_the_same(&folder) {
            return;
        }
        let outline = bounds(&given);
        let read = |file: &str, layer: &str| {
            through_gdal(&folder.join(file), layer).expect("GDAL is here")
        };
        same_corners(&read("block.gpkg", "block"), &given, "the corners of the block");
        // Zones reach from row end to row end, and half a row beside the outer rows.
        for (file, layer) in
            [("zones.geojson", "zones"), ("block.gpkg", "panels"), ("map.kmz", "Zones")]
        {
            fill(bounds(&read(file, layer)), outline, 2.0, &format!("{place:?} {file}"));
        }
        let raster = folder.join("shoot-density.tif");
        fill(raster_bounds(&raster), outline, 8.0, &format!("{place:?} {}", raster.display()));
        corners_have_their_numbers(&folder, &raster);
    }
}

/// The first and the last vine have their own numbers in the raster, from another reader.
fn corners_have_their_numbers(folder: &Path, raster: &Path) {
    let vines = json(&folder.join("vines.geojson"));
    let at = places(&vines);
    for vine in [0, at.len() - 1] {
        let own =
            vines["features"][vine]["properties"]["surface_per_m"].as_f64().expect("a number");
        let found = raster_at(raster, at[vine][0]);
        assert!((own - found).abs() < 1e-4, "{}: {own} {found}", folder.display());
    }
}
