//! As many zones as differ and foretell counts that they have not seen.
//!
//! A border is believed when the zones on both sides differ by more than so many standard errors of
//! their difference and when more zones foretell held-out counts better. In each fold the borders
//! are drawn anew without the fold's counts: borders that had seen them would flatter themselves.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::merge::{Unit, cut_to_size, ward};
use crate::maths::float;
use crate::settings::ZoneSettings;

/// The panels of a planting with their neighbours, and the least size of a zone.
#[derive(Debug, Clone, Copy)]
pub struct Panels<'a> {
    /// Who touches whom.
    pub touching: &'a [BTreeSet<usize>],
    /// No zone is smaller, in the units' sizes.
    pub least_size: f64,
}

/// A fold of counts that were held out.
#[derive(Debug, Clone, PartialEq)]
pub struct Fold {
    /// The panels as they look without these counts.
    pub units: Vec<Unit>,
    /// The counts held out: their panel and shoots per metre.
    pub held_out: Vec<(usize, f64)>,
}

/// The zones of a planting and what they explain.
#[derive(Debug, Clone, PartialEq)]
pub struct Division {
    /// For every panel the lowest index of its zone.
    pub labels: Vec<usize>,
    /// Zones.
    pub count: usize,
    /// Squared errors of held-out counts: with these zones, and with one.
    pub held_out: Option<[f64; 2]>,
}

/// Divides a planting into as many zones as the settings allow and the counts support.
///
/// `differ` tells whether every two neighbouring zones of a division differ enough.
pub fn divide(
    panels: Panels<'_>,
    units: &[Unit],
    folds: &[Fold],
    settings: &ZoneSettings,
    differ: impl Fn(&[usize]) -> bool,
) -> Division {
    let merges = ward(units, panels.touching);
    let errors = held_out_errors(panels, folds, settings.most);
    let one: f64 = errors.first().map_or(0.0, |errors| errors.iter().sum());
    let mut best = Division { labels: vec![0; units.len()], count: 1, held_out: None };
    if one <= 0.0 {
        return best;
    }
    best.held_out = Some([one, one]);
    for count in 2..=settings.most {
        let size = (count, panels.least_size);
        let Some(labels) = cut_to_size(units, panels.touching, &merges, size) else { break };
        let least = settings.least_held_out * one * float(count - best.count);
        if gains(&errors[best.count - 1], &errors[count - 1], least) && differ(&labels) {
            let zoned = errors[count - 1].iter().sum();
            best = Division { labels, count, held_out: Some([zoned, one]) };
        }
    }
    best
}

/// How many standard errors of its fall the squared error must fall: one-sided 95 %.
///
/// Calibrated by simulation through the whole estimate, 100 to 200 fields without a pattern each:
/// 95, 98 and 97 of 100 stay one zone at 20, 40 and 60 counts; with 1 in its place it was 91, 93
/// and 96.
const STANDARD_ERRORS_OF_FALL: f64 = 1.645;

/// True when the squared errors of the same counts fall by so much in all, and by more than chance
/// allows: a few counts that happen to fit make no zone.
fn gains(before: &[f64], after: &[f64], least: f64) -> bool {
    let n = float(before.len());
    let falls: Vec<f64> = before.iter().zip(after).map(|(b, a)| b - a).collect();
    let sum: f64 = falls.iter().sum();
    let spread: f64 = falls.iter().map(|fall| (fall - sum / n).powi(2)).sum();
    // The standard error of a sum is √n times that of one.
    let error = (spread / (n - 1.0).max(1.0) * n).sqrt();
    sum >= least && sum > STANDARD_ERRORS_OF_FALL * error
}

/// Squared errors of every held-out count with 1, 2 … `most` zones; a fold that cannot be cut into
/// so many keeps the cut before.
fn held_out_errors(panels: Panels<'_>, folds: &[Fold], most: usize) -> Vec<Vec<f64>> {
    let of_folds: Vec<Vec<Vec<f64>>> =
        folds.par_iter().map(|fold| errors_of_fold(panels, fold, most)).collect();
    (0..most)
        .map(|count| of_folds.iter().flat_map(|fold| &fold[count]).copied().collect())
        .collect()
}

fn errors_of_fold(panels: Panels<'_>, fold: &Fold, most: usize) -> Vec<Vec<f64>> {
    let merges = ward(&fold.units, panels.touching);
    let mut labels = vec![0; fold.units.len()];
    let mut with_zones = |count: usize| {
        if count > 1 {
            let size = (count, panels.least_size);
            if let Some(cut) = cut_to_size(&fold.units, panels.touching, &merges, size) {
                labels = cut;
            }
        }
        squared_errors(fold, &labels)
    };
    (1..=most).map(&mut with_zones).collect()
}

fn squared_errors(fold: &Fold, labels: &[usize]) -> Vec<f64> {
    let mut sums = vec![[0.0; 2]; labels.len()];
    for (unit, &label) in fold.units.iter().zip(labels) {
        sums[label][0] += unit.size * unit.values[0];
        sums[label][1] += unit.size;
    }
    let errors = fold.held_out.iter().map(|&(panel, per_m)| {
        let [sum, size] = sums[labels[panel]];
        (per_m - sum / size).powi(2)
    });
    errors.collect()
}

/// Pairs of zones that touch, by their labels, each pair once.
pub fn borders(touching: &[BTreeSet<usize>], labels: &[usize]) -> BTreeSet<(usize, usize)> {
    let pairs = touching
        .iter()
        .enumerate()
        .flat_map(|(one, others)| others.iter().map(move |&other| (labels[one], labels[other])));
    pairs.filter(|(one, other)| one < other).collect()
}
