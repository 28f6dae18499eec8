//! `thin`: what a grower gets.

use std::{fmt::Write as _, fs, path::PathBuf};

use serde_json::Value;

use crate::support::{
    Run, catchwire, catchwire_with, demo, files, folder, properties, put, records,
};

/// A block of 40 × 100 m with rows 2.5 m apart, vines 2 m apart, at 60° N.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Square","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99928,60.0],[-2.99928,60.0009],
[-3.0,60.0009],[-3.0,60.0]]]}}"#;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn thin_folders() -> Vec<(PathBuf, Value)> {
    let folders = records(&demo().join("3-thin"));
    assert!(folders.len() >= 3, "the demo thins at least three blocks");
    folders
}

#[test]
fn sums_of_vines_zones_and_the_run_record_agree() {
    for (folder, record) in thin_folders() {
        let vines = properties(&folder.join("vines.geojson"));
        let zones = properties(&folder.join("zones.geojson"));
        let sum_over = |zone: &str| -> f64 {
            let own = vines.iter().filter(|vine| vine["zone"] == zone);
            own.map(|vine| number(&vine["remove"])).sum()
        };
        let mut total = 0.0;
        for zone in &zones {
            let id = zone["zone"].as_str().unwrap();
            let remove = number(&zone["remove"]);
            assert!((remove - sum_over(id)).abs() < 1e-6, "{id}: {remove} ≠ {}", sum_over(id));
            assert!(zone["verdict"] == "overcrowded" || remove == 0.0, "{id} is not to be worked");
            let present = vines.iter().filter(|vine| vine["zone"] == id).count();
            assert_eq!(zone["vines"], present);
            total += remove;
        }
        let present = vines.iter().filter(|vine| vine["status"] != "missing");
        assert!(
            present.clone().all(|vine| vine["zone"].is_string()),
            "every present vine has a zone"
        );
        assert_eq!(record["totals"]["vines"], present.count());
        assert!((number(&record["totals"]["remove"]) - total).abs() < 1e-6);
    }
}

#[test]
fn a_missing_vine_has_no_numbers_and_is_never_a_zero() {
    let mut missing = 0;
    for (folder, _) in thin_folders() {
        for vine in properties(&folder.join("vines.geojson")) {
            if vine["status"] == "missing" {
                missing += 1;
                for key in ["zone", "shoots_per_m", "shoots_per_m_se", "remove", "vigor"] {
                    assert!(vine[key].is_null(), "{key} of {}", vine["id"]);
                }
            }
        }
    }
    assert!(missing > 0, "the estate has missing vines");
}

#[test]
fn some_zones_need_work_and_some_need_none() {
    let zones: Vec<Value> = thin_folders()
        .iter()
        .flat_map(|(folder, _)| properties(&folder.join("zones.geojson")))
        .collect();
    assert!(zones.iter().any(|zone| zone["verdict"] == "overcrowded"));
    assert!(zones.iter().any(|zone| zone["verdict"] != "overcrowded"));
    for zone in &zones {
        for [value, low, high] in
            [["remove", "remove_lo90", "remove_hi90"], ["hours", "hours_lo90", "hours_hi90"]]
        {
            let [value, low, high] = [value, low, high].map(|key| number(&zone[key]));
            assert!(low <= value && value <= high, "{zone}");
        }
    }
}

#[test]
fn the_same_inputs_give_the_same_bytes_on_any_thread_count_locale_and_zone() {
    let (one, other) = (folder(), folder());
    let run = |folder: &tempfile::TempDir, jobs: &str, environment: &[(&str, &str)]| {
        let out = folder.path().to_string_lossy().into_owned();
        catchwire_with(["demo", "--out", &out, "--jobs", jobs], environment).done();
        files(folder.path())
    };
    let first = run(&one, "1", &[("LC_ALL", "C"), ("TZ", "UTC")]);
    let second = run(&other, "7", &[("LC_ALL", "tr_TR.UTF-8"), ("TZ", "Pacific/Apia")]);
    assert_eq!(first.keys().collect::<Vec<_>>(), second.keys().collect::<Vec<_>>());
    for (path, bytes) in &first {
        assert!(second[path] == *bytes, "{} differs", path.display());
    }
}

