//! `audit`: what the work reached, as a grower gets it.

use std::{fmt::Write as _, fs, path::Path};

use serde_json::Value;

use crate::support::{Run, catchwire, demo, folder, json, properties, put, records};

/// A block of 40 × 100 m with rows 2.5 m apart, vines 2 m apart, at 60° N.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Square","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99928,60.0],[-2.99928,60.0009],
[-3.0,60.0009],[-3.0,60.0]]]}}"#;

/// Counts of twelve vines all over it; `shoots` is given the place in the list.
fn sheet(visit: &str, shoots: impl Fn(u32) -> u32) -> String {
    let mut text = "row,vine,date,visit,shoots\n".to_owned();
    for at in 0..12 {
        let (row, vine) = (2 + at, 5 + 7 * (at % 6));
        let _ = writeln!(text, "{row},{vine},2026-06-10,{visit},{}", shoots(at));
    }
    text
}

/// Audits the block in a folder of its own.
fn audit(folder: &Path, counts: &str, recount: &str) -> Run {
    audit_block(folder, BLOCK, counts, recount)
}

fn audit_block(folder: &Path, block: &str, counts: &str, recount: &str) -> Run {
    put(folder, "block.geojson", block);
    put(folder, "counts.csv", counts);
    put(folder, "recount.csv", recount);
    let path = |name: &str| folder.join(name).to_string_lossy().into_owned();
    let (block, counts) = (path("block.geojson"), path("counts.csv"));
    let (recount, out) = (path("recount.csv"), path("out"));
    catchwire([
        "audit",
        &block,
        "--counts",
        &counts,
        "--recount",
        &recount,
        "--out",
        &out,
        "--json",
    ])
}

fn zones(folder: &Path) -> Vec<Value> {
    properties(&folder.join("out/square/zones.geojson"))
}

#[test]
fn a_recount_that_equals_the_counts_finds_no_change_and_nothing_reached() {
    let folder = folder();
    let same = sheet("", |at| 44 + 3 * (at % 4));
    let run = audit(folder.path(), &same, &same).done();
    let report: Value = serde_json::from_str(&run.stdout).unwrap();
    let found = &report["blocks"][0]["audit"];
    assert_eq!(found["block"]["pairs"], 12);
    assert_eq!(found["block"]["change"]["per_m"], 0.0);
    for zone in zones(folder.path()) {
        assert!(zone["change_per_m"].as_f64().is_none_or(|change| change.abs() < 1e-9), "{zone}");
        let verdict = zone["verdict"].as_str().unwrap();
        assert!(["go-back", "left-alone", "undecided"].contains(&verdict), "{zone}");
        assert!(zone["to_thin"] == true && verdict == "go-back", "{zone}");
        assert!(zone["hours"].as_f64().unwrap() > 0.0, "{zone}");
    }
}

#[test]
fn work_as_told_is_reached_and_what_came_off_is_near_what_was_planned() {
    let folder = folder();
    let before = sheet("before", |at| 44 + 3 * (at % 4));
    let after = sheet("after", |at| 33 + at % 3);
    audit(folder.path(), &before, &after).done();
    let zones = zones(folder.path());
    assert_eq!(zones.len(), 1);
    assert_eq!(zones[0]["verdict"], "reached", "{}", zones[0]);
    assert_eq!((&zones[0]["inside"], &zones[0]["pairs"]), (&12.into(), &12.into()));
    // By hand: means of 48.5 and 34 shoots on vines of 2 m, every third of 33, 34, 35.
    let change = zones[0]["change_per_m"].as_f64().unwrap();
    assert!((change - (34.0 - 48.5) / 2.0).abs() < 1e-5, "{change}");
}

#[test]
fn few_pairs_and_none_are_called_so() {
    let folder = folder();
    let before = sheet("before", |at| 44 + 3 * (at % 4));
    let run = audit(
        folder.path(),
        &before,
        "row,vine,visit,shoots\n2,5,after,33\n3,12,after,34\n4,19,after,33\n",
    );
    let text = run.done().stderr;
    assert!(text.contains("3 pairs of counts: this says little"), "{text}");
    assert!(text.contains("every recounted place had been counted before"), "{text}");
    let zone = &zones(folder.path())[0];
    assert_eq!(zone["verdict"], "undecided", "{zone}");
    assert!(zone["advice"].as_str().unwrap().contains("more recounts would settle"), "{zone}");

    fs::remove_dir_all(folder.path().join("out")).unwrap();
    let fresh = "row,vine,visit,shoots\n2,6,after,33\n3,13,after,34\n";
    let text = audit(folder.path(), &before, fresh).done().stderr;
    assert!(text.contains("no place was counted both before and after"), "{text}");
    let zone = &zones(folder.path())[0];
    assert!(zone["change_per_m"].is_null() && zone["fresh"] == 2, "{zone}");
}

#[test]
fn nothing_to_hold_the_plan_against_is_refused() {
    let folder = folder();
    let before = sheet("before", |at| 44 + 3 * (at % 4));
    audit(folder.path(), &before, &before).refused(5, &["labelled as before the work"]);
    let elsewhere = "block,row,vine,visit,shoots\nElsewhere,2,5,after,33\n";
    audit(folder.path(), &before, elsewhere)
        .refused(5, &["no record found its place", "Elsewhere"]);
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (block, counts, out) = (path("block.geojson"), path("counts.csv"), path("out"));
    let alone = catchwire(["audit", &block, "--counts", &counts, "--out", &out]);
    alone.refused(2, &["--recount", "missing"]);
    let twice = ["audit", &block, "--counts", &counts, "--recount", &counts, "--out", &out];
    catchwire(twice).refused(2, &["--recount", "counts.csv", "--counts too"]);
    assert!(!folder.path().join("out").exists(), "something was written");
}

