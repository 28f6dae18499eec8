//! How long the estimate of a million vines takes from 200 counts, for `make bench`; the peers
//! beside it are in `benches/peers/kriging.py`.
//!
//! One core: the pool of threads is held to one.
#![expect(clippy::unwrap_used, reason = "a benchmark fails by panicking")]

use std::path::Path;

use catchwire::{
    estimate::estimate,
    frame::{Site, place_block},
    join::{Joined, Observation, join},
    layout::{Layout, lay_out},
    maths::random::Random,
    read::{Inputs, Request},
    settings::{Circumstances, EstimateSettings, Settings, planting_rules, row_rules},
};
use divan::{Bencher, black_box};

/// Vines counted.
const COUNTS: usize = 200;
/// Neighbours that a vine is estimated from.
const NEIGHBOURS: usize = 32;

fn main() {
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().unwrap();
    divan::main();
}

/// An invented block of 300 ha: a million vines, 2.5 m by 1.2 m.
fn million() -> (Site, Layout, Joined) {
    let blocks = Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/a-million-vines.geojson");
    let (inputs, _) = Inputs::read(&Request { blocks, ..Request::default() }).unwrap();
    let circumstances = Circumstances {
        defaults: Settings::default().layout(),
        standing: None,
        allow_unusual: false,
        grid: None,
    };
    let block = &inputs.blocks[0];
    let rules = row_rules(block, &circumstances).unwrap();
    let (site, _) = place_block(block, rules, planting_rules(block)).unwrap();
    let (layout, _) = lay_out(&site).unwrap();
    let (mut joined, _) = join(&site, &layout, &[], &Settings::default().join());
    joined.shoots = counts(&layout);
    (site, layout, joined)
}

/// Vines by lot whose density waves over the block.
fn counts(layout: &Layout) -> Vec<Observation> {
    let mut random = Random::new(1);
    let mut vines: Vec<usize> = (0..layout.vines.len()).collect();
    random.shuffle(&mut vines);
    let count = |&vine: &usize| {
        let at = layout.vines[vine].at;
        let wave = (at.along_m / 150.0).sin() + (at.across_m / 200.0).cos();
        let per_m = 15.0 + 2.0 * wave + random.normal();
        let windows = vec![(per_m, 1.2)];
        Observation { vines: vec![vine], per_m, canopy_m: 1.2, counted_m: 1.2, windows }
    };
    vines[..COUNTS].iter().map(count).collect()
}

fn settings() -> EstimateSettings {
    EstimateSettings {
        neighbours: NEIGHBOURS,
        most_at_once: NEIGHBOURS,
        ..Settings::default().estimate()
    }
}

/// Means and variances under a given spherical variation, as the peers do it.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn million_vines_of_a_given_variation(bencher: Bencher<'_, '_>) {
    let (site, layout, joined) = million();
    let settings = EstimateSettings {
        pinned: Some("spherical nugget=1 psill=4 range=900".parse().unwrap()),
        no_count_noise: true,
        ..settings()
    };
    bencher.bench(|| estimate(black_box(&site), &layout, &joined, &settings).unwrap());
}

/// The same with the variation fitted first, and counts checked by leaving each out.
#[divan::bench(sample_count = 5, sample_size = 1)]
fn million_vines_of_a_fitted_variation(bencher: Bencher<'_, '_>) {
    let (site, layout, joined) = million();
    let settings = settings();
    bencher.bench(|| estimate(black_box(&site), &layout, &joined, &settings).unwrap());
}
