//! Reading as a whole: what a sound estate becomes, and what no file can do.

use std::{fs, io::Write as _, path::PathBuf};

use geo::Winding;
use jiff::civil::date;
use proptest::prelude::*;
use tempfile::TempDir;

use super::*;
use crate::{
    block::{North, RowAnchor, RowSet, RowsTo, ShortestRow, VineOne, VinePattern, VineType},
    counts::{Shoots, Status},
    units::{Degrees, Metres},
};

struct Estate {
    folder: TempDir,
    request: Request,
}

impl Estate {
    fn of(blocks: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let request = Request::default();
        let mut estate = Self { folder, request };
        estate.request.blocks = estate.file("estate.geojson", blocks.as_bytes());
        estate
    }

    fn file(&self, name: &str, bytes: &[u8]) -> PathBuf {
        let path = self.folder.path().join(name);
        let file = fs::OpenOptions::new().write(true).create_new(true).open(&path);
        file.unwrap().write_all(bytes).unwrap();
        path
    }

    fn with_counts(mut self, table: &str) -> Self {
        let path = self.file("counts.csv", table.as_bytes());
        self.request.counts.push(path);
        self
    }

    #[track_caller]
    fn read(&self) -> (Inputs, Findings) {
        Inputs::read(&self.request).unwrap_or_else(|error| panic!("{error}"))
    }

    #[track_caller]
    fn fails(&self) -> String {
        Inputs::read(&self.request).expect_err("a fault").to_string()
    }
}

const CORNERS: &str =
    "[-120.001,44.0],[-120.0,44.0],[-120.0,44.001],[-120.001,44.001],[-120.001,44.0]";

fn square(properties: &str) -> String {
    feature(properties, "Polygon", &format!("[[{CORNERS}]]"))
}

fn feature(properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        "{{\"type\":\"Feature\",\"properties\":{properties},\
         \"geometry\":{{\"type\":\"{kind}\",\"coordinates\":{coordinates}}}}}"
    )
}

fn collection(features: &[String]) -> String {
    format!("{{\"type\":\"FeatureCollection\",\"features\":[{}]}}", features.join(","))
}

const ALL_KEYS: &str = r#"{
  "name": "North", "standing": true, "row_bearing": "N14.5E", "north": "magnetic",
  "date": "2026-05-01", "row_spacing": "9 ft", "vine_spacing": 1.5, "headland": "30 ft",
  "anchor_gap": "2 m", "side_margin": 3, "row_anchor": "most-vines", "vine_pattern": "staggered",
  "end_gap": "50cm", "vines_per_panel": 4, "first_panel_vines": 3, "shortest_row": "5 vines",
  "shortest_gap": "4 m", "elevation": 120, "ground_spacing": true, "rows_to": "left", "first_row": 7,
  "vine_1": "serpentine", "outline_source": "walked", "outline_accuracy": "2 cm",
  "cultivar": "Pinot noir", "type": "vinifera", "training": "cane",
  "curtains": 2, "planted": 2021, "target": "3-5 per ft",
  "plantings": [{"rows": "odd", "cultivar": "Rondo", "type": "hybrid"}],
  "missing": ["R007V003", "r8v1"]
}"#;

