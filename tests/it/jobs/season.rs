//! `season`: years and visits side by side, what is refused, and changes whose truth is known.

use std::{collections::BTreeSet, fmt::Write as _, fs, path::Path};

use crate::{
    laws::plots::Draws,
    support::{
        Run, catchwire, demo, files, folder, json, plain_block, properties, put,
        table::{Line, number, table},
    },
};

/// The line of a part in a year.
#[track_caller]
fn of<'a>(lines: &'a [Line], zone: &str, year: &str) -> &'a Line {
    let found = lines
        .iter()
        .find(|line| line["zone"] == zone && line["year"] == year && line["line"] == "year");
    found.unwrap_or_else(|| panic!("no line of `{zone}` in {year}"))
}

/// Rows and vines a row of the small block below.
const ROWS: usize = 12;
const VINES: usize = 31;
/// Its metres across and along the rows.
const GROUND_M: [f64; 2] = [30.0, 32.0];

/// Every eleventh vine of it, counted on a day.
fn sheet(day: &str, shoots: impl Fn(usize, usize) -> f64) -> String {
    let mut text = "row,vine,date,visit,shoots\n".to_owned();
    for at in (0..ROWS * VINES).step_by(11) {
        let (row, vine) = (1 + at / VINES, 1 + at % VINES);
        let _ = writeln!(text, "{row},{vine},{day},before,{:.0}", shoots(row, vine));
    }
    text
}

/// A pattern with no two neighbours alike.
fn some(row: usize, vine: usize) -> f64 {
    let crowded = if row <= ROWS / 2 { 22 } else { 15 };
    f64::from(u32::try_from(crowded + (7 * row + 3 * vine) % 5).expect("a small number"))
}

fn season(at: &Path, sheets: &[&str], more: &[&str]) -> Run {
    put(at, "block.geojson", &plain_block::block("Low", GROUND_M, true));
    let mut args = vec!["season".to_owned(), at.join("block.geojson").display().to_string()];
    args.push("--counts".to_owned());
    args.extend(sheets.iter().map(|sheet| at.join(sheet).display().to_string()));
    args.extend(["--out".to_owned(), at.join("out").display().to_string()]);
    args.extend(more.iter().map(|&word| word.to_owned()));
    catchwire(args)
}

#[test]
fn the_same_counts_on_other_dates_are_no_change() {
    let at = folder();
    put(at.path(), "a.csv", &sheet("2025-06-12", some));
    put(at.path(), "b.csv", &sheet("2026-06-10", some));
    let run = season(at.path(), &["a.csv", "b.csv"], &["--write", "season.csv"]).done();
    assert!(run.stdout.contains("not sure"), "{}", run.stdout);
    let lines = table(&at.path().join("out/low/season.csv"));
    for zone in ["Z1", "Z2", ""] {
        let (before, now) = (of(&lines, zone, "2025"), of(&lines, zone, "2026"));
        assert_eq!(before["shoots_per_m"], now["shoots_per_m"]);
        assert!(number(now, "change_per_m").abs() < 1e-9 && before["change_per_m"].is_empty());
        let [low, high] =
            ["change_per_m_lo90", "change_per_m_hi90"].map(|column| number(now, column));
        assert!((low + high).abs() < 1e-9 && low < 0.0 && now["changed"] == "false", "{now:?}");
        // Two means with errors alike: the range is √2 of the one's own, with twice its degrees.
        let own = number(now, "shoots_per_m_hi90") - number(now, "shoots_per_m");
        assert!(high < 2.0_f64.sqrt() * own && high > 1.3 * own, "{high} beside {own}");
    }
}

