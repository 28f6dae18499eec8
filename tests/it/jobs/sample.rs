//! `sample`: what a grower is told to count.

use std::{collections::BTreeSet, fs, path::Path};

use serde_json::Value;

use crate::support::{Run, catchwire, demo, files, folder, json, properties, put, sheet};

/// A standing block of 19 rows of 40 vines, 2.5 × 1.2 m, in panels of 4: Solaris in rows 1 to 12,
/// Rondo planted in 2023 in the others; two vines missing.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Sea Field","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":1.2,"cultivar":"Solaris","type":"hybrid",
"plantings":[{"rows":"13-19","cultivar":"Rondo","type":"hybrid","planted":2023}],
"missing":["R003V010","R005V020"]},"geometry":{"type":"Polygon","coordinates":
[[[-3.0,60.0],[-2.99914943,60.0],[-2.99914943,60.00043517],[-3.0,60.00043517],[-3.0,60.0]]]}}"#;

fn sample(block: &Path, out: &Path, options: &[&str]) -> Run {
    let (block, out) = (block.display().to_string(), out.display().to_string());
    catchwire(["sample", &block, "--out", &out, "--force"].iter().chain(options))
}

fn stops(out: &Path) -> Vec<Value> {
    properties(&out.join("sea-field/sample.geojson"))
}

#[test]
fn row_ends_missing_and_young_vines_are_never_drawn() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    for seed in ["1", "2", "3"] {
        let options = ["--by", "vine", "--number", "300", "--date", "2025-06-01", "--seed", seed];
        sample(&block, &out, &options).done();
        for stop in stops(&out) {
            let id = stop["id"].as_str().unwrap();
            let (row, vine) = (stop["row"].as_u64().unwrap(), &id[5..]);
            assert!(row <= 12, "{id}: years 1 to 3 of Rondo");
            assert!(!["001", "040"].contains(&vine), "{id} ends its row");
            assert!(!["R003V010", "R005V020"].contains(&id), "{id} is missing");
        }
    }
}

#[test]
fn plantings_are_strata_and_close_pairs_touch_a_stop() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    sample(&block, &out, &["--number", "40"]).done();
    let stops = stops(&out);
    let (of_mean, pairs): (Vec<&Value>, Vec<&Value>) =
        stops.iter().partition(|stop| stop["close_pair"] == false);
    // 12 rows against 7 of as many panels, by largest remainder of 25.3 and 14.7: 25 and 15.
    let solaris = of_mean.iter().filter(|stop| stop["cultivar"] == "Solaris").count();
    assert_eq!((of_mean.len(), solaris), (40, 25));
    assert_eq!(pairs.len(), 4);
    let panel = |stop: &Value| (stop["row"].as_i64().unwrap(), stop["panel"].as_i64().unwrap());
    for pair in pairs {
        let (row, number) = panel(pair);
        let beside = |stop: &&&Value| panel(stop).0 == row && (panel(stop).1 - number).abs() == 1;
        assert!(of_mean.iter().any(|stop| beside(&stop)), "{pair}");
        assert_eq!(pair["inclusion"], Value::Null);
    }
    let places: BTreeSet<_> = stops.iter().map(panel).collect();
    assert_eq!(places.len(), stops.len(), "no panel twice");
}

#[test]
fn the_walk_goes_there_and_back() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    sample(&block, &out, &["--number", "60"]).done();
    let stops = stops(&out);
    let rows: Vec<u64> = stops.iter().map(|stop| stop["row"].as_u64().unwrap()).collect();
    assert!(rows.is_sorted());
    for (at, of_row) in stops.chunk_by(|a, b| a["row"] == b["row"]).enumerate() {
        let panels: Vec<u64> = of_row.iter().map(|stop| stop["panel"].as_u64().unwrap()).collect();
        let sorted = if at % 2 == 0 { panels.is_sorted() } else { panels.iter().rev().is_sorted() };
        assert!(sorted, "{panels:?}");
    }
    let order: Vec<u64> = stops.iter().map(|stop| stop["stop"].as_u64().unwrap()).collect();
    assert_eq!(order, (1..=stops.len() as u64).collect::<Vec<_>>());
}

