//! Maps as rasters: whose ground a cell is, and what other programs read out of the files.

use std::{
    io::Write as _,
    path::{Path, PathBuf},
    process::{Command, Stdio},
};

use catchwire::{
    frame::{CellGrid, RowPoint},
    layout::vine_cells,
    settings::Settings,
};
use serde_json::Value;

use crate::support::{
    demo, folder as own_folder, json, skipped,
    two_halves::{ground, square_block},
};

/// The blocks of the demo.
const BLOCKS: [&str; 3] = ["long-rigg", "south-brae", "tarn-field"];
/// Their maps.
const MAPS: [(&str, &str); 3] =
    [("shoot-density", "shoots/m"), ("vigor", "kg/m"), ("thinning-need", "shoots/vine")];

fn block(name: &str) -> PathBuf {
    demo().join("3-thin").join(name)
}

/// What a program says of a file, given some lines; `None` where it is not here.
fn said(program: &str, arguments: &[&str], file: &Path, lines: &str) -> Option<String> {
    let mut command = Command::new(program);
    command.args(arguments).arg(file).stdin(Stdio::piped()).stdout(Stdio::piped());
    // A reader leaves no side file in the demo.
    command.env("GDAL_PAM_ENABLED", "YES").env("GDAL_PAM_PROXY_DIR", "/nowhere");
    let mut child = match command.spawn() {
        Ok(child) => child,
        Err(error) => {
            skipped(&format!("{program} is not here ({error})"));
            return None;
        }
    };
    let mut input = child.stdin.take().expect("a pipe");
    let lines = lines.to_owned();
    let writer = std::thread::spawn(move || input.write_all(lines.as_bytes()));
    let output = child.wait_with_output().expect("an end");
    writer.join().expect("no panic").expect("lines taken");
    assert!(output.status.success(), "{program} {}", file.display());
    Some(String::from_utf8(output.stdout).expect("UTF-8"))
}

fn described(file: &Path) -> Option<Value> {
    let text = said("gdalinfo", &["-json", "-norat", "-noct"], file, "")?;
    Some(serde_json::from_str(&text).expect("JSON of GDAL"))
}

#[test]
fn a_cell_belongs_to_the_vine_on_whose_ground_its_middle_lies() {
    let (site, layout) = ground(&square_block(), &Settings::default());
    for grid in [CellGrid::Utm, CellGrid::Degrees] {
        let cells = vine_cells(&site, &layout, grid).expect("a grid").expect("vines");
        let lies = cells.cells.georeference();
        let columns = cells.cells.size()[0];
        let mut owned = 0_u32;
        for (cell, vine) in cells.vines.iter().enumerate() {
            let Some(vine) = *vine else { continue };
            let middle = [cell % columns, cell / columns]
                .map(|at| f64::from(u32::try_from(at).expect("a small raster")) + 0.5);
            let at = site.frame.to_row(lies.place(middle).expect("a place"));
            let own = layout.vines[usize::try_from(vine).expect("a vine")].at;
            // Vines 1.8 m apart in rows 2.5 m apart.
            let (along, across) = (at.along_m - own.along_m, at.across_m - own.across_m);
            assert!(along.abs() < 0.9 + 1e-3 && across.abs() < 1.25 + 1e-3, "{along} {across}");
            owned += 1;
        }
        let [wide, high] = lies.cell_m([10.0, 10.0]).expect("a cell");
        let ground_m2 = f64::from(owned) * wide * high;
        let vines = f64::from(u32::try_from(layout.vines.len()).expect("a small block"));
        let share = ground_m2 / (vines * 1.8 * 2.5);
        // Rows run with the raster: half a cell at each edge is 0.4 % of a block of 60 by 100 m.
        assert!((share - 1.0).abs() < 6e-3, "{grid:?}: {share} of the vines' ground");
    }
}

#[test]
fn cells_lie_where_the_globe_says() {
    let (site, layout) = ground(&square_block(), &Settings::default());
    for grid in [CellGrid::Utm, CellGrid::Degrees] {
        let cells = vine_cells(&site, &layout, grid).expect("a grid").expect("vines").cells;
        for (along_m, across_m) in [(3.0, -7.0), (-41.0, 22.0), (49.0, 13.7)] {
            let at = RowPoint { along_m, across_m };
            let exact = cells.georeference().cell_of(site.frame.to_lon_lat(at)).expect("a cell");
            let found = cells.cell_of(at);
            let off = (exact[0] - found[0]).hypot(exact[1] - found[1]);
            assert!(off < 1e-3, "{grid:?}: {off} cells");
        }
    }
}

