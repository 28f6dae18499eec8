//! `thin --pool` over small blocks, and `thin --whole-rows`.

use std::{collections::BTreeMap, fmt::Write as _, fs, path::Path};

use serde_json::Value;

use crate::support::{Run, catchwire, folder, properties, put};

/// A block of 40 × 100 m with 16 rows, at 60° N and so many hundredths of a degree west of 3.
fn block(name: &str, west: f64) -> String {
    let corner = |east: f64, north: f64| format!("[{:.5},{north:.4}]", -3.0 - 0.01 * west + east);
    let ring = [(0.0, 60.0), (0.00072, 60.0), (0.00072, 60.0009), (0.0, 60.0009), (0.0, 60.0)];
    let ring: Vec<String> = ring.into_iter().map(|(east, north)| corner(east, north)).collect();
    format!(
        r#"{{"type":"Feature","properties":{{"role":"block","name":"{name}","standing":true,"row_bearing":0,
"row_spacing":2.5,"vine_spacing":2,"cultivar":"Solaris","type":"hybrid"}},
"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
        ring.join(",")
    )
}

/// So many counts in the rows of each block: more shoots from row to row.
fn sheet(blocks: &[&str], vines: &[u32]) -> String {
    let mut text = String::from("block,row,vine,shoots\n");
    for block in blocks {
        for row in (1..=15).step_by(2) {
            for (at, vine) in (0..).zip(vines) {
                let _ =
                    writeln!(text, "{block},{row},{vine},{}", 16 + 2 * row + (at * 7 + row) % 5);
            }
        }
    }
    text
}

fn thin(folder: &Path, blocks: &[(&str, f64)], vines: &[u32], options: &[&str]) -> Run {
    let features: Vec<String> = blocks.iter().map(|(name, west)| block(name, *west)).collect();
    let collection =
        format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(","));
    let names: Vec<&str> = blocks.iter().map(|(name, _)| *name).collect();
    let blocks = put(folder, "blocks.geojson", &collection).display().to_string();
    let counts = put(folder, "counts.csv", &sheet(&names, vines)).display().to_string();
    let out = folder.join("out").display().to_string();
    let call = ["thin", &blocks, "--counts", &counts, "--out", &out, "--force"];
    catchwire(call.iter().chain(options).map(|word| (*word).to_owned()))
}

/// What the run record says of how a block was estimated.
fn method(folder: &Path, block: &str) -> String {
    let record = fs::read_to_string(folder.join("out").join(block).join("run.json")).unwrap();
    let record: Value = serde_json::from_str(&record).unwrap();
    record["method"][0].as_str().unwrap().to_owned()
}

#[test]
fn small_blocks_share_a_variation_only_when_that_is_asked_for() {
    let folder = folder();
    let blocks = [("East", 0.0), ("West", 1.0)];
    thin(folder.path(), &blocks, &[8, 24, 41], &[]).done();
    assert!(method(folder.path(), "east").contains("fewer than 30 allow no fit"));
    thin(folder.path(), &blocks, &[8, 24, 41], &["--pool"]).done();
    for block in ["east", "west"] {
        let said = method(folder.path(), block);
        assert!(
            said.contains("24 counts, variation shared by 2 small blocks with 48 counts"),
            "{said}"
        );
    }
    let alone = thin(folder.path(), &blocks[..1], &[8, 24, 41], &["--pool"]).done();
    assert!(alone.stderr.contains("24 counts of 1 block are not put together"), "{}", alone.stderr);
    assert!(method(folder.path(), "east").contains("fewer than 30 allow no fit"));
}

#[test]
fn zones_of_whole_rows_part_no_row() {
    let folder = folder();
    let vines = [5, 14, 23, 32, 41];
    thin(folder.path(), &[("East", 0.0)], &vines, &["--whole-rows"]).done();
    let mut zones: BTreeMap<u64, Vec<String>> = BTreeMap::new();
    for vine in properties(&folder.path().join("out/east/vines.geojson")) {
        let zone = vine["zone"].as_str().unwrap().to_owned();
        zones.entry(vine["row"].as_u64().unwrap()).or_default().push(zone);
    }
    assert!(zones.values().all(|row| row.iter().all(|zone| *zone == row[0])), "{zones:?}");
    let mut of_rows: Vec<&String> = zones.values().map(|row| &row[0]).collect();
    of_rows.dedup();
    assert!(of_rows.len() >= 2, "{of_rows:?}");
}