#[test]
fn the_same_seed_draws_the_same_and_another_seed_others() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let draw = |name: &str, seed: &str| {
        let out = folder.path().join(name);
        sample(&block, &out, &["--seed", seed]).done();
        files(&out)
    };
    assert_eq!(draw("one", "7"), draw("two", "7"));
    let sheet = |seed: &str| draw("three", seed).remove(Path::new("sea-field/sample.csv"));
    assert_ne!(sheet("7"), sheet("8"));
}

#[test]
fn a_filled_sheet_is_read_by_thin_without_an_edit() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    sample(&block, &out, &["--number", "40"]).done();
    let sheet = out.join("sea-field/sample.csv");
    let text = sheet::filled(&sheet, "2025-06-01", |at, _| 60 + [0, 7, 14, 21, 5][at % 5]);
    let counts = put(folder.path(), "counts.csv", &text);
    let thinned = folder.path().join("thin");
    let args = ["thin".into(), block, "--counts".into(), counts, "--out".into(), thinned.clone()];
    let run = catchwire(args).done();
    assert!(run.stdout.contains("44 records joined, 0 not"), "{}", run.stdout);
    // The draw came back with the sheet: close pairs are no part of its mean.
    assert!(run.stdout.contains("from the draw alone: "), "{}", run.stdout);
    assert!(run.stdout.contains("40 of 40 stops"), "{}", run.stdout);
    assert_eq!(run.stdout.matches(", from the draw alone: ").count(), 2, "{}", run.stdout);
    let decision = json(&thinned.join("sea-field/thinning.json"));
    assert_eq!(decision["block_mean"]["from"], "map", "44 counts allow a fit");
    assert_eq!(decision["by_design"]["counted"], 40);
    assert!(!run.stderr.contains("unknown column"), "{}", run.stderr);
    assert!(!run.stderr.contains("in line"), "{}", run.stderr);
}

#[test]
fn earlier_counts_give_the_variation() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    // Densities of 20 and 30 in turn: a standard deviation of 5.13 (n − 1 of 20) over a mean of 25.
    let lines =
        (1..=20).map(|vine| format!("2,{},{}\n", vine + 5, if vine % 2 == 0 { 24 } else { 36 }));
    let text = "row,vine,shoots\n".to_owned() + &lines.collect::<String>();
    let counts = put(folder.path(), "earlier.csv", &text);
    let out = folder.path().join("out");
    let counts = counts.display().to_string();
    let run = sample(&block, &out, &["--by", "vine", "--counts", &counts, "--json"]).done();
    let report: Value = serde_json::from_str(&run.stdout).expect("a report");
    let told = &report["blocks"][0]["sample"];
    let variation = told["variation"].as_f64().unwrap();
    assert!((variation - 0.205_196).abs() < 1e-4, "{variation}");
    assert_eq!(told["variation_from_counts"], true);
}

#[test]
fn hours_are_shared_out_among_blocks_and_kept() {
    let estate = demo().join("estate/blocks.geojson");
    let folder = folder();
    let run = sample(&estate, &folder.path().join("out"), &["--hours", "4", "--json"]).done();
    let report: Value = serde_json::from_str(&run.stdout).expect("a report");
    let blocks = report["blocks"].as_array().unwrap();
    let minutes: f64 =
        blocks.iter().map(|block| block["sample"]["minutes"].as_f64().unwrap()).sum();
    assert!(minutes <= 240.0 && minutes > 190.0, "{minutes} minutes of 240 used");
    let short = sample(&estate, &folder.path().join("out"), &["--hours", "0.1"]);
    short.refused(2, &["--hours", "allow at least"]);
}

