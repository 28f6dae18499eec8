//! Mean covariance between two sets of plants, without summing over every pair.

use super::kriging::Population;
use crate::maths::{covariance::CovarianceModel, nearest::square_distance};

/// Σ aⱼ bₖ C(|xⱼ − xₖ|), without the nugget.
pub(super) fn covariance_sum(
    population: &Population,
    a: &[(usize, f64)],
    b: &[(usize, f64)],
    model: &CovarianceModel,
) -> f64 {
    let at = population.places();
    let mut sum = 0.0;
    for &(j, weight) in a {
        let row: f64 =
            b.iter().map(|&(k, w)| w * model.at(square_distance(at[j], at[k]).sqrt())).sum();
        sum += weight * row;
    }
    sum
}