#[test]
fn every_key_of_a_block_is_read() {
    let (inputs, findings) = Estate::of(&square(ALL_KEYS)).read();
    assert!(findings.is_empty(), "{findings:?}");
    let keys = &inputs.blocks[0].keys;
    assert_eq!(keys.standing, Some(true));
    assert_eq!((keys.row_bearing, keys.north), (Some(Degrees::new(14.5)), Some(North::Magnetic)));
    assert_eq!(keys.date, Some(date(2026, 5, 1)));
    assert_eq!(keys.row_spacing, Some(Metres::from_feet(9.0)));
    assert_eq!(keys.vine_spacing, Some(Metres::new(1.5)));
    assert_eq!(keys.headland, Some(Metres::from_feet(30.0)));
    assert_eq!(
        (keys.anchor_gap, keys.side_margin),
        (Some(Metres::new(2.0)), Some(Metres::new(3.0)))
    );
    assert_eq!(keys.row_anchor, Some(RowAnchor::MostVines));
    assert_eq!(keys.vine_pattern, Some(VinePattern::Staggered));
    assert_eq!((keys.end_gap, keys.shortest_gap), (Some(Metres::new(0.5)), Some(Metres::new(4.0))));
    assert_eq!((keys.vines_per_panel, keys.first_panel_vines), (Some(4), Some(3)));
    assert_eq!(keys.shortest_row, Some(ShortestRow::Vines(5)));
    assert_eq!(keys.ground_spacing, Some(true));
    assert_eq!((keys.elevation, keys.first_row), (Some(Metres::new(120.0)), Some(7)));
    assert_eq!((keys.rows_to, keys.vine_1), (Some(RowsTo::Left), Some(VineOne::Serpentine)));
    let origin = (keys.outline_origin.source.as_deref(), keys.outline_origin.accuracy);
    assert_eq!(origin, (Some("walked"), Some(Metres::new(0.02))));
    let planting = &keys.planting;
    assert_eq!(planting.cultivar.as_deref(), Some("Pinot noir"));
    assert_eq!((planting.vine_type, planting.curtains), (Some(VineType::Vinifera), Some(2)));
    assert_eq!((planting.training.as_deref(), planting.planted), (Some("cane"), Some(2021)));
    assert!(planting.target.is_some_and(|t| (t.high().per_foot() - 5.0).abs() < 1e-12));
    assert_eq!(keys.plantings[0].rows, RowSet::Odd);
    assert_eq!(keys.plantings[0].planting.cultivar.as_deref(), Some("Rondo"));
    assert_eq!(keys.missing, ["R007V003", "r8v1"]);
}

#[test]
fn the_table_of_keys_is_what_the_block_file_takes() {
    let written: serde_json::Map<String, serde_json::Value> =
        serde_json::from_str(ALL_KEYS).unwrap();
    let names: Vec<&str> = KEYS.iter().map(|key| key.name).collect();
    let taken: Vec<&str> = written.keys().map(String::as_str).filter(|k| *k != "name").collect();
    assert_eq!(names, taken, "the test above must cover every key, in order");
    assert!(KEYS.iter().all(|key| !key.help.is_empty() && !key.help.contains('\n')));
}

