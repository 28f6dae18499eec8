//! `sample-sizes.csv`: how sure of the mean each number of stops would make.

use std::{fs, path::Path};

use serde_json::Value;

use crate::support::{Run, catchwire, folder, json, put, sheet};

/// A standing block of 19 rows of 40 vines, 2.5 × 1.2 m, in panels of 4.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Sea Field","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":1.2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99914943,60.0],
[-2.99914943,60.00043517],[-3.0,60.00043517],[-3.0,60.0]]]}}"#;

fn sample(block: &Path, out: &Path, options: &[&str]) -> Run {
    let call = ["sample".as_ref(), block.as_os_str(), "--out".as_ref(), out.as_os_str()];
    catchwire(call.into_iter().chain(options.iter().map(AsRef::as_ref)))
}

#[test]
fn the_table_of_error_by_number_is_the_textbook_one() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    sample(&block, &out, &["--by", "vine", "--number", "35"]).done();
    let lines = sheet::lines(&out.join("sea-field/sample-sizes.csv"));
    let numbers: Vec<u32> = lines.iter().map(|line| line.number("stops")).collect();
    assert_eq!(numbers, [10, 20, 30, 35, 40, 60, 80, 120, 200], "those of the draw among them");
    // 19 rows of 40 vines, the two ends of each left out.
    let units = 19 * 38;
    for line in &lines {
        let number = f64::from(line.number("stops"));
        // Cochran 1977, Sampling Techniques, 3rd ed., eq. 2.26 and 4.2: z·CV·√((1 − n/N)/n), with
        // CV 0.25 (the setting) and z = 1.644854 of 90 %.
        let share = number / f64::from(units);
        let expected = 100.0 * 1.644_854 * 0.25 * ((1.0 - share) / number).sqrt();
        let found: f64 = line.cell("error_percent").parse().expect("a number");
        assert!((found - expected).abs() < 0.0051, "{number}: {found} %, not {expected}");
        assert_eq!(line.cell("drawn") == "true", line.number("stops") == 35, "{line:?}");
        assert_eq!(line.number("could_be_drawn"), units);
        assert_eq!([line.cell("unit"), line.cell("confidence")], ["vine", "0.9"]);
        assert_eq!([line.cell("variation"), line.cell("variation_from")], ["0.25", "setting"]);
    }
}

#[test]
fn the_table_is_hashed_beside_the_sheet_and_says_what_the_report_says() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    let run = sample(&block, &out, &["--json"]).done();
    let report: Value = serde_json::from_str(&run.stdout).expect("a report");
    let record = json(&out.join("sea-field/run.json"));
    let files = record["files"].as_array().expect("files");
    assert!(files.iter().any(|file| file["file"] == "sample-sizes.csv"), "{files:?}");
    let told = report["blocks"][0]["sample"]["errors"].as_array().expect("errors");
    let lines = sheet::lines(&out.join("sea-field/sample-sizes.csv"));
    assert_eq!(told.len(), lines.len());
    for (line, told) in lines.iter().zip(told) {
        assert_eq!(told[0], line.number("stops"));
        let percent = 100.0 * told[1].as_f64().expect("a share");
        let kept: f64 = line.cell("error_percent").parse().expect("a number");
        assert!((percent - kept).abs() < 0.0051, "{percent} and {kept}");
    }
}

#[test]
fn stops_that_somebody_chose_have_no_such_table() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let list = put(folder.path(), "stops.csv", "row,panel\n4,7\n3,9\n").display().to_string();
    let out = folder.path().join("out");
    sample(&block, &out, &["--stops", &list]).done();
    assert!(out.join("sea-field/sample.csv").exists());
    assert!(!fs::exists(out.join("sea-field/sample-sizes.csv")).expect("a folder"));
}