/// The square block with a sheet of counts, thinned with some options.
struct Square {
    folder: tempfile::TempDir,
    out: PathBuf,
}

impl Square {
    fn with(counts: &str) -> Self {
        let folder = folder();
        put(folder.path(), "block.geojson", BLOCK);
        put(folder.path(), "counts.csv", counts);
        let out = folder.path().join("out");
        Self { folder, out }
    }

    fn thin(&self, options: &[&str]) -> Run {
        let path = |name: &str| self.folder.path().join(name).display().to_string();
        let call = ["thin".to_owned(), path("block.geojson"), "--counts".to_owned()];
        let files = [path("counts.csv"), "--out".to_owned(), path("out")];
        let options = options.iter().map(|option| (*option).to_owned());
        catchwire(call.into_iter().chain(files).chain(options))
    }
}

#[test]
fn nothing_is_overwritten_unasked_and_a_dry_run_writes_nothing() {
    let square = Square::with(&sheet(40));
    let dry = square.thin(&["--dry-run"]).done();
    assert!(dry.stdout.contains("vines.geojson") && !square.out.exists(), "{}", dry.stdout);
    square.thin(&[]).done();
    let before = files(&square.out);
    square.thin(&[]).refused(4, &["rows.geojson", "are there already", "--force"]);
    assert_eq!(before, files(&square.out));
    square.thin(&["--force"]).done();
    assert_eq!(before, files(&square.out));
}

#[test]
fn only_listed_files_are_written() {
    let square = Square::with(&sheet(40));
    square.thin(&["--write", "vines.geojson,zones.csv"]).done();
    let names: Vec<String> = files(&square.out)
        .keys()
        .map(|path| path.file_name().unwrap().to_string_lossy().into())
        .collect();
    assert_eq!(names, ["run.json", "vines.geojson", "zones.csv"]);
    square.thin(&["--write", "vine.geojson"]).refused(2, &["vines.geojson"]);
}

#[test]
fn counts_that_find_no_place_end_with_5() {
    let square = Square::with("row,vine,shoots\n900,1,20\n901,1,22\n");
    square.thin(&[]).refused(5, &["900"]);
    assert!(!square.out.exists());
}

#[test]
fn a_record_without_a_place_is_told_and_stops_a_strict_run() {
    let square = Square::with(&(sheet(40) + "900,1,20\n"));
    let strict = square.thin(&["--strict"]).refused(3, &["found no place"]);
    assert!(strict.stdout.is_empty() && !square.out.exists());
    let told = square.thin(&[]).done();
    assert!(
        told.stderr.contains("counts.csv, line 42: the record found no place"),
        "{}",
        told.stderr
    );
}

#[test]
fn the_report_is_json_when_asked() {
    let square = Square::with(&sheet(40));
    let report: Value = serde_json::from_str(&square.thin(&["--json"]).done().stdout).unwrap();
    assert_eq!(report["blocks"][0]["thinning"]["records"], serde_json::json!([40, 0]));
    assert!(report["files"].as_array().unwrap().len() > 5);
}

/// Counts on every third vine of every second row, rising to the east.
fn sheet(number: usize) -> String {
    let mut text = String::from("row,vine,shoots\n");
    let places =
        (1..=15).step_by(2).flat_map(|row| (2..=48).step_by(5).map(move |vine| (row, vine)));
    for (at, (row, vine)) in places.take(number).enumerate() {
        let _ = writeln!(text, "{row},{vine},{}", 20 + row + (at * 7) % 5);
    }
    text
}

