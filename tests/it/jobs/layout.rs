//! `layout` and `check`: what a planter gets.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::support::{catchwire, demo, files, folder, json, properties, put};

#[test]
fn a_new_planting_gets_rows_vines_posts_and_a_block_that_reads_back() {
    let out = demo().join("1-layout/new-ground");
    let quantities = json(&out.join("layout.json"));
    let vines = properties(&out.join("vines.geojson"));
    assert_eq!(quantities["vines"], vines.len());
    let pieces = properties(&out.join("rows.geojson"));
    let rows: BTreeSet<u64> = pieces.iter().filter_map(|piece| piece["row"].as_u64()).collect();
    assert_eq!(quantities["rows"], rows.len());
    let again = folder();
    let block = out.join("block-standing.geojson");
    let args = ["layout".into(), block, "--out".into(), again.path().to_owned()];
    catchwire(args).done();
    let ids = |vines: &[Value]| vines.iter().map(|vine| vine["id"].clone()).collect::<Vec<_>>();
    let read_back = properties(&again.path().join("new-ground/vines.geojson"));
    assert_eq!(ids(&read_back), ids(&vines), "ids never move again");
}

#[test]
fn check_reads_everything_and_writes_nothing() {
    let estate = demo().join("estate");
    let before = files(demo());
    let args = [
        "check".into(),
        estate.join("blocks.geojson"),
        "--counts".into(),
        estate.join("counts.csv"),
    ];
    let run = catchwire(args).done();
    assert!(run.stdout.contains("South Brae: 28 rows"), "{}", run.stdout);
    assert!(run.stdout.contains("next: "), "{}", run.stdout);
    assert_eq!(before, files(demo()));
}

#[test]
fn keys_on_the_command_line_overrule_the_file_in_any_unit() {
    let estate = demo().join("estate");
    let rows = |spacing: &str| {
        let file = estate.join("new-ground.geojson").to_string_lossy().into_owned();
        let args = ["check", &file, "--row-spacing", spacing, "--json"];
        let report: Value = serde_json::from_str(&catchwire(args).done().stdout).unwrap();
        (report["blocks"][0]["rows"].as_u64().unwrap(), report["blocks"][0]["units"].clone())
    };
    let (wide, units) = rows("10 ft");
    assert_eq!(units, "us", "feet given, feet read");
    let (narrow, units) = rows("2.0");
    assert_eq!(units, "metric");
    assert!(narrow > wide, "{narrow} rows at 2.0 m, {wide} at 10 ft");
    let file = estate.join("new-ground.geojson").to_string_lossy().into_owned();
    catchwire(["check", &file, "--row-spacing", "2.4°"]).refused(3, &["--row-spacing", "2.4°"]);
}

#[test]
fn a_standing_block_must_say_so_before_it_is_thinned() {
    let folder = folder();
    let block = put(
        folder.path(),
        "block.geojson",
        r#"{"type":"Feature","properties":{"name":"A","row_bearing":0,"row_spacing":2.5,
        "vine_spacing":2},"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],
        [-2.99928,60.0],[-2.99928,60.0009],[-3.0,60.0009],[-3.0,60.0]]]}}"#,
    );
    let counts = put(folder.path(), "counts.csv", "row,vine,shoots\n1,1,20\n");
    let args = [
        "thin".into(),
        block,
        "--counts".into(),
        counts,
        "--out".into(),
        folder.path().join("out"),
    ];
    catchwire(args).refused(3, &["standing", "--standing true"]);
}

#[test]
fn without_arguments_the_help_gives_examples_and_the_order_of_work() {
    let run = catchwire::<[&str; 0], &str>([]).refused(2, &["Examples", "The usual order"]);
    assert!(run.stdout.is_empty());
    let run = catchwire(["thin", "--help"]).done();
    assert!(run.stdout.contains("--row-spacing") && run.stdout.contains("--counts"));
    catchwire(["thni"]).refused(2, &["thin"]);
}

#[test]
fn a_projected_grid_is_read_with_its_code_and_told_without() {
    let folder = folder();
    let block = put(
        folder.path(),
        "grid.geojson",
        r#"{"type":"Feature","properties":{"name":"Grid","row_bearing":10,"north":"grid",
        "row_spacing":2.5,"vine_spacing":1.5},"geometry":{"type":"Polygon","coordinates":
        [[[400000,6215000],[400060,6215000],[400060,6215100],[400000,6215100],[400000,6215000]]]}}"#,
    );
    let check = |options: &[&str]| {
        let file = block.display().to_string();
        catchwire(["check", &file, "--json"].iter().chain(options))
    };
    let report: Value =
        serde_json::from_str(&check(&["--crs", "EPSG:32630"]).done().stdout).unwrap();
    // Scale of UTM 100 km west of its middle: 0.9996 · (1 + x²/2R²), Snyder 1987, from memory.
    let scale = 0.9996 * (1.0 + (100_000.0_f64 / 6_383_000.0).powi(2) / 2.0);
    let hectares = report["blocks"][0]["block_ha"].as_f64().unwrap();
    assert!((hectares - 0.6 / (scale * scale)).abs() < 2e-5, "{hectares} ha");
    check(&[]).refused(3, &["looks like UTM", "--crs"]);
    check(&["--crs", "EPSG:27700"]).refused(3, &["where EPSG:27700 is not used"]);
    check(&["--crs", "EPSG:99999"]).refused(3, &["EPSG:99999"]);
}

