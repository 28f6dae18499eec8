//! Rows on the ground, measured by another road than the one that laid them: geodesics on the
//! ellipsoid (Karney 2013, through `geo`), enlarged to the block's height.

use std::{collections::BTreeMap, fmt::Write as _};

use geo::{Bearing, Destination, Distance, Geodesic, Point};
use serde_json::Value;

use catchwire::units::Degrees;

use crate::support::{catchwire, folder, json, put};

/// IUGG mean radius, metres: a block at height h is larger than on the ellipsoid by 1 + h/R.
const MEAN_RADIUS_M: f64 = 6_371_008.8;
const ROW_M: f64 = 2.4;
const VINE_M: f64 = 1.2;

/// Latitude, longitude, height in metres, bearing: 50° S to 65° N, 0 to 1500 m.
const BLOCKS: [[f64; 4]; 8] = [
    [-50.0, -70.3, 400.0, 12.0],
    [-33.5, 19.1, 300.0, 95.5],
    [-1.2, 36.6, 1500.0, 181.0],
    [12.0, 76.0, 900.0, 269.3],
    [35.0, 138.0, 1200.0, 44.4],
    [47.2, 11.4, 700.0, 358.2],
    [56.1, -5.8, 0.0, 70.9],
    [65.0, 25.5, 20.0, 133.7],
];

/// An uneven star with a notch, about 120 m across, with a hole.
fn block([lat, lon, ..]: [f64; 4]) -> String {
    let centre = Point::new(lon, lat);
    let ring = |radii: &[f64], turn: f64| {
        let step = 360.0 / f64::from(u32::try_from(radii.len()).unwrap());
        let mut text = String::new();
        let closed = radii.iter().chain(&radii[..1]).enumerate();
        for (at, radius) in closed {
            let bearing = turn * step * f64::from(u32::try_from(at).unwrap());
            let corner = Geodesic.destination(centre, bearing, *radius);
            let comma = if at == 0 { "" } else { "," };
            let _ = write!(text, "{comma}[{:.9},{:.9}]", corner.x(), corner.y());
        }
        text
    };
    let outer = ring(&[62.0, 48.0, 66.0, 30.0, 64.0, 58.0, 45.0, 60.0, 52.0], -1.0);
    let hole = ring(&[6.0, 9.0, 7.0, 8.0], 1.0);
    format!(
        r#"{{"type":"Feature","properties":{{"name":"Star","standing":false}},
        "geometry":{{"type":"Polygon","coordinates":[[{outer}],[{hole}]]}}}}"#
    )
}

fn vines(case: [f64; 4]) -> BTreeMap<(u64, String, u64), Point<f64>> {
    let folder = folder();
    let file = put(folder.path(), "block.geojson", &block(case));
    let out = folder.path().join("out");
    let mut args: Vec<String> = vec!["layout".into(), file.display().to_string()];
    args.extend(["--out".into(), out.display().to_string()]);
    for (key, value) in [
        ("--row-spacing", ROW_M.to_string()),
        ("--vine-spacing", VINE_M.to_string()),
        ("--elevation", case[2].to_string()),
        ("--row-bearing", case[3].to_string()),
        ("--headland", "4".to_owned()),
        ("--side-margin", "1".to_owned()),
        ("--vine-pattern", "square".to_owned()),
    ] {
        args.extend([key.to_owned(), value]);
    }
    catchwire(args).done();
    let document = json(&out.join("star/vines.geojson"));
    let place = |vine: &Value| {
        let at = |axis: usize| vine["geometry"]["coordinates"][axis].as_f64().unwrap();
        let own = &vine["properties"];
        let piece = own["piece"].as_str().unwrap_or("").to_owned();
        let key = (own["row"].as_u64().unwrap(), piece, own["vine"].as_u64().unwrap());
        (key, Point::new(at(0), at(1)))
    };
    document["features"].as_array().unwrap().iter().map(place).collect()
}

/// Tolerances: spacing and row offset 1 mm; direction as far as 1 mm turns a row.
#[test]
fn vines_and_rows_stand_apart_as_the_tape_says() {
    let (mut along, mut across) = (0, 0);
    for case in BLOCKS {
        let vines = vines(case);
        let ground = 1.0 + case[2] / MEAN_RADIUS_M;
        let apart = |a: Point<f64>, b: Point<f64>| Geodesic.distance(a, b) * ground;
        for ((row, piece, vine), &at) in &vines {
            let piece_vines = vines.range((*row, piece.clone(), 0)..=(*row, piece.clone(), *vine));
            let (&(.., first), &start) = piece_vines.clone().next().unwrap();
            let gaps = u32::try_from(vine - first).unwrap();
            let off = apart(start, at) - f64::from(gaps) * VINE_M;
            assert!(off.abs() < 1e-3, "{case:?} R{row}V{vine}: {off} m along");
            along += 1;
            let neighbours = vines.range((row + 1, String::new(), 0)..(row + 2, String::new(), 0));
            let nearest = neighbours.map(|(_, &other)| apart(at, other)).min_by(f64::total_cmp);
            // Where a row ends early, nobody stands abreast.
            if let Some(nearest) = nearest.filter(|nearest| *nearest < ROW_M + 0.2) {
                let off = nearest - ROW_M;
                assert!(off.abs() < 1e-3, "{case:?} R{row}V{vine}: {off} m across");
                across += 1;
            }
        }
        let row = vines.keys().map(|(row, ..)| *row).max().unwrap() / 2;
        let of_row = || vines.iter().filter(|((number, ..), _)| *number == row);
        let (first, last) = (of_row().next().unwrap().1, of_row().next_back().unwrap().1);
        let turn = (Geodesic.bearing(*first, *last) - case[3] + 180.0).rem_euclid(360.0) - 180.0;
        let aside_m = apart(*first, *last) * Degrees::new(turn).radians().sin();
        assert!(aside_m.abs() < 5e-3, "{case:?}: the row ends {aside_m} m aside");
    }
    assert!(along > 10_000 && across > 10_000, "{along} and {across} gaps measured");
}
