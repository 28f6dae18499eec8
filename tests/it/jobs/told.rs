//! What a person is told beside the numbers: which zone closes first, where a recount is too small.

use std::fmt::Write as _;

use serde_json::Value;

use crate::support::{catchwire, folder, plain_block, put};

/// Crowded vines all over a block of 12 rows of 24; shoots grow longer where row numbers are high.
fn crowded() -> String {
    let mut sheet = "row,vine,date,shoots,shoot_length_cm\n".to_owned();
    for at in 0..60 {
        let (row, vine) = (1 + at % 12, 1 + 5 * at % 24);
        let length = if row > 6 { 24 } else { 12 };
        let _ = writeln!(sheet, "{row},{vine},2026-06-01,{},{length}", 26 + at % 5);
    }
    sheet
}

/// A block of two zones of its own, the report of a command on it, and what that noticed.
fn told(command: &str, more: &[&str]) -> (Value, String) {
    let folder = folder();
    let path = |name: &str| folder.path().join(name).display().to_string();
    put(folder.path(), "block.geojson", &plain_block::block("Plain", [30.0, 24.0], true));
    put(folder.path(), "counts.csv", &crowded());
    let (block, counts, out) = (path("block.geojson"), path("counts.csv"), path("out"));
    let call = [command, &block, "--counts", &counts, "--out", &out, "--json"];
    let run = catchwire([&call[..], more].concat()).done();
    (serde_json::from_str(&run.stdout).expect("a report"), run.stderr)
}

#[test]
fn a_zone_that_closes_on_another_day_than_the_block_is_named() {
    let (report, _) = told("thin", &["--write", "zones.csv"]);
    let thinning = &report["blocks"][0]["thinning"];
    let window = &thinning["window"];
    let zones = window["by_zone"].as_array().expect("zones");
    assert_eq!(zones.len(), 2, "{window}");
    let day = |of: &Value| of["thin_by"].as_str().expect("a day").to_owned();
    // Longer shoots close the window earlier; the block's mean lies between.
    assert!(day(&zones[0]) < day(window) && day(window) < day(&zones[1]), "{window}");
    let rows = thinning["zones"].as_array().expect("zones").iter();
    let first = rows.clone().find(|zone| zone["zone"] == zones[0]["zone"]).expect("the zone");
    assert!(first["rows"].as_str().expect("rows").ends_with("12"), "{first}");
}

#[test]
fn zones_with_too_few_stops_for_a_verdict_are_told_when_the_recount_is_drawn() {
    let (_, few) = told("sample", &["--for-audit", "--by", "vine", "--number", "6"]);
    assert!(few.contains("nothing is settled there"), "{few}");
    assert!(few.contains("zone Z1 “") && few.contains("more place"), "{few}");
    let (_, many) = told("sample", &["--for-audit", "--by", "vine", "--number", "40"]);
    assert!(!many.contains("nothing is settled there"), "{many}");
}
