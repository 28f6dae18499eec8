//! How much a count of a part of a vine says about the whole vine.
//!
//! | symbol | meaning                                              | unit             |
//! |--------|------------------------------------------------------|------------------|
//! | ℓ, L   | canopy counted, canopy of the vine                   | m                |
//! | z      | fitted mean of the planting                          | 1/m              |
//! | v      | variance of the count around the vine's density      | 1/m²             |
//! | φ      | dispersion: 1 for Poisson                            | 1                |
//!
//! v = φ·z·(1 − ℓ/L)/ℓ + (observer's share · z)². z is never the count itself: its own count would
//! give low counts more weight.

use super::design::Used;
use crate::maths::float;

/// Fewest degrees of freedom of repeated windows from which φ is taken.
const FEWEST_REPEATS: f64 = 10.0;

/// How noise is reckoned for one quantity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct NoiseRules {
    /// Parts of a vine are counted: windows carry noise.
    pub counting: bool,
    /// Standard deviation of an observer, as a share of the mean.
    pub observer_share: f64,
    /// Counts are exact.
    pub none: bool,
}

/// φ from repeated windows where there are enough, else 1; and whether it was taken from them.
pub(super) fn dispersion(used: &[Used], means: &[f64]) -> (f64, bool) {
    let scaled = |u: &Used| (u.repeats.0 / means[u.kind].max(f64::MIN_POSITIVE), u.repeats.1);
    let (squares, degrees) = used
        .iter()
        .filter(|u| means[u.kind] > 0.0)
        .map(scaled)
        .fold((0.0, 0.0), |sum, part| (sum.0 + part.0, sum.1 + part.1));
    if degrees >= FEWEST_REPEATS { (squares / degrees, true) } else { (1.0, false) }
}

/// φ of each kind, lowered where the mean noise would exceed the nugget of the raw counts.
pub(super) fn lowered(used: &[Used], means: &[f64], phi: f64, nugget: f64) -> Vec<f64> {
    let of_kind = |kind: usize| {
        let noises: Vec<f64> =
            used.iter().filter(|u| u.kind == kind).map(|u| means[kind] * u.uncounted).collect();
        let mean = phi * noises.iter().sum::<f64>() / float(noises.len().max(1));
        if mean > nugget { phi * nugget / mean } else { phi }
    };
    (0..means.len()).map(of_kind).collect()
}

/// v of each count.
pub(super) fn noise(used: &[Used], means: &[f64], phi: &[f64], rules: &NoiseRules) -> Vec<f64> {
    let of = |u: &Used| {
        if rules.none {
            return 0.0;
        }
        let mean = means[u.kind].max(0.0);
        let counting = if rules.counting { phi[u.kind] * mean * u.uncounted } else { 0.0 };
        counting + (rules.observer_share * mean) * (rules.observer_share * mean)
    };
    used.iter().map(of).collect()
}
