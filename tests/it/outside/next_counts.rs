//! The panels to count next, against trying every panel: the variance is computed anew with each
//! candidate counted.

use catchwire::{
    block::{Block, BlockKeys},
    estimate::{VineSet, estimate},
    join::{Joined, Observation},
    plan::{Evidence, NextCounts, Plan, next_counts, plan},
    settings::{EstimateSettings, Settings},
    units::Metres,
};

use super::zones::{Zoned, counts_in_halves, square_block, zoned_as};

/// 12 rows of 55 vines: fewer panels than compete at most, so that all of them do.
fn wide_rows() -> Block {
    let block = square_block();
    Block { keys: BlockKeys { row_spacing: Some(Metres::new(5.0)), ..block.keys }, ..block }
}

/// Exact counts under a given variation: what one more count takes does not depend on what it says.
fn settings() -> EstimateSettings {
    EstimateSettings {
        pinned: Some("exponential nugget=4 psill=9 range=20".parse().unwrap()),
        no_count_noise: true,
        ..Settings::default().estimate()
    }
}

fn planned() -> (Zoned, Plan) {
    let counts = |layout: &_| counts_in_halves(layout, [12.0, 24.0]);
    let mut zoned = zoned_as(&wide_rows(), counts, &Settings::default()).unwrap();
    let Zoned { site, layout, joined, .. } = &zoned;
    (zoned.estimate, _) = estimate(site, layout, joined, &settings()).unwrap();
    let (plan, _) = plan(evidence(&zoned), &Settings::default().plan()).unwrap();
    (zoned, plan)
}

fn evidence(zoned: &Zoned) -> Evidence<'_> {
    let Zoned { site, layout, joined, estimate, zones } = zoned;
    Evidence { site, layout, joined, estimate, zones }
}

/// Σ w²·Var of the zones' means when some panels are counted whole as well.
fn variance_with(zoned: &Zoned, open: &[usize], panels: &[usize]) -> f64 {
    let Zoned { site, layout, joined, zones, .. } = zoned;
    let mut joined: Joined = joined.clone();
    for &panel in panels {
        let vines: Vec<usize> = layout.panels[panel].vines.clone().collect();
        let canopy_m: f64 = vines.iter().map(|&vine| joined.vines[vine].canopy_m).sum();
        let windows = vec![(15.0, canopy_m)];
        let counted_m = canopy_m;
        joined.shoots.push(Observation { vines, per_m: 15.0, canopy_m, counted_m, windows });
    }
    let (estimate, _) = estimate(site, layout, &joined, &settings()).unwrap();
    let set = |&zone: &usize| -> VineSet {
        let vines = zones.zones[zone].vines.iter();
        vines.map(|&vine| (vine, joined.vines[vine].canopy_m)).collect()
    };
    let means = estimate.shoots.means_of(&open.iter().map(set).collect::<Vec<_>>());
    let of = |(at, &zone): (usize, &usize)| {
        zones.zones[zone].canopy_m.powi(2) * means.covariance_of(at, at)
    };
    open.iter().enumerate().map(of).sum()
}

fn panels(next: &NextCounts) -> Vec<usize> {
    next.stops.iter().map(|stop| stop.panel).collect()
}

#[test]
fn the_panel_named_first_is_the_best_of_all_and_takes_what_was_foretold() {
    let (zoned, plan) = planned();
    let next = next_counts(evidence(&zoned), &plan, 1);
    let open: Vec<usize> = vec![next.zones[0]];
    let before = variance_with(&zoned, &open, &[]);
    let is_free = |&panel: &usize| {
        let vines = zoned.layout.panels[panel].vines.clone();
        zoned.zones.of_panel[panel] == Some(open[0])
            && vines.clone().all(|vine| !zoned.joined.vines[vine].counted)
    };
    let candidates: Vec<usize> = (0..zoned.layout.panels.len()).filter(is_free).collect();
    assert!(candidates.len() > 20, "{}", candidates.len());
    let after = |&panel: &usize| variance_with(&zoned, &open, &[panel]);
    let least = candidates.iter().map(after).fold(f64::MAX, f64::min);
    let chosen = after(&panels(&next)[0]);
    assert!((chosen / least - 1.0).abs() < 1e-9, "{chosen} {least}");
    assert!((next.fall.unwrap() - (1.0 - chosen / before)).abs() < 1e-6, "{:?}", next.fall);
}

#[test]
fn what_ten_panels_take_is_what_was_foretold_of_them_and_more_than_ten_others_take() {
    let (zoned, plan) = planned();
    let next = next_counts(evidence(&zoned), &plan, 10);
    let mut open = next.zones.clone();
    open.sort_unstable();
    open.dedup();
    let before = variance_with(&zoned, &open, &[]);
    let fall = |panels: &[usize]| 1.0 - variance_with(&zoned, &open, panels) / before;
    let chosen = panels(&next);
    assert_eq!(chosen.len(), 10);
    let foretold = next.fall.unwrap();
    // Sums over many vines are within a thousandth.
    assert!((fall(&chosen) - foretold).abs() < 1e-4, "{foretold} {}", fall(&chosen));
    // The first ten panels without a count, all in the first rows.
    let free = |panel: &usize| {
        let mut vines = zoned.layout.panels[*panel].vines.clone();
        vines.all(|vine| !zoned.joined.vines[vine].counted)
    };
    let others: Vec<usize> = (0..zoned.layout.panels.len()).filter(free).take(10).collect();
    assert!(fall(&others) < 0.7 * foretold, "{foretold} {}", fall(&others));
}