#[test]
fn the_order_of_files_and_lines_does_not_matter() {
    let tables = [["a.csv", "b.csv", "c.csv"], ["c.csv", "b.csv", "a.csv"]].map(|order| {
        let at = folder();
        put(at.path(), "a.csv", &sheet("2024-06-02", |row, vine| some(row, vine) - 3.0));
        let backwards = sheet("2025-06-12", some);
        let (head, rest) = backwards.split_once('\n').expect("a head");
        let rest: Vec<&str> = rest.lines().rev().collect();
        put(at.path(), "b.csv", &format!("{head}\n{}\n", rest.join("\n")));
        put(at.path(), "c.csv", &sheet("2026-06-10", |row, vine| some(vine, row)));
        season(at.path(), &order, &["--write", "season.csv,season.geojson"]).done();
        (
            fs::read(at.path().join("out/low/season.csv")).expect("a table"),
            fs::read(at.path().join("out/low/season.geojson")).expect("a map"),
        )
    });
    assert_eq!(tables[0], tables[1]);
}

/// File and line of every record of a table.
fn sources(path: &Path) -> Vec<(String, String)> {
    table(path).into_iter().map(|line| (line["file"].clone(), line["line"].clone())).collect()
}

#[test]
fn every_record_is_in_one_of_both_tables() {
    let at = folder();
    put(at.path(), "a.csv", &sheet("2025-06-12", some));
    let more = "12,3,,before,20\n99,1,2026-06-10,before,20\n3,3,2026-06-20,after,14\n\
                4,4,2025-09-30,autumn,\n";
    put(at.path(), "b.csv", &(sheet("2026-06-10", some) + more));
    let run = season(at.path(), &["a.csv", "b.csv"], &[]).done();
    assert!(run.stderr.contains("has no date"), "{}", run.stderr);
    let out = at.path().join("out/low");
    let (joined, left) =
        (sources(&out.join("counts-joined.csv")), sources(&out.join("unjoined.csv")));
    let all: BTreeSet<_> = joined.iter().chain(&left).collect();
    assert_eq!(all.len(), joined.len() + left.len(), "a record is written twice");
    let read = 2 * (sheet("2025-06-12", some).lines().count() - 1) + 4;
    assert_eq!((all.len(), left.len()), (read, 2));
    let record = json(&out.join("run.json"));
    assert_eq!(record["counts"]["left_out"], 2);
    assert_eq!(record["counts"]["read"].as_u64(), u64::try_from(read).ok());
}

#[test]
fn visits_of_one_year_stand_side_by_side_and_few_counts_have_no_range() {
    let at = folder();
    put(at.path(), "a.csv", &sheet("2026-06-10", some));
    put(
        at.path(),
        "b.csv",
        "row,vine,date,visit,shoots\n1,1,2026-06-20,after,14\n2,9,2026-06-20,after,16\n",
    );
    let run = season(at.path(), &["a.csv", "b.csv"], &["--units", "us"]).done();
    assert!(run.stdout.contains("under 5: no range"), "{}", run.stdout);
    assert!(run.stderr.contains("the block has records of 2026 only"), "{}", run.stderr);
    let lines = table(&at.path().join("out/low/season.csv"));
    let after = |zone: &str| {
        lines.iter().find(|line| line["zone"] == zone && line["visit"] == "after").expect("a line")
    };
    assert_eq!((after("")["counts"].as_str(), after("Z2")["counts"].as_str()), ("2", "0"));
    assert!((number(after(""), "shoots_per_m") - 15.0).abs() < 1e-9);
    assert!((number(after(""), "shoots_per_ft") - 15.0 * 0.3048).abs() < 1e-4);
    assert!(after("")["shoots_per_m_lo90"].is_empty());
    let before = lines.iter().find(|line| line["visit"] == "before" && line["zone"] == "Z1");
    assert!(number(before.expect("a line"), "shoots_per_m_lo90") > 20.0);
}

