//! Borders that are known, through every stage: layout, the library's own sample, estimate, zones.
//!
//! `examples/borders.rs` runs a hundred blocks of every kind; `docs/methods.md` has its numbers.

use catchwire::{
    counts::{Count, Shoots, Spot},
    estimate::estimate,
    join::{Joined, join},
    layout::Vine,
    maths::{random::Random, whole},
    settings::Settings,
    zones::draw_zones,
};

use crate::support::two_halves::{
    Border, Counting, Invented, Outcome, ground, judge, square_block,
};

const HALVES: Invented = Invented {
    border: Some(Border::AcrossRows),
    apart: 2.0,
    counts: 120,
    counting: Counting::Vines,
};
const BLOCKS: u64 = 30;

fn outcomes(case: &Invented) -> Vec<Outcome> {
    judge(case, 0..BLOCKS, &Settings::default())
}

// Of 30 blocks a method that finds 90 of 100 finds fewer than 24 in 1 of 40 runs (binomial).
const FEWEST_FOUND: usize = 24;

#[test]
fn halves_two_standard_deviations_apart_meet_within_two_panels_of_their_border() {
    let outcomes = outcomes(&HALVES);
    let found = outcomes.iter().filter(|outcome| outcome.found()).count();
    assert!(found >= FEWEST_FOUND, "{found} of {BLOCKS} borders were found");
    // The surface slopes at a sharp border: differences come out too small, but not by much.
    let shares: Vec<f64> = outcomes.iter().filter_map(|o| Some(o.difference?.0)).collect();
    let share = shares.iter().sum::<f64>() / f64::from(u32::try_from(shares.len()).unwrap());
    assert!((0.85..1.05).contains(&share), "{share} of the true difference on average");
    hold_their_differences(&outcomes);
}

/// 90 % intervals of the difference of two zones hold the true one; without the zones' own counts they
/// held it in 29 of 38 blocks halved across the rows and in 6 of 40 between rows.
#[track_caller]
fn hold_their_differences(outcomes: &[Outcome]) {
    let held: Vec<bool> = outcomes.iter().filter_map(|o| Some(o.difference?.1)).collect();
    let number = held.iter().filter(|held| **held).count();
    // Fewer than four in five come in 1 of 20 runs or less where 90 of 100 hold (binomial).
    assert!(5 * number >= 4 * held.len(), "{number} of {} held the truth", held.len());
}

#[test]
fn borders_between_rows_and_from_corner_to_corner_are_found_but_for_a_few_panels() {
    for border in [Border::AlongRows, Border::Oblique] {
        let case = Invented { border: Some(border), counting: Counting::Panels, ..HALVES };
        let outcomes = judge(&case, 0..15, &Settings::default());
        let near = outcomes.iter().filter(|o| o.zones == 2 && o.astray <= 6).count();
        // Fewer than 11 of 15 come in 1 of 80 runs where 90 of 100 are found (binomial).
        assert!(near >= 11, "{border:?}: {near} of 15 borders were found");
        hold_their_differences(&outcomes);
    }
}

#[test]
fn blocks_of_one_mean_stay_one_zone() {
    let outcomes = outcomes(&Invented { border: None, apart: 0.0, ..HALVES });
    let one = outcomes.iter().filter(|outcome| outcome.zones == 1).count();
    // Of 30 blocks a method that is right in 95 of 100 is right in fewer than 26 in 1 of 60 runs.
    assert!(one >= 26, "{one} of {BLOCKS} blocks without a pattern were one zone");
}

/// Three bands of eight rows, the middle one with more shoots.
fn band(vine: &Vine) -> u32 {
    (vine.row - 1) / 8
}

#[test]
fn bands_that_a_raster_shows_are_zones_though_few_were_counted() {
    let settings = Settings::default();
    let block = square_block();
    let (site, layout) = ground(&block, &settings);
    let mut random = Random::new(1);
    let raster: Vec<Option<f64>> =
        layout.vines.iter().map(|vine| Some(f64::from(u8::from(band(vine) == 1)))).collect();
    let mut vines: Vec<usize> = (0..layout.vines.len()).collect();
    random.shuffle(&mut vines);
    let count = |&vine: &usize| {
        let place = &layout.vines[vine];
        let per_m = if band(place) == 1 { 20.0 } else { 12.0 } + 3.0 * random.normal();
        let all = u32::try_from(whole(1.8 * per_m)).unwrap();
        Count {
            spot: Spot { row: Some(place.row), vine: Some(place.vine), ..Default::default() },
            shoots: Some(Shoots { all, secondary: None, base: None }),
            ..Default::default()
        }
    };
    let counts: Vec<Count> = vines[..36].iter().map(count).collect();
    let (joined, _) = join(&site, &layout, &counts, &settings.join());
    let joined = Joined { raster: Some(raster), ..joined };
    let (estimate, _) = estimate(&site, &layout, &joined, &settings.estimate()).unwrap();
    assert!(estimate.shoots.why.contains("follows the raster"), "{}", estimate.shoots.why);
    let (zones, _) = draw_zones(&site, &layout, &joined, &estimate, &settings.zones()).unwrap();
    assert_eq!(zones.zones.len(), 3, "{}", zones.why);
    let explained = zones.held_out_reduction.unwrap();
    assert!(explained > 0.4, "{explained} of the variance of held-out counts");
    // The zone of a band is that of its first vine.
    let of_vine = |vine: &Vine| zones.of_panel[vine.panel];
    let first = |number: u32| layout.vines.iter().find(|vine| band(vine) == number).map(of_vine);
    let zone_of_band = [0, 1, 2].map(first);
    let own = |vine: &&Vine| Some(of_vine(vine)) == zone_of_band[band(vine) as usize];
    let astray = layout.vines.len() - layout.vines.iter().filter(own).count();
    assert!(20 * astray <= layout.vines.len(), "{astray} vines are in another band's zone");
}