#[test]
fn the_plan_is_drawn_on_the_paper_that_was_asked() {
    let file = demo().join("estate/new-ground.geojson").to_string_lossy().into_owned();
    // Sides in pixels, ten to the millimetre: ISO 216, and 8.5 by 11 inches of 25.4 mm.
    let cases: [(&[&str], [u32; 2]); 4] = [
        (&[], [2100, 2970]),
        (&["--paper", "a3"], [2970, 4200]),
        (&["--units", "us"], [2159, 2794]),
        (&["--units", "us", "--paper", "a4"], [2100, 2970]),
    ];
    for (options, wanted) in cases {
        let out = folder();
        let into = out.path().to_string_lossy();
        let args = [&["layout", &*file, "--out", &*into, "--write", "plan.png"], options].concat();
        catchwire(args).done();
        let picture = out.path().join("new-ground/plan.png");
        let picture = image::open(&picture).expect("a picture");
        let mut sides = [picture.width(), picture.height()];
        sides.sort_unstable();
        assert_eq!(sides, wanted, "{options:?}");
        assert!(!out.path().join("new-ground/plan.pdf").exists(), "only what was asked");
    }
    let args = ["layout", &*file, "--out", "nowhere", "--paper", "a5"];
    catchwire(args).refused(2, &["a5", "letter"]);
}

#[test]
fn every_planting_gets_a_plan_to_print() {
    let plan = std::fs::read(demo().join("1-layout/new-ground/plan.pdf")).expect("a plan");
    assert!(plan.starts_with(b"%PDF-1."));
    let text = String::from_utf8_lossy(&plan);
    assert!(text.contains("New Ground: planting plan"), "the title is not in the metadata");
}

#[test]
fn a_row_over_a_short_gap_reads_back_with_every_vine_in_its_place() {
    let folder = folder();
    let sample = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries");
    let laid = |block: &std::path::Path, out: &str, options: &[&str]| {
        let out = folder.path().join(out);
        let (block, to) = (block.display().to_string(), out.display().to_string());
        catchwire(["layout", &block, "--out", &to].iter().chain(options)).done();
        out.join("two-obstacles")
    };
    let keys = ["--row-spacing", "2.4", "--vine-spacing", "1.2", "--shortest-gap", "10"];
    let first = laid(&sample.join("keep-out.geojson"), "first", &keys);
    let standing = first.join("block-standing.geojson");
    let rows = properties(&standing);
    assert!(rows.iter().any(|row| row["skipped"].is_string()), "some row is bridged");
    let second = laid(&standing, "second", &[]);
    let vines = |folder: &std::path::Path| json(&folder.join("vines.geojson"));
    let (first, second) = (vines(&first), vines(&second));
    let features = |document: &Value| document["features"].as_array().expect("vines").clone();
    let (first, second) = (features(&first), features(&second));
    assert_eq!(first.len(), second.len());
    for (one, other) in first.iter().zip(&second) {
        for name in ["id", "panel"] {
            assert_eq!(one["properties"][name], other["properties"][name]);
        }
        let at =
            |vine: &Value, axis: usize| vine["geometry"]["coordinates"][axis].as_f64().unwrap();
        // A hundred-millionth of a degree is a millimetre of latitude.
        let off = (at(one, 0) - at(other, 0)).hypot(at(one, 1) - at(other, 1));
        assert!(off < 4e-8, "{}: {off}", one["properties"]["id"]);
    }
}

#[test]
fn files_of_an_earlier_run_that_stay_are_named() {
    let folder = folder();
    let block = demo().join("estate/new-ground.geojson").display().to_string();
    let out = folder.path().display().to_string();
    let lay = |options: &[&str]| {
        catchwire(["layout", &block, "--out", &out, "--force"].iter().chain(options)).done()
    };
    assert!(!lay(&["--stake", "vines"]).stderr.contains("earlier run"));
    let again = lay(&["--crs", "EPSG:25830"]);
    assert!(
        again.stderr.contains("of an earlier run stay beside the new ones"),
        "{}",
        again.stderr
    );
    assert!(again.stderr.contains("stakeout-"), "{}", again.stderr);
}

#[test]
fn a_missing_vine_that_is_nowhere_is_told() {
    let block = demo().join("estate/new-ground.geojson").display().to_string();
    let run = catchwire(["check", &block, "--missing", "R001V001,R999V001"]).done();
    assert!(run.stderr.contains("`R999V001` is listed as missing"), "{}", run.stderr);
}

#[test]
fn west_norway_and_maps_for_screens_are_told_apart_by_their_scale() {
    let folder = folder();
    let block = |lon: f64, lat: f64| {
        let corners = [(0.0, 0.0), (0.002, 0.0), (0.002, 0.001), (0.0, 0.001), (0.0, 0.0)];
        let ring: Vec<String> =
            corners.iter().map(|(x, y)| format!("[{:.6},{:.6}]", lon + x, lat + y)).collect();
        let text = format!(
            r#"{{"type":"Feature","properties":{{"name":"Fjord","row_bearing":0,"row_spacing":2.5,
            "vine_spacing":1.5}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}"#,
            ring.join(",")
        );
        put(folder.path(), "block.geojson", &text).display().to_string()
    };
    let out = folder.path().join("out").display().to_string();
    // Zone 32V reaches to 3° east: MGRS, NGA.STND.0037.
    let bergen = block(5.3, 60.4);
    catchwire(["layout", &bergen, "--out", &out]).done();
    assert!(folder.path().join("out/fjord/stakeout-epsg32632-m.csv").exists());
    let alsace = block(7.3, 48.9);
    let screen = ["layout", &alsace, "--out", &out, "--force", "--crs", "EPSG:3857"];
    catchwire(screen).refused(3, &["--crs", "EPSG:3857", "surveyors"]);
}
