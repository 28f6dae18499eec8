//! The block files of the invented estate, as a grower would write them.

use super::ground::{Board, Drawn, walked_ring};
use crate::units::Degrees;

/// The names of the blocks that stand.
pub(super) const SOUTH_BRAE: &str = "South Brae";
/// The notched block with the pond.
pub(super) const TARN_FIELD: &str = "Tarn Field";
/// The block with two cultivars in alternate rows.
pub(super) const LONG_RIGG: &str = "Long Rigg";

const SOUTH_BRAE_KEYS: &str = r#"
        "role": "block",
        "name": "South Brae",
        "standing": true,
        "row_bearing": 17.5,
        "row_spacing": 2.4,
        "vine_spacing": 1.2,
        "elevation": 182,
        "cultivar": "Solaris",
        "type": "hybrid",
        "training": "high cordon, one arm",
        "planted": 2014,
        "missing": ["R004V017", "R011V052", "R019V033"]"#;

const TARN_FIELD_KEYS: &str = r#"
        "role": "block",
        "name": "Tarn Field",
        "standing": true,
        "row_bearing": "N19°15'W",
        "row_spacing": "250 cm",
        "vine_spacing": "125 cm",
        "headland": "7 m",
        "side_margin": "3 m",
        "anchor_gap": "1.8 m",
        "elevation": 174,
        "cultivar": "Rondo",
        "type": "hybrid",
        "training": "high cordon, one arm",
        "planted": 2012"#;

const TARN_KEYS: &str = r#"
        "role": "keep-out",
        "name": "the tarn",
        "block": "Tarn Field",
        "turning": true"#;

const LONG_RIGG_KEYS: &str = r#"
        "role": "block",
        "name": "Long Rigg",
        "standing": true,
        "row_bearing": 73.4,
        "north": "magnetic",
        "date": "2021-04-14",
        "row_spacing": 2.2,
        "vine_spacing": 1.1,
        "vines_per_panel": 5,
        "rows_to": "left",
        "elevation": 190,
        "type": "hybrid",
        "training": "cane, one arm",
        "planted": 2016,
        "plantings": [
          {"rows": "odd", "cultivar": "Regent"},
          {"rows": "even", "cultivar": "Solaris"}
        ]"#;

const NEW_GROUND_KEYS: &str = r#"
        "role": "block",
        "name": "New Ground",
        "standing": false,
        "row_bearing": 348.5,
        "row_spacing": 2.4,
        "vine_spacing": 1.2,
        "headland": "8 m",
        "anchor_gap": "2 m",
        "row_anchor": "most-vines",
        "elevation": 185,
        "cultivar": "Solaris",
        "type": "hybrid",
        "planted": 2027"#;

const THORN_KEYS: &str = r#"
        "role": "keep-out",
        "name": "the old thorn",
        "block": "New Ground",
        "clearance": "3 m""#;

/// `blocks.geojson`: the three blocks that stand, and the pond.
pub(super) fn standing_blocks() -> String {
    let tarn_board = Board { at_m: [196.0, 8.0], bearing: Degrees::new(-19.25) };
    let south_brae = Board { at_m: [-16.0, 0.0], bearing: Degrees::new(17.5) };
    // Drawn a little off the rows, as an outline walked after planting is.
    let long_rigg = Board { at_m: [60.0, -120.0], bearing: Degrees::new(72.0) };
    collection(&[
        feature(SOUTH_BRAE_KEYS, &south_brae.ring(&south_brae_outline())),
        feature(TARN_FIELD_KEYS, &tarn_board.ring(&tarn_field_outline())),
        feature(TARN_KEYS, &tarn_board.ring(&tarn())),
        feature(LONG_RIGG_KEYS, &long_rigg.ring(&walked_ring(72, [76.0, 33.0], 26.0, 0.2, 7))),
    ])
}

/// `new-ground.geojson`: a block to be planted, with a tree that stays.
pub(super) fn block_to_plant() -> String {
    let board = Board { at_m: [-165.0, -20.0], bearing: Degrees::new(-11.5) };
    let thorn: Drawn = walked_ring(8, [1.6, 1.6], 0.0, 0.1, 11)
        .into_iter()
        .map(|[along, right]| [along + 71.0, right + 37.0])
        .collect();
    collection(&[
        feature(NEW_GROUND_KEYS, &board.ring(&new_ground_outline())),
        feature(THORN_KEYS, &board.ring(&thorn)),
    ])
}

fn south_brae_outline() -> Drawn {
    vec![[0.0, 0.0], [5.0, 65.5], [97.0, 66.0], [101.0, 24.0], [91.0, 0.0]]
}

/// A field with a bite out of its right side, so that the rows there stand in two pieces.
fn tarn_field_outline() -> Drawn {
    vec![
        [0.0, 0.0],
        [0.0, 92.0],
        [54.0, 92.0],
        [58.0, 58.0],
        [83.0, 60.0],
        [85.0, 92.0],
        [130.0, 88.0],
        [133.0, 4.0],
        [70.0, -3.0],
    ]
}

fn tarn() -> Drawn {
    let pond = walked_ring(14, [11.0, 7.0], 2.0, 0.4, 3);
    pond.into_iter().map(|[along, right]| [along + 90.0, right + 27.0]).collect()
}

fn new_ground_outline() -> Drawn {
    vec![[0.0, 0.0], [-4.0, 61.0], [40.0, 78.0], [118.0, 74.0], [121.0, 20.0], [96.0, -6.0]]
}

fn collection(features: &[String]) -> String {
    format!(
        "{{\n  \"type\": \"FeatureCollection\",\n  \"features\": [\n{}\n  ]\n}}\n",
        features.join(",\n")
    )
}

/// A polygon feature with one ring, which is drawn counter-clockwise as RFC 7946 asks.
fn feature(keys: &str, ring: &[String]) -> String {
    let positions: Vec<String> = ring.iter().map(|p| format!("          {p}")).collect();
    format!(
        "    {{\n      \"type\": \"Feature\",\n      \"properties\": {{{keys}\n      }},\n      \
         \"geometry\": {{\n        \"type\": \"Polygon\",\n        \"coordinates\": [[\n{}\n        \
         ]]\n      }}\n    }}",
        positions.join(",\n")
    )
}
