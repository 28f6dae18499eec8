//! Every key of a block: given as an option it does what it does in the file.

use std::path::Path;

use catchwire::{
    block::BlockKeys,
    frame::{Site, place_block},
    layout::{Layout, lay_out},
    read::{Inputs, KEYS, Request, key_from_text},
    settings::{Circumstances, Settings, doubtful_plantings, planting_rules, row_rules},
};

use crate::support::{catchwire, folder, put};

/// Every key, a value that is not its default, and another.
const VALUES: &[(&str, &str, &str)] = &[
    ("standing", "true", "false"),
    ("row_bearing", "N24.5E", "10"),
    ("north", "grid", "magnetic"),
    ("date", "2027-05-01", "2026-05-01"),
    ("row_spacing", "9 ft", "2.2 m"),
    ("vine_spacing", "5 ft 6 in", "1.1"),
    ("headland", "6 m", "3"),
    ("anchor_gap", "1.8", "2 m"),
    ("side_margin", "1 m", "3 ft"),
    ("row_anchor", "most-vines", "centre"),
    ("vine_pattern", "staggered", "square"),
    ("end_gap", "0.9", "0.4"),
    ("vines_per_panel", "6", "5"),
    ("first_panel_vines", "2", "3"),
    ("shortest_row", "20 vines", "30 m"),
    ("shortest_gap", "5 m", "3 m"),
    ("elevation", "900", "1200 m"),
    ("rows_to", "left", "right"),
    ("first_row", "7", "93"),
    ("vine_1", "serpentine", "end"),
    ("outline_source", "walked with a receiver", "drawn on a photograph"),
    ("outline_accuracy", "2 cm", "3 m"),
    ("cultivar", "Solaris", "Rondo"),
    ("type", "hybrid", "native"),
    ("training", "cordon, two wires", "cane"),
    ("curtains", "2", "1"),
    ("planted", "2019", "2020"),
    ("target", "10-16 per m", "3-5 per ft"),
    ("plantings", r#"[{"rows": "1-3,5", "cultivar": "Regent"}]"#, r#"[{"rows": "odd"}]"#),
    ("missing", "R001V002,R002V003", "R001V001"),
];

/// A block of 60 m by 100 m with keys as text.
fn block(folder: &Path, keys: &[(&str, &str)]) -> std::path::PathBuf {
    let mut properties = serde_json::json!({
        "name": "A", "row_bearing": 14, "row_spacing": 2.5, "vine_spacing": 1.2,
        "date": "2026-05-01",
    });
    for (key, text) in keys {
        properties[key] = serde_json::from_str(text).unwrap_or_else(|_| (*text).into());
    }
    let file = serde_json::json!({
        "type": "Feature", "properties": properties,
        "geometry": {"type": "Polygon", "coordinates": [[[-3.0, 60.0], [-2.9989, 60.0],
            [-2.9985, 60.0004], [-2.9989, 60.0009], [-3.0, 60.0009], [-3.0, 60.0]]]},
    });
    put(folder, "block.geojson", &file.to_string())
}

fn laid(keys: &[(&str, &str)], options: &[(&str, &str)]) -> (Site, Layout, String) {
    let folder = folder();
    let mut overriding = BlockKeys::default();
    for (key, text) in options {
        key_from_text(key, text, &mut overriding).unwrap();
    }
    let blocks = block(folder.path(), keys);
    let request = Request { blocks, overriding, ..Request::default() };
    let (inputs, _) = Inputs::read(&request).unwrap();
    let block = &inputs.blocks[0];
    let circumstances = Circumstances {
        defaults: Settings::default().layout(),
        standing: Some(false),
        allow_unusual: false,
        grid: Some("EPSG:32630".to_owned()),
    };
    let rules = row_rules(block, &circumstances).unwrap();
    let (site, _) = place_block(block, rules, planting_rules(block)).unwrap();
    let (layout, _) = lay_out(&site).unwrap();
    let numbers: Vec<u32> = layout.rows.iter().map(|row| row.number).collect();
    let doubts = doubtful_plantings(block, &numbers);
    let doubts: Vec<String> = doubts.iter().map(ToString::to_string).collect();
    (site, layout, doubts.join("\n"))
}

/// All that a key can change.
fn everything(laid: &(Site, Layout, String)) -> String {
    let (site, layout, doubts) = laid;
    let Site { rules, plantings, missing, outline_origin, .. } = site;
    let bearing = site.frame.bearing();
    format!(
        "{rules:?} {plantings:?} {missing:?} {outline_origin:?} {bearing:?} {layout:?} {doubts}"
    )
}

#[test]
fn every_key_as_an_option_does_what_it_does_in_the_file() {
    let listed: Vec<&str> = VALUES.iter().map(|value| value.0).collect();
    // Tape along the ground needs an elevation model: `outside/layout` holds it.
    let known = KEYS.iter().map(|key| key.name).filter(|name| *name != "ground_spacing");
    let known: Vec<&str> = known.collect();
    assert_eq!(listed, known, "every key once, in the order of the guide");
    for (key, value, other) in VALUES {
        // The date only matters beside a compass.
        let beside: &[(&str, &str)] = if *key == "date" { &[("north", "magnetic")] } else { &[] };
        let in_file = everything(&laid(&[beside, &[(key, value)]].concat(), &[]));
        let as_option = everything(&laid(beside, &[(key, value)]));
        assert_eq!(in_file, as_option, "{key}");
        let over = everything(&laid(&[beside, &[(key, other)]].concat(), &[(key, value)]));
        assert_eq!(in_file, over, "{key}: the option overrules the file");
        assert_ne!(in_file, everything(&laid(beside, &[])), "{key} changes something");
    }
}

#[test]
fn height_stretches_the_ground_and_rows_to_turns_the_numbers_round() {
    let hectares = |laid: &(Site, Layout, String)| laid.1.quantities.block_ha;
    let (low, high) = (laid(&[], &[]), laid(&[("elevation", "1000")], &[]));
    // 1 + h / R with the mean radius 6 371 008.8 m (IUGG).
    let scale = 1.0 + 1000.0 / 6_371_008.8;
    assert!((hectares(&high) / hectares(&low) - scale * scale).abs() < 1e-9);
    let east_of_last = |laid: &(Site, Layout, String)| {
        let lon = |row: usize| {
            let first = laid.1.rows[row].pieces.start;
            laid.0.frame.to_lon_lat(laid.1.vines[laid.1.pieces[first].vines.start].at).lon()
        };
        lon(laid.1.rows.len() - 1) - lon(0)
    };
    assert!(east_of_last(&low) > 0.0, "row numbers grow to the right of north-north-east");
    assert!(east_of_last(&laid(&[("rows_to", "left")], &[])) < 0.0);
}

#[test]
fn plantings_take_rows_as_written_and_the_first_that_names_a_row_holds() {
    let plantings = r#"[{"rows": "1-3,7", "cultivar": "Regent", "curtains": 2},
        {"rows": "odd", "cultivar": "Rondo"}, {"rows": "4-12/4", "cultivar": "Muscaris"}]"#;
    let (site, layout, doubts) = laid(&[("plantings", plantings), ("cultivar", "Solaris")], &[]);
    assert!(layout.rows.len() > 12);
    let grows = |row: u32| {
        let planting = &site.plantings.all()[site.plantings.of_row(row)];
        (planting.cultivar.as_deref().unwrap_or_default().to_owned(), planting.curtains)
    };
    let expected = [
        (1, "Regent", 2),
        (2, "Regent", 2),
        (4, "Muscaris", 1),
        (5, "Rondo", 1),
        (6, "Solaris", 1),
        (7, "Regent", 2),
        (8, "Muscaris", 1),
        (9, "Rondo", 1),
        (12, "Muscaris", 1),
    ];
    for (row, cultivar, curtains) in expected {
        assert_eq!(grows(row), (cultivar.to_owned(), curtains), "row {row}");
    }
    let said = "rows 1,3,7 are named by planting 1 (Regent) and by planting 2 (Rondo)";
    assert!(doubts.contains(said) && doubts.lines().count() == 1, "{doubts}");
}

#[test]
fn all_that_is_wrong_with_plantings_is_told_at_once() {
    let folder = folder();
    let wrong = r#"[{"rows": "5-3", "cultivr": "Regent"}, {"cultivar": "Rondo", "curtains": 9}]"#;
    let file = block(folder.path(), &[("plantings", wrong)]).display().to_string();
    let said = [
        "planting 1: no such key `cultivr`",
        "`5-3` names no rows",
        "planting 2: ",
        "`9` curtains",
        "`rows` is missing",
    ];
    catchwire(["check", &file]).refused(3, &said);
}