#[test]
fn what_became_of_a_vine_is_told_and_a_later_year_remembers_it() {
    let at = folder();
    let status = "row,vine,date,status\n2,2,2025-06-12,missing\n5,5,2026-06-10,replant\n";
    put(at.path(), "a.csv", &sheet("2025-06-12", some));
    put(at.path(), "b.csv", &sheet("2026-06-10", some));
    put(at.path(), "c.csv", status);
    season(at.path(), &["a.csv", "b.csv", "c.csv"], &["--write", "season.json"]).done();
    let report = json(&at.path().join("out/low/season.json"));
    let standing = report["standing"].as_array().expect("vines");
    assert_eq!(standing.len(), 1, "{standing:?}");
    assert_eq!((&standing[0]["is"], &standing[0]["was"]), (&"replant".into(), &"present".into()));
    let block = report["parts"].as_array().and_then(|parts| parts.last()).expect("the block");
    assert_eq!(block["vines"].as_u64(), u64::try_from(ROWS * VINES - 1).ok(), "one is missing");
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let at = folder();
    put(at.path(), "a.csv", &sheet("2026-06-10", some));
    put(at.path(), "undated.csv", "row,vine,shoots\n1,1,20\n2,2,21\n");
    put(at.path(), "nowhere.csv", "row,vine,date,shoots\n91,1,2025-06-01,20\n92,1,2026-06-01,9\n");
    let said = ["all counts of shoots are of one visit, 2026-06-10", "another visit or year"];
    season(at.path(), &["a.csv"], &[]).refused(3, &said);
    season(at.path(), &["undated.csv"], &[]).refused(3, &["no count of shoots has a date"]);
    season(at.path(), &["nowhere.csv"], &[]).refused(5, &["no record found its place"]);
    let block = at.path().join("block.geojson");
    let out = at.path().join("out");
    let bare = ["season".as_ref(), block.as_os_str(), "--out".as_ref(), out.as_os_str()];
    catchwire(bare).refused(2, &["--counts", "nothing to compare"]);
    put(at.path(), "b.csv", &sheet("2025-06-10", some));
    let two = ["a.csv", "b.csv"];
    let unsaid = fs::read_to_string(&block).expect("the block").replace("\"standing\":true,", "");
    let unsaid = put(at.path(), "unsaid.geojson", &unsaid);
    let [one, other] = two.map(|name| at.path().join(name));
    let words = ["season".as_ref(), unsaid.as_os_str(), "--counts".as_ref(), one.as_os_str()];
    let more = [other.as_os_str(), "--out".as_ref(), out.as_os_str()];
    catchwire(words.into_iter().chain(more)).refused(3, &["`standing`", "stand already"]);
    season(at.path(), &two, &["--write", "zones.csv"]).refused(2, &["zones.csv"]);
    season(at.path(), &two, &["--dry-run"]).done();
    assert!(!out.exists(), "something was written");
}

/// Small blocks whose every vine is known in both years; zones are the halves.
const BLOCKS: usize = 12;

/// Shoots of every vine of a block in a year: its level, a slope, and a vine's own.
fn truth(draws: &mut Draws, levels: [f64; 2], slope: f64) -> Vec<Vec<f64>> {
    let row = |row: usize, draws: &mut Draws| {
        let level = levels[usize::from(row >= ROWS / 2)];
        // The sum of three even draws is near enough to a normal one, of deviation 2.
        let own = |draws: &mut Draws| (0..3).map(|_| draws.between(-2.0, 2.0)).sum::<f64>();
        let at = |vine: usize| slope * (f64::from(u32::try_from(vine).expect("few")) / 30.0 - 0.5);
        (0..VINES).map(|vine| (level + at(vine) + own(draws)).round()).collect()
    };
    (0..ROWS).map(|at| row(at, draws)).collect()
}

fn mean(rows: &[Vec<f64>]) -> f64 {
    let all: Vec<f64> = rows.iter().flatten().copied().collect();
    all.iter().sum::<f64>() / f64::from(u32::try_from(all.len()).expect("few"))
}