#[test]
fn every_record_of_the_estate_is_in_one_table_and_half_of_the_recount_is_fresh() {
    let lines = |path: &Path| {
        let text = fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        csv::Reader::from_reader(text.as_slice()).into_records().count()
    };
    let (mut written, mut verdicts) = (0, Vec::new());
    for (folder, record) in records(&demo().join("4-audit")) {
        let tables = ["counts-joined.csv", "unjoined.csv"].map(|name| lines(&folder.join(name)));
        assert_eq!(record["counts"]["joined"], tables[0]);
        assert_eq!(record["counts"]["left_out"], tables[1]);
        written += tables[0] + tables[1];
        let audit = json(&folder.join("audit.json"));
        let of = |key: &str| audit["recount"][key].as_i64().unwrap();
        assert!(
            of("pairs") >= 10 && (of("pairs") - of("fresh")).abs() <= 3,
            "{}",
            audit["recount"]
        );
        let zones = audit["zones"].as_array().unwrap();
        verdicts.extend(zones.iter().map(|zone| zone["verdict"].as_str().unwrap().to_owned()));
        assert_eq!(lines(&folder.join("audit.csv")), zones.len() + 1);
    }
    let estate = demo().join("estate");
    let read: usize = ["counts.csv", "pruning.csv", "recount.csv"]
        .iter()
        .map(|name| lines(&estate.join(name)))
        .sum();
    assert_eq!(written, read);
    for verdict in ["reached", "go-back", "left-alone"] {
        assert!(verdicts.iter().any(|known| known == verdict), "{verdict}: {verdicts:?}");
    }
}

// Zones of one map err together: their plan's interval is wider than that of zones that know nothing
// of each other, and no wider than their ends added.
#[test]
fn what_was_planned_is_the_plan_s_own_total() {
    let mut wider = 0;
    for (folder, record) in records(&demo().join("4-audit")) {
        let audit = json(&folder.join("audit.json"));
        let off = &audit["came_off"];
        assert_eq!(off["all_that_were_to"], true, "{off}");
        let number = |value: &Value| value.as_f64().unwrap();
        let planned = &off["planned"];
        assert!((number(&planned["value"]) - number(&record["totals"]["remove"])).abs() < 0.01);
        let zones =
            audit["zones"].as_array().unwrap().iter().filter(|zone| zone["to_thin"] == true);
        let halves: Vec<f64> =
            zones.map(|zone| number(&zone["planned_hi90"]) - number(&zone["planned"])).collect();
        let half = number(&planned["hi90"]) - number(&planned["value"]);
        assert!(half <= halves.iter().sum::<f64>() + 0.01, "{half} {halves:?}");
        wider +=
            usize::from(half > 1.02 * halves.iter().map(|half| half * half).sum::<f64>().sqrt());
    }
    assert!(wider > 0, "no block has zones that err together");
}

#[test]
fn recounted_places_without_a_target_are_told_and_listed() {
    let folder = folder();
    let young = r#""plantings":[{"rows":"1-8"},{"rows":"9-16","planted":2025}],"cultivar":"#;
    let block = BLOCK.replace(r#""cultivar":"#, young);
    let before = sheet("before", |at| 44 + 3 * (at % 4));
    let after = sheet("after", |at| 33 + at % 3);
    let run = audit_block(folder.path(), &block, &before, &after).done();
    assert!(run.stderr.contains("5 recounted places with young vines"), "{}", run.stderr);
    let listed = fs::read_to_string(folder.path().join("out/square/audit-pairs.csv")).unwrap();
    assert_eq!(listed.lines().count(), 13, "{listed}");
    let counted: i64 =
        zones(folder.path()).iter().map(|zone| zone["pairs"].as_i64().unwrap()).sum();
    assert_eq!(counted, 7);
}

#[test]
fn a_recount_is_drawn_half_from_what_was_counted() {
    let folder = folder();
    put(folder.path(), "block.geojson", BLOCK);
    put(folder.path(), "counts.csv", &sheet("before", |at| 44 + 3 * (at % 4)));
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let (block, counts, out) = (path("block.geojson"), path("counts.csv"), path("out"));
    let base =
        ["sample", &block, "--counts", &counts, "--for-audit", "--number", "10", "--out", &out];
    catchwire(base).refused(3, &["no panel that could be recounted", "--by vine"]);
    catchwire([&base[..], &["--by", "vine"]].concat()).done();
    let stops = properties(&folder.path().join("out/square/sample.geojson"));
    let of = |from: i64| stops.iter().filter(|stop| stop["drawn_from"] == from).count();
    assert_eq!((stops.len(), of(12)), (10, 5), "{stops:?}");
    let record = json(&folder.path().join("out/square/run.json"));
    let method = record["method"][0].as_str().unwrap();
    assert!(method.contains("5 of 10 stops were counted before (R0"), "{method}");
}
