//! `count-sheet.html`: what stands in it, and what a browser makes of it. Without node, Chromium and
//! the packages of `tests/judges` nobody counts with a finger; the test says so.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use catchwire::{
    picture::{CountPaper, Mark, Outline, Paper, count_paper},
    sample::{Unit, Wish, choose, sheet_lines},
    settings::Settings,
    units::ReadingUnits,
};
use serde_json::Value;
use sha2::{Digest as _, Sha256};

use crate::{
    browser,
    support::{
        catchwire, demo, folder,
        plain_block::block,
        put, skipped,
        two_halves::{ground, square_block},
    },
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
fn paper_has_a_box_of_eight_millimetres_for_every_place_and_a_total_for_every_row() {
    let (site, layout) = ground(&square_block(), &Settings::default());
    let wish = Wish { unit: Unit::Panel, number: Some(40), variation: None, window: None, seed: 1 };
    let out = vec![false; layout.vines.len()];
    let settings = Settings::default().sample();
    let (sample, _) = choose((&site, &layout), &out, &wish, &settings).expect("a sample");
    let lines = sheet_lines(&sample.stops, &layout, None, ReadingUnits::Metric);
    for paper in [Paper::A4, Paper::Letter] {
        let told = CountPaper { plan: "0123abcd", units: ReadingUnits::Metric, paper };
        let pages = count_paper((&site, &layout), (&sample.stops, &lines), &told).expect("pages");
        let (mut boxes, mut said) = (0, Vec::new());
        for page in &pages {
            assert!((page.paper_mm[0] - paper.sides_mm()[0]).abs() < 1e-9, "upright");
            for mark in &page.marks {
                match mark {
                    Mark::Shape(shape) => {
                        boxes += shape.outlines.iter().filter(|one| is_box(one)).count();
                    }
                    Mark::Lettering(words) => {
                        let [at, most] = [words.at.y_mm, page.paper_mm[1] - 12.0];
                        assert!(at < most + 1.0, "`{}` leaves the page", words.words);
                        said.push(words.words.clone());
                    }
                }
            }
        }
        let rows = lines.chunk_by(|one, next| one.row == next.row).count();
        assert_eq!(boxes, 2 * lines.len() + rows);
        for line in &lines {
            assert!(said.contains(&line.place), "{}", line.place);
        }
        for (at, _) in pages.iter().enumerate() {
            assert!(said.contains(&format!("page {} of {}", at + 1, pages.len())));
        }
        assert!(said.contains(&"plan 0123abcd".to_owned()) && pages.len() > 2);
    }
}

/// True for a ring of four corners, 8 mm high.
fn is_box(outline: &Outline) -> bool {
    let Outline::Ring(corners) = outline else { return false };
    let heights = corners.iter().map(|corner| corner.y_mm);
    let [least, most] =
        heights.fold([f64::INFINITY, 0.0_f64], |[least, most], y| [least.min(y), most.max(y)]);
    corners.len() == 4 && (most - least - 8.0).abs() < 1e-9
}

#[test]
fn the_plan_on_paper_is_that_of_the_table() {
    for block in ["south-brae", "tarn-field", "long-rigg"] {
        let folder = demo().join("2-sample").join(block);
        let table = fs::read(folder.join("sample.csv")).expect("a table");
        let digest: Vec<String> =
            Sha256::digest(table).iter().map(|byte| format!("{byte:02x}")).collect();
        let page = fs::read_to_string(folder.join("count-sheet.html")).expect("a sheet");
        assert_eq!(data(&page)["plan"], digest.concat());
        let text = Command::new("pdftotext").arg(folder.join("count-sheet.pdf")).arg("-").output();
        let Ok(text) = text else { return skipped("pdftotext is not here: no paper was read") };
        let text = String::from_utf8_lossy(&text.stdout).into_owned();
        assert!(text.contains(&format!("plan {}", &digest.concat()[..8])), "{block}: {text}");
    }
}

/// What is written on the paper, typed into the table: a number under `shoots` and nothing else.
#[test]
fn a_sheet_that_is_retyped_into_the_table_joins_without_an_edit() {
    let estate = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/estate");
    let sheet = fs::read_to_string(demo().join("2-sample/south-brae/sample.csv")).expect("a table");
    let mut lines = sheet.lines();
    let heads = lines.next().expect("heads");
    let shoots = heads.split(',').position(|head| head == "shoots").expect("a column");
    let typed = lines.enumerate().map(|(at, line)| {
        let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
        let line = reader.records().next().expect("a line").expect("cells");
        let cells = line.iter().enumerate().map(|(column, cell)| {
            if column == shoots { (70 + at).to_string() } else { format!("\"{cell}\"") }
        });
        cells.collect::<Vec<_>>().join(",") + "\r\n"
    });
    let typed = format!("{heads}\r\n{}", typed.collect::<String>());
    let out = folder();
    let counts = put(out.path(), "counts.csv", &typed);
    let made = out.path().join("out");
    let files = ["thin".into(), estate.join("blocks.geojson"), "--counts".into(), counts];
    let asked = ["--out".into(), made.clone(), "--write".into(), "unjoined.csv".into()];
    let date = ["--date", "2026-06-10", "--quiet"].map(PathBuf::from);
    catchwire(files.into_iter().chain(asked).chain(date)).done();
    let record = crate::support::json(&made.join("south-brae/run.json"));
    assert_eq!(record["counts"]["left_out"], 0);
    assert_eq!(record["counts"]["joined"], typed.lines().count() - 1);
}

#[test]
fn another_engine_counts_and_keeps_it_when_it_is_killed() {
    let page = demo().join("2-sample/south-brae/count-sheet.html");
    browser::in_firefox("count-second-engine.mjs", &page);
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
