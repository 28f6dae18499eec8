//! Borders that are known, through every stage: layout, the library's own sample, estimate, zones.
//!
//! `examples/borders.rs` runs a hundred blocks of every kind; `docs/methods.md` has its numbers.

use catchwire::settings::Settings;

use crate::support::two_halves::{Border, Counting, Invented, Outcome, judge};

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
}

#[test]
fn borders_between_rows_and_from_corner_to_corner_are_found_but_for_a_few_panels() {
    for border in [Border::AlongRows, Border::Oblique] {
        let case = Invented { border: Some(border), counting: Counting::Panels, ..HALVES };
        let outcomes = judge(&case, 0..15, &Settings::default());
        let near = outcomes.iter().filter(|o| o.zones == 2 && o.astray <= 6).count();
        // Fewer than 11 of 15 come in 1 of 80 runs where 90 of 100 are found (binomial).
        assert!(near >= 11, "{border:?}: {near} of 15 borders were found");
    }
}

#[test]
fn blocks_of_one_mean_stay_one_zone() {
    let outcomes = outcomes(&Invented { border: None, apart: 0.0, ..HALVES });
    let one = outcomes.iter().filter(|outcome| outcome.zones == 1).count();
    // Of 30 blocks a method that is right in 95 of 100 is right in fewer than 26 in 1 of 60 runs.
    assert!(one >= 26, "{one} of {BLOCKS} blocks without a pattern were one zone");
}
