//! A plain block of rows to the north, of any size, and counts on it.

use std::fmt::Write as _;

/// A block at 60° N whose rows run north, rows 2.5 m apart, vines 1 m apart, so many metres across
/// and along; its own zones, if it has any, are its halves. Block, cultivar and zones have one name.
pub(crate) fn block(name: &str, [across_m, along_m]: [f64; 2], zoned: bool) -> String {
    let (east, north) = (across_m / 55_800.0, along_m / 111_412.0);
    let ground = |from: f64, to: f64| {
        let [west, east] = [from, to].map(|share| -3.0 + share * east);
        let north = 60.0 + north;
        serde_json::json!({ "type": "Polygon", "coordinates":
            [[[west, 60.0], [east, 60.0], [east, north], [west, north], [west, 60.0]]] })
    };
    let keys = serde_json::json!({ "name": name, "standing": true, "row_bearing": 0,
        "row_spacing": 2.5, "vine_spacing": 1, "cultivar": name, "type": "hybrid", "role": "block" });
    let mut features = vec![feature(&keys, &ground(0.0, 1.0))];
    if zoned {
        let zone = |name: String| serde_json::json!({ "role": "zone", "name": name });
        features.push(feature(&zone(name.to_owned()), &ground(0.0, 0.5)));
        features.push(feature(&zone(format!("{name} 2")), &ground(0.5, 1.0)));
    }
    serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string()
}

fn feature(properties: &serde_json::Value, geometry: &serde_json::Value) -> serde_json::Value {
    serde_json::json!({ "type": "Feature", "properties": properties, "geometry": geometry })
}

/// Counts on at most 60 vines spread over so many rows of so many vines, crowded at low numbers of
/// rows; none on more than half of the vines, none twice.
pub(crate) fn counts(rows: usize, vines: usize) -> String {
    let mut sheet = "row,vine,date,shoots,shoot_length_in,note\n".to_owned();
    for at in 0..60.min(rows * vines / 2) {
        // A prime step comes to no vine twice.
        let vine = 7919 * at % (rows * vines);
        let (row, vine) = (1 + vine % rows, 1 + vine / rows);
        let shoots = if 2 * row < rows { 26 } else { 13 } + at % 4;
        let _ = writeln!(sheet, "{row},{vine},2026-06-01,{shoots},6,</script><b>{at}");
    }
    sheet
}