/// Places a little off each vine towards the next one of its row, and the vine's density there.
fn places(name: &str) -> Vec<([f64; 2], f64)> {
    let vines = json(&block(name).join("vines.geojson"));
    let features = vines["features"].as_array().expect("features");
    let place = |feature: &Value| {
        [0, 1].map(|axis| feature["geometry"]["coordinates"][axis].as_f64().expect("a number"))
    };
    let beside = |pair: &[Value]| {
        let (own, next) = (&pair[0]["properties"], &pair[1]["properties"]);
        let same = ["row", "piece"].iter().all(|key| own[key] == next[key]);
        let follows = own["vine"].as_u64()? + 1 == next["vine"].as_u64()?;
        let density = own["surface_per_m"].as_f64()?;
        let (from, to) = (place(&pair[0]), place(&pair[1]));
        let off = [0, 1].map(|axis| from[axis] + 0.35 * (to[axis] - from[axis]));
        (same && follows).then_some((off, density))
    };
    features.windows(2).filter_map(beside).collect()
}

// GDAL (gdallocationinfo) as the other reader. 0.35 of a gap off its vine, half a cell of error
// leads to the next vine.
#[test]
fn another_reader_finds_every_vines_number_on_its_ground() {
    for name in BLOCKS {
        let places = places(name);
        assert!(places.len() > 1000, "{name}: {}", places.len());
        let lines = places.iter().map(|([lon, lat], _)| format!("{lon:.9} {lat:.9}\n"));
        let lines = lines.collect::<Vec<String>>().concat();
        let file = block(name).join("shoot-density.tif");
        let arguments = ["-valonly", "-wgs84"];
        let Some(read) = said("gdallocationinfo", &arguments, &file, &lines) else { return };
        let read: Vec<f64> = read.lines().map(|line| line.parse().expect("a number")).collect();
        assert_eq!(read.len(), places.len());
        let wrong = read.iter().zip(&places).filter(|(read, (_, at))| (*read - at).abs() > 1e-4);
        assert_eq!(wrong.count(), 0, "{name}: of {}", places.len());
    }
}

#[test]
fn another_reader_knows_grid_unit_nothing_and_statistics() {
    for (map, unit) in MAPS {
        let file = block("long-rigg").join(format!("{map}.tif"));
        let Some(found) = described(&file) else { return };
        let system = found["coordinateSystem"]["wkt"].as_str().expect("a system");
        assert!(system.contains("ID[\"EPSG\",32630]]"), "{system}");
        assert_eq!(found["metadata"]["IMAGE_STRUCTURE"]["LAYOUT"], "COG", "{map}");
        let band = &found["bands"][0];
        assert_eq!(band["unit"], unit, "{map}");
        assert_eq!(band["noDataValue"], -9999.0, "{map}");
        // What the file states of itself, beside what GDAL reckons from the cells.
        let Some(text) = said("gdalinfo", &["-json", "-mm"], &file, "") else { return };
        let reckoned: Value = serde_json::from_str(&text).expect("JSON of GDAL");
        for (name, key) in
            [("STATISTICS_MINIMUM", "computedMin"), ("STATISTICS_MAXIMUM", "computedMax")]
        {
            let stated = band["metadata"][""][name].as_str().expect("a text");
            let stated: f64 = stated.parse().expect("a number");
            let reckoned = reckoned["bands"][0][key].as_f64().expect("a number");
            assert!((stated - reckoned).abs() < 2e-3, "{map} {name}: {stated} {reckoned}");
        }
    }
}

#[test]
fn an_overlay_lies_where_the_numbers_lie_by_either_file_beside_it() {
    for (map, name) in [("shoot-density", "long-rigg"), ("thinning-need", "tarn-field")] {
        let from = block(name);
        let Some(numbers) = described(&from.join(format!("{map}.tif"))) else { return };
        let picture = format!("{map}-overlay.png");
        for beside in ["png.aux.xml", "pgw"] {
            let alone = own_folder();
            for file in [picture.clone(), format!("{map}-overlay.{beside}")] {
                std::fs::copy(from.join(&file), alone.path().join(&file)).expect("a copy");
            }
            let Some(found) = described(&alone.path().join(&picture)) else { return };
            assert_eq!(found["size"], numbers["size"], "{map} {beside}");
            assert_eq!(found["geoTransform"], numbers["geoTransform"], "{map} {beside}");
            let system = found["coordinateSystem"]["wkt"].as_str();
            let named = system.is_some_and(|wkt| wkt.contains("32630"));
            assert_eq!(named, beside == "png.aux.xml", "a world file names no grid");
        }
    }
}

#[test]
fn pixels_without_a_vine_are_transparent_and_others_are_not() {
    for name in BLOCKS {
        let file = block(name).join("shoot-density-overlay.png");
        let picture = image::open(file).expect("a picture").to_rgba8();
        let seen = picture.pixels().filter(|pixel| pixel.0[3] > 0x80).count();
        let all = picture.pixels().len();
        assert!(seen > all / 10 && seen < 9 * all / 10, "{name}: {seen} of {all}");
        assert!(picture.pixels().all(|pixel| pixel.0[3] > 0 || pixel.0 == [0; 4]));
    }
}
