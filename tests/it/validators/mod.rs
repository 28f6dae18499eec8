//! Every file of the demo, of a bundle and of the archives in them, before the validators of its
//! format. `scripts/setup-judges.sh` installs them; one that is not here is named, and the test
//! goes on. A new validator is a line of [`JUDGES`], and `half_a_file_pleases_no_judge` asks whether
//! it can say no.

mod everything;
mod own;
mod runs;

use std::{collections::BTreeSet, path::Path};

use self::{
    everything::{File, everything},
    runs::{Judge, Run},
};
use crate::support::{folder, skipped};

const PYTHON: &str = "/usr/bin/python3";
const JUDGE: &str = "{judges}/judge.py";

/// Judge, ends of the names of its files, how it is asked.
const JUDGES: &[Judge] = &[
    Judge::new("check-geojson", &["geojson"], Run::Together(&["node", "{judges}/geojson.mjs"])),
    Judge::new(
        "geojson-validator",
        &["geojson"],
        Run::Together(&[PYTHON, JUDGE, "geojson_validator"]),
    ),
    Judge::new("KML 2.2", &["kml"], Run::Together(&["xmllint", "--noout", "--nonet", "{kml}"])),
    Judge::new("unzip", &["kmz", "zip"], Run::Each(&["unzip", "-tqq"])),
    Judge::new("names in an archive", &["kmz", "zip"], Run::Own(&[], own::archive)),
    Judge::new(
        "GPX 1.1",
        &["gpx"],
        Run::Together(&["xmllint", "--noout", "--nonet", "--relaxng", "{data}/gpx/gpx-1.1.rng"]),
    ),
    Judge::new("gpxpy", &["gpx"], Run::Together(&[PYTHON, JUDGE, "gpxpy"])),
    Judge::new(
        "gpsbabel",
        &["gpx"],
        Run::Each(&["gpsbabel", "-i", "gpx", "-f", "{file}", "-o", "unicsv", "-F", "-"]),
    ),
    Judge::new(
        "ogrinfo",
        &["geojson", "gpkg", "gpx", "kml", "kmz"],
        Run::Each(&["ogrinfo", "-ro", "-al", "-so", "-q"]),
    ),
    // Its summary rests on the head of a file alone.
    Judge::new("ogr2ogr", &["fgb"], Run::Each(&["ogr2ogr", "-f", "CSV", "/vsistdout/", "{file}"])),
    Judge::new("validate_gpkg", &["gpkg"], Run::Together(&[PYTHON, JUDGE, "validate_gpkg"])),
    Judge::new("sqlite3", &["gpkg"], Run::Own(&["sqlite3"], own::database)),
    Judge::new(
        "validate_cloud_optimized_geotiff",
        &["tif"],
        Run::Together(&[PYTHON, JUDGE, "validate_cog"]),
    ),
    Judge::new("rio cogeo", &["tif"], Run::Together(&[PYTHON, JUDGE, "rio_cogeo"])),
    Judge::new("gdalinfo", &["tif"], Run::Each(&["gdalinfo", "-checksum", "-json"])),
    Judge::new("pngcheck", &["png"], Run::Together(&["pngcheck", "-q"])),
    Judge::new("world file", &["pgw"], Run::Own(&[], own::world_file)),
    Judge::new("qpdf", &["pdf"], Run::Each(&["qpdf", "--check"])),
    Judge::new("poppler", &["pdf"], Run::Own(&["pdfinfo", "pdffonts", "pdftotext"], own::document)),
    Judge::new("RFC 4180", &["csv"], Run::Together(&[PYTHON, JUDGE, "rfc4180"])),
    Judge::new("duckdb", &["csv"], Run::Together(&[PYTHON, JUDGE, "duckdb"])),
    Judge::new(
        "html-validate",
        &["html"],
        Run::Together(&[
            "node",
            "{judges}/node_modules/html-validate/bin/html-validate.mjs",
            "-c",
            "{judges}/html-validate.json",
        ]),
    ),
    Judge::new("well-formed XML", &["svg", "xml"], Run::Together(&["xmllint", "--noout"])),
    Judge::new("JSON", &["json"], Run::Own(&[], own::json)),
];

/// Ends of names that no validator knows.
const NO_JUDGE: &[(&str, &str)] = &[("txt", "words for people")];

/// What a judge is not asked about: judge, what the file's name begins with, why.
const SPARED: &[(&str, &str, &str)] = &[
    ("validate_cloud_optimized_geotiff", "estate/", "an input, as a drone or a survey gives it"),
    ("rio cogeo", "estate/", "an input, as a drone or a survey gives it"),
    ("RFC 4180", "estate/", "an input, with line ends as people have them"),
];

fn spares(judge: &Judge, file: &File) -> bool {
    SPARED.iter().any(|(name, start, _)| *name == judge.name && file.name.starts_with(start))
}

fn files_of<'a>(judge: &Judge, files: &'a [File]) -> Vec<&'a File> {
    let asked = |file: &&File| judge.ends.contains(&file.end()) && !spares(judge, file);
    files.iter().filter(asked).collect()
}

#[test]
fn no_judge_finds_a_fault_in_any_file() {
    let files = everything();
    let mut faults = Vec::new();
    for judge in JUDGES {
        let of_it = files_of(judge, &files);
        assert!(!of_it.is_empty(), "{} saw nothing", judge.name);
        match judge.ask(&of_it) {
            Ok(found) => {
                faults.extend(found.iter().map(|fault| format!("{}: {fault}", judge.name)));
            }
            Err(why) => skipped(&format!("{}, {} files: {why}", judge.name, of_it.len())),
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn every_kind_of_file_has_a_judge() {
    let files = everything();
    let kinds: BTreeSet<&str> = files.iter().map(File::end).collect();
    let judged = JUDGES.iter().flat_map(|judge| judge.ends.iter().copied());
    let known: BTreeSet<&str> = judged.chain(NO_JUDGE.iter().map(|(end, _)| *end)).collect();
    assert_eq!(kinds, known, "what is written, and what has a judge");
    for (name, start, _) in SPARED {
        assert!(JUDGES.iter().any(|judge| judge.name == *name), "{name} is no judge");
        assert!(
            files.iter().any(|file| file.name.starts_with(start)),
            "nothing begins with {start}"
        );
    }
}

/// A file with a fault: one that the judge is spared, or half of the longest one.
fn faulty(judge: &Judge, end: &str, files: &[File], scratch: &Path) -> File {
    let of_end = || files.iter().filter(|file| file.end() == end);
    if let Some(spared) = of_end().find(|file| spares(judge, file)) {
        return spared.clone();
    }
    let bytes = of_end().map(File::bytes).max_by_key(Vec::len).expect("a file");
    let name = format!("half.{end}");
    let path = scratch.join(&name);
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    std::fs::write(&path, &bytes[..bytes.len() / 2]).expect("a written file");
    File { name, path }
}

#[test]
fn half_a_file_pleases_no_judge() {
    let files = everything();
    let scratch = folder();
    let mut pleased = Vec::new();
    for (judge, end) in
        JUDGES.iter().flat_map(|judge| judge.ends.iter().map(move |end| (judge, end)))
    {
        let file = faulty(judge, end, &files, scratch.path());
        match judge.ask(&[&file]) {
            Ok(found) if found.is_empty() => pleased.push(format!("{}, {end}", judge.name)),
            Ok(_) => {}
            Err(why) => skipped(&format!("{}: {why}", judge.name)),
        }
    }
    assert!(pleased.is_empty(), "they find no fault: {pleased:?}");
}
