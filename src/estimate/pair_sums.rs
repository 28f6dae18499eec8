//! Sums of covariances between two sets of plants, without looking at every pair.
//!
//! Two clusters of plants far apart act on each other like their middles, but for the curvature of
//! the covariance over their spread; near ones are halved until they are far apart for their size or
//! single plants. Two sets with few pairs are summed in full.
//!
//! | symbol | meaning                                             | unit |
//! |--------|-----------------------------------------------------|------|
//! | h, u   | distance between two middles, its direction         | m, – |
//! | M      | second moments of a cluster about its middle        | m²   |
//! | H      | C″·uuᵀ + (C′/h)·(I − uuᵀ), curvature of C           |      |
//!
//! Σ aⱼbₖC ≈ AB·(C(h) + ½ tr((M + M′)·H)).

use std::cmp::Ordering;

use rayon::prelude::*;

use super::kriging::{Observed, Population};
use crate::maths::{
    covariance::{CovarianceModel, Family},
    float,
    nearest::{extent, square_distance},
};

/// Up to so many pairs every one is summed.
const FEW_PAIRS: usize = 4000;
/// Largest error of a pair of clusters, as a share of the mean covariance of the two sets.
const TOLERANCE: f64 = 1e-3;
/// A mean covariance below this share of the sill need not be known any better.
const LEAST_SHARE: f64 = 1e-3;
/// Plants of each set from which the mean covariance is guessed.
const GUESS_FROM: usize = 24;
/// Clusters of so few plants are not halved.
const LEAF: usize = 2;

/// Plants with weights, in clusters of clusters.
#[derive(Debug, Clone)]
pub(super) struct Clusters {
    /// Place and weight, cluster by cluster.
    plants: Vec<([f64; 2], f64)>,
    nodes: Vec<Node>,
}

/// Plants near each other.
#[derive(Debug, Clone)]
struct Node {
    /// Its plants: from and up to but without.
    plants: (usize, usize),
    weight: f64,
    middle: [f64; 2],
    /// Second moments: along, both, across.
    moments: [f64; 3],
    /// Distance from the middle to the farthest plant.
    radius: f64,
    /// Its halves, as indices of nodes; none for a leaf.
    halves: Option<(usize, usize)>,
}

impl Clusters {
    /// Sorts plants into clusters.
    pub(super) fn new(population: &Population, plants: &[(usize, f64)]) -> Self {
        let at = population.places();
        let plants: Vec<_> = plants.iter().map(|&(plant, weight)| (at[plant], weight)).collect();
        let count = plants.len();
        let mut clusters = Self { plants, nodes: Vec::new() };
        if count > 0 {
            clusters.grow(0, count);
        }
        clusters
    }

    fn grow(&mut self, from: usize, to: usize) -> usize {
        let number = self.nodes.len();
        self.nodes.push(Node::new(&self.plants[from..to], (from, to)));
        if to - from > LEAF {
            let places: Vec<[f64; 2]> = self.plants[from..to].iter().map(|(at, _)| *at).collect();
            let (least, most) = extent(&places);
            let axis = usize::from(most[1] - least[1] > most[0] - least[0]);
            let half = (to - from) / 2;
            let by_axis =
                |a: &([f64; 2], f64), b: &([f64; 2], f64)| a.0[axis].total_cmp(&b.0[axis]);
            self.plants[from..to].select_nth_unstable_by(half, by_axis);
            let first = self.grow(from, from + half);
            let second = self.grow(from + half, to);
            self.nodes[number].halves = Some((first, second));
        }
        number
    }

    fn of(&self, node: &Node) -> &[([f64; 2], f64)] {
        &self.plants[node.plants.0..node.plants.1]
    }
}

impl Node {
    fn new(plants: &[([f64; 2], f64)], of: (usize, usize)) -> Self {
        let weight: f64 = plants.iter().map(|(_, w)| w).sum();
        let mean = |k: usize| plants.iter().map(|(at, w)| w * at[k]).sum::<f64>() / weight;
        let middle = if weight > 0.0 { [mean(0), mean(1)] } else { plants[0].0 };
        let mut moments = [0.0; 3];
        let mut farthest: f64 = 0.0;
        for (at, w) in plants {
            let (x, y) = (at[0] - middle[0], at[1] - middle[1]);
            let share = if weight > 0.0 { w / weight } else { 0.0 };
            moments[0] += share * x * x;
            moments[1] += share * x * y;
            moments[2] += share * y * y;
            farthest = farthest.max(x * x + y * y);
        }
        Self { plants: of, weight, middle, moments, radius: farthest.sqrt(), halves: None }
    }
}

