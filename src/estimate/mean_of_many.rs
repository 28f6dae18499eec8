//! Means of sets of plants: finite-population block kriging.
//!
//! | symbol | meaning                                                     | unit      |
//! |--------|-------------------------------------------------------------|-----------|
//! | a      | weights of a set's plants, summing to 1                     | 1         |
//! | g      | covariance of aᵀz with the counts                           | quantity² |
//! | d, V   | as in `kriging`                                             |           |
//!
//! Cov(aᵀz, bᵀz) = aᵀΣb − gᵀΣ⁻¹g′ + dᵀVd′, the nugget where a plant meets itself; g, d are those of
//! a and g′, d′ those of b.

use rayon::prelude::*;

use super::{
    kriging::{Kriging, Observed},
    pair_sums::{Clusters, covariance_sum, shared_weight},
};
use crate::maths::cholesky::dot;

/// Means of sets and how their errors vary together.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// By set.
    pub values: Vec<f64>,
    /// Row by row.
    pub covariance: Vec<f64>,
}

/// What one set has in common with the counts.
struct Set {
    plants: Vec<(usize, f64)>,
    clusters: Clusters,
    value: f64,
    whitened: Vec<f64>,
    error: Vec<f64>,
}

impl Kriging {
    /// The weighted means of sets of plants, each set with weights that sum to 1 (or to whatever
    /// makes the total that is asked for). With `own` the plants' own values, nugget in; without,
    /// the surface.
    ///
    /// # Source
    /// Ver Hoef 2008, Environ. Ecol. Stat. 15:3–13.
    pub fn means_of(&self, sets: &[Vec<(usize, f64)>], own: bool) -> Means {
        let counted = self.clusters_of_counts();
        let sets: Vec<Set> = sets.par_iter().map(|set| self.set(set, &counted, own)).collect();
        let n = sets.len();
        let pairs: Vec<(usize, usize)> =
            (0..n).flat_map(|one| (0..=one).map(move |other| (one, other))).collect();
        let covariances: Vec<f64> = pairs
            .par_iter()
            .map(|&(one, other)| self.covariance(&sets[one], &sets[other], own))
            .collect();
        let mut covariance = vec![0.0; n * n];
        for (&(one, other), value) in pairs.iter().zip(covariances) {
            covariance[one * n + other] = value;
            covariance[other * n + one] = value;
        }
        Means { values: sets.iter().map(|set| set.value).collect(), covariance }
    }

    /// The same, each set for itself: mean and variance.
    pub fn each_mean_of(&self, sets: &[Vec<(usize, f64)>], own: bool) -> Vec<(f64, f64)> {
        let counted = self.clusters_of_counts();
        let one = |plants: &Vec<(usize, f64)>| {
            let set = self.set(plants, &counted, own);
            (set.value, self.covariance(&set, &set, own))
        };
        sets.par_iter().map(one).collect()
    }

    /// The means alone.
    pub(super) fn each_value_of(&self, sets: &[Vec<(usize, f64)>], own: bool) -> Vec<f64> {
        let counted = self.clusters_of_counts();
        sets.par_iter().map(|plants| self.set(plants, &counted, own).value).collect()
    }

    fn clusters_of_counts(&self) -> Vec<Clusters> {
        let of = |count: &Observed| Clusters::new(&self.population, &count.plants);
        self.observed.iter().map(of).collect()
    }

    fn set(&self, plants: &[(usize, f64)], counted: &[Clusters], own: bool) -> Set {
        let plants = sorted(plants);
        let clusters = Clusters::new(&self.population, &plants);
        let with = |count: &Clusters| covariance_sum(&clusters, count, &self.model);
        let mut g: Vec<f64> = counted.iter().map(with).collect();
        if own {
            let shared = self.shared_weights(&plants);
            g.iter_mut().zip(shared).for_each(|(g, shared)| *g += self.model.nugget * shared);
        }
        let row = self.row_of(&plants);
        let value = self.value_of(&row, &g);
        self.factor.forward(&mut g);
        let error = self.mean_error(&row, &g);
        Set { plants, clusters, value, whitened: g, error }
    }

    fn covariance(&self, one: &Set, other: &Set, own: bool) -> f64 {
        let between = covariance_sum(&one.clusters, &other.clusters, &self.model);
        let nugget =
            if own { self.model.nugget * shared_weight(&one.plants, &other.plants) } else { 0.0 };
        let explained = dot(&one.whitened, &other.whitened);
        between + nugget - explained + dot(&one.error, &other.error)
    }
}

/// By plant, each plant once.
fn sorted(plants: &[(usize, f64)]) -> Vec<(usize, f64)> {
    let mut sorted = plants.to_vec();
    sorted.sort_by_key(|(plant, _)| *plant);
    sorted.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        kept.1 += if same { next.1 } else { 0.0 };
        same
    });
    sorted
}
