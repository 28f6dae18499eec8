//! Values far beyond those of their planting: told and used all the same.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | m | median of the planting | per m |
//! | s | 1.4826 · median absolute deviation: the standard deviation of a normal sample | per m |
//!
//! # Source
//! Hampel 1974, J. Am. Stat. Assoc. 69:383–393, for m and s. The limits m + 4 s and 2 m: common
//! practice, no source.

use super::{Ground, Observation};
use crate::finding::{Finding, Findings, Place};

/// Robust standard deviations above the median that a value must exceed …
const DEVIATIONS: f64 = 4.0;
/// … and times the median.
const TIMES_MEDIAN: f64 = 2.0;
/// Fewer values tell nothing about what is usual.
const FEWEST: usize = 5;
/// Scale of the median absolute deviation, of a normal sample.
const NORMAL_SCALE: f64 = 1.4826;

/// Tells shoot densities far beyond those of their planting.
pub(super) fn tell(ground: &Ground<'_>, observations: &[Observation], findings: &mut Findings) {
    let plantings = ground.vines.iter().map(|vine| vine.planting).max().map_or(0, |max| max + 1);
    for planting in 0..plantings {
        let of_planting: Vec<&Observation> = observations
            .iter()
            .filter(|one| ground.vines[one.vines[0]].planting == planting)
            .filter(|one| ground.any_grown(&one.vines))
            .collect();
        for doubted in far_beyond(&of_planting) {
            findings.push(doubt(ground, doubted, &of_planting));
        }
    }
}

fn far_beyond<'a>(observations: &[&'a Observation]) -> Vec<&'a Observation> {
    if observations.len() < FEWEST {
        return Vec::new();
    }
    let densities: Vec<f64> = observations.iter().map(|one| one.per_m).collect();
    let m = median(&densities);
    let s = NORMAL_SCALE * median(&densities.iter().map(|z| (z - m).abs()).collect::<Vec<_>>());
    let limit = (m + DEVIATIONS * s).max(TIMES_MEDIAN * m);
    observations.iter().copied().filter(|one| one.per_m > limit).collect()
}

fn doubt(ground: &Ground<'_>, one: &Observation, others: &[&Observation]) -> Finding {
    let usual = median(&others.iter().map(|one| one.per_m).collect::<Vec<_>>());
    let record = ground.placed.iter().rev().find(|record| {
        record.count.shoots.is_some() && ground.places_of(record.target).contains(&one.vines[0])
    });
    let place = record.map_or_else(Place::default, |record| record.count.place.at_field("shoots"));
    let name = record.map_or_else(String::new, |record| ground.name(record.target));
    let what = format!(
        "{name} has {:.1} shoots a metre, where half of its planting have under {usual:.1}",
        one.per_m
    );
    Finding::warning(place, what)
        .because("far beyond the others; it is used as counted")
        .mend("count it again: a slip of the pen, a whole panel, or a wrong length")
}

/// The middle value; 0 of none.
pub(super) fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    match sorted.len() {
        0 => 0.0,
        odd if odd % 2 == 1 => sorted[half],
        _ => f64::midpoint(sorted[half - 1], sorted[half]),
    }
}
