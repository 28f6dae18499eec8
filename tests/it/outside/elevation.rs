//! Elevation models as another program (GDAL) writes and reads them.

use std::{fs, path::PathBuf, process::Command};

use catchwire::{
    error::Error,
    finding::Findings,
    geodesy::LonLat,
    grid::Grid,
    read::{Inputs, Request},
};

use crate::support::{folder, put, skipped};

/// Source: `gdalwarp -r bilinear -et 0` of GDAL 3.6.2 to a cell of 1e-7 degrees around each place.
const GDAL_OF_AREA: [(f64, f64, f64); 3] = [
    (-5.773_217_5, 56.075_072_6, 100.051_411_663),
    (-5.773_363_4, 56.075_09, 98.856_377_714),
    (-5.773_072_9, 56.074_983_3, 101.597_936_687),
];

const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Plane","standing":false,
"row_bearing":0,"row_spacing":2,"vine_spacing":1},"geometry":{"type":"Polygon","coordinates":[[
[-5.77339107,56.07495994],[-5.77307014,56.07496716],[-5.77308304,56.07514665],
[-5.77340397,56.07513943],[-5.77339107,56.07495994]]]}}"#;

fn model(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/data/elevation").join(name)
}

fn read(dem: PathBuf) -> Result<(Grid, Findings), Error> {
    let folder = folder();
    let blocks = put(folder.path(), "block.geojson", BLOCK);
    let request = Request { blocks, dem: Some(dem), ..Request::default() };
    let (inputs, findings) = Inputs::read(&request)?;
    Ok((inputs.elevation.expect("a grid where nothing was refused"), findings))
}

fn at(grid: &Grid, lon: f64, lat: f64) -> f64 {
    let cell = grid.georeference().cell_of(LonLat::new(lon, lat).expect("a place"));
    grid.value_between(cell.expect("a cell")).expect("a height")
}

#[track_caller]
fn near_gdal(name: &str, within_m: f64) {
    let (grid, _) = read(model(name)).expect("a sound model");
    for (lon, lat, expected) in GDAL_OF_AREA {
        let found = at(&grid, lon, lat);
        assert!((found - expected).abs() < within_m, "{name}: {found} m, GDAL {expected} m");
    }
}

#[test]
fn heights_are_those_that_gdal_finds_whatever_the_layout_of_the_file() {
    // Corners or middles of cells, strips or tiles, either byte order, 32 or 64 bits.
    for name in ["area.tif", "point.tif", "tiled.tif", "double.tif", "feet.tif"] {
        near_gdal(name, 1e-4);
    }
    near_gdal("scaled.tif", 1e-3);
}

#[test]
fn a_model_in_degrees_agrees_with_the_same_one_in_a_projected_grid() {
    near_gdal("degrees.tif", 0.1);
}

#[test]
fn whole_metres_with_a_mark_for_none_are_heights_with_gaps() {
    let (grid, findings) = read(model("whole.tif")).expect("a sound model");
    assert_eq!(grid.values().filter(Option::is_none).count(), 24, "two rows of twelve");
    assert!(!findings.iter().any(|f| f.what.contains("hold no height")), "{findings:?}");
    let found = at(&grid, GDAL_OF_AREA[0].0, GDAL_OF_AREA[0].1);
    assert!((found - GDAL_OF_AREA[0].2).abs() < 0.6, "{found}");
}

#[track_caller]
fn told(name: &str, words: &str) {
    let findings = read(model(name)).expect("a readable model").1;
    assert!(findings.iter().any(|f| f.to_string().contains(words)), "{name}: {findings:?}");
}

#[test]
fn what_was_understood_is_told() {
    told("feet.tif", "the file's unit is 0.3048000 m");
    told("unmarked.tif", "1 cells around the blocks hold no height, such as -9999");
}

#[track_caller]
fn refused(dem: PathBuf, words: &[&str]) {
    let error = read(dem).expect_err("a refusal").to_string();
    for word in words {
        assert!(error.contains(word), "`{word}` is not in: {error}");
    }
}

#[test]
fn what_is_no_raster_of_heights_is_refused_with_a_way_out() {
    refused(model("bands.tif"), &["has 3 bands", "gdal_translate -b 1"]);
    refused(model("no-grid.tif"), &["in which grid its cells lie", "-a_srs"]);
    refused(model("no-place.tif"), &["does not say where its cells lie", "gdal_translate"]);
    refused(model("own-grid.tif"), &["without an EPSG code", "gdalwarp -t_srs"]);
    refused(
        model("far.tif"),
        &["covers nothing of the blocks", "it reaches from -5.45", "gdalinfo"],
    );
    refused(model("SOURCE.md"), &["this is no TIFF file", "GeoTIFF"]);
    let scratch = folder();
    let ascii = put(scratch.path(), "dem.asc", "ncols 3\nnrows 2\n");
    refused(ascii, &["looks like an ASCII grid"]);
    refused(scratch.path().join("nowhere.tif"), &["nowhere.tif", "cannot be opened"]);
}

/// Writes bytes and reads them as a model: a fault or a grid, never a panic.
fn survives(bytes: &[u8]) -> bool {
    let scratch = folder();
    let path = scratch.path().join("dem.tif");
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    fs::write(&path, bytes).expect("a written file");
    match read(path) {
        Ok(_) => true,
        Err(error) => {
            let text = error.to_string();
            assert!(text.contains("dem.tif") && text.contains("; "), "{text}");
            false
        }
    }
}

#[test]
fn a_cut_or_broken_file_is_refused_or_read_and_nothing_else() {
    for name in ["area.tif", "tiled.tif", "double.tif", "whole.tif"] {
        let whole = fs::read(model(name)).expect("a model");
        assert!(survives(&whole));
        for length in (0..whole.len()).step_by(13) {
            survives(&whole[..length]);
        }
        assert!(!survives(&whole[..whole.len() / 2]), "half of {name}");
        for at in (0..whole.len()).step_by(5) {
            let mut broken = whole.clone();
            broken[at] ^= 0xff;
            survives(&broken);
        }
    }
}

#[test]
fn gdal_reads_what_we_write_at_the_same_cells() {
    let (grid, _) = read(model("area.tif")).expect("a sound model");
    let scratch = folder();
    let path = scratch.path().join("ours.tif");
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    fs::write(&path, catchwire::write::geotiff::geotiff(&grid).expect("bytes")).expect("a file");
    let ask = |column: usize, row: usize| {
        let mut gdal = Command::new("gdallocationinfo");
        gdal.args(["-valonly".as_ref(), path.as_os_str()]);
        gdal.args([column.to_string(), row.to_string()]).output()
    };
    for (column, row) in [(0, 0), (5, 7), (11, 2)] {
        let Ok(answer) = ask(column, row) else {
            return skipped("gdallocationinfo is not here");
        };
        let text = String::from_utf8_lossy(&answer.stdout).trim().to_owned();
        let found: f64 = text.parse().expect("a height from GDAL");
        let expected = grid.value(column, row).expect("a height");
        assert!((found - expected).abs() < 1e-4, "{found} {expected}");
    }
    let (again, _) = read(path.clone()).expect("our own file");
    assert_eq!(again.georeference(), grid.georeference());
}
