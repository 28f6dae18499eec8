//! Intervals of totals: panels drawn at random together, vines apart.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | s | surface of a panel, drawn jointly with that of all others | shoots per m |
//! | τ² | nugget: variance of a vine around the surface | shoots² per m² |
//! | o | what is left on a vine: aim + renewal shoots / L | shoots per m |
//!
//! One draw of the surface gives every vine that was not counted the expectation and variance of
//! its excess with σ = τ; they add up over the vines of a zone, which are independent given the
//! surface. Counted vines keep their own. Where a block has more panels than can be drawn
//! together, evenly spaced ones stand for the rest of their zone; the totals are then scaled, so
//! that their mean is the sum over all vines.

use super::{Interval, removal::excess};
use crate::maths::float;
use crate::maths::{cholesky::dot, random::Random};

/// The vines of a panel that were not counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crowd {
    /// Their zone.
    pub zone: usize,
    /// The surface, shoots per metre.
    pub surface_per_m: f64,
    /// What is left on them on average, shoots per metre.
    pub left_per_m: f64,
    /// Canopy of one of them on average, metres.
    pub canopy_m: f64,
    /// How many they are, those of the panels that they stand for included.
    pub vines: f64,
}

/// How the surface of the crowds varies together.
#[derive(Debug, Clone, PartialEq)]
pub struct Variation {
    /// Covariances of the surface, row by row, per metre squared.
    pub covariance: Vec<f64>,
    /// Variance of a vine around the surface, per metre squared.
    pub nugget: f64,
    /// Multiplies every standard deviation.
    pub scale: f64,
    /// Degrees of freedom of Student's t; `None` for the normal.
    pub degrees_of_freedom: Option<f64>,
}

/// What is known of a zone apart from its crowds.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Expected excess of all its vines, shoots: the middle of the interval.
    pub value: f64,
    /// Of those, on counted vines.
    pub counted: f64,
    /// Variance of the excess on counted vines.
    pub counted_variance: f64,
    /// It is worked, so that it counts in the total of the block.
    pub worked: bool,
}

/// The total excess of each zone, and of all worked zones together as the last entry, with 90 %
/// intervals.
pub fn totals(
    crowds: &[Crowd],
    variation: &Variation,
    zones: &[Known],
    (draws, seed): (usize, u64),
) -> Vec<Interval> {
    let mut random = Random::new(seed);
    let factor = lower_factor(&variation.covariance, crowds.len());
    let mut drawn = vec![Vec::with_capacity(draws); zones.len()];
    for _ in 0..draws {
        let surfaces = draw_surfaces(crowds, variation, &factor, &mut random);
        let totals = draw_totals(crowds, &surfaces, variation, zones, &mut random);
        for (zone, total) in drawn.iter_mut().zip(totals) {
            zone.push(total);
        }
    }
    for (zone, known) in drawn.iter_mut().zip(zones) {
        scale_to(zone, known.value);
    }
    let worked = |draw: usize| -> f64 {
        let zones = drawn.iter().zip(zones).filter(|(_, known)| known.worked);
        zones.map(|(zone, _)| zone[draw]).sum()
    };
    let block: Vec<f64> = (0..draws).map(worked).collect();
    let block_value = zones.iter().filter(|zone| zone.worked).map(|zone| zone.value).sum();
    drawn.push(block);
    let values = zones.iter().map(|zone| zone.value).chain([block_value]);
    drawn.into_iter().zip(values).map(|(zone, value)| interval(zone, value)).collect()
}

/// The lower triangle L of a covariance `LLᵀ` that may be singular: the surface of a block without any
/// pattern is one number. A row that adds nothing of its own gets 0 on the diagonal.
fn lower_factor(covariance: &[f64], size: usize) -> Vec<Vec<f64>> {
    let mut rows: Vec<Vec<f64>> = Vec::with_capacity(size);
    for i in 0..size {
        let mut row = Vec::with_capacity(i + 1);
        for (j, above) in rows.iter().enumerate() {
            let rest = covariance[i * size + j] - dot(&row, &above[..j]);
            row.push(if above[j] > 0.0 { rest / above[j] } else { 0.0 });
        }
        let own = covariance[i * size + i];
        let square = own - dot(&row, &row);
        row.push(if square > SINGULAR * own { square.sqrt() } else { 0.0 });
        rows.push(row);
    }
    rows
}

/// A share of a variance that is rounding.
const SINGULAR: f64 = 1e-9;

fn draw_surfaces(
    crowds: &[Crowd],
    variation: &Variation,
    factor: &[Vec<f64>],
    random: &mut Random,
) -> Vec<f64> {
    let normal: Vec<f64> = crowds.iter().map(|_| random.normal()).collect();
    let spread = variation.scale * student_spread(variation.degrees_of_freedom, random);
    let surface = |(crowd, row): (&Crowd, &Vec<f64>)| {
        crowd.surface_per_m + spread * dot(row, &normal[..row.len()])
    };
    crowds.iter().zip(factor).map(surface).collect()
}

/// `√(ν / χ²)` with χ² of ν degrees of freedom: what turns a normal draw into one of Student's t.
fn student_spread(degrees: Option<f64>, random: &mut Random) -> f64 {
    let Some(degrees) = degrees else { return 1.0 };
    let mut left = degrees.round().clamp(1.0, 200.0);
    let (mut sum, count) = (0.0, left);
    while left > 0.0 {
        sum += random.normal().powi(2);
        left -= 1.0;
    }
    if sum > 0.0 { (count / sum).sqrt() } else { 1.0 }
}

fn draw_totals(
    crowds: &[Crowd],
    surfaces: &[f64],
    variation: &Variation,
    zones: &[Known],
    random: &mut Random,
) -> Vec<f64> {
    let sd = variation.nugget.max(0.0).sqrt() * variation.scale;
    let mut sums: Vec<[f64; 2]> =
        zones.iter().map(|zone| [zone.counted, zone.counted_variance]).collect();
    for (crowd, surface) in crowds.iter().zip(surfaces) {
        let one = excess(surface - crowd.left_per_m, sd, crowd.canopy_m);
        let sum = &mut sums[crowd.zone];
        *sum = [sum[0] + crowd.vines * one.shoots, sum[1] + crowd.vines * one.sd.powi(2)];
    }
    let total =
        |[mean, variance]: [f64; 2]| (mean + variance.max(0.0).sqrt() * random.normal()).max(0.0);
    sums.into_iter().map(total).collect()
}

fn scale_to(totals: &mut [f64], value: f64) {
    let sum: f64 = totals.iter().sum();
    if sum > 0.0 {
        let factor = value * float(totals.len()) / sum;
        for total in totals {
            *total *= factor;
        }
    }
}

/// The middle 90 of 100 draws around a value that always lies inside.
fn interval(mut draws: Vec<f64>, value: f64) -> Interval {
    draws.sort_by(f64::total_cmp);
    let at = |share: f64| {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a share")]
        let index = (share * float(draws.len().saturating_sub(1))).round() as usize;
        draws.get(index).copied().unwrap_or(value)
    };
    Interval { value, lo90: at(0.05).min(value), hi90: at(0.95).max(value) }
}
