//! Every file of the demo, as programs of others and plain arithmetic see it.

use std::{
    collections::BTreeMap,
    fs,
    io::{Cursor, Read},
    path::{Path, PathBuf},
};

use serde_json::Value;
use sha2::{Digest, Sha256};

use crate::support::{catchwire, demo, folder, json, properties, records};

/// Folders of the demo that a command wrote, with their records.
fn written_by(command: &str) -> Vec<(PathBuf, Value)> {
    let records = records(demo()).into_iter();
    let found: Vec<_> = records.filter(|(_, record)| record["command"] == command).collect();
    assert!(!found.is_empty(), "the demo runs {command}");
    found
}

fn geojson_files() -> Vec<PathBuf> {
    let mut found = Vec::new();
    for (folder, _) in [written_by("layout"), written_by("thin")].concat() {
        for entry in fs::read_dir(folder).expect("a folder") {
            let path = entry.expect("an entry").path();
            found.extend(path.extension().is_some_and(|end| end == "geojson").then_some(path));
        }
    }
    assert!(found.len() >= 8, "{found:?}");
    found
}

fn number(feature: &Value, name: &str) -> f64 {
    feature[name].as_f64().unwrap_or(0.0)
}

/// Twice the area of a ring from its first corner, counter-clockwise positive.
fn turned(ring: &[Value]) -> f64 {
    let at = |corner: &Value, axis: usize| corner[axis].as_f64().expect("a coordinate");
    let (x0, y0) = (at(&ring[0], 0), at(&ring[0], 1));
    let cross = |a: &Value, b: &Value| {
        (at(a, 0) - x0) * (at(b, 1) - y0) - (at(b, 0) - x0) * (at(a, 1) - y0)
    };
    ring.windows(2).map(|pair| cross(&pair[0], &pair[1])).sum()
}

#[test]
fn rings_follow_the_right_hand_rule_and_are_closed() {
    let mut rings = 0;
    for path in geojson_files() {
        for feature in json(&path)["features"].as_array().expect("features") {
            let geometry = &feature["geometry"];
            let parts = match geometry["type"].as_str() {
                Some("Polygon") => vec![geometry["coordinates"].clone()],
                Some("MultiPolygon") => geometry["coordinates"].as_array().unwrap().clone(),
                _ => continue,
            };
            for part in &parts {
                for (index, ring) in part.as_array().unwrap().iter().enumerate() {
                    let ring = ring.as_array().unwrap();
                    assert!(ring.len() >= 4 && ring.first() == ring.last(), "{}", path.display());
                    // RFC 7946 3.1.6: the border counter-clockwise, holes clockwise.
                    assert_eq!(turned(ring) > 0.0, index == 0, "{}", path.display());
                    rings += 1;
                }
            }
        }
    }
    assert!(rings > 100, "{rings} rings seen");
}

#[test]
fn the_map_for_globes_begins_with_its_document() {
    let maps = [("thin", "map.kmz"), ("layout", "block.kmz")];
    let maps = maps.iter().flat_map(|(command, map)| {
        written_by(command).into_iter().map(move |(folder, _)| folder.join(map))
    });
    for map in maps {
        let bytes = fs::read(map).expect("a map");
        let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).expect("an archive");
        let mut text = String::new();
        let mut document = archive.by_index(0).expect("an entry");
        assert_eq!(document.name().expect("a name"), "doc.kml");
        document.read_to_string(&mut text).expect("text");
        assert!(text.contains("<styleUrl>#") && text.contains("<Polygon>"));
    }
}

#[test]
fn sums_agree_as_they_are_written() {
    for (folder, record) in written_by("thin") {
        let vines = properties(&folder.join("vines.geojson"));
        let zones = properties(&folder.join("zones.geojson"));
        let mut of_zone: BTreeMap<String, [f64; 3]> = BTreeMap::new();
        for vine in vines.iter().filter(|vine| vine["status"] != "missing") {
            let zone = vine["zone"].as_str().expect("every present vine has a zone").to_owned();
            let sums = of_zone.entry(zone).or_default();
            sums[0] += 1.0;
            sums[1] += number(vine, "canopy_m");
            sums[2] += number(vine, "remove");
        }
        let mut totals = [0.0; 4];
        for zone in &zones {
            let [count, canopy, remove] = of_zone[zone["zone"].as_str().expect("an id")];
            assert!((number(zone, "vines") - count).abs() < 1e-9);
            assert!((number(zone, "canopy_m") - canopy).abs() < 1e-6, "{}", zone["zone"]);
            assert!((number(zone, "remove") - remove).abs() < 1e-6, "{}", zone["zone"]);
            let names = ["vines", "canopy_m", "remove", "hours"];
            names.iter().zip(&mut totals).for_each(|(name, sum)| *sum += number(zone, name));
        }
        for (name, sum) in ["vines", "canopy_m", "remove", "hours"].iter().zip(totals) {
            assert!((number(&record["totals"], name) - sum).abs() < 1e-5, "{name}");
        }
    }
}

#[test]
fn missing_vines_have_no_numbers() {
    let mut missing = 0;
    for (folder, _) in written_by("thin") {
        for vine in properties(&folder.join("vines.geojson")) {
            if vine["status"] == "missing" {
                missing += 1;
                for name in ["shoots_per_m", "surface_per_m", "canopy_m", "remove", "zone"] {
                    assert!(vine[name].is_null(), "{}: {name}", vine["id"]);
                }
            }
        }
    }
    assert!(missing > 0, "the estate has missing vines");
}

