//! Every geographic file of a layout, read back through GDAL: the same ids in the same order, at
//! the same places within a centimetre. Without GDAL the tests say so and pass.

use std::{
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use serde_json::Value;

use crate::support::{catchwire, demo, folder, json, properties, skipped};

/// A centimetre on the ground, in degrees of latitude: 0.01 m / (111 km a degree).
const CENTIMETRE_DEG: f64 = 0.01 / 111_000.0;

/// One layer of a file as GDAL sees it, as GeoJSON; `None` where GDAL is not here.
fn through_gdal(file: &Path, layer: &str) -> Option<Value> {
    through_gdal_with(file, layer, &[])
}

/// The same with options for opening the file.
fn through_gdal_with(file: &Path, layer: &str, opening: &[&str]) -> Option<Value> {
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
fn places(document: &Value) -> Vec<Vec<[f64; 2]>> {
    let features = document["features"].as_array().expect("features").iter();
    let of = |feature: &Value| {
        let mut found = Vec::new();
        positions(&feature["geometry"]["coordinates"], &mut found);
        found
    };
    features.map(of).collect()
}

fn ids(document: &Value, column: &str) -> Vec<String> {
    let features = document["features"].as_array().expect("features").iter();
    features.map(|feature| feature["properties"][column].to_string()).collect()
}

#[track_caller]
fn same_places(read: &Value, written: &Value, what: &str) {
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

/// Folders with a layout: that of the demo, and those of blocks with pieces and keep-outs.
fn layouts() -> (tempfile::TempDir, Vec<PathBuf>) {
    let out = folder();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries");
    let mut folders = vec![demo().join("1-layout/new-ground")];
    for sample in ["notched", "keep-out"] {
        let to = out.path().join(sample);
        let file = samples.join(format!("{sample}.geojson"));
        catchwire(["layout".as_ref(), file.as_os_str(), "--out".as_ref(), to.as_os_str()]).done();
        let made = std::fs::read_dir(&to).expect("a folder").next();
        folders.push(made.expect("a block").expect("an entry").path());
    }
    (out, folders)
}

#[test]
fn a_geopackage_holds_what_the_geojson_files_hold() {
    let (_kept, folders) = layouts();
    for folder in folders {
        for (layer, id) in [("rows", "id"), ("vines", "id"), ("posts", "kind")] {
            let file = folder.join("block.gpkg");
            let Some(read) = through_gdal(&file, layer) else { return };
            let written = json(&folder.join(format!("{layer}.geojson")));
            assert_eq!(ids(&read, id), ids(&written, id), "{layer}");
            same_places(&read, &written, layer);
        }
        let Some(outline) = through_gdal(&folder.join("block.gpkg"), "block") else { return };
        let standing = json(&folder.join("block-standing.geojson"));
        let drawn: Vec<_> = places(&standing).into_iter().take(1).collect();
        let read = places(&outline);
        assert_eq!(read[0].len(), drawn[0].len());
        assert!(!folder.join("block.gpkg-wal").exists(), "no side files");
    }
}

#[test]
fn a_map_for_globes_holds_every_piece_of_row() {
    let (_kept, folders) = layouts();
    for folder in folders {
        let Some(read) = through_gdal(&folder.join("block.kmz"), "Rows") else { return };
        let written = json(&folder.join("rows.geojson"));
        assert_eq!(ids(&read, "Name"), ids(&written, "id"));
        same_places(&read, &written, "block.kmz");
    }
}

/// The rows of the table that the receiver gets: name and place in the grid.
fn stakes(folder: &Path) -> Vec<(String, [f64; 2])> {
    let table = folder.join("stakeout-epsg32630-m.csv");
    let mut reader = csv::Reader::from_path(table).expect("a table");
    let number = |text: &str| text.parse::<f64>().expect("a number");
    let row = |record: csv::StringRecord| {
        let name = record[4].split(' ').next().expect("a short name").to_owned();
        (name, [number(&record[2]), number(&record[1])])
    };
    reader.records().map(|record| row(record.expect("a record"))).collect()
}

/// Degrees in the grid of the table, through GDAL.
fn on_the_grid(places: &[Vec<[f64; 2]>]) -> Vec<[f64; 2]> {
    let options = ["-s_srs", "EPSG:4326", "-t_srs", "EPSG:32630", "-output_xy"];
    let mut program = Command::new("gdaltransform");
    program.args(options).stdin(Stdio::piped()).stdout(Stdio::piped());
    let mut child = program.spawn().expect("gdaltransform comes with ogr2ogr");
    let lines: Vec<String> = places.iter().map(|at| format!("{} {}", at[0][0], at[0][1])).collect();
    let mut pipe = child.stdin.take().expect("a pipe");
    pipe.write_all(lines.join("\n").as_bytes()).expect("a write");
    drop(pipe);
    let output = child.wait_with_output().expect("an end").stdout;
    let number = |part: &str| part.parse::<f64>().expect("a number");
    let line = |line: &str| {
        let numbers: Vec<f64> = line.split(' ').map(number).collect();
        [numbers[0], numbers[1]]
    };
    String::from_utf8(output).expect("numbers").lines().map(line).collect()
}

#[test]
fn the_table_of_stakes_opens_with_every_point() {
    let folder = demo().join("1-layout/new-ground");
    let name = "stakeout-epsg32630-m";
    let opening = [
        "-oo",
        "X_POSSIBLE_NAMES=easting",
        "-oo",
        "Y_POSSIBLE_NAMES=northing",
        "-oo",
        "KEEP_GEOM_COLUMNS=YES",
    ];
    let Some(read) = through_gdal_with(&folder.join(format!("{name}.csv")), name, &opening) else {
        return;
    };
    let stakes = stakes(&folder);
    let found = places(&read);
    assert_eq!(found.len(), stakes.len());
    for (at, (name, stake)) in found.iter().zip(&stakes) {
        let off = (at[0][0] - stake[0]).hypot(at[0][1] - stake[1]);
        assert!(off < 0.001, "{name}: {off} m");
    }
}

#[test]
fn every_geojson_file_of_a_layout_comes_back_as_it_was_written() {
    let (_kept, folders) = layouts();
    for folder in folders {
        for (layer, id) in
            [("rows", "id"), ("vines", "id"), ("posts", "kind"), ("guidance-ab", "id")]
        {
            let file = folder.join(format!("{layer}.geojson"));
            let Some(read) = through_gdal(&file, layer) else { return };
            let written = json(&file);
            assert_eq!(ids(&read, id), ids(&written, id), "{layer}");
            same_places(&read, &written, layer);
        }
    }
}

#[test]
fn waypoints_lie_where_the_table_of_stakes_says() {
    let folder = demo().join("1-layout/new-ground");
    let Some(read) = through_gdal(&folder.join("stakeout-01.gpx"), "waypoints") else { return };
    let stakes = stakes(&folder);
    let names: Vec<String> = stakes.iter().map(|(name, _)| format!("\"{name}\"")).collect();
    assert_eq!(ids(&read, "name"), names, "all of them, in order");
    let found = on_the_grid(&places(&read));
    assert_eq!(found.len(), stakes.len());
    for (at, (name, stake)) in found.iter().zip(&stakes) {
        let off = (at[0] - stake[0]).hypot(at[1] - stake[1]);
        assert!(off < 0.01, "{name}: {off} m");
    }
}

#[test]
fn stops_of_the_walk_are_the_same_as_waypoints() {
    let folder = demo().join("2-sample/south-brae");
    let Some(read) = through_gdal(&folder.join("sample.gpx"), "waypoints") else { return };
    same_places(&read, &json(&folder.join("sample.geojson")), "sample.gpx");
}

#[test]
fn guidance_lines_run_from_post_to_post_in_both_forms() {
    let folder = demo().join("1-layout/new-ground");
    let written = json(&folder.join("guidance-ab.geojson"));
    let rows = json(&folder.join("rows.geojson"));
    assert_eq!(ids(&written, "id"), ids(&rows, "id"));
    same_places(&written, &rows, "rows that do not bend");
    let Some(read) = through_gdal(&folder.join("guidance-ab.kml"), "Rows") else { return };
    same_places(&read, &written, "guidance-ab.kml");
}

#[test]
fn values_keep_their_kind_in_a_geopackage() {
    let folder = demo().join("1-layout/new-ground");
    let Some(read) = through_gdal(&folder.join("block.gpkg"), "vines") else { return };
    let written = properties(&folder.join("vines.geojson"));
    for (feature, properties) in read["features"].as_array().expect("features").iter().zip(&written)
    {
        for (name, value) in properties.as_object().expect("properties") {
            let read = &feature["properties"][name];
            // GDAL writes a whole number of a decimal column as 3.0, we as 3.
            let same = read == value
                || (value.is_f64() || value.is_i64() || value.is_u64())
                    && read.as_f64() == value.as_f64();
            assert!(same, "{name}: {read}, {value}");
        }
    }
}
