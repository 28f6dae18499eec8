//! How many to count.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | N, n | units that could be drawn; units drawn | – |
//! | CV | standard deviation between units over their mean | – |
//! | E | half-width of the interval around the mean, as a share of it | – |
//! | z | normal quantile of the confidence | – |
//! | ρ | how alike two vines of a panel are (intraclass correlation) | – |
//!
//! # Source
//! Cochran 1977, Sampling Techniques, 3rd ed., eq. 4.1 and 4.2: n₀ = (z·CV/E)², n = n₀/(1 + n₀/N).
//! Variance of a cluster's mean: the same, 9.4.

use crate::maths::{float, normal};

/// How many units of `units` bring the mean's relative error down to `error`; at least 1.
pub fn number_for_error(variation: f64, error: f64, confidence: f64, units: usize) -> usize {
    let n0 = (z(confidence) * variation / error).powi(2);
    let n = n0 / (1.0 + n0 / float(units.max(1)));
    // A number that only rounding lifts above a whole one is that whole one.
    let whole = (n - 1e-9).ceil().max(1.0);
    (1..=units).find(|&number| float(number) >= whole).unwrap_or(units)
}

/// The half-width of the interval around the mean of `drawn` of `units`, as a share of it; 0 where
/// all are counted.
pub fn error_of_mean(variation: f64, drawn: usize, units: usize, confidence: f64) -> f64 {
    if drawn == 0 {
        return f64::INFINITY;
    }
    let left = (1.0 / float(drawn) - 1.0 / float(units.max(drawn))).max(0.0);
    z(confidence) * variation * left.sqrt()
}

/// The variation between units of so many vines, from that between single vines.
pub(super) fn variation_of_unit(of_vines: f64, vines: f64, alike: f64) -> f64 {
    of_vines * ((1.0 + (vines - 1.0) * alike) / vines.max(1.0)).sqrt()
}

/// The variation between single vines, from that between units of so many.
pub fn variation_of_vines(of_units: f64, vines: f64, alike: f64) -> f64 {
    of_units / variation_of_unit(1.0, vines, alike)
}

fn z(confidence: f64) -> f64 {
    normal::quantile(0.5 + confidence / 2.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: Cochran 1977, eq. 4.1 and 4.2, worked for the 125 vines of Strickland 1932 (J. Agric.
    // Victoria 30:584, CV 43.49 %): 46, 16 and 88 vines at 95 %, 37 at 90 %.
    #[test]
    fn sizes_are_those_of_the_formula_worked_by_hand() {
        let size = |error, z_95: bool| {
            number_for_error(0.4349, error, if z_95 { 0.95 } else { 0.90 }, 125)
        };
        assert_eq!([0.10, 0.20, 0.05].map(|error| size(error, true)), [46, 16, 88]);
        assert_eq!(size(0.10, false), 37);
    }

    #[test]
    fn the_error_of_the_number_for_an_error_is_at_most_that_error() {
        for units in [5, 40, 900, 7500] {
            for error in [0.02, 0.1, 0.3] {
                let number = number_for_error(0.3, error, 0.9, units);
                assert!(error_of_mean(0.3, number, units, 0.9) <= error + 1e-9);
                let fewer = number.saturating_sub(1).max(1);
                assert!(number == 1 || error_of_mean(0.3, fewer, units, 0.9) > error);
            }
        }
        assert!(error_of_mean(0.3, 40, 40, 0.9).abs() < 1e-12, "all are counted");
    }

    #[test]
    fn panels_of_unlike_vines_vary_less_than_vines() {
        // Four vines that know nothing of each other: half the variation. Four that are one: all.
        assert!((variation_of_unit(0.4, 4.0, 0.0) - 0.2).abs() < 1e-12);
        assert!((variation_of_unit(0.4, 4.0, 1.0) - 0.4).abs() < 1e-12);
        assert!((variation_of_unit(0.4, 1.0, 0.3) - 0.4).abs() < 1e-12);
    }
}