#[test]
fn windows_are_drawn_on_single_vines_and_some_twice() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    let options = ["--by", "vine", "--window", "40cm", "--number", "50", "--units", "us"];
    sample(&block, &out, &options).done();
    let stops = stops(&out);
    let second = stops.iter().filter(|stop| stop["window"] == "b").count();
    assert_eq!(second, 11, "one in five of 55");
    assert!(stops.iter().any(|stop| stop["close_pair"] == true));
    for stop in &stops {
        let start = stop["window_start_m"].as_f64().expect("a start, of close pairs too");
        assert!((0.0..=0.8).contains(&start), "{stop}");
    }
    let sheet = fs::read_to_string(out.join("sea-field/sample.csv")).unwrap();
    let heads = sheet.lines().next().unwrap();
    assert!(heads.contains("window,window_start_ft,counted_length_ft"), "{heads}");
    assert!(heads.contains("shoot_length_in"), "{heads}");
}

#[test]
fn the_panels_that_thin_wants_counted_next_make_a_walk() {
    let folder = folder();
    let mut walked = 0;
    for block in ["south-brae", "tarn-field", "long-rigg"] {
        let next = demo().join("3-thin").join(block).join("count-next.csv");
        let text = fs::read_to_string(&next).expect("count-next.csv");
        assert_eq!(text.lines().count(), 11, "{block}: ten panels");
        assert!(text.lines().skip(1).all(|line| line.contains(" is ")), "{text}");
        let estate = demo().join("estate/blocks.geojson");
        let out = folder.path().join(block);
        let run = sample(&estate, &out, &["--stops", &next.display().to_string()]).done();
        assert!(run.stdout.contains("count 10 panels"), "{}", run.stdout);
        let stops = properties(&out.join(block).join("sample.geojson"));
        assert_eq!(stops.len(), 10);
        walked += stops.len();
    }
    assert_eq!(walked, 30);
    let strange = put(folder.path(), "strange.csv", "block,row,panel,shoots\nSouth Brae,900,1,\n");
    let estate = demo().join("estate/blocks.geojson");
    let out = folder.path().join("strange");
    let strange = strange.display().to_string();
    sample(&estate, &out, &["--stops", &strange]).refused(3, &["strange.csv, line 2", "no place"]);
}

#[test]
fn a_list_of_stops_needs_no_counts_and_doubtful_ones_are_told() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let list = "row,vine\n4,7\n3,10\n4,7\n9,30\n";
    let list = put(folder.path(), "stops.csv", list).display().to_string();
    let out = folder.path().join("out");
    let run = sample(&block, &out, &["--stops", &list]).done();
    assert!(run.stdout.contains("count 3 vines"), "{}", run.stdout);
    assert!(run.stderr.contains("stops.csv, line 3: no vine stands"), "{}", run.stderr);
    assert!(run.stderr.contains("stops.csv, line 4: this stop stands in the list twice"));
    let record = fs::read_to_string(out.join("sea-field/run.json")).unwrap();
    assert!(record.contains("stands in the list twice"), "the record tells it too");
}

#[test]
fn earlier_counts_that_find_no_place_end_with_5() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let counts = put(folder.path(), "earlier.csv", "row,vine,shoots\n900,1,20\n");
    let out = folder.path().join("out");
    let counts = counts.display().to_string();
    sample(&block, &out, &["--counts", &counts]).refused(5, &["no record found its place"]);
    assert!(!out.exists());
}

#[test]
fn what_cannot_be_drawn_is_refused_with_a_way_out() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let out = folder.path().join("out");
    sample(&block, &out, &["--number", "5000"]).refused(3, &["5000 panels asked for", "--number"]);
    sample(&block, &out, &["--window", "40cm"]).refused(2, &["--window", "--by vine"]);
    let planted = BLOCK.replace("\"standing\":true,", "");
    let planted = put(folder.path(), "new.geojson", &planted);
    sample(&planted, &out, &[]).refused(3, &["standing"]);
    assert!(!out.exists(), "nothing is written");
}
