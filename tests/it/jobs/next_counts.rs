//! From `thin` back to the vines: `count-next.csv`, its walk, the sheet of it, and `thin` again.

use std::path::{Path, PathBuf};

use serde_json::Value;

use crate::support::{catchwire, folder, json, properties, put, sheet};

/// A standing block of 19 rows of 40 vines, 2.5 × 1.2 m, in panels of 4.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Sea Field","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":1.2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99914943,60.0],
[-2.99914943,60.00043517],[-3.0,60.00043517],[-3.0,60.0]]]}}"#;

/// Shoots of a panel: some 28 a vine of 1.2 m, which is crowded, in waves over the block.
fn shoots(line: &sheet::Line) -> u32 {
    let (row, panel) = (line.number("row"), line.number("panel"));
    let wave = (f64::from(row) / 3.0).sin() + (f64::from(panel) / 2.0).cos();
    let shoots = 112.0 + 16.0 * wave + f64::from((row * 7 + panel * 13) % 9);
    (0..400).find(|n| f64::from(*n) >= shoots).expect("fewer than 400")
}

struct Season {
    _folder: tempfile::TempDir,
    root: PathBuf,
    block: PathBuf,
}

impl Season {
    fn new() -> Self {
        let folder = folder();
        let root = folder.path().to_owned();
        let block = put(&root, "block.geojson", BLOCK);
        Self { _folder: folder, root, block }
    }

    /// A walk of `sample`, counted: the filled sheet.
    fn count(&self, name: &str, date: &str, options: &[&str]) -> PathBuf {
        let out = self.root.join(name);
        let call = ["sample".as_ref(), self.block.as_os_str(), "--out".as_ref(), out.as_os_str()];
        catchwire(call.into_iter().chain(options.iter().map(AsRef::as_ref))).done();
        let text = sheet::filled(&out.join("sea-field/sample.csv"), date, |_, line| shoots(line));
        put(&self.root, &format!("{name}.csv"), &text)
    }

    fn thin(&self, name: &str, counts: &[&Path]) -> PathBuf {
        let out = self.root.join(name);
        let mut call = vec!["thin".as_ref(), self.block.as_os_str()];
        for file in counts {
            call.extend(["--counts".as_ref(), file.as_os_str()]);
        }
        catchwire(call.into_iter().chain(["--out".as_ref(), out.as_os_str()])).done();
        out.join("sea-field")
    }
}

fn sum(zones: &[Value], column: &str) -> f64 {
    zones.iter().map(|zone| zone[column].as_f64().expect("a number")).sum()
}

/// How many times the upper end of the hours is the lower one, and how wide the range of shoots is.
fn doubt(thinned: &Path) -> [f64; 2] {
    let zones = properties(&thinned.join("zones.geojson"));
    assert!(zones.iter().all(|zone| zone["verdict"] == "overcrowded"), "{zones:?}");
    let hours = sum(&zones, "hours_hi90") / sum(&zones, "hours_lo90");
    [hours, sum(&zones, "remove_hi90") - sum(&zones, "remove_lo90")]
}

/// Ids of the panels in which every vine that stands was counted.
fn counted(thinned: &Path) -> Vec<String> {
    let panels = properties(&thinned.join("panels.geojson")).into_iter();
    let whole = panels.filter(|panel| panel["counted_vines"] == panel["vines"]);
    whole.map(|panel| panel["id"].as_str().expect("an id").to_owned()).collect()
}

#[test]
fn the_stops_that_thin_asks_for_come_back_and_hours_are_known_better() {
    let season = Season::new();
    let first = season.count("first", "2026-05-28", &["--number", "30"]);
    let before = season.thin("before", &[&first]);
    let next = before.join("count-next.csv");
    let asked: Vec<String> =
        sheet::lines(&next).iter().map(|line| line.cell("id").to_owned()).collect();
    assert_eq!(asked.len(), 10);
    let known = counted(&before);
    assert!(asked.iter().all(|id| !known.contains(id)), "{asked:?} were counted before");

    let second = season.count("second", "2026-05-29", &["--stops", &next.display().to_string()]);
    let after = season.thin("after", &[&first, &second]);
    let records = |thinned: &Path| json(&thinned.join("run.json"))["counts"].clone();
    let (one, both) = (records(&before), records(&after));
    for key in ["read", "joined", "used"] {
        let number = |counts: &Value| counts[key].as_u64().expect("a number");
        assert_eq!(number(&both), number(&one) + 10, "{key}: {one} and then {both}");
    }
    assert_eq!(both["left_out"], 0);
    let mut expected = known;
    expected.extend(asked);
    expected.sort();
    let mut found = counted(&after);
    found.sort();
    assert_eq!(found, expected, "the panels asked for and no other");

    let ([hours, shoots], [hours_then, shoots_then]) = (doubt(&before), doubt(&after));
    assert!(shoots_then < 0.95 * shoots, "from {shoots} to {shoots_then} shoots");
    assert!(hours_then < hours, "from {hours} to {hours_then} times");
}
