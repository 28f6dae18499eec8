//! `audit --plan`: is the plan made anew the one that the crew worked by?

use std::path::Path;

use crate::support::{Run, catchwire, folder, plain_block, put};

fn path(here: &Path, name: &str) -> String {
    here.join(name).display().to_string()
}

/// A block that was thinned into `plan`, and its recount.
fn thinned() -> tempfile::TempDir {
    let folder = folder();
    let here = folder.path();
    let counts = plain_block::counts(8, 20);
    put(here, "block.geojson", &plain_block::block("Plain", [20.0, 20.0], false));
    put(here, "counts.csv", &counts);
    put(here, "own.toml", "[plan]\nhours_per_day = 7\n");
    put(here, "recount.csv", &counts.replace("2026-06-01", "2026-06-20"));
    let args = ["--settings", &path(here, "own.toml"), "--whole-rows", "--crew", "3"];
    let block = [path(here, "block.geojson"), path(here, "counts.csv"), path(here, "plan")];
    let call = ["thin", &*block[0], "--counts", &*block[1], "--out", &*block[2]];
    let one = ["--write", "zones.csv"];
    catchwire([&call[..], &args, &one].concat()).done();
    folder
}

fn audit(here: &Path, more: &[&str]) -> Run {
    let files =
        ["block.geojson", "counts.csv", "recount.csv", "audit"].map(|name| path(here, name));
    let [block, counts, recount, out] = files.each_ref().map(String::as_str);
    let call = ["audit", block, "--counts", counts, "--recount", recount, "--out", out, "--force"];
    catchwire([&call[..], more].concat())
}

#[test]
fn the_same_files_and_options_are_the_same_plan() {
    let folder = thinned();
    let here = folder.path();
    let (own, plan) = (path(here, "own.toml"), path(here, "plan"));
    let same = ["--settings", &own, "--whole-rows", "--plan", &plan];
    let run = audit(here, &same).done();
    assert!(run.stderr.contains("the crew worked by the plan of the same files"), "{}", run.stderr);
    assert!(!run.stderr.contains("was made"), "{}", run.stderr);
    let unsaid = audit(here, &same[..3]).done().stderr;
    assert!(unsaid.contains("made anew") && unsaid.contains("--plan"), "{unsaid}");
}

#[test]
fn every_file_and_option_that_differs_is_named() {
    let folder = thinned();
    let here = folder.path();
    let plan = path(here, "plan");
    put(here, "counts.csv", &plain_block::counts(8, 20).replacen(",26,", ",27,", 1));
    let run = audit(here, &["--plan", &plan, "--frost", "2026-05-01"]).done();
    for said in [
        "made from counts.csv, with other content",
        "made from own.toml, which is not passed here",
        "made with --whole-rows true",
        "made without --frost 2026-05-01",
    ] {
        assert!(run.stderr.contains(said), "`{said}` is not in:\n{}", run.stderr);
    }
    assert!(!run.stderr.contains("made from block.geojson") && !run.stderr.contains("--crew"));
    audit(here, &["--plan", &plan, "--strict"]).refused(3, &["with other content"]);
}

#[test]
fn a_folder_without_the_plan_of_a_block_is_told() {
    let folder = thinned();
    let here = folder.path();
    let none = audit(here, &["--plan", &path(here, "nowhere")]).done();
    assert!(none.stderr.contains("holds no plan of this block"), "{}", none.stderr);
    let other = audit(here, &["--plan", &path(here, "audit")]).done();
    assert!(other.stderr.contains("the record of `audit`, not of `thin`"), "{}", other.stderr);
}
