//! `--vigor`: a raster as the measure of vigor.

use std::{fmt::Write as _, fs};

use catchwire::{
    grid::{Affine, Georeference, Grid, Lies},
    write::geotiff::geotiff,
};
use serde_json::Value;

use crate::support::{Run, catchwire, folder, json, properties, put};

/// A block of 40 × 100 m with rows 2.5 m apart that run north, row 1 in the west, at 60° N.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Square","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99928,60.0],[-2.99928,60.0009],
[-3.0,60.0009],[-3.0,60.0]]]}}"#;

/// The corner of the rasters, and the degrees of a cell: some 2.2 m.
const CORNER: [f64; 2] = [-3.0004, 60.0012];
const CELL: [f64; 2] = [4e-5, 2e-5];
const SIDES: [usize; 2] = [40, 80];

/// A raster whose value follows from the columns east of its corner.
fn raster(corner: [f64; 2], enlarged: f64, value: impl Fn(f64) -> f64) -> Vec<u8> {
    let affine = Affine {
        origin_x: corner[0],
        column_x: CELL[0] * enlarged,
        row_x: 0.0,
        origin_y: corner[1],
        column_y: 0.0,
        row_y: -CELL[1] * enlarged,
    };
    let columns = (0..SIDES[0]).fold((Vec::new(), 0.0), |(mut columns, at), _| {
        columns.push(value(at));
        (columns, at + 1.0)
    });
    let values = columns.0.repeat(SIDES[1]);
    let georeference = Georeference { affine, lies: Lies::Degrees };
    let grid = Grid::new("index.tif", SIDES, values, georeference, "").expect("a raster");
    geotiff(&grid).expect("bytes")
}

/// Stripes of 15 m from north to south, so many metres east of the block's corner: from −1 to 1.
fn stripes(east_m: f64) -> f64 {
    (std::f64::consts::TAU * east_m / 15.0).sin()
}

/// The stripes in the cells of a raster, whose tenth column begins with the block.
fn striped(column: f64) -> f64 {
    stripes((column + 0.5 - 10.0) * 2.23)
}

/// Shoots that go with the stripes, four vines in every row.
fn sheet() -> String {
    let mut text = String::from("row,vine,shoots\n");
    let places = (1..=15).flat_map(|row| (2..=44).step_by(12).map(move |v| (row, v + row % 3)));
    for (at, (row, vine)) in places.enumerate() {
        let own = [0.0, 2.0, 4.0, 1.0, 3.0][at % 5];
        let shoots = 24.0 + 7.0 * stripes(2.5 * (f64::from(row) - 0.5)) + own;
        let _ = writeln!(text, "{row},{vine},{shoots:.0}");
    }
    text
}

/// What a run with a raster left: the run, and the block's vines where it was thinned.
fn with(command: &str, bytes: &[u8]) -> (Run, Option<(Vec<Value>, Value, Value)>) {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let counts = put(folder.path(), "counts.csv", &sheet());
    let (tif, out) = (folder.path().join("index.tif"), folder.path().join("out"));
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    fs::write(&tif, bytes).expect("a written file");
    let mut call = vec![command.into(), block.into_os_string(), "--counts".into(), counts.into()];
    call.extend(["--vigor".into(), tif.into_os_string()]);
    if command == "thin" {
        call.extend(["--out".into(), out.clone().into_os_string()]);
    }
    let run = catchwire(call);
    let square = out.join("square");
    let left = square.exists().then(|| {
        let map = square.join("vigor.png").exists();
        let vines = properties(&square.join("vines.geojson"));
        let report = json(&square.join("thinning.json"));
        assert_eq!(map, !report["vigor"].is_null(), "a map where there is a measure");
        (vines, report, json(&square.join("run.json")))
    });
    (run, left)
}

#[test]
fn a_raster_that_goes_with_the_counts_moves_the_aim_and_is_an_input() {
    let (run, left) = with("thin", &raster(CORNER, 1.0, |east| 0.6 + 0.1 * striped(east)));
    let (vines, report, record) = left.unwrap_or_else(|| panic!("{}", run.done().stderr));
    assert_eq!(report["vigor"]["method"], "given");
    assert_eq!(record["inputs"][1]["file"], "index.tif");
    let of = |class: &str| vines.iter().filter(|vine| vine["vigor_class"] == class).count();
    assert!(of("below") > 50 && of("near") > 200 && of("above") > 50);
    // Half a shoot a foot is 1.640 a metre; the range of a hybrid is 4 to 6 a foot, its middle 5.
    let (middle, most) = (5.0 / 0.3048, 0.5 / 0.3048);
    for vine in &vines {
        let aim = vine["target_per_m"].as_f64().expect("an aim");
        assert!((aim - middle).abs() < most + 1e-4, "{vine}");
        assert!(vine["vigor"].is_number() && vine["vigor_se"].is_null(), "{vine}");
        match vine["vigor_class"].as_str() {
            Some("below") => assert!((aim - middle + most).abs() < 1e-4, "{vine}"),
            Some("above") => assert!((aim - middle - most).abs() < 1e-4, "{vine}"),
            _ => {}
        }
    }
    let findings = record["findings"].to_string();
    assert!(findings.contains("vigor is that of the raster"), "{findings}");
    assert!(findings.contains("the map of shoots"), "follows the raster or not: {findings}");
}

#[test]
fn unit_and_zero_of_a_raster_change_no_aim() {
    let aims = |scale: f64, zero: f64| {
        let value = |east: f64| zero + scale * (0.6 + 0.1 * striped(east));
        let (run, left) = with("thin", &raster(CORNER, 1.0, value));
        let (vines, ..) = left.unwrap_or_else(|| panic!("{}", run.stderr));
        let aim = |vine: &Value| vine["target_per_m"].as_f64().expect("an aim");
        vines.iter().map(aim).collect::<Vec<f64>>()
    };
    let (own, other) = (aims(1.0, 0.0), aims(250.0, -130.0));
    assert_eq!(own.len(), other.len());
    assert!(own.iter().zip(other).all(|(one, other)| (one - other).abs() < 1e-3));
}

#[test]
fn a_raster_against_the_counts_moves_nothing_and_says_so() {
    let (run, left) = with("thin", &raster(CORNER, 1.0, |east| 0.6 - 0.1 * striped(east)));
    let run = run.done();
    assert!(run.stderr.contains("moves no target"), "{}", run.stderr);
    assert!(run.stderr.contains("there are fewer shoots"), "{}", run.stderr);
    let (vines, report, _) = left.expect("files");
    assert!(report["vigor"].is_null() && vines.iter().all(|vine| vine["vigor"].is_null()));
    let (run, _) = with("check", &raster(CORNER, 1.0, |east| 0.6 - 0.1 * striped(east)));
    assert!(run.done().stderr.contains("moves no target"));
}

#[test]
fn a_raster_elsewhere_or_too_coarse_is_refused_with_words() {
    let (run, left) = with("thin", &raster([-3.2, 60.1], 1.0, |east| east));
    let run = run.refused(3, &["covers nothing of the blocks", "-3.2000, 60.1000"]);
    assert!(run.stderr.contains("the blocks from -3.0000, 60.0000 to -2.9993, 60.0009"));
    assert!(left.is_none());
    let (run, _) = with("thin", &raster([-3.05, 60.04], 100.0, |east| east));
    run.refused(3, &["it shows no differences inside"]);
}
