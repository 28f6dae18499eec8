//! What few counts allow: a mean, and a map by inverse distance that is shrunk towards it.

use super::{
    design::{Ground, Used},
    kriging::Population,
};
use crate::maths::nearest::square_distance;

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
        if excess(middle) > 0.0 { low = middle } else { high = middle }
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
        let foretold: Vec<f64> = (0..used.len())
            .map(|i| {
                // Leaving a count out moves the mean of its kind, and so its fellows' deviations.
                let moved = used[i].observed.value - means[used[i].kind] - of_mean[i];
                map.deviation_without(map.middles[i], i, |k| {
                    if used[k].kind == used[i].kind { moved } else { 0.0 }
                })
            })
            .collect();
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

#[expect(clippy::cast_precision_loss, reason = "numbers of counts are far below 2⁵³")]
const fn float(count: usize) -> f64 {
    count as f64
}