#[test]
fn ranges_hold_the_true_change_of_known_blocks_as_often_as_they_say() {
    let at = folder();
    let mut draws = Draws(41);
    let mut features = Vec::new();
    let mut counts = "block,row,vine,date,visit,shoots\n".to_owned();
    let mut changes = Vec::new();
    for block in 0..BLOCKS {
        let name = format!("B{block:02}");
        let text = plain_block::block(&name, GROUND_M, true);
        // Each lies a thousandth of a degree further east.
        let mut one: serde_json::Value = serde_json::from_str(&text).expect("JSON");
        for feature in one["features"].as_array_mut().expect("features") {
            for corner in feature["geometry"]["coordinates"][0].as_array_mut().expect("corners") {
                let east = corner[0].as_f64().expect("degrees");
                let by = f64::from(u32::try_from(block).expect("few")) / 1000.0;
                corner[0] = (east + by).into();
            }
            features.push(feature.clone());
        }
        let slope = draws.between(-4.0, 4.0);
        let years = [[20.0, 16.0], [20.0 + draws.between(-4.0, 4.0), 16.0]];
        let years = years.map(|levels| truth(&mut draws, levels, slope));
        for (day, year) in ["2025-06-12", "2026-06-10"].iter().zip(&years) {
            // Another start each year: mostly other vines.
            for at in (draws.below(13)..ROWS * VINES).step_by(13) {
                let (row, vine) = (at / VINES, at % VINES);
                let shoots = year[row][vine];
                let _ = writeln!(counts, "{name},{},{},{day},before,{shoots}", row + 1, vine + 1);
            }
        }
        let half = |from: usize| mean(&years[1][from..from + 6]) - mean(&years[0][from..from + 6]);
        changes.extend([("Z1", half(0)), ("Z2", half(6))].map(|(z, c)| (name.clone(), z, c)));
    }
    let file = serde_json::json!({ "type": "FeatureCollection", "features": features });
    let block = put(at.path(), "blocks.geojson", &file.to_string());
    let sheet = put(at.path(), "counts.csv", &counts);
    let out = at.path().join("out");
    let [block, sheet, out_text] = [&block, &sheet, &out].map(|path| path.display().to_string());
    let args = ["season", &block, "--counts", &sheet, "--out", &out_text, "--write", "season.csv"];
    catchwire(args).done();
    let mut within = 0;
    for (name, zone, change) in &changes {
        let lines = table(&out.join(name.to_lowercase()).join("season.csv"));
        let now = of(&lines, zone, "2026");
        let [low, high] =
            ["change_per_m_lo90", "change_per_m_hi90"].map(|column| number(now, column));
        within += usize::from(low <= *change && *change <= high);
        assert!(high - low < 8.0, "{name} {zone}: {low} to {high} says nothing");
    }
    // 24 ranges: fewer than 18 within have a chance of 1 in 130 at 90 % (binomial).
    assert!(within >= 18, "{within} of {} within", changes.len());
}

#[test]
fn the_crowded_corner_of_the_estate_became_more_crowded_and_its_crown_did_not() {
    let folder = demo().join("6-season/south-brae");
    let zones = properties(&folder.join("season.geojson"));
    let changed: Vec<bool> =
        zones.iter().map(|zone| zone["changed"].as_bool().expect("a word on the change")).collect();
    assert_eq!(changed, [true, false], "{zones:?}");
    assert!(zones[0]["change_per_m_lo90"].as_f64() > Some(1.0), "{:?}", zones[0]);
    // The zones and their means are those of `thin` from the same counts.
    let thin = properties(&demo().join("3-thin/south-brae/zones.geojson"));
    for (zone, thin) in zones.iter().zip(&thin) {
        for key in ["zone", "rows", "vines", "shoots_per_m", "shoots_per_m_lo90", "verdict"] {
            assert_eq!(zone[key], thin[key], "{key}");
        }
    }
    for block in ["south-brae", "tarn-field", "long-rigg"] {
        let names = files(&demo().join("6-season").join(block));
        assert_eq!(names.len(), 7, "{:?}", names.keys());
        let lines = table(&demo().join("6-season").join(block).join("season.csv"));
        for line in lines.iter().filter(|line| !line["shoots_per_m_lo90"].is_empty()) {
            let [low, mean, high] =
                ["_lo90", "", "_hi90"].map(|end| number(line, &format!("shoots_per_m{end}")));
            assert!(low <= mean && mean <= high, "{line:?}");
        }
    }
}