/// The covariances of counts of very many plants: lower triangle of a full matrix, row by row.
pub(super) fn matrix(
    population: &Population,
    observed: &[Observed],
    model: &CovarianceModel,
) -> Vec<f64> {
    let n = observed.len();
    let clusters: Vec<Clusters> =
        observed.iter().map(|count| Clusters::new(population, &count.plants)).collect();
    let row = |i: usize| {
        let entry = |k: usize| {
            let shared = shared_weight(&observed[i].plants, &observed[k].plants);
            covariance_sum(&clusters[i], &clusters[k], model) + model.nugget * shared
        };
        let mut row: Vec<f64> = (0..=i).map(entry).collect();
        row[i] += observed[i].noise;
        row.resize(n, 0.0);
        row
    };
    (0..n).into_par_iter().flat_map_iter(row).collect()
}

/// Σ a·b over the plants in both; both sorted by plant.
pub(super) fn shared_weight(a: &[(usize, f64)], b: &[(usize, f64)]) -> f64 {
    let (mut i, mut k, mut sum) = (0, 0, 0.0);
    while i < a.len() && k < b.len() {
        match a[i].0.cmp(&b[k].0) {
            Ordering::Less => i += 1,
            Ordering::Greater => k += 1,
            Ordering::Equal => {
                sum += a[i].1 * b[k].1;
                i += 1;
                k += 1;
            }
        }
    }
    sum
}

/// Σ aⱼ bₖ C(|xⱼ − xₖ|), without the nugget.
pub(super) fn covariance_sum(a: &Clusters, b: &Clusters, model: &CovarianceModel) -> f64 {
    if a.plants.len() * b.plants.len() <= FEW_PAIRS {
        return every_pair(&a.plants, &b.plants, model);
    }
    let guess = guessed_mean(a, b, model).max(LEAST_SHARE * model.psill);
    let sum = Sum { a, b, model, tolerance: TOLERANCE * guess };
    if std::ptr::eq(a, b) { sum.within(0) } else { sum.between(0, 0) }
}

fn every_pair(a: &[([f64; 2], f64)], b: &[([f64; 2], f64)], model: &CovarianceModel) -> f64 {
    let with_all = |(at, weight): &([f64; 2], f64)| {
        let one = |(place, w): &([f64; 2], f64)| w * model.at(square_distance(*at, *place).sqrt());
        weight * b.iter().map(one).sum::<f64>()
    };
    a.iter().map(with_all).sum()
}

/// The mean covariance, from a few plants spread over both sets.
fn guessed_mean(a: &Clusters, b: &Clusters, model: &CovarianceModel) -> f64 {
    let some = |clusters: &Clusters| {
        let step = clusters.plants.len().div_ceil(GUESS_FROM);
        let spread: Vec<_> = clusters.plants.iter().step_by(step).map(|p| (p.0, 1.0)).collect();
        spread
    };
    let (a, b) = (some(a), some(b));
    every_pair(&a, &b, model) / float(a.len() * b.len())
}

struct Sum<'a> {
    a: &'a Clusters,
    b: &'a Clusters,
    model: &'a CovarianceModel,
    tolerance: f64,
}

impl Sum<'_> {
    /// All pairs within one cluster of a set with itself.
    fn within(&self, number: usize) -> f64 {
        let node = &self.a.nodes[number];
        match node.halves {
            None => every_pair(self.a.of(node), self.a.of(node), self.model),
            Some((one, other)) => {
                self.within(one) + self.within(other) + 2.0 * self.between(one, other)
            }
        }
    }

    fn between(&self, one: usize, other: usize) -> f64 {
        let (p, q) = (&self.a.nodes[one], &self.b.nodes[other]);
        if let Some(sum) = self.as_from_afar(p, q) {
            return sum;
        }
        // The wider one is halved, or the one that still can be.
        match (p.halves, q.halves) {
            (None, None) => every_pair(self.a.of(p), self.b.of(q), self.model),
            (Some((first, second)), halves) if halves.is_none() || p.radius >= q.radius => {
                self.between(first, other) + self.between(second, other)
            }
            (_, Some((first, second))) => self.between(one, first) + self.between(one, second),
            (Some(_), None) => 0.0,
        }
    }

    /// The sum by middles and curvature, where that is near enough.
    fn as_from_afar(&self, p: &Node, q: &Node) -> Option<f64> {
        let square = square_distance(p.middle, q.middle);
        let h = square.sqrt();
        let nearest = h - p.radius - q.radius;
        if nearest <= 0.0 {
            return None;
        }
        let spread = p.moments[0] + p.moments[2] + q.moments[0] + q.moments[2];
        let bend = 1.0 / self.model.range_m + 1.0 / h;
        // The fourth-order term of the series, about ⅛ of the square of the second-order one.
        let error = 0.125 * (spread * bend * bend).powi(2) * greatest(self.model, nearest);
        (error <= self.tolerance).then(|| p.weight * q.weight * self.curved(p, q, h))
    }

    fn curved(&self, p: &Node, q: &Node, h: f64) -> f64 {
        let (value, slope, curvature) = slopes(self.model, h);
        let (x, y) = ((q.middle[0] - p.middle[0]) / h, (q.middle[1] - p.middle[1]) / h);
        let m = [0, 1, 2].map(|k| p.moments[k] + q.moments[k]);
        let along = m[0] * x * x + 2.0 * m[1] * x * y + m[2] * y * y;
        value + 0.5 * (curvature * along + slope / h * (m[0] + m[2] - along))
    }
}

