//! What each command says to do next: with files that are there.

use std::path::Path;

use serde_json::Value;

use crate::support::{catchwire, folder, plain_block, put};

/// Endings of files that a command may name.
const ENDINGS: [&str; 7] = ["html", "png", "csv", "pdf", "txt", "geojson", "zip"];

/// The calls of a block with its counts, and a file that each can write alone.
const CALLS: [(&str, &str); 10] = [
    ("thin --counts counts.csv", "zones.csv"),
    ("thin --counts counts.csv --frost 2026-06-02", "zones.csv"),
    ("bundle --counts counts.csv", "zones.csv"),
    ("audit --counts counts.csv --recount after.csv", "audit.csv"),
    ("prune --counts weights.csv", "pruning-vines.csv"),
    ("sample", "count-sheet.html"),
    ("sample --for-audit --counts counts.csv", "sample.gpx"),
    ("bearings --standing false --step 30", "bearings.csv"),
    ("layout", "rows.geojson"),
    ("season --counts counts.csv earlier.csv", "season.csv"),
];

/// The files that a sentence names.
fn named(sentence: &str) -> Vec<&str> {
    let words = sentence.split(|letter: char| letter.is_whitespace() || ",;:`".contains(letter));
    let is_file =
        |word: &&str| word.rsplit_once('.').is_some_and(|(_, end)| ENDINGS.contains(&end));
    words.filter(is_file).collect()
}

/// The report of a call on the files of a folder.
fn report(here: &Path, call: &str, more: &[&str], out: &str) -> Value {
    let mut words = call.split(' ');
    let mut args = vec![words.next().unwrap_or_default().to_owned()];
    let path = |name: &str| here.join(name).display().to_string();
    args.push(path("block.geojson"));
    args.extend(words.map(|word| {
        let here = here.join(word);
        if here.is_file() { here.display().to_string() } else { word.to_owned() }
    }));
    args.extend(more.iter().map(|word| (*word).to_owned()));
    args.extend(["--json".to_owned(), "--out".to_owned(), path(out)]);
    serde_json::from_str(&catchwire(args).done().stdout).expect("a report")
}

fn inputs() -> tempfile::TempDir {
    let folder = folder();
    let counts = plain_block::counts(8, 20);
    put(folder.path(), "block.geojson", &plain_block::block("Plain", [20.0, 20.0], false));
    put(folder.path(), "counts.csv", &counts);
    put(folder.path(), "earlier.csv", &counts.replace("2026-06-01", "2025-06-01"));
    put(folder.path(), "after.csv", &counts.replace("2026-06-01", "2026-06-20"));
    put(folder.path(), "weights.csv", "row,vine,pruning_weight_kg\n3,7,0.9\n5,9,0.7\n8,2,0.4\n");
    folder
}

#[test]
fn a_step_names_only_files_that_the_run_wrote() {
    let inputs = inputs();
    let mut told = 0;
    for (at, (call, alone)) in CALLS.iter().enumerate() {
        // Every map and page of a thinning takes long to draw, and its tables tell as much.
        let light = !call.starts_with("thin") && !call.starts_with("bundle");
        let kinds = [(true, &["--write", *alone][..]), (light, &[])];
        for (kind, (_, more)) in kinds.into_iter().filter(|(run, _)| *run).enumerate() {
            let report = report(inputs.path(), call, more, &format!("out-{at}-{kind}"));
            let files: Vec<&str> =
                report["files"].as_array().expect("files").iter().map(name).collect();
            for step in report["next"].as_array().expect("steps") {
                let step = step.as_str().expect("a sentence");
                // What the archive's own sheet is called is said of the archive.
                let named: Vec<&str> =
                    named(step).into_iter().filter(|f| *f != "README.txt").collect();
                assert!(named.iter().all(|file| files.contains(file)), "{call} {more:?}: {step}");
                told += named.len();
            }
        }
    }
    assert!(told >= 10, "{told} files named");
}

fn name(file: &Value) -> &str {
    let path = file["file"].as_str().expect("a path");
    path.rsplit('/').next().unwrap_or(path)
}

#[test]
fn after_a_dry_run_the_next_step_is_the_run() {
    let inputs = inputs();
    for (call, alone) in CALLS {
        let report = report(inputs.path(), call, &["--dry-run", "--write", alone], "nowhere");
        let next = "nothing is written yet: run the same without --dry-run";
        assert_eq!(report["next"], serde_json::json!([next]), "{call}");
    }
}