#[test]
fn the_command_line_comes_through_the_same_door_and_overrules() {
    let mut overriding = BlockKeys::default();
    key_from_text("row_spacing", "8 ft", &mut overriding).unwrap();
    key_from_text("missing", "R001V002,R003V004", &mut overriding).unwrap();
    key_from_text("plantings", r#"[{"rows":"1-3","target":"10-16 per m"}]"#, &mut overriding)
        .unwrap();
    let unknown = key_from_text("row-spacing", "8 ft", &mut overriding).unwrap_err();
    assert!(unknown.to_string().contains("did you mean `row_spacing`"), "{unknown}");
    assert!(key_from_text("row_spacing", "8 furlongs", &mut overriding).is_err());

    let mut estate = Estate::of(&square(ALL_KEYS));
    estate.request.overriding = overriding;
    let keys = &estate.read().0.blocks[0].keys;
    assert_eq!(keys.row_spacing, Some(Metres::from_feet(8.0)));
    assert_eq!(keys.vine_spacing, Some(Metres::new(1.5)), "what is not overruled stays");
    assert_eq!(keys.missing, ["R001V002", "R003V004"]);
    assert_eq!(keys.plantings[0].rows, RowSet::Listed([1, 2, 3].into()));
}

fn whole_estate() -> String {
    let inner =
        "[[[-120.0008,44.0002],[-120.0006,44.0002],[-120.0006,44.0004],[-120.0008,44.0002]]]";
    let east = CORNERS.replace("-120.0,", "-119.998,").replace("-120.001,", "-119.999,");
    collection(&[
        square(r#"{"role":"block","name":"West"}"#),
        feature(r#"{"role":"block","name":"East"}"#, "Polygon", &format!("[[{east}]]")),
        feature(
            r#"{"role":"keep-out","name":"pond","clearance":"6 ft","turning":true}"#,
            "Polygon",
            inner,
        ),
        feature(r#"{"role":"keep-out","block":"East"}"#, "Polygon", inner),
        feature(
            r#"{"role":"row-line","row":3,"vines":40,"end_gap":0.5}"#,
            "LineString",
            "[[-119.9985,44.0001],[-119.9985,44.0009]]",
        ),
        feature(
            r#"{"role":"row-line"}"#,
            "LineString",
            "[[-120.0005,44.0001],[-120.0005,44.0009]]",
        ),
        feature(r#"{"role":"zone","name":"bottom"}"#, "Polygon", inner),
        feature(r#"{"role":"control","name":"P1","order":1}"#, "Point", "[-120.0015,44.0]"),
    ])
}

#[test]
fn things_go_to_the_block_they_name_or_lie_on() {
    let (inputs, findings) = Estate::of(&whole_estate()).read();
    assert!(findings.is_empty(), "{findings:?}");
    let [west, east] = inputs.blocks.as_slice() else { panic!("two blocks") };
    assert_eq!((west.name.as_str(), east.name.as_str()), ("West", "East"));
    let pond = &west.keep_outs[0];
    assert_eq!((pond.name.as_deref(), pond.turning), (Some("pond"), true));
    assert_eq!(pond.clearance, Some(Metres::from_feet(6.0)));
    assert_eq!((west.keep_outs.len(), east.keep_outs.len()), (1, 1));
    assert_eq!(east.keep_outs[0].clearance, None);
    assert_eq!((west.row_lines[0].row, west.row_lines.len()), (None, 1));
    let line = &east.row_lines[0];
    assert_eq!((line.row, line.vines, line.end_gap), (Some(3), Some(40), Some(Metres::new(0.5))));
    assert_eq!((west.zones[0].name.as_str(), east.zones.len()), ("bottom", 0));
    // A survey point beside the blocks serves all of them.
    assert_eq!((west.controls[0].order, east.controls.len()), (Some(1), 1));
}

#[test]
fn a_lone_block_takes_its_name_from_itself_its_id_or_its_file() {
    let name = |text: &str| Estate::of(text).read().0.blocks[0].name.as_str().to_owned();
    let plain = square("{}");
    assert_eq!(name(&plain), "estate");
    assert_eq!(name(&plain.replacen('{', r#"{"id":"A7","#, 1)), "A7");
    assert_eq!(name(&square(r#"{"name":" Hill "}"#)), "Hill");
    // RFC 8259 §6: numbers beyond 2^53 do not pass through doubles; an id must.
    let long = plain.replacen('{', r#"{"id":12345678901234567890123,"#, 1);
    assert_eq!(name(&long), "12345678901234567890123");
}

#[test]
fn outlines_leave_closed_and_counter_clockwise() {
    let turned = "[[[-120.001,44.0],[-120.001,44.001],[-120.0,44.001],[-120.0,44.0],[-120.001,44.0]],\
                  [[-120.0008,44.0002],[-120.0006,44.0002],[-120.0006,44.0004],[-120.0008,44.0002]],[]]";
    let (inputs, _) = Estate::of(&feature("{}", "Polygon", turned)).read();
    let polygon = &inputs.blocks[0].outline.0[0];
    assert!(polygon.exterior().is_ccw() && polygon.exterior().is_closed());
    assert_eq!(polygon.interiors().len(), 1);
    assert!(polygon.interiors()[0].is_cw());
}

#[test]
fn latitude_may_stand_first_when_said() {
    let corners = "[[[44.0,-120.001],[44.0,-120.0],[44.001,-120.0],[44.0,-120.001]]]";
    let mut estate = Estate::of(&feature("{}", "Polygon", corners));
    assert!(estate.fails().contains("--swap-axes"));
    estate.request.swap_axes = true;
    let corner = estate.read().0.blocks[0].outline.0[0].exterior().0[0];
    assert!((corner.x + 120.001).abs() < 1e-12, "{corner:?}");
}

const RICH: &str = "block,id,row,vine,panel,place,lon_deg,lat_deg,accuracy_m,date,visit,\
counted_length_ft,window,window_start_in,canopy_length_m,primary,secondary,base,suckers,\
shoot_length_in,pruning_weight_lb,buds,buds_dead,minutes,status,counted_by,note\n\
North,R012V034,12,34,9,2,-120.0005,44.0005,0.02,2026-05-20,before,\
3,left,6,1.8,14,3,2,4,5.5,2.5,40,6,1.25,renewal,Ann,\"thin, weak\"\n";

#[test]
fn every_column_of_a_count_is_read() {
    let (inputs, findings) = Estate::of(&square(r#"{"name":"North"}"#)).with_counts(RICH).read();
    assert!(findings.is_empty(), "{findings:?}");
    let count = &inputs.counts[0];
    let spot = &count.spot;
    assert_eq!((count.block.as_deref(), spot.id.as_deref()), (Some("North"), Some("R012V034")));
    assert_eq!(
        (spot.row, spot.vine, spot.panel, spot.place),
        (Some(12), Some(34), Some(9), Some(2))
    );
    let position = spot.position.unwrap();
    assert!((position.at.lon() + 120.0005).abs() < 1e-12);
    assert_eq!(position.accuracy, Metres::new(0.02));
    assert_eq!((count.date, count.visit.as_deref()), (Some(date(2026, 5, 20)), Some("before")));
    assert_eq!(count.shoots, Some(Shoots { all: 19, secondary: Some(3), base: Some(2) }));
    assert_eq!((count.suckers, count.buds, count.buds_dead), (Some(4), Some(40), Some(6)));
    assert_eq!((count.minutes, count.status), (Some(1.25), Some(Status::Renewal)));
    assert_eq!(
        (count.counted_by.as_deref(), count.note.as_deref()),
        (Some("Ann"), Some("thin, weak"))
    );
    assert_eq!(count.window.as_deref(), Some("left"));
    assert_eq!(count.canopy_length, Some(Metres::new(1.8)));
    // The inch is 25.4 mm, the foot 0.3048 m, the pound 0.453 592 37 kg: exact by the
    // international yard and pound agreement of 1959.
    let near = |found: Option<f64>, expected: f64| (found.unwrap() - expected).abs() < 1e-12;
    assert!(near(count.counted_length.map(Metres::metres), 0.9144));
    assert!(near(count.window_start.map(Metres::metres), 0.1524));
    assert!(near(count.shoot_length.map(Metres::metres), 0.1397));
    assert!(near(count.pruning_weight_kg, 1.133_980_925));
    assert_eq!((count.place.file.as_deref(), count.place.line), (Some("counts.csv"), Some(2)));
    assert_eq!(count.raw.len(), 27);
    assert_eq!(count.raw[26], ("note".to_owned(), "thin, weak".to_owned()));
}

#[test]
fn one_length_is_the_same_in_every_unit() {
    for quantity in ["counted_length", "window_start", "canopy_length", "shoot_length"] {
        for (suffix, cell) in
            [("m", "0.9144"), ("cm", "91.44"), ("mm", "914.4"), ("ft", "3"), ("in", "36")]
        {
            let table = format!("row,vine,shoots,{quantity}_{suffix}\n1,1,9,{cell}\n");
            let (inputs, _) = Estate::of(&square("{}")).with_counts(&table).read();
            let count = &inputs.counts[0];
            let lengths =
                [count.counted_length, count.window_start, count.canopy_length, count.shoot_length];
            let found: Vec<f64> = lengths.into_iter().flatten().map(Metres::metres).collect();
            assert!(found.len() == 1 && (found[0] - 0.9144).abs() < 1e-12, "{suffix}: {found:?}");
        }
    }
    for (suffix, cell) in [("kg", "0.453592370"), ("g", "453.59237"), ("lb", "1"), ("oz", "16")] {
        let table = format!("row,vine,pruning_weight_{suffix}\n1,1,{cell}\n");
        let (inputs, _) = Estate::of(&square("{}")).with_counts(&table).read();
        let found = inputs.counts[0].pruning_weight_kg.unwrap();
        assert!((found - 0.453_592_37).abs() < 1e-12, "{suffix}: {found} kg");
    }
    for (suffix, cell) in [("kg", "0.453592370"), ("lb", "1")] {
        let table = format!("row,vine,yield_{suffix}\n1,1,{cell}\n");
        let (inputs, _) = Estate::of(&square("{}")).with_counts(&table).read();
        let found = inputs.counts[0].yield_kg.unwrap();
        assert!((found - 0.453_592_37).abs() < 1e-12, "{suffix}: {found} kg");
    }
}

#[test]
fn counts_as_points_are_the_same_records() {
    let mut estate = Estate::of(&square("{}"));
    let points = collection(&[
        feature(r#"{"row":1,"shoots":12,"status":"young"}"#, "Point", "[-120.0005,44.0005]"),
        feature(r#"{"row":2,"vine":null,"shoots":"9"}"#, "Point", "[-120.0004,44.0005]"),
    ]);
    estate.request.counts.push(estate.file("points.geojson", points.as_bytes()));
    let (inputs, findings) = estate.read();
    assert!(findings.is_empty(), "{findings:?}");
    assert_eq!(inputs.counts.len(), 2);
    let [first, second] = inputs.counts.as_slice() else { panic!("two") };
    assert_eq!((first.spot.row, first.status), (Some(1), Some(Status::Young)));
    assert_eq!(first.spot.position.map(|p| (p.at.lon(), p.at.lat())), Some((-120.0005, 44.0005)));
    assert_eq!(second.shoots.map(|shoots| shoots.all), Some(9));
    assert_eq!(second.spot.vine, None);
}

#[test]
fn a_record_of_a_total_is_kept_when_it_names_a_vine() {
    let table = "block,row,vine,shoots\nTotal,1,1,20\nTotal,,,20\n";
    let (inputs, _) = Estate::of(&square(r#"{"name":"Total"}"#)).with_counts(table).read();
    assert_eq!(inputs.counts.len(), 1);
}

#[test]
fn rows_and_vines_go_to_their_blocks() {
    let mut estate = Estate::of(&whole_estate());
    let rows = "block,row,vines,first_panel_vines,cultivar,lon_deg,lat_deg\n\
                East,1,40,3,Rondo,-119.9985,44.0001\nWest,1,38,,,,\nEast,2,41,,,,\n";
    estate.request.rows = Some(estate.file("rows.csv", rows.as_bytes()));
    let vines = collection(&[
        feature(r#"{"id":"R001V002"}"#, "Point", "[-120.0005,44.0005]"),
        feature(r#"{"row":4,"vine":5,"block":"East"}"#, "Point", "[-120.0006,44.0005]"),
    ]);
    estate.request.vines = Some(estate.file("vines.geojson", vines.as_bytes()));
    let (inputs, _) = estate.read();
    let [west, east] = inputs.blocks.as_slice() else { panic!("two blocks") };
    assert_eq!((west.row_list.len(), east.row_list.len()), (1, 2));
    let first = &east.row_list[0];
    assert_eq!((first.row, first.vines, first.first_panel_vines), (1, 40, Some(3)));
    assert_eq!(
        (first.cultivar.as_deref(), first.start.map(LonLat::lat)),
        (Some("Rondo"), Some(44.0001))
    );
    assert_eq!(first.place.line, Some(2));
    assert_eq!((west.vines[0].row, west.vines[0].vine), (1, 2));
    assert_eq!((east.vines[0].row, east.vines[0].vine), (4, 5));
}

#[test]
fn a_named_character_set_is_read() {
    let mut estate = Estate::of(&square("{}"));
    estate.request.counts.push(estate.file("c.csv", b"row,vine,shoots,note\n1,1,2,Clo\xe9\n"));
    estate.request.encoding = Some("windows-1252".to_owned());
    assert_eq!(estate.read().0.counts[0].note.as_deref(), Some("Cloé"));
    estate.request.encoding = Some("klingon".to_owned());
    assert!(estate.fails().contains("klingon"));
}

#[test]
fn files_are_known_by_their_own_name_and_hash() {
    let mut estate = Estate::of(&square("{}"));
    let table = b"row,vine,shoots\n1,1,2\n";
    let first = estate.file("c.csv", table);
    fs::create_dir(estate.folder.path().join("old")).unwrap();
    estate.request.counts = vec![first, estate.file("old/c.csv", table)];
    let (inputs, _) = estate.read();
    let names: Vec<&str> = inputs.files.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["estate.geojson", "c.csv", "c.csv (2)"]);
    // `printf 'row,vine,shoots\n1,1,2\n' | sha256sum`, coreutils 9.1.
    let expected = "d6debc35c01bb23c4674bc34c7bf6277f584777546a42cb0c66aaccdc3aa86a4";
    assert_eq!(inputs.files[1].1, expected);
    assert_eq!(inputs.counts[1].place.file.as_deref(), Some("c.csv (2)"));
}

#[test]
fn doubts_stop_a_strict_reading() {
    let open =
        feature("{}", "Polygon", &format!("[[{}]]", CORNERS.trim_end_matches(",[-120.001,44.0]")));
    let mut estate = Estate::of(&open);
    assert!(!estate.read().1.any_fault());
    estate.request.strict = true;
    assert!(estate.fails().contains("not closed"));
}

#[test]
fn unusual_sizes_pass_when_allowed() {
    let large = "[[[-121.0,44.0],[-120.0,44.0],[-120.0,45.0],[-121.0,45.0],[-121.0,44.0]]]";
    let mut estate = Estate::of(&feature("{}", "Polygon", large));
    estate.request.allow_unusual = true;
    assert_eq!(estate.read().0.blocks.len(), 1);
}

/// A text with some bytes changed, cut out or doubled.
fn damaged(text: &str, damage: &[(usize, u8, u8)]) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for (at, kind, byte) in damage {
        let at = at % bytes.len().max(1);
        match kind % 4 {
            0 if at < bytes.len() => bytes[at] = *byte,
            1 => bytes.truncate(at),
            2 => bytes.insert(at, *byte),
            _ => {
                let tail = bytes[at..(at + usize::from(*byte)).min(bytes.len())].to_vec();
                bytes.splice(at..at, tail);
            }
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Whatever stands in a file, reading it ends with inputs or with an error.
    #[test]
    fn no_file_makes_reading_panic(
        damage in prop::collection::vec((any::<usize>(), any::<u8>(), any::<u8>()), 1..6),
        which in 0..4_usize,
    ) {
        let mut estate = Estate::of("");
        let texts = [whole_estate(), square(ALL_KEYS), RICH.to_owned(), "row;vines\n1;20\n2;30\n".to_owned()];
        let file = estate.file("damaged", &damaged(&texts[which], &damage));
        let sound = estate.file("sound.geojson", square(ALL_KEYS).as_bytes());
        estate.request.blocks = if which < 2 { file.clone() } else { sound };
        match which {
            2 => estate.request.counts.push(file),
            3 => estate.request.rows = Some(file),
            _ => {}
        }
        if let Err(error) = Inputs::read(&estate.request) {
            prop_assert!(!error.to_string().is_empty());
        }
    }

    /// Texts of every kind through every key.
    #[test]
    fn no_text_makes_a_key_panic(text in "\\PC{0,12}|[0-9NSEW°'\". ,ftcmin/-]{0,12}") {
        for key in KEYS {
            let _ = key_from_text(key.name, &text, &mut BlockKeys::default());
        }
    }
}