/// A bound of the covariance and its derivatives (in units of the range) from a distance on.
fn greatest(model: &CovarianceModel, h: f64) -> f64 {
    match model.family {
        Family::Exponential => model.at(h),
        Family::Spherical if h < model.range_m => model.psill,
        Family::Spherical => 0.0,
    }
}

/// C, C′ and C″.
fn slopes(model: &CovarianceModel, h: f64) -> (f64, f64, f64) {
    let value = model.at(h);
    let (a, s) = (model.range_m, h / model.range_m);
    match model.family {
        Family::Exponential => (value, -value / a, value / (a * a)),
        Family::Spherical if s < 1.0 => {
            (value, 1.5 * model.psill * (s * s - 1.0) / a, 3.0 * model.psill * s / (a * a))
        }
        Family::Spherical => (0.0, 0.0, 0.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::random::Random;

    /// Vines of some rows with uneven canopies, row starts shifted as on a slanting headland.
    fn vines(rows: u32, vines: u32) -> (Population, Vec<(usize, f64)>) {
        let mut random = Random::new(5);
        let mut at = Vec::new();
        for row in 0..rows {
            for vine in 0..vines {
                let along = 1.2 * f64::from(vine) + 0.37 * f64::from(row);
                at.push([along, 2.5 * f64::from(row)]);
            }
        }
        let weights = (0..at.len()).map(|vine| (vine, 0.5 + random.uniform())).collect();
        (Population::with_one_mean(at), weights)
    }

    #[test]
    fn clusters_come_within_a_thousandth_of_the_full_sum() {
        let (population, weights) = vines(30, 60);
        let (low, high) = weights.split_at(700);
        for family in [Family::Exponential, Family::Spherical] {
            for range_m in [1.2, 5.0, 20.0, 80.0, 500.0] {
                let model = CovarianceModel { family, nugget: 0.0, psill: 2.0, range_m };
                assert!(worst_error(&population, [low, high], &model) < 1e-3, "{model}");
            }
        }
    }

    /// Of the sums within and between two sets, relative to the full sum or, where a short range
    /// leaves nothing in common, to the sill.
    fn worst_error(
        population: &Population,
        [low, high]: [&[(usize, f64)]; 2],
        model: &CovarianceModel,
    ) -> f64 {
        let (low, high) = (Clusters::new(population, low), Clusters::new(population, high));
        let error = |(a, b): (&Clusters, &Clusters)| {
            let full = every_pair(&a.plants, &b.plants, model);
            let least = a.nodes[0].weight * b.nodes[0].weight * LEAST_SHARE * model.psill;
            (covariance_sum(a, b, model) - full).abs() / full.max(least)
        };
        [(&low, &low), (&low, &high), (&high, &high)].map(error).into_iter().fold(0.0, f64::max)
    }

    #[test]
    fn slopes_are_the_derivatives() {
        for family in [Family::Exponential, Family::Spherical] {
            let model = CovarianceModel { family, nugget: 0.0, psill: 2.0, range_m: 7.0 };
            let (h, step) = (3.0, 1e-4);
            let (low, value, high) = (model.at(h - step), model.at(h), model.at(h + step));
            let (_, slope, curvature) = slopes(&model, h);
            assert!(((high - low) / (2.0 * step) - slope).abs() < 1e-8);
            assert!(((high - 2.0 * value + low) / (step * step) - curvature).abs() < 1e-6);
        }
    }
}
