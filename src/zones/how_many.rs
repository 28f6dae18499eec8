//! As many zones as differ and foretell counts that they have not seen.
//!
//! A border is believed when the zones on both sides differ by more than so many standard errors of
//! their difference and when more zones foretell held-out counts better. In each fold the borders
//! are drawn anew without the fold's counts: borders that had seen them would flatter themselves. A
//! held-out count is foretold by the mean surface of its zone, which shrinks what few counts say.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::{
    merge::{Unit, cut_to_size, ward},
    straighten::straighten,
};
use crate::maths::float;
use crate::settings::ZoneSettings;

/// The parts of a planting (panels, or whole rows) with their neighbours, and the least size of a
/// zone.
#[derive(Debug, Clone, Copy)]
pub struct Panels<'a> {
    /// Who touches whom.
    pub touching: &'a [BTreeSet<usize>],
    /// What a border that parts two of them is longer for it, lower index first, in typical distances
    /// between counts.
    pub border_lengths: &'a BTreeMap<(usize, usize), f64>,
    /// No zone is smaller, in the units' sizes.
    pub least_size: f64,
}

/// A count as drawing sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// The part that it lies in.
    pub part: usize,
    /// Shoots per metre.
    pub per_m: f64,
    /// Its variance within a zone, up to a factor that all counts share.
    pub variance: f64,
}

/// A planting as it looks with some counts.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The parts.
    pub units: Vec<Unit>,
    /// The counts.
    pub counts: Vec<Seen>,
}

impl View {
    /// By label the mean of its counts, weighted by 1 / variance; `None` without a count.
    pub(super) fn means(&self, labels: &[usize]) -> Vec<Option<f64>> {
        let mut sums = vec![[0.0; 2]; labels.len()];
        for count in &self.counts {
            let [sum, weight] = &mut sums[labels[count.part]];
            *sum += count.per_m / count.variance;
            *weight += 1.0 / count.variance;
        }
        sums.into_iter().map(|[sum, weight]| (weight > 0.0).then(|| sum / weight)).collect()
    }
}

/// A fold of counts that were held out.
#[derive(Debug, Clone, PartialEq)]
pub struct Fold {
    /// The planting as it looks without these counts.
    pub kept: View,
    /// The counts held out: their part and shoots per metre.
    pub held_out: Vec<(usize, f64)>,
}

/// How the held-out counts of a fold are foretold from its zones: their squared errors.
pub(super) type Foretell = fn(&Fold, &[usize]) -> Vec<f64>;

/// The zones of a planting and what they explain.
#[derive(Debug, Clone, PartialEq)]
pub struct Division {
    /// For every part the lowest index of its zone.
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
    whole: &View,
    folds: &[Fold],
    settings: &ZoneSettings,
    differ: impl Fn(&[usize]) -> bool,
) -> Division {
    let merges = ward(&whole.units, panels.touching);
    let errors =
        held_out_errors(panels, folds, (settings.most, settings.border_cost), errors_by_surface);
    let one: f64 = errors.first().map_or(0.0, |errors| errors.iter().sum());
    let mut best = Division { labels: vec![0; whole.units.len()], count: 1, held_out: None };
    if one <= 0.0 {
        return best;
    }
    best.held_out = Some([one, one]);
    for count in 2..=settings.most {
        let drawn = cut_to_size(&whole.units, panels.touching, &merges, (count, panels.least_size));
        let Some(labels) = drawn else { break };
        let labels = straighten(panels, whole, labels, settings.border_cost);
        let least = settings.least_held_out * one * float(count - best.count);
        let falls = gains(&errors[best.count - 1], &errors[count - 1], settings, least);
        if falls && differ(&labels) {
            let zoned = errors[count - 1].iter().sum();
            best = Division { labels, count, held_out: Some([zoned, one]) };
        }
    }
    best
}

/// True when the squared errors of the same counts fall by so much in all, and by more than chance
/// allows: a few counts that happen to fit make no zone.
fn gains(before: &[f64], after: &[f64], settings: &ZoneSettings, least: f64) -> bool {
    let n = float(before.len());
    let falls: Vec<f64> = before.iter().zip(after).map(|(b, a)| b - a).collect();
    let sum: f64 = falls.iter().sum();
    let spread: f64 = falls.iter().map(|fall| (fall - sum / n).powi(2)).sum();
    // The standard error of a sum is √n times that of one.
    let error = (spread / (n - 1.0).max(1.0) * n).sqrt();
    sum >= least && sum > settings.standard_errors_of_fall * error
}

/// Squared errors of every held-out count with 1, 2 … `most` zones, in the order of the folds; a
/// fold that cannot be cut into so many keeps the cut before.
pub(super) fn held_out_errors(
    panels: Panels<'_>,
    folds: &[Fold],
    (most, border_cost): (usize, f64),
    foretell: Foretell,
) -> Vec<Vec<f64>> {
    let of_fold = |fold| errors_of_fold(panels, fold, (most, border_cost), foretell);
    let of_folds: Vec<Vec<Vec<f64>>> = folds.par_iter().map(of_fold).collect();
    (0..most)
        .map(|count| of_folds.iter().flat_map(|fold| &fold[count]).copied().collect())
        .collect()
}

fn errors_of_fold(
    panels: Panels<'_>,
    fold: &Fold,
    (most, border_cost): (usize, f64),
    foretell: Foretell,
) -> Vec<Vec<f64>> {
    let Fold { kept, .. } = fold;
    let merges = ward(&kept.units, panels.touching);
    let mut labels = vec![0; kept.units.len()];
    let mut with_zones = |count: usize| {
        if count > 1 {
            let size = (count, panels.least_size);
            if let Some(cut) = cut_to_size(&kept.units, panels.touching, &merges, size) {
                labels = straighten(panels, kept, cut, border_cost);
            }
        }
        foretell(fold, &labels)
    };
    (1..=most).map(&mut with_zones).collect()
}

/// Squared errors of the held-out counts, foretold by the kept counts of their zone; by those of
/// all zones where a zone has none.
pub(super) fn errors_by_counts(fold: &Fold, labels: &[usize]) -> Vec<f64> {
    let means = fold.kept.means(labels);
    let of_all = fold.kept.means(&vec![0; labels.len()]);
    let of_all = of_all.first().copied().flatten().unwrap_or(0.0);
    let error =
        |&(part, per_m): &(usize, f64)| (per_m - means[labels[part]].unwrap_or(of_all)).powi(2);
    fold.held_out.iter().map(error).collect()
}

/// Squared errors of the held-out counts, foretold by the mean surface of their zone.
fn errors_by_surface(fold: &Fold, labels: &[usize]) -> Vec<f64> {
    let mut sums = vec![[0.0; 2]; labels.len()];
    for (unit, &label) in fold.kept.units.iter().zip(labels) {
        sums[label][0] += unit.size * unit.values[0];
        sums[label][1] += unit.size;
    }
    let error = |&(part, per_m): &(usize, f64)| {
        let [sum, size] = sums[labels[part]];
        (per_m - sum / size).powi(2)
    };
    fold.held_out.iter().map(error).collect()
}

/// Pairs of zones that touch, by their labels, each pair once.
pub fn borders(touching: &[BTreeSet<usize>], labels: &[usize]) -> BTreeSet<(usize, usize)> {
    let pairs = touching
        .iter()
        .enumerate()
        .flat_map(|(one, others)| others.iter().map(move |&other| (labels[one], labels[other])));
    pairs.filter(|(one, other)| one < other).collect()
}
