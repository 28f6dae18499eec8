//! What panels look like without some counts.
//!
//! The fitted variation is kept and only the counts are left out: simple kriging of the surface at
//! the middle of each panel around the mean of the counts that are left. Without a fitted variation
//! the values are weighted by inverse squared distance. Both stand in for a whole new fit, which
//! would cost as much as the estimate itself in each fold; the variation that they keep has seen
//! the held-out counts, the borders and the means have not. So has the trend of the mean, where there
//! is one: it is taken off the counts before and put on the panels after.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | C | covariance of the surface | shoots² per m² |
//! | v | nugget over the vines of a count, and its counting noise | shoots² per m² |
//! | ℓ, L | canopy counted, canopy of its vines | m |

use crate::maths::float;
use crate::maths::{
    cholesky::{Cholesky, dot},
    covariance::CovarianceModel,
};

/// A count as a point with its own error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Metres along and across the rows, stretched as the fitted variation wants them.
    pub at: [f64; 2],
    /// Shoots per metre.
    pub per_m: f64,
    /// Of these, by how much its vines differ from their planting by the trend of the mean.
    pub trend_per_m: f64,
    /// Vines that it is about.
    pub vines: f64,
    /// (1 − ℓ/L)/ℓ of the metres ℓ that were counted of L: times the mean density it is the variance
    /// that counting a part adds.
    pub unseen_per_m: f64,
}

/// More counts than this are thinned out evenly: borders are coarse things.
const MOST_COUNTS: usize = 300;

/// The surface at each place from these counts, trend out; their mean where they tell nothing more.
pub fn surface(places: &[[f64; 2]], counts: &[Point], model: Option<&CovarianceModel>) -> Vec<f64> {
    let counts =
        thinned(counts).map(|count| Point { per_m: count.per_m - count.trend_per_m, ..count });
    let counts: Vec<Point> = counts.collect();
    let sum: f64 = counts.iter().map(|count| count.per_m).sum();
    let mean = sum / float(counts.len().max(1));
    let kriged = model.and_then(|model| kriged(places, &counts, model, mean));
    kriged.unwrap_or_else(|| inverse_distance(places, &counts, mean))
}

fn thinned(counts: &[Point]) -> impl Iterator<Item = Point> {
    let step = counts.len().div_ceil(MOST_COUNTS).max(1);
    counts.iter().step_by(step).copied()
}

fn kriged(
    places: &[[f64; 2]],
    counts: &[Point],
    model: &CovarianceModel,
    mean: f64,
) -> Option<Vec<f64>> {
    let n = counts.len();
    let mut system = vec![0.0; n * n];
    for (i, one) in counts.iter().enumerate() {
        for (j, other) in counts.iter().enumerate() {
            system[i * n + j] = model.at(apart(one.at, other.at));
        }
        system[i * n + i] +=
            model.nugget / one.vines + mean * one.unseen_per_m + 1e-9 * model.psill;
    }
    let mut weights: Vec<f64> = counts.iter().map(|count| count.per_m - mean).collect();
    Cholesky::factor(system, n)?.solve(&mut weights);
    let mut covariances = vec![0.0; n];
    let at_place = |place: &[f64; 2]| {
        for (covariance, count) in covariances.iter_mut().zip(counts) {
            *covariance = model.at(apart(*place, count.at));
        }
        mean + dot(&covariances, &weights)
    };
    Some(places.iter().map(at_place).collect())
}

fn inverse_distance(places: &[[f64; 2]], counts: &[Point], mean: f64) -> Vec<f64> {
    let at_place = |place: &[f64; 2]| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for count in counts {
            // A metre keeps a count from being the whole truth where it stands.
            let weight = 1.0 / (1.0 + apart(*place, count.at).powi(2));
            sum += weight * count.per_m;
            weights += weight;
        }
        if weights > 0.0 { sum / weights } else { mean }
    };
    places.iter().map(at_place).collect()
}

fn apart(one: [f64; 2], other: [f64; 2]) -> f64 {
    (one[0] - other[0]).hypot(one[1] - other[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_trend_explains_is_no_surface() {
        let model: CovarianceModel = "exponential nugget=1 psill=4 range=20".parse().unwrap();
        // Counts rise by one a metre, all of it by the trend.
        let count = |at: f64| Point {
            at: [at, 0.0],
            per_m: 14.0 + at,
            trend_per_m: at,
            vines: 1.0,
            unseen_per_m: 0.0,
        };
        let counts = [0.0, 5.0, 10.0, 20.0].map(count);
        let places = [[0.0, 0.0], [15.0, 0.0], [60.0, 9.0]];
        for model in [Some(&model), None] {
            for around in surface(&places, &counts, model) {
                assert!((around - 14.0).abs() < 1e-9, "{around}");
            }
        }
    }
}
