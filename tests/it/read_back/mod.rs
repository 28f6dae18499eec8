//! Every geographic file, read back through GDAL: the same ids in the same order, the same values,
//! at the same places within a centimetre. Here those of a layout; in `thinned` those of a decision,
//! in `far_places` all of it elsewhere on the globe. Without GDAL the tests say so and pass.

mod far_places;
mod gdal;
mod thinned;

use std::{
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use self::gdal::{ids, places, same_places, same_values, through_gdal, through_gdal_with};
use crate::support::{catchwire, demo, folder, json};

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
    same_values(&read, &json(&folder.join("vines.geojson")), "block.gpkg, vines");
}
