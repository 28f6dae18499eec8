//! `count-sheet.html`: what stands in it, and what a browser makes of it. Without node, Chromium and
//! the packages of `tests/judges` nobody counts with a finger; the test says so.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use crate::{
    browser,
    support::{catchwire, demo, folder, plain_block::block, put, skipped},
};

const EVIL: &str = "</script><img src=x onerror=alert(1)>";

/// The bar for a block of 30 000 vines.
const MOST_BYTES: usize = 1_500_000;

/// Sheets for plain blocks: file, name of the block, rows and vines, options.
const SHEETS: [(&str, &str, [usize; 2], &[&str]); 5] = [
    ("evil", EVIL, [20, 40], &["--number", "12"]),
    ("sixty", "Invented Block", [40, 80], &["--number", "60"]),
    ("other", "Other Block", [40, 80], &["--number", "60"]),
    (
        "stretches",
        "Windows, and “quotes”",
        [20, 40],
        &["--number", "12", "--by", "vine", "--window", "1ft", "--units", "us"],
    ),
    ("large", "Large Block", [250, 120], &["--number", "200"]),
];

/// Puts a sheet into a folder.
fn sheet(to: &Path, (file, name, [rows, vines], options): (&str, &str, [usize; 2], &[&str])) {
    let out = folder();
    #[expect(clippy::cast_precision_loss, reason = "a block has few rows")]
    let sides = [2.5 * rows as f64, vines as f64];
    let block = put(out.path(), "block.geojson", &block(name, sides, false));
    let made = out.path().join("out");
    let asked = ["--write", "count-sheet.html", "--quiet"].map(PathBuf::from);
    let asked = asked.into_iter().chain(options.iter().map(PathBuf::from));
    catchwire(["sample".into(), block, "--out".into(), made.clone()].into_iter().chain(asked))
        .done();
    let of_block = fs::read_dir(&made).expect("the output").flatten().next().expect("a folder");
    let page = fs::read_to_string(of_block.path().join("count-sheet.html")).expect("a sheet");
    put(to, &format!("{file}.html"), &page);
}

/// What the page is told.
fn data(page: &str) -> Value {
    let (_, rest) = page.split_once("id=\"data\">").expect("data");
    let (data, _) = rest.split_once("</script>").expect("its end");
    serde_json::from_str(data).expect("JSON")
}

#[test]
fn the_sheet_holds_the_places_of_the_sample_in_their_walk() {
    for block in ["south-brae", "tarn-field", "long-rigg"] {
        let folder = demo().join("2-sample").join(block);
        let page = fs::read_to_string(folder.join("count-sheet.html")).expect("a sheet");
        let data = data(&page);
        let mut lines = csv::Reader::from_path(folder.join("sample.csv")).expect("a table");
        let heads: Vec<String> =
            lines.headers().expect("heads").iter().map(str::to_owned).collect();
        assert_eq!(data["columns"], serde_json::json!(heads));
        let places = data["places"].as_array().expect("places");
        let mut walked = 0.0;
        for (at, line) in lines.records().map(|line| line.expect("a line")).enumerate() {
            let cells: Vec<&str> = line.iter().collect();
            assert_eq!(places[at]["cells"], serde_json::json!(cells), "{block}");
            walked += places[at]["walk"].as_f64().unwrap_or(0.0);
            let end = &places[at]["end"];
            let in_row = at == 0 || places[at - 1]["row"] == places[at]["row"];
            assert_eq!(end.is_null(), in_row, "{block}, place {at}: {end}");
        }
        let told = catchwire_walk(block);
        assert!((walked - told).abs() < 0.05 * 40.0, "{block}: {walked} m, told {told} m");
    }
}

/// The walk that the demo's record tells of, metres: the sum of straight ways along `sample.gpx`
/// would cross wires, so the report is asked.
fn catchwire_walk(block: &str) -> f64 {
    let estate = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/estate");
    let out = folder();
    let words = ["--dry-run", "--json", "--date", "2026-06-01"].map(PathBuf::from);
    let files = ["sample".into(), estate.join("blocks.geojson"), "--out".into()];
    let files = files.into_iter().chain([out.path().to_owned()]);
    let run = catchwire(files.chain(words)).done();
    let report: Value = serde_json::from_str(&run.stdout).expect("a report");
    let blocks = report["blocks"].as_array().expect("blocks");
    let of_block = blocks.iter().find(|told| told["folder"] == block).expect("the block");
    of_block["sample"]["walk_m"].as_f64().expect("metres")
}

#[test]
fn a_finger_counts_and_nothing_that_was_saved_is_lost() {
    let pages = folder();
    for each in SHEETS {
        sheet(pages.path(), each);
    }
    let own = fs::read_to_string(demo().join("2-sample/south-brae/count-sheet.html"));
    put(pages.path(), "page.html", &own.expect("a sheet"));
    let bytes = fs::read(pages.path().join("large.html")).expect("a sheet").len();
    assert!(bytes < MOST_BYTES, "{bytes} bytes for 30 000 vines");
    let chromium = match browser::judge() {
        Ok(chromium) => chromium,
        Err(why) => return skipped(why),
    };
    let _alone = browser::alone();
    let run = Command::new("node")
        .arg(browser::scripts().join("count-sheet.mjs"))
        .arg(chromium)
        .arg(pages.path())
        .output()
        .expect("node starts");
    let told = String::from_utf8_lossy(&run.stdout).into_owned();
    let why = String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success() && told.contains("ok: "), "{told}\n{why}");
}