/// Ordinary kriging written out plainly: the bordered system solved by elimination.
fn ordinary_kriging(points: &[[f64; 2]], values: &[f64], at: [f64; 2]) -> (f64, f64) {
    let (nugget, psill, range) = (4.0, 9.0, 30.0);
    let distance = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let covariance = |h: f64| psill * (-h / range).exp();
    let n = points.len();
    let mut system = vec![vec![0.0; n + 2]; n + 1];
    for i in 0..n {
        for j in 0..n {
            let same = if i == j { nugget } else { 0.0 };
            system[i][j] = covariance(distance(points[i], points[j])) + same;
        }
        (system[i][n], system[n][i]) = (1.0, 1.0);
        system[i][n + 1] = covariance(distance(points[i], at));
    }
    system[n][n + 1] = 1.0;
    let right: Vec<f64> = system.iter().map(|row| row[n + 1]).collect();
    let weights = eliminate(system);
    let mean = (0..n).map(|i| weights[i] * values[i]).sum();
    let explained: f64 = weights.iter().zip(&right).map(|(w, r)| w * r).sum();
    (mean, (nugget + psill - explained).sqrt())
}

fn eliminate(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for column in 0..n {
        let pivot =
            (column..n).max_by(|a, b| rows[*a][column].abs().total_cmp(&rows[*b][column].abs()));
        rows.swap(column, pivot.unwrap());
        for row in 0..n {
            if row != column {
                let factor = rows[row][column] / rows[column][column];
                let pivot = rows[column].clone();
                for (value, above) in rows[row].iter_mut().zip(&pivot) {
                    *value -= factor * above;
                }
            }
        }
    }
    (0..n).map(|i| rows[i][n] / rows[i][i]).collect()
}

/// Source: Isaaks & Srivastava 1989, ch. 12, the ordinary kriging system; solved here by plain
/// elimination. Tolerance 5e-4 shoots/m.
#[test]
fn a_pinned_variation_gives_ordinary_kriging() {
    let square = Square::with(&sheet(40));
    let model = "exponential nugget=4 psill=9 range=30";
    square.thin(&["--variogram", model, "--neighbours", "all", "--no-count-noise"]).done();
    let vines = properties(&square.out.join("square/vines.geojson"));
    let place = |vine: &Value| [number(&vine["row"]) * 2.5, number(&vine["chainage_m"])];
    let counted: Vec<&Value> = vines.iter().filter(|vine| vine["counted"] == true).collect();
    assert_eq!(counted.len(), 40);
    let points: Vec<[f64; 2]> = counted.iter().map(|vine| place(vine)).collect();
    let values: Vec<f64> = counted.iter().map(|vine| number(&vine["shoots_per_m"])).collect();
    assert!(counted.iter().all(|vine| number(&vine["shoots_per_m_se"]) == 0.0));
    let whole =
        |vine: &Value| ["shoots_lo90", "shoots", "shoots_hi90"].map(|key| number(&vine[key]));
    // A vine counted exactly has its count and no other.
    for vine in &counted {
        let own = number(&vine["shoots_per_m"]) * number(&vine["canopy_m"]);
        assert!(whole(vine).iter().all(|shoots| (shoots - own).abs() < 0.51), "{vine}");
    }
    let mut compared = 0;
    for vine in vines.iter().filter(|vine| vine["counted"] == false) {
        let [low, expected, high] = whole(vine);
        assert!(low < expected && expected < high, "{vine}");
        let (mean, se) = ordinary_kriging(&points, &values, place(vine));
        let found = [number(&vine["shoots_per_m"]), number(&vine["shoots_per_m_se"])];
        assert!((found[0] - mean).abs() < 5e-4, "{}: {} ≠ {mean} shoots/m", vine["id"], found[0]);
        assert!((found[1] - se).abs() < 5e-4, "{}: {} ≠ {se} shoots/m", vine["id"], found[1]);
        compared += 1;
    }
    assert!(compared > 500, "{compared} vines compared");
}

#[test]
fn settings_are_printed_and_read_back() {
    let folder = folder();
    let printed = catchwire(["settings"]).done().stdout;
    let file = put(folder.path(), "settings.toml", &printed);
    let again = catchwire(["settings".as_ref(), "--settings".as_ref(), file.as_os_str()]).done();
    assert_eq!(again.stdout, printed);
    let wrong = put(folder.path(), "wrong.toml", "[plan]\nmargn = 1\n");
    catchwire(["settings".as_ref(), "--settings".as_ref(), wrong.as_os_str()])
        .refused(3, &["plan.margin"]);
    assert!(fs::exists(file).unwrap());
}
