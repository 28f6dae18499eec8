//! What few counts allow: a mean, and a map by inverse distance that is shrunk towards it.

use std::{collections::BTreeMap, sync::Arc};

use super::{
    Field, LeaveOneOut, Method,
    check_fit::errors_of_mean,
    design::{Ground, Used},
    kriging::{Kriging, Observed, Population, Prediction},
    map::{Draft, Quantity},
    settle::Settled,
};
use crate::maths::{float, nearest::square_distance};

impl Quantity<'_> {
    /// A map by inverse distance, shrunk to the mean; only the mean without `with_map`. `errors`: as
    /// in [`Quantity::finish`].
    pub(super) fn few(
        &self,
        with_mean: &[bool],
        why: &str,
        with_map: bool,
        errors: Option<&Kriging>,
    ) -> Option<Field> {
        let mut settled = self.settle_mean()?;
        let of_mean = errors_of_mean(&self.used, self.ground.names.len());
        let map = with_map
            .then(|| InverseDistance::new(self.ground, &self.used, &settled.means, &of_mean))
            .filter(|map| map.kept > 0.0);
        let plants = self.ground.known(with_mean);
        let errors_left_out = map.as_ref().map_or(&of_mean, |map| &map.errors);
        let variances = self.variances_of_mean(&settled);
        let left_out: Vec<(f64, f64)> = errors_left_out.iter().copied().zip(variances).collect();
        let predictions = match &map {
            Some(map) => {
                settled.kriging = self.without_map(&settled.kriging, map)?;
                self.with_map(&settled.kriging, map, &plants)
            }
            None if self.at_once() => settled.kriging.predict(&plants),
            None => self.means_alone(&settled, &plants),
        };
        let how = map.as_ref().map_or_else(
            || "one mean a planting".to_owned(),
            |map| format!("inverse distance, {:.0} % of it kept", 100.0 * map.kept),
        );
        let draft = Draft {
            method: if map.is_some() { Method::InverseDistance } else { Method::Mean },
            why: format!("{why}; {how}{}", self.noise_words(&settled)),
            plants,
            predictions,
            model: None,
            check: LeaveOneOut::new(&left_out, &of_mean, self.student(&settled.kriging)),
            errors: left_out,
            scale: 1.0,
        };
        Some(self.finish(draft, &settled, errors))
    }

    /// Variance of each count around the mean of the others.
    fn variances_of_mean(&self, settled: &Settled) -> Vec<f64> {
        let kriging = &settled.kriging;
        if self.at_once() {
            return kriging.left_out().into_iter().map(|(_, variance)| variance).collect();
        }
        let one = |(u, count): (&Used, &Observed)| {
            own_variance(count, kriging.model().nugget) + kriging.mean_variance(u.kind)
        };
        self.used.iter().zip(&settled.observed).map(one).collect()
    }

    /// The mean on every plant, and a count on its own: for more counts than one system holds.
    ///
    /// Without a pattern a count speaks for other vines through the mean alone. A vine that was
    /// counted alone and in a panel is known by the first.
    fn means_alone(&self, settled: &Settled, plants: &[usize]) -> Vec<Option<Prediction>> {
        let nugget = settled.kriging.model().nugget;
        let counts = counts_of_plants(&settled.observed);
        let one = |&plant: &usize| {
            let kind = self.ground.kind[plant];
            let mean = settled.kriging.mean(kind)?;
            let (mut value, mut variance) = (mean, nugget);
            if let Some(&(weight, count)) = counts.get(&plant) {
                let believed = nugget * weight / own_variance(count, nugget);
                value += believed * (count.value - mean);
                variance -= believed * nugget * weight;
            }
            let share = variance / nugget;
            variance += share * share * settled.kriging.mean_variance(kind);
            Some(Prediction { value, variance: variance.max(0.0), surface: mean })
        };
        plants.iter().map(one).collect()
    }

    /// The same system for what the map leaves over: a count is honoured on its own vine.
    fn without_map(&self, kriging: &Kriging, map: &InverseDistance) -> Option<Kriging> {
        let population = &self.ground.population;
        let observed = kriging.observed().iter().map(|count| Observed {
            value: count.value - map.deviation(count.middle(population)),
            ..count.clone()
        });
        Kriging::solve(Arc::clone(population), observed.collect(), kriging.model()).ok()
    }

    fn with_map(
        &self,
        kriging: &Kriging,
        map: &InverseDistance,
        plants: &[usize],
    ) -> Vec<Option<Prediction>> {
        let places = self.ground.population.places();
        let shifted = |(prediction, &plant): (Option<Prediction>, &usize)| {
            let shift = map.deviation(places[plant]);
            prediction.map(|p| Prediction {
                value: p.value + shift,
                surface: p.surface + shift,
                ..p
            })
        };
        kriging.predict(plants).into_iter().zip(plants).map(shifted).collect()
    }
}

/// The count in which each plant has the most weight, with that weight.
fn counts_of_plants(observed: &[Observed]) -> BTreeMap<usize, (f64, &Observed)> {
    let mut counts = BTreeMap::new();
    let all = observed.iter().flat_map(|o| o.plants.iter().map(move |&(plant, w)| (plant, w, o)));
    for (plant, weight, count) in all {
        let best = counts.entry(plant).or_insert((weight, count));
        if weight > best.0 {
            *best = (weight, count);
        }
    }
    counts
}

