//! The files of a decision: what every format holds of vines, rows, panels, zones and the block.

use std::path::Path;

use serde_json::Value;

use super::gdal::{
    areas_m2, ids, places, same_areas, same_corners, same_places, same_values, through_gdal,
};
use crate::support::{demo, json};

/// A layer that a file holds beside the GeoJSON file of the same features.
struct Twin {
    file: &'static str,
    layer: &'static str,
    /// The GeoJSON file, without its end, and what its features are called by.
    of: [&'static str; 2],
    holds: Holds,
}

enum Holds {
    /// Every property, in the order of the features.
    All,
    /// Every property that has a value; an index of places ordered the features anew.
    AllReordered,
    /// Names for people: the id, and for zones the verdict.
    Names,
}

const fn twin(
    file: &'static str,
    layer: &'static str,
    of: [&'static str; 2],
    holds: Holds,
) -> Twin {
    Twin { file, layer, of, holds }
}

/// Every copy of every layer. A new format is a line here for each of its layers.
const TWINS: &[Twin] = &[
    twin("vines.geojson", "vines", ["vines", "id"], Holds::All),
    twin("rows.geojson", "rows", ["rows", "id"], Holds::All),
    twin("panels.geojson", "panels", ["panels", "id"], Holds::All),
    twin("zones.geojson", "zones", ["zones", "zone"], Holds::All),
    twin("block.gpkg", "vines", ["vines", "id"], Holds::All),
    twin("block.gpkg", "rows", ["rows", "id"], Holds::All),
    twin("block.gpkg", "panels", ["panels", "id"], Holds::All),
    twin("block.gpkg", "zones", ["zones", "zone"], Holds::All),
    twin("vines.fgb", "vines", ["vines", "id"], Holds::AllReordered),
    twin("rows.fgb", "rows", ["rows", "id"], Holds::AllReordered),
    twin("panels.fgb", "panels", ["panels", "id"], Holds::AllReordered),
    twin("zones.fgb", "zones", ["zones", "zone"], Holds::AllReordered),
    twin("map.kmz", "Rows", ["rows", "id"], Holds::Names),
    twin("map.kmz", "Zones", ["zones", "zone"], Holds::Names),
];

/// Features in the order of a column, without empty properties.
fn ordered(document: &Value, column: &str) -> Value {
    let mut features = document["features"].as_array().expect("features").clone();
    features.sort_by_key(|feature| feature["properties"][column].to_string());
    for feature in &mut features {
        let properties = feature["properties"].as_object_mut().expect("properties");
        properties.retain(|_, value| !value.is_null());
    }
    serde_json::json!({ "features": features })
}

/// Names as the map for globes gives them: `R001`, `Z1: on target`.
fn names(written: &Value, id: &str) -> Vec<String> {
    let features = written["features"].as_array().expect("features").iter();
    let name = |feature: &Value| {
        let text = |key: &str| feature["properties"][key].as_str().map(str::to_owned);
        let id = text(id).expect("an id");
        text("verdict").map_or(id.clone(), |verdict| format!("{id}: {}", verdict.replace('-', " ")))
    };
    features.map(|feature| format!("\"{}\"", name(feature))).collect()
}

/// Every format of a folder tells the same; false without GDAL.
pub(super) fn every_format_tells_the_same(folder: &Path) -> bool {
    for Twin { file, layer, of: [of, id], holds } in TWINS {
        let what = format!("{}/{file}, {layer}", folder.display());
        let mut written = json(&folder.join(format!("{of}.geojson")));
        let Some(mut read) = through_gdal(&folder.join(file), layer) else { return false };
        if matches!(holds, Holds::AllReordered) {
            (read, written) = (ordered(&read, id), ordered(&written, id));
        }
        if matches!(holds, Holds::Names) {
            assert_eq!(ids(&read, "Name"), names(&written, id), "{what}");
        } else {
            assert_eq!(ids(&read, id), ids(&written, id), "{what}");
            same_values(&read, &written, &what);
        }
        same_places(&read, &written, &what);
        same_areas(&read, &written, &what);
    }
    true
}

/// The blocks of the demo: folder and name.
const BLOCKS: [(&str, &str); 3] =
    [("long-rigg", "Long Rigg"), ("south-brae", "South Brae"), ("tarn-field", "Tarn Field")];

#[test]
fn every_format_of_the_demo_tells_the_same() {
    for (folder, _) in BLOCKS {
        let folder = demo().join("3-thin").join(folder);
        let there: usize = ["vines", "rows", "panels", "zones"]
            .map(|of| ids(&json(&folder.join(format!("{of}.geojson"))), "block").len())
            .iter()
            .sum();
        assert!(there > 2500, "{there} features");
        every_format_tells_the_same(&folder);
    }
}

#[test]
fn the_block_of_a_geopackage_is_the_block_that_was_given() {
    let given = json(&demo().join("estate/blocks.geojson"));
    for (folder, name) in BLOCKS {
        let file = demo().join("3-thin").join(folder).join("block.gpkg");
        let Some(read) = through_gdal(&file, "block") else { return };
        let mut given = given.clone();
        let features = given["features"].as_array_mut().expect("features");
        features.retain(|feature| feature["properties"]["name"] == name);
        same_corners(&read, &given, name);
        same_areas(&read, &given, name);
        let stated_m2 = read["features"][0]["properties"]["block_ha"].as_f64().expect("ha") * 1e4;
        let found_m2 = areas_m2(&read)[0];
        assert!((stated_m2 / found_m2 - 1.0).abs() < 1e-4, "{name}: {stated_m2} {found_m2} m²");
    }
}

#[test]
fn zones_are_the_ground_of_their_panels() {
    for (folder, _) in BLOCKS {
        let folder = demo().join("3-thin").join(folder);
        let all = |of: &str| areas_m2(&json(&folder.join(format!("{of}.geojson"))));
        let [panels, zones] = ["panels", "zones"].map(|of| all(of).iter().sum::<f64>());
        assert!((zones / panels - 1.0).abs() < 1e-2, "{folder:?}: {zones} {panels} m²");
        assert_eq!(places(&json(&folder.join("zones.geojson"))).len(), all("zones").len());
    }
}
