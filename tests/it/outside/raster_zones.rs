//! Zones of a block whose vines follow a raster: what the raster explains is taken off held-out counts
//! once, and put on panels once.

use catchwire::{
    counts::{Count, Shoots, Spot},
    estimate::{Estimate, estimate},
    grid::{Affine, Georeference, Grid, Lies},
    join::{join, on_raster},
    layout::{Layout, Vine},
    maths::random::Random,
    settings::Settings,
    zones::{Zones, draw_zones},
};

use crate::support::two_halves::{ground, square_block};

/// Cells of some 2 m from a corner beyond the block's north-western one.
const CELLS: [usize; 2] = [40, 60];
const CELL_DEG: [f64; 2] = [2.5 / 76_056.0, 2.0 / 111_180.0];
/// The middle of the block, in degrees north.
const MIDDLE: f64 = 47.0 + 50.0 / 111_180.0;

/// A raster of two halves: 1 north of the middle and −1 south of it.
fn halves() -> Grid {
    let affine = Affine {
        origin_x: 8.0 - 10.0 * CELL_DEG[0],
        column_x: CELL_DEG[0],
        row_x: 0.0,
        origin_y: 47.0 + 55.0 * CELL_DEG[1],
        column_y: 0.0,
        row_y: -CELL_DEG[1],
    };
    let half = |cell: usize| {
        let row = u32::try_from(cell / CELLS[0]).expect("few rows");
        let north = affine.origin_y - (f64::from(row) + 0.5) * CELL_DEG[1];
        (north - MIDDLE).signum()
    };
    let values = (0..CELLS[0] * CELLS[1]).map(half).collect();
    let georeference = Georeference { affine, lies: Lies::Degrees };
    Grid::new("halves.tif", CELLS, values, georeference, "").expect("a raster")
}

/// Shoots a metre: four more or less by half, waves across the rows by themselves, and a little of the
/// vine's own.
fn per_m(vine: &Vine, random: &mut Random) -> f64 {
    let wave = (vine.at.across_m / 5.0).sin() * (vine.at.along_m / 8.0).cos();
    16.0 + 4.0 * vine.at.along_m.signum() + 2.5 * wave + 0.7 * random.normal()
}

fn counts(layout: &Layout) -> Vec<Count> {
    let mut random = Random::new(6);
    let counted = layout.vines.iter().skip(5).step_by(13);
    let count = |vine: &Vine| {
        let shoots = (1.8 * per_m(vine, &mut random)).round();
        let all = (0..=90).find(|n| f64::from(*n) >= shoots).expect("fewer than 90");
        Count {
            spot: Spot { row: Some(vine.row), vine: Some(vine.vine), ..Spot::default() },
            shoots: Some(Shoots { all, secondary: None, base: None }),
            ..Count::default()
        }
    };
    counted.map(count).collect()
}

fn zoned() -> (Estimate, Zones, f64) {
    let (block, settings) = (square_block(), Settings::default());
    let (site, layout) = ground(&block, &settings);
    let counts = counts(&layout);
    let (joined, _) = join(&site, &layout, &counts, &settings.join());
    let (joined, _) =
        on_raster(joined, (&site, &layout), &halves(), &settings.join()).expect("fine cells");
    let (estimate, _) = estimate(&site, &layout, &joined, &settings.estimate()).expect("a map");
    let settings = settings.zones();
    let zones = draw_zones(&site, &layout, &joined, &estimate, &settings).expect("zones").0;
    let counted = || joined.shoots.iter().map(|count| (count.per_m, count.vines[0]));
    let side = |vine: usize| layout.vines[vine].at.along_m > 0.0;
    (
        estimate,
        zones,
        explained_by_halves(&counted().map(|(v, at)| (v, side(at))).collect::<Vec<_>>()),
    )
}

/// The share of the variance of counts that lies between the two halves.
fn explained_by_halves(counts: &[(f64, bool)]) -> f64 {
    let mean = |keep: &dyn Fn(bool) -> bool| {
        let kept = || counts.iter().filter(|(_, north)| keep(*north));
        kept().map(|(value, _)| value).sum::<f64>() / kept().map(|_| 1.0).sum::<f64>()
    };
    let [all, north, south] = [mean(&|_| true), mean(&|north| north), mean(&|north| !north)];
    let within =
        |&(value, is_north): &(f64, bool)| (value - if is_north { north } else { south }).powi(2);
    let total = |&(value, _): &(f64, bool)| (value - all).powi(2);
    1.0 - counts.iter().map(within).sum::<f64>() / counts.iter().map(total).sum::<f64>()
}

#[test]
fn held_out_counts_are_foretold_with_the_raster_once() {
    let (estimate, zones, halves) = zoned();
    let shoots = &estimate.shoots;
    assert!(shoots.why.contains("follows the raster"), "{}", shoots.why);
    // The rest has a pattern too: a surface that kept the raster's part would add it twice.
    let model = shoots.model.expect("a fitted variation");
    assert!(model.psill > 2.0 * model.nugget, "{model}");
    // The true halves explain so much of the counts themselves; folds do not see the held-out ones.
    let reduction = zones.held_out_reduction.expect("asked");
    assert!(zones.zones.len() >= 2, "{}", zones.why);
    assert!(reduction > halves - 0.05, "{reduction} of the variance, {halves} by the true halves");
}