/// Variance of a count around the surface.
fn own_variance(count: &Observed, nugget: f64) -> f64 {
    nugget * count.plants.iter().map(|(_, weight)| weight * weight).sum::<f64>() + count.noise
}

/// Variance of a vine around its kind's mean, given the noise of each count.
///
/// # Source
/// Moments: the nugget at which Σ r²/(nugget·Σw² + v) equals its degrees of freedom (Paule & Mandel
/// 1982, J. Res. NBS 87:377).
pub(super) fn variance_around_means(used: &[Used], noise: &[f64], kinds: usize) -> f64 {
    let shares: Vec<f64> =
        used.iter().map(|u| u.observed.plants.iter().map(|(_, w)| w * w).sum()).collect();
    let values = used.iter().map(|u| u.observed.value);
    let size = values.fold(0.0, |m: f64, value| m.max(value.abs()));
    let present = (0..kinds).filter(|&kind| used.iter().any(|u| u.kind == kind)).count();
    let degrees = float(used.len()) - float(present);
    // Counts that are all the same leave a variance of rounding, so that nothing divides by 0.
    let (mut low, mut high) = ((size * size).max(1e-6) * 1e-12, (size * size).max(1e-6) * 4.0);
    let excess = |nugget: f64| {
        let weights: Vec<f64> =
            shares.iter().zip(noise).map(|(share, v)| 1.0 / (nugget * share + v)).collect();
        weighted_squares(used, &weights, kinds) - degrees
    };
    if degrees < 1.0 || excess(low) <= 0.0 {
        return low;
    }
    for _ in 0..100 {
        let middle = (low * high).sqrt();
        if excess(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    (low * high).sqrt()
}

fn weighted_squares(used: &[Used], weights: &[f64], kinds: usize) -> f64 {
    let mut sums = vec![(0.0, 0.0); kinds];
    for (u, weight) in used.iter().zip(weights) {
        sums[u.kind].0 += weight * u.observed.value;
        sums[u.kind].1 += weight;
    }
    let square = |(u, weight): (&Used, &f64)| {
        let residual = u.observed.value - sums[u.kind].0 / sums[u.kind].1;
        weight * residual * residual
    };
    used.iter().zip(weights).map(square).sum()
}

/// A map by inverse distance of the counts' deviations from their means, shrunk by leave-one-out.
#[derive(Debug, Clone)]
pub(super) struct InverseDistance {
    middles: Vec<[f64; 2]>,
    deviations: Vec<f64>,
    /// Square of the distance within which a count does not stand out, metres².
    blur_m2: f64,
    /// How much of the map is kept, 0 … 1.
    pub kept: f64,
    /// Leave-one-out errors of the shrunk map.
    pub errors: Vec<f64>,
}

impl InverseDistance {
    /// `of_mean` are the leave-one-out errors of the mean, `means` the fitted means by kind.
    pub(super) fn new(ground: &Ground, used: &[Used], means: &[f64], of_mean: &[f64]) -> Self {
        let population: &Population = &ground.population;
        let middles: Vec<[f64; 2]> = used.iter().map(|u| u.observed.middle(population)).collect();
        let deviations = used.iter().map(|u| u.observed.value - means[u.kind]).collect();
        let blur_m2 = typical_gap(&middles).max(ground.spacing_m * ground.spacing_m);
        let mut map = Self { middles, deviations, blur_m2, kept: 0.0, errors: Vec::new() };
        let foretold = |i: usize| {
            // Leaving a count out moves the mean of its kind, and so its fellows' deviations.
            let moved = used[i].observed.value - means[used[i].kind] - of_mean[i];
            let of_fellow = |k: usize| f64::from(used[k].kind == used[i].kind) * moved;
            map.deviation_without(map.middles[i], i, of_fellow)
        };
        let foretold: Vec<f64> = (0..used.len()).map(foretold).collect();
        let products: f64 = foretold.iter().zip(of_mean).map(|(f, e)| f * e).sum();
        let squares: f64 = foretold.iter().map(|f| f * f).sum();
        map.kept = if squares > 0.0 { (products / squares).clamp(0.0, 1.0) } else { 0.0 };
        map.errors = foretold.iter().zip(of_mean).map(|(f, e)| e - map.kept * f).collect();
        map
    }

    /// The deviation of the surface from the mean at a place.
    pub(super) fn deviation(&self, at: [f64; 2]) -> f64 {
        self.kept * self.deviation_without(at, usize::MAX, |_| 0.0)
    }

    fn deviation_without(&self, at: [f64; 2], without: usize, moved: impl Fn(usize) -> f64) -> f64 {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (k, (middle, deviation)) in self.middles.iter().zip(&self.deviations).enumerate() {
            if k != without {
                let weight = 1.0 / (square_distance(at, *middle) + self.blur_m2);
                sum += weight * (deviation - moved(k));
                weights += weight;
            }
        }
        if weights > 0.0 { sum / weights } else { 0.0 }
    }
}

/// The median square distance of a count to its nearest fellow.
fn typical_gap(middles: &[[f64; 2]]) -> f64 {
    let mut gaps: Vec<f64> = (0..middles.len())
        .filter_map(|i| {
            let others = (0..middles.len()).filter(|&k| k != i);
            others.map(|k| square_distance(middles[i], middles[k])).min_by(f64::total_cmp)
        })
        .collect();
    gaps.sort_by(f64::total_cmp);
    gaps.get(gaps.len() / 2).copied().unwrap_or(0.0)
}
