//! `bearings`: what a planter compares.

use std::{collections::BTreeMap, path::Path};

use serde_json::Value;

use crate::support::{catchwire, demo, files, folder, json, put};

/// The lines of a table as column → cell.
fn table(path: &Path) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).expect("a table");
    let heads = reader.headers().expect("heads").clone();
    let line = |record: csv::StringRecord| {
        heads.iter().map(str::to_owned).zip(record.iter().map(str::to_owned)).collect()
    };
    reader.records().map(|record| line(record.expect("an even line"))).collect()
}

#[test]
fn the_demo_compares_bearings_of_its_new_planting() {
    let out = demo().join("0-bearings/new-ground");
    let lines = table(&out.join("bearings.csv"));
    assert_eq!(lines.len(), 182);
    let own = lines.iter().find(|line| line["marks"].contains("own")).expect("its own bearing");
    assert_eq!(own["bearing_true_deg"], "348.5");
    let laid = json(&demo().join("1-layout/new-ground/layout.json"));
    assert_eq!(own["vines"], laid["vines"].to_string());
    assert_eq!(own["rows"], laid["rows"].to_string());
    assert_eq!(own["posts_end"], laid["posts_end"].to_string());
    assert_eq!(own["vines"], own["vines_most"], "row_anchor is most-vines");
    let hours =
        |line: &BTreeMap<String, String>, side: &str| -> f64 { line[side].parse().unwrap() };
    let north = lines.iter().find(|line| line["direction"] == "N-S").unwrap();
    let uneven = hours(north, "sun_right_h") - hours(north, "sun_left_h");
    assert!(uneven.abs() < 1.0 / 60.0, "{uneven} h between east and west");
    let west = lines.iter().find(|line| line["direction"] == "E-W").unwrap();
    assert_eq!((west["right_faces"].as_str(), west["left_faces"].as_str()), ("S", "N"));
    assert!(hours(west, "sun_right_h") > hours(west, "sun_left_h") + 3.0);
    assert!(lines.iter().all(|line| !line["slope_across_pct"].is_empty()));
    let svg = std::fs::read_to_string(out.join("bearings.svg")).unwrap();
    assert!(svg.contains("own bearing 348.5°") && !svg.contains("NaN"));
}

const FIELD: &str = r#"{"type":"Feature","properties":{"name":"A","row_spacing":"8 ft",
    "vine_spacing":"4 ft"KEYS},"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],
    [-2.998,60.0],[-2.998,60.0009],[-3.0,60.0009],[-3.0,60.0]]]}}"#;

fn compare(keys: &str, options: &[&str]) -> (tempfile::TempDir, crate::support::Run) {
    let folder = folder();
    let block = put(folder.path(), "a.geojson", &FIELD.replace("KEYS", keys));
    let (block, out) = (block.display().to_string(), folder.path().join("out"));
    let out = out.display().to_string();
    let args = ["bearings", &block, "--out", &out];
    let run = catchwire(args.iter().chain(options));
    (folder, run)
}

#[test]
fn a_block_needs_no_bearing_and_reads_in_its_own_units() {
    let (folder, run) = compare("", &["--step", "15", "--write", "bearings.csv"]);
    let run = run.done();
    assert!(
        run.stdout.contains("longest edge") && run.stdout.contains("median ft"),
        "{}",
        run.stdout
    );
    assert!(!run.stdout.contains("own bearing"), "{}", run.stdout);
    assert!(!run.stdout.to_lowercase().contains(" safe"), "{}", run.stdout);
    let out = folder.path().join("out/a");
    let lines = table(&out.join("bearings.csv"));
    assert!(lines.len() >= 12 && lines[0].contains_key("median_row_ft"));
    assert_eq!(files(&out).len(), 2, "the table and run.json");
    let (_folder, json) = compare(",\"row_bearing\":30", &["--step", "30", "--json", "--dry-run"]);
    let report: Value = serde_json::from_str(&json.done().stdout).unwrap();
    let standouts = report["blocks"][0]["bearings"]["standouts"].as_array().unwrap().clone();
    assert_eq!(standouts[0]["by"], "own bearing");
    assert_eq!(standouts[0]["direction"], "N30E");
}

#[test]
fn calls_that_contradict_themselves_are_refused() {
    let check = |keys: &str, options: &[&str], code: i32, said: &[&str]| {
        let (folder, run) = compare(keys, options);
        run.refused(code, said);
        assert!(!folder.path().join("out").exists());
    };
    check(",\"standing\":true", &[], 3, &["stand", "new planting"]);
    check("", &["--sun-from", "2027-04-01"], 2, &["--sun-to"]);
    check("", &["--sun-to", "2027-04-01"], 2, &["--sun-from"]);
    check("", &["--sun-from", "2027-04-02", "--sun-to", "2027-04-01"], 2, &["is before"]);
    check("", &["--sun-from", "2027-01-01", "--sun-to", "2028-01-02"], 2, &["367 days"]);
    check("", &["--sun-from", "3001-04-01", "--sun-to", "3001-05-01"], 2, &["2999"]);
    check("", &["--step", "0.05"], 2, &["--step", "0.1"]);
    check("", &["--step", "nan"], 2, &["--step"]);
    check("", &["--from", "N10E"], 2, &["--to"]);
    check("", &["--headland", "90 m"], 3, &["0 rows fit at any"]);
    let (_folder, run) = compare(",\"standing\":true", &["--standing", "false", "--step", "45"]);
    run.done();
}
