//! `bundle`: one zip for a consultant.

use std::{
    collections::BTreeMap,
    io::{Cursor, Read as _},
    path::{Path, PathBuf},
};

use serde_json::Value;
use sha2::{Digest as _, Sha256};
use zip::ZipArchive;

use crate::support::{catchwire, demo, folder, json};

/// The files that the tests look into, and some that must not travel when the place is hidden.
const WRITTEN: &str = "vines.geojson,zones.geojson,zones.csv,thinning.json,map.kmz,block.gpkg,\
                       shoot-density.tif,count-next.csv,counts-joined.csv,unjoined.csv,run.json,\
                       rows.fgb,map.pdf,how-sure.pdf,vigor.png,vigor-overlay.png,\
                       vigor-overlay.png.aux.xml,vigor-overlay.pgw,variogram.png,map.html";

fn estate(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/estate").join(name)
}

/// The files in a bundle of the invented estate.
fn bundled(more: &[&str]) -> BTreeMap<String, Vec<u8>> {
    let out = folder();
    let (blocks, counts) = (estate("blocks.geojson"), estate("counts.csv"));
    let mut arguments = vec!["bundle".as_ref(), blocks.as_os_str()];
    arguments.extend(["--counts".as_ref(), counts.as_os_str(), "--out".as_ref()]);
    arguments.extend([out.path().as_os_str(), "--write".as_ref(), WRITTEN.as_ref()]);
    arguments.extend(more.iter().map(|word| std::ffi::OsStr::new(*word)));
    catchwire(arguments).done();
    let bytes = std::fs::read(out.path().join("bundle.zip")).expect("a bundle");
    let mut archive = ZipArchive::new(Cursor::new(bytes)).expect("a zip");
    let mut files = BTreeMap::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).expect("an entry");
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).expect("whole");
        files.insert(file.name().expect("a name").into_owned(), bytes);
    }
    files
}

fn hex(bytes: &[u8]) -> String {
    let bytes: Vec<String> =
        Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect();
    bytes.concat()
}

#[test]
fn a_bundle_holds_what_thin_writes_with_a_sheet_and_its_sums() {
    let files = bundled(&[]);
    let readme = String::from_utf8(files["README.txt"].clone()).expect("UTF-8");
    for (path, bytes) in files.iter().filter(|(path, _)| *path != "README.txt") {
        assert!(readme.contains(&format!("{}  {path}\n", hex(bytes))), "{path}");
    }
    for words in ["EPSG:4326", "EPSG:32630", "not a survey", "look at the", "catchwire 0."] {
        assert!(readme.to_lowercase().contains(&words.to_lowercase()), "{words}: {readme}");
    }
    assert_eq!(files.len(), 1 + 3 * 20);
    assert!(!readme.contains("hidden"), "{readme}");
    assert_eq!(files, bundled(&[]), "the same bytes every time");
}

fn places(vines: &[u8]) -> Vec<[f64; 2]> {
    let vines: Value = serde_json::from_slice(vines).expect("GeoJSON");
    let features = vines["features"].as_array().expect("features").iter();
    let place =
        |at: &Value| [0, 1].map(|axis| at["geometry"]["coordinates"][axis].as_f64().unwrap());
    features.map(place).collect()
}

/// Where the first block of the estate lies: longitude and latitude of its middle.
fn true_place() -> [f64; 2] {
    let frame = &json(&demo().join("3-thin/south-brae/run.json"))["frame"];
    ["origin_lon_deg", "origin_lat_deg"].map(|key| frame[key].as_f64().expect("degrees"))
}

/// How near to the true place is too near, degrees.
const NEAR_DEG: f64 = 0.01;

/// True when a text holds a number of many decimals near the true longitude.
fn says(text: &str, [lon, _]: [f64; 2]) -> bool {
    let words = text.split(|c: char| !(c.is_ascii_digit() || "-.".contains(c)));
    let precise = words.filter(|word| word.split('.').nth(1).is_some_and(|part| part.len() >= 6));
    precise.filter_map(|word| word.parse::<f64>().ok()).any(|found| (found - lon).abs() < NEAR_DEG)
}

/// True when some bytes hold a longitude and a latitude one after the other near the true place.
fn holds(bytes: &[u8], [lon, lat]: [f64; 2]) -> bool {
    let number = |at: usize| f64::from_le_bytes(bytes[at..at + 8].try_into().expect("eight"));
    let near = |at: usize, wanted: f64| (number(at) - wanted).abs() < NEAR_DEG;
    (0..bytes.len().saturating_sub(16)).any(|at| near(at, lon) && near(at + 8, lat))
}

#[test]
fn what_gives_a_place_away_is_found() {
    let bytes = std::fs::read(demo().join("3-thin/south-brae/block.gpkg")).expect("a package");
    let text = std::fs::read_to_string(demo().join("3-thin/south-brae/zones.geojson"));
    assert!(holds(&bytes, true_place()) && says(&text.expect("zones"), true_place()));
}

/// The document of a map for globe viewers.
fn document_of(archive: &[u8]) -> String {
    let mut archive = ZipArchive::new(Cursor::new(archive)).expect("an archive");
    let mut text = String::new();
    archive.by_name("doc.kml").expect("a document").read_to_string(&mut text).expect("UTF-8");
    text
}

#[test]
fn a_hidden_place_keeps_every_shape_and_is_in_no_file() {
    let files = bundled(&["--move-place"]);
    let true_place = true_place();
    let readme = String::from_utf8_lossy(&files["README.txt"]).into_owned();
    for (path, bytes) in &files {
        let text = String::from_utf8_lossy(bytes);
        assert!(!says(&text, true_place), "{path}: the true place, as text");
        assert!(!holds(bytes, true_place), "{path}: the true place, as numbers");
        let typed = ["counts-joined.csv", "unjoined.csv", "run.json"];
        assert!(!typed.iter().any(|name| path.ends_with(name)), "{path} repeats what was typed");
        // Six numbers: a world file holds no words, the side file and the picture beside it do.
        let says_so = match path.rsplit('.').next() {
            Some("kmz") => document_of(bytes).contains("(place moved)"),
            Some("pgw") => readme.contains(&format!("  {path}\n")),
            _ => text.contains("(place moved)"),
        };
        assert!(says_so, "{path} does not say that its place is moved");
    }
    for block in ["long-rigg", "south-brae", "tarn-field"] {
        let moved = places(&files[&format!("{block}/vines.geojson")]);
        let true_places = std::fs::read(demo().join("3-thin").join(block).join("vines.geojson"));
        let true_places = places(&true_places.expect("vines"));
        assert_eq!(moved.len(), true_places.len());
        let turn = -27.0 - true_place[0];
        for (moved, there) in moved.iter().zip(&true_places) {
            // All blocks by one angle: they lie to each other as they did.
            assert!((moved[0] - there[0] - turn).abs() < 2e-9, "{block} {moved:?} {there:?}");
            assert!((moved[1] - there[1]).abs() < 2e-9, "{block} {moved:?} {there:?}");
        }
    }
    assert!(String::from_utf8_lossy(&files["README.txt"]).contains("The place of these blocks is"));
}
