//! How long a layout and a comparison of bearings take, for `make bench`; the peer beside them is
//! `benches/peers/rows.py`.
#![expect(clippy::unwrap_used, reason = "a benchmark fails by panicking")]

use std::path::Path;

use catchwire::{
    frame::{Site, place_block},
    layout::{Layout, compare, lay_out},
    read::{Inputs, Request},
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::Degrees,
    write::{geojson::geojson, geopackage::geopackage, properties::planted_vines},
};
use divan::{Bencher, black_box};

fn main() {
    divan::main();
}

/// An invented block of 5 ha with an outline of 200 corners.
fn five_hectares() -> Site {
    let blocks = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/five-hectares.geojson");
    let (inputs, _) = Inputs::read(&Request { blocks, ..Request::default() }).unwrap();
    let block = &inputs.blocks[0];
    let circumstances = Circumstances {
        defaults: Settings::default().layout(),
        standing: Some(false),
        allow_unusual: false,
        grid: None,
    };
    let rules = row_rules(block, &circumstances).unwrap();
    place_block(block, rules, planting_rules(block)).unwrap().0
}

fn laid() -> (Site, Layout) {
    let site = five_hectares();
    let (layout, _) = lay_out(&site).unwrap();
    (site, layout)
}

/// Rows, vines, posts and panels at one bearing.
#[divan::bench]
fn one_layout(bencher: Bencher<'_, '_>) {
    let site = five_hectares();
    bencher.bench(|| lay_out(black_box(&site)).unwrap());
}

/// All counts, lengths and the band of offsets at 180 bearings a degree apart.
#[divan::bench(sample_count = 20)]
fn bearings_180(bencher: Bencher<'_, '_>) {
    let site = five_hectares();
    let settings = Settings::default().compare();
    let range = compare::BearingRange::all(Degrees::new(1.0));
    bencher.bench(|| compare::compare(black_box(&site), true, &range, &settings, None).unwrap());
}

/// The same vines as GeoJSON text.
#[divan::bench]
fn vines_as_geojson(bencher: Bencher<'_, '_>) {
    let (site, layout) = laid();
    bencher.bench(|| geojson(&planted_vines(black_box(&site), black_box(&layout))));
}

/// The same vines as a GeoPackage with its index.
#[divan::bench(sample_count = 20)]
fn vines_as_geopackage(bencher: Bencher<'_, '_>) {
    let (site, layout) = laid();
    let layer = planted_vines(&site, &layout);
    bencher.bench(|| geopackage(&[black_box(&layer)]).unwrap());
}
