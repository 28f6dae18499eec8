//! Draws zones on invented blocks whose border is known, through every stage, and counts how often
//! it is found.
//!
//! `cargo run --example borders [blocks [settings.toml]]` prints the numbers of `docs/methods.md`,
//! "Zones".
#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a program for developers"
)]

#[path = "../tests/it/support/two_halves.rs"]
mod two_halves;

use std::{collections::BTreeMap, fs};

use catchwire::settings::Settings;
use two_halves::{Border, Counting, Invented, Outcome, judge};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let blocks: u64 = arguments.next().map_or(100, |text| text.parse().expect("a number"));
    let settings = arguments.next().map_or_else(Settings::default, |file| {
        let text = fs::read_to_string(&file).expect("a settings file");
        Settings::from_text(&text, &file).expect("settings")
    });
    let cases = [
        (Some(Border::AcrossRows), 2.0, 120),
        (Some(Border::AlongRows), 2.0, 120),
        (Some(Border::Oblique), 2.0, 120),
        (None, 0.0, 120),
        (Some(Border::AcrossRows), 1.0, 80),
        (None, 0.0, 40),
    ];
    for counting in [Counting::Panels, Counting::Vines] {
        for (border, apart, counts) in cases {
            let case = Invented { border, apart, counts, counting };
            tell(&case, &judge(&case, 0..blocks, &settings));
        }
    }
}

/// Prints how often.
fn tell(case: &Invented, outcomes: &[Outcome]) {
    let mut by_zones: BTreeMap<usize, usize> = BTreeMap::new();
    for outcome in outcomes {
        *by_zones.entry(outcome.zones).or_default() += 1;
    }
    let all = outcomes.len();
    let found = outcomes.iter().filter(|outcome| outcome.found()).count();
    let nearly = outcomes.iter().filter(|o| o.zones == 2 && o.astray <= 6).count();
    println!("{case:?}");
    println!(
        "  zones {by_zones:?} of {all}; border within two panels {found}, but for 6 panels {nearly}"
    );
    let differences: Vec<(f64, bool)> = outcomes.iter().filter_map(|o| o.difference).collect();
    let held = differences.iter().filter(|(_, holds)| *holds).count();
    let share: f64 = differences.iter().map(|(share, _)| share).sum();
    let of = differences.len();
    println!(
        "  intervals of the difference hold the truth {held} of {of}; sum of shares {share:.2}"
    );
}
