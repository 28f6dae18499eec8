//! How many shoots are too many on a vine, when its density is only believed and not known.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | μ | believed density less what is left: aim + renewal shoots / L | shoots per m |
//! | σ | its standard deviation | shoots per m |
//! | L | canopy length of the vine | m |
//! | φ, Φ | density and distribution of the standard normal | – |

use crate::maths::normal::{cumulative, density};

/// What comes off a vine: expectation and standard deviation, shoots.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Excess {
    /// E = (μΦ(μ/σ) + σφ(μ/σ))·L.
    pub shoots: f64,
    /// From the second moment ((μ² + σ²)Φ(μ/σ) + μσφ(μ/σ))·L².
    pub sd: f64,
}

/// The expectation of max(0, x)·L for x normal around `mean_per_m`.
///
/// Not max(0, expectation): a vine that may be crowded has some excess even where its mean has
/// none, and the crew will find it.
///
/// # Units
/// `mean_per_m`, `sd_per_m`: shoots per metre; `canopy_m`: metres.
///
/// # Source
/// Moments of a normal distribution censored at 0: Greene 2012, Econometric Analysis, §19.3, from
/// memory; held to numerical integration.
pub fn excess(mean_per_m: f64, sd_per_m: f64, canopy_m: f64) -> Excess {
    if sd_per_m <= 0.0 {
        return Excess { shoots: mean_per_m.max(0.0) * canopy_m, sd: 0.0 };
    }
    let z = mean_per_m / sd_per_m;
    let (below, at) = (cumulative(z), density(z));
    let first = (mean_per_m * below + sd_per_m * at).max(0.0);
    let second = (mean_per_m.powi(2) + sd_per_m.powi(2)) * below + mean_per_m * sd_per_m * at;
    let variance = (second - first * first).max(0.0);
    Excess { shoots: first * canopy_m, sd: variance.sqrt() * canopy_m }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_vine_that_was_counted_has_the_plain_difference() {
        assert_eq!(excess(3.0, 0.0, 2.0), Excess { shoots: 6.0, sd: 0.0 });
        assert_eq!(excess(-3.0, 0.0, 2.0), Excess::default());
    }

    #[test]
    fn doubt_only_adds_to_the_excess() {
        let doubtful = excess(-1.0, 2.0, 1.8);
        assert!(doubtful.shoots > 0.0 && doubtful.sd > doubtful.shoots);
        assert!(excess(3.0, 2.0, 1.8).shoots > 3.0 * 1.8);
        let far_below = excess(-1e3, 1.0, 1.8);
        assert!(far_below.shoots >= 0.0 && far_below.shoots < 1e-12);
    }
}
