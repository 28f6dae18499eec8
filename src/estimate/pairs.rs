//! Covariances between counts, laid out once and evaluated for many models.

use super::{
    kriging::{Observed, Population},
    pair_sums::shared_weight,
};
use crate::maths::covariance::CovarianceModel;

/// Distances nearer to each other than this are one, metres: neighbouring panels have few distances.
const SAME_DISTANCE_M: f64 = 1e-9;

/// For every pair of counts the distances between their plants, with weights.
#[derive(Debug, Clone)]
pub(super) struct Pairs {
    n: usize,
    /// Where each pair (row by row of the lower triangle) starts in `distances`, and the end.
    starts: Vec<usize>,
    /// Weight, metres along and across the rows.
    distances: Vec<(f64, [f64; 2])>,
    /// Counts that share plants: their rows and Σ w·w′, the share of the nugget.
    shared: Vec<(usize, usize, f64)>,
}

impl Pairs {
    /// Lays out the pairs of some counts.
    pub(super) fn new(population: &Population, observed: &[Observed]) -> Self {
        let mut pairs =
            Self { n: observed.len(), starts: vec![0], distances: Vec::new(), shared: Vec::new() };
        for (i, one) in observed.iter().enumerate() {
            for (k, other) in observed[..=i].iter().enumerate() {
                pairs.add(population, one, other);
                let shared = shared_weight(&one.plants, &other.plants);
                pairs.shared.extend((shared > 0.0).then_some((i, k, shared)));
            }
        }
        pairs
    }

    fn add(&mut self, population: &Population, one: &Observed, other: &Observed) {
        let at = population.places();
        let first = self.distances.len();
        for &(a, weight_a) in &one.plants {
            for &(b, weight_b) in &other.plants {
                let apart = [0, 1].map(|axis| (at[a][axis] - at[b][axis]).abs());
                self.distances.push((weight_a * weight_b, apart));
            }
        }
        if self.distances.len() == first + 1 {
            self.starts.push(self.distances.len());
            return;
        }
        self.distances[first..]
            .sort_by(|x, y| x.1[0].total_cmp(&y.1[0]).then_with(|| x.1[1].total_cmp(&y.1[1])));
        let mut last = first;
        for next in first + 1..self.distances.len() {
            let (weight, apart) = self.distances[next];
            let before = self.distances[last].1;
            if [0, 1].iter().all(|&axis| (apart[axis] - before[axis]).abs() < SAME_DISTANCE_M) {
                self.distances[last].0 += weight;
            } else {
                last += 1;
                self.distances[last] = (weight, apart);
            }
        }
        self.distances.truncate(last + 1);
        self.starts.push(self.distances.len());
    }

    /// The covariance of the counts: lower triangle of a full matrix, row by row. Distances across
    /// the rows are multiplied by `across_ratio`.
    pub(super) fn matrix(
        &self,
        model: &CovarianceModel,
        across_ratio: f64,
        noise: &[f64],
    ) -> Vec<f64> {
        let at = |&(weight, [along, across]): &(f64, [f64; 2])| {
            let across = across_ratio * across;
            weight * model.at((along * along + across * across).sqrt())
        };
        let n = self.n;
        let mut matrix = vec![0.0; n * n];
        let mut pair = 0;
        for i in 0..n {
            for value in &mut matrix[i * n..=i * n + i] {
                let of = &self.distances[self.starts[pair]..self.starts[pair + 1]];
                *value = of.iter().map(at).sum();
                pair += 1;
            }
            matrix[i * n + i] += noise[i];
        }
        for &(i, k, shared) in &self.shared {
            matrix[i * n + k] += model.nugget * shared;
        }
        matrix
    }
}