#[test]
fn the_record_lists_every_other_file_with_its_hash() {
    for (folder, record) in [written_by("layout"), written_by("thin")].concat() {
        let mut listed: Vec<String> = Vec::new();
        for file in record["files"].as_array().expect("files") {
            let name = file["file"].as_str().expect("a name");
            let bytes = fs::read(folder.join(name)).expect("the file is there");
            let hash = format!("{:x}", Sha256::digest(bytes));
            assert_eq!(file["sha256"], hash.as_str(), "{name}");
            listed.push(name.to_owned());
        }
        let entries = fs::read_dir(&folder).expect("a folder");
        let names = entries.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let mut there: Vec<String> = names.filter(|name| name != "run.json").collect();
        there.sort();
        listed.sort();
        assert_eq!(listed, there);
    }
}

#[test]
fn the_zones_as_a_table_are_the_zones_as_a_map() {
    for (folder, _) in written_by("thin") {
        let zones = properties(&folder.join("zones.geojson"));
        let mut table = csv::Reader::from_path(folder.join("zones.csv")).expect("a table");
        let heads: Vec<String> = table.headers().unwrap().iter().map(str::to_owned).collect();
        let rows: Vec<csv::StringRecord> = table.records().map(|row| row.unwrap()).collect();
        assert_eq!(rows.len(), zones.len());
        for (row, zone) in rows.iter().zip(&zones) {
            for (head, cell) in heads.iter().zip(row).filter(|(head, _)| !head.contains("_per_ft"))
            {
                let known = &zone[head.as_str()];
                let known = known.as_str().map_or_else(|| known.to_string(), str::to_owned);
                assert_eq!(cell, if known == "null" { "" } else { &known }, "{head}");
            }
        }
    }
}

/// Vines by id, with their places.
fn vines_by_id(path: &Path) -> BTreeMap<String, [f64; 2]> {
    let features = json(path)["features"].as_array().expect("features").clone();
    let vine = |feature: &Value| {
        let at = &feature["geometry"]["coordinates"];
        let id = feature["properties"]["id"].as_str().expect("an id").to_owned();
        (id, [0, 1].map(|axis| at[axis].as_f64().expect("a coordinate")))
    };
    features.iter().map(vine).collect()
}

#[test]
fn a_standing_block_read_back_has_the_same_vines_at_the_same_places() {
    for sample in ["first-block", "notched", "keep-out", "two-plantings", "surveyed-rows"] {
        let block = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join(format!("sample-geometries/{sample}.geojson"));
        let scratch = folder();
        let layout = |block: &Path, out: &str| {
            let out = scratch.path().join(out);
            let arguments =
                ["layout".as_ref(), block.as_os_str(), "--out".as_ref(), out.as_os_str()];
            catchwire(arguments).done();
            records(&out).remove(0).0
        };
        let first = layout(&block, "first");
        let again = layout(&first.join("block-standing.geojson"), "again");
        let (planned, stand) =
            (vines_by_id(&first.join("vines.geojson")), vines_by_id(&again.join("vines.geojson")));
        assert!(planned.keys().eq(stand.keys()), "{sample}");
        for (id, at) in &planned {
            let off = [0, 1].map(|axis| (at[axis] - stand[id][axis]).abs());
            // 2e-8 of a degree is 2 mm.
            assert!(off.iter().all(|&off| off < 2e-8), "{sample}, {id}: {off:?}");
        }
    }
}

#[test]
fn a_block_set_along_the_ground_reads_back_with_the_same_ground() {
    let estate = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/estate");
    let dem = estate.join("elevation.tif");
    let scratch = folder();
    let layout = |block: &Path, out: &str, more: &[&str]| {
        let out = scratch.path().join(out);
        let mut arguments = vec!["layout".as_ref(), block.as_os_str()];
        arguments.extend(["--out".as_ref(), out.as_os_str()]);
        arguments.extend(more.iter().map(std::ffi::OsStr::new));
        let told = catchwire(arguments).done().stderr;
        (vines_by_id(&out.join("new-ground/vines.geojson")), told)
    };
    let dem = ["--dem", dem.to_str().expect("a path")];
    let along = ["--row-anchor", "edge", "--ground-spacing", "true"];
    let block = estate.join("new-ground.geojson");
    let (planted, _) = layout(&block, "first", &[&dem[..], &along[..]].concat());
    let standing = scratch.path().join("first/new-ground/block-standing.geojson");
    let (same, _) = layout(&standing, "same", &dem);
    let (level, told) = layout(&standing, "level", &[]);
    assert!(planted.keys().eq(same.keys()) && planted.keys().eq(level.keys()));
    let off = |other: &BTreeMap<String, [f64; 2]>| {
        let apart = planted.iter().map(|(id, at)| {
            let there = other[id];
            // Metres in a degree at 56° N, near enough for a distance of decimetres.
            ((at[0] - there[0]) * 62_400.0).hypot((at[1] - there[1]) * 111_400.0)
        });
        apart.fold(0.0, f64::max)
    };
    assert!(off(&same) < 1e-3, "{} m", off(&same));
    assert!(told.contains("were set along the ground, and are set level here"), "{told}");
    assert!(off(&level) > 2e-3 && off(&level) < 0.6, "{} m", off(&level));
}
