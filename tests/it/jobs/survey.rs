//! Surveyed rows: what `check` says of them row by row, and what it refuses.

use std::fmt::Write as _;

use serde_json::Value;

use crate::support::{catchwire, folder, put};

fn sample(name: &str) -> String {
    format!("{}/sample-geometries/{name}", env!("CARGO_MANIFEST_DIR"))
}

fn survey(args: &[&str]) -> Value {
    let run = catchwire(["check", "--json"].iter().chain(args)).done();
    let report: Value = serde_json::from_str(&run.stdout).unwrap();
    report["blocks"][0]["survey"].clone()
}

#[test]
fn rows_that_are_off_are_listed_with_what_is_off() {
    // The sample: rows 2.5 m apart, a track of 5 m from row 5 to 6, row 7 turned by 0.35 m in 56 m
    // and 2.75 m + 0.175 m from row 6, 41 vines in row 8 where 44.8 spacings fit.
    let survey = survey(&[&sample("track.geojson")]);
    assert_eq!(survey["rows"], 7);
    let uneven = survey["uneven"].as_array().unwrap();
    let rows: Vec<u64> = uneven.iter().map(|row| row["row"].as_u64().unwrap()).collect();
    assert_eq!(rows, [5, 6, 7, 8], "{survey:#}");
    let near = |row: usize, key: &str, expected: [f64; 2], tolerance: f64| {
        for (at, expected) in expected.iter().enumerate() {
            let value = uneven[row][key][at].as_f64().unwrap();
            assert!((value - expected).abs() < tolerance, "{key} {value}, not {expected}");
        }
    };
    near(0, "gap_m", [5.0, 2.5], 0.01);
    near(1, "gap_m", [2.925, 2.5], 0.01);
    near(2, "gap_m", [2.075, 2.5], 0.01);
    // atan(0.35 / 55.7) = 0.36° less northerly.
    near(2, "bearing_true_deg", [20.36, 20.0], 0.02);
    // (56 − 1.25) / 40.
    near(3, "vine_spacing_m", [1.369, 1.25], 0.002);
    assert_eq!(uneven[0]["bearing_true_deg"], Value::Null);
    assert!((uneven[0]["times_tolerance"].as_f64().unwrap() - 25.0).abs() < 0.1);
}

#[test]
fn the_table_is_for_people_and_in_their_units() {
    let text = catchwire(["check", &sample("track.geojson")]).done().stdout;
    assert!(text.contains("7 surveyed rows"), "{text}");
    assert!(text.contains("4 rows are off:"), "{text}");
    assert!(text.contains("5.00 (+2.50)") && text.contains("gap to next, m"), "{text}");
    let feet = catchwire(["check", &sample("track.geojson"), "--units", "us"]).done().stdout;
    // 5 m are 16.40 ft, 2.5 m more than 8.20 ft.
    assert!(feet.contains("16.40 (+8.20)") && feet.contains("gap to next, ft"), "{feet}");
    let folder = folder();
    let lax = put(folder.path(), "s.toml", "[layout]\nsurvey_tolerance = \"3 m\"\n");
    let lax = lax.display().to_string();
    let survey = survey(&[&sample("track.geojson"), "--settings", &lax]);
    assert_eq!(survey["uneven"].as_array().unwrap().len(), 1, "only the vines of row 8: {survey}");
}

/// Rows of some 44 m, 2.5 m apart but for the row that lies `off(row)` metres to the east.
fn rows(number: u32, off: impl Fn(u32) -> f64) -> String {
    let mut features = vec![
        r#"{"type":"Feature","properties":{"name":"A","role":"block","standing":true,
        "row_spacing":2.5,"vine_spacing":1.2},"geometry":{"type":"Polygon","coordinates":
        [[[-3.0001,60.0],[-2.9982,60.0],[-2.9982,60.0004],[-3.0001,60.0004],[-3.0001,60.0]]]}}"#
            .to_owned(),
    ];
    for row in 1..=number {
        // 55 800 m to a degree of longitude at 60° N (WGS84, from memory).
        let lon = -3.0 + (2.5 * f64::from(row - 1) + off(row)) / 55_800.0;
        let mut line = String::new();
        let _ = write!(
            line,
            r#"{{"type":"Feature","properties":{{"role":"row-line","row":{row}}},"geometry":
            {{"type":"LineString","coordinates":[[{lon:.9},60.00001],[{lon:.9},60.00039]]}}}}"#
        );
        features.push(line);
    }
    format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","))
}

#[test]
fn of_many_uneven_rows_the_worst_come_first() {
    let folder = folder();
    // Every other row off by a little more: row 24 the most.
    let off = |row: u32| if row.is_multiple_of(2) { 0.15 + 0.01 * f64::from(row) } else { 0.0 };
    let file = put(folder.path(), "rows.geojson", &rows(24, off)).display().to_string();
    let survey = survey(&[&file]);
    let uneven = survey["uneven"].as_array().unwrap();
    assert_eq!(uneven.len(), 23);
    assert_eq!(uneven[0]["row"], 23, "{survey:#}");
    let text = catchwire(["check", &file]).done().stdout;
    assert!(text.contains("23 rows are off, the worst first:"), "{text}");
    assert!(text.contains("… and 3 more"), "{text}");
    let even = put(folder.path(), "even.geojson", &rows(3, |_| 0.0)).display().to_string();
    let text = catchwire(["check", &even]).done().stdout;
    assert!(text.contains("3 surveyed rows") && text.contains("none is off"), "{text}");
    let twice = rows(3, |_| 0.0).replace("\"row\":3", "\"row\":2");
    let twice = put(folder.path(), "twice.geojson", &twice).display().to_string();
    catchwire(["check", &twice]).refused(3, &["row 2 is drawn twice", "42.", "own number"]);
}

#[test]
fn rows_and_vines_far_off_the_block_are_refused_unless_allowed() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", &rows(0, |_| 0.0)).display().to_string();
    let block = [block.as_str(), "--row-bearing", "0"];
    let list = put(folder.path(), "rows.csv", "row,vines\n1,30\n2,300\n").display().to_string();
    let listed = ["--rows", &list];
    let all = |more: &[&str]| {
        let args: Vec<String> =
            ["check"].iter().chain(&block).chain(more).map(ToString::to_string).collect();
        catchwire(args)
    };
    all(&listed).refused(3, &["rows.csv, line 3", "row 2 reaches", "--allow-unusual"]);
    all(&[&listed[..], &["--allow-unusual"]].concat()).done();
    let vine = |vine: u32, lat: f64| {
        format!(
            r#"{{"type":"Feature","properties":{{"row":1,"vine":{vine}}},"geometry":{{"type":"Point",
            "coordinates":[-2.999,{lat}]}}}}"#
        )
    };
    let vines = format!(
        r#"{{"type":"FeatureCollection","features":[{},{}]}}"#,
        vine(1, 60.0002),
        vine(2, 60.01)
    );
    let vines = put(folder.path(), "vines.geojson", &vines).display().to_string();
    let given = ["--vines", &vines];
    all(&given).refused(3, &["row 1 reaches", "beyond the outline", "positions of its vines"]);
    all(&[&given[..], &["--allow-unusual"]].concat()).done();
}
