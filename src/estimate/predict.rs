//! Every vine from all counts, or from its nearest ones.
//!
//! Neighbouring vines mostly have the same nearest counts: each distinct set is factored once.

use std::{collections::BTreeMap, sync::Arc};

use rayon::prelude::*;

use super::kriging::{Kriging, KrigingError, Observed, Population, Prediction};
use crate::maths::{
    covariance::CovarianceModel,
    float,
    nearest::{Places, halved},
};

/// Fewest counts of a vine's own kind among its neighbours: without one its mean is unknown.
const FEWEST_OF_KIND: usize = 3;

/// Counts, each solved together with its nearest fellows only.
#[derive(Debug)]
pub(super) struct Nearby<'a> {
    population: &'a Arc<Population>,
    observed: &'a [Observed],
    model: CovarianceModel,
    neighbours: usize,
    /// All counts.
    places: Places,
    /// By kind, its counts and their places.
    of_kind: Vec<(Vec<usize>, Places)>,
}

impl<'a> Nearby<'a> {
    /// `kinds` is the kind of each count.
    pub(super) fn new(
        population: &'a Arc<Population>,
        observed: &'a [Observed],
        kinds: &[usize],
        model: CovarianceModel,
        neighbours: usize,
    ) -> Self {
        let middles: Vec<[f64; 2]> = observed.iter().map(|o| o.middle(population)).collect();
        let most = kinds.iter().max().map_or(0, |kind| kind + 1);
        let of_kind = (0..most).map(|kind| {
            let own: Vec<usize> = (0..kinds.len()).filter(|&count| kinds[count] == kind).collect();
            let places = Places::new(own.iter().map(|&count| middles[count]).collect());
            (own, places)
        });
        let of_kind = of_kind.collect();
        let places = Places::new(middles);
        Self { population, observed, model, neighbours: neighbours.max(1), places, of_kind }
    }

    /// The counts nearest to a place, in the order of their numbers.
    fn around(&self, at: [f64; 2], kind: usize, more: usize) -> Vec<usize> {
        let mut near = self.places.nearest(at, self.neighbours + more);
        if let Some((own, places)) = self.of_kind.get(kind) {
            let of_kind = near.iter().filter(|count| own.binary_search(count).is_ok()).count();
            if of_kind < FEWEST_OF_KIND + more {
                let own_near = places.nearest(at, FEWEST_OF_KIND + more);
                near.extend(own_near.into_iter().map(|k| own[k]));
            }
        }
        near.sort_unstable();
        near.dedup();
        near
    }

    fn solve(&self, counts: &[usize]) -> Result<Kriging, KrigingError> {
        let observed = counts.iter().map(|&count| self.observed[count].clone()).collect();
        Kriging::solve(Arc::clone(self.population), observed, self.model)
    }

    /// What is believed about plants; `kind_of` is the kind of a plant.
    pub(super) fn predict(
        &self,
        plants: &[usize],
        kind_of: impl Fn(usize) -> usize + Sync,
    ) -> Result<Vec<Option<Prediction>>, KrigingError> {
        let at = self.population.places();
        let keys: Vec<Vec<usize>> =
            plants.par_iter().map(|&plant| self.around(at[plant], kind_of(plant), 0)).collect();
        let mut sets = BTreeMap::<Vec<usize>, Vec<usize>>::new();
        for (position, key) in keys.into_iter().enumerate() {
            sets.entry(key).or_default().push(position);
        }
        let sets: Vec<(Vec<usize>, Vec<usize>)> = sets.into_iter().collect();
        let parts: Vec<_> = sets
            .par_iter()
            .map(|(key, positions)| {
                let members: Vec<usize> = positions.iter().map(|&p| plants[p]).collect();
                self.solve(key).map(|kriging| kriging.predict(&members))
            })
            .collect();
        let mut all = vec![None; plants.len()];
        for (part, (_, positions)) in parts.into_iter().zip(&sets) {
            positions.iter().zip(part?).for_each(|(&p, prediction)| all[p] = prediction);
        }
        Ok(all)
    }

    /// Leave-one-out: error and variance of each count from its nearest others.
    pub(super) fn left_out(&self, kinds: &[usize]) -> Result<Vec<(f64, f64)>, KrigingError> {
        let one = |count: usize| {
            let middle = self.observed[count].middle(self.population);
            let mut near = self.around(middle, kinds[count], 1);
            if !near.contains(&count) {
                near.push(count);
            }
            let own = near.iter().position(|&k| k == count).unwrap_or(0);
            self.solve(&near).map(|kriging| kriging.left_out()[own])
        };
        (0..self.observed.len()).into_par_iter().map(one).collect()
    }
}

/// Counts put together with their neighbours of the same kind until at most `most` are left: for
/// the means of many vines, whose errors need one solved system.
pub(super) fn put_together(
    population: &Population,
    observed: &[Observed],
    kinds: &[usize],
    most: usize,
) -> Vec<Observed> {
    if observed.len() <= most {
        return observed.to_vec();
    }
    let size = observed.len().div_ceil(most.max(1)).next_power_of_two();
    let middles: Vec<[f64; 2]> = observed.iter().map(|count| count.middle(population)).collect();
    let last = kinds.iter().max().copied().unwrap_or(0);
    let groups = (0..=last).flat_map(|kind| {
        let own = (0..observed.len()).filter(|&count| kinds[count] == kind).collect();
        halved(own, &middles, size)
    });
    groups.filter(|group| !group.is_empty()).map(|group| mean_of(observed, &group)).collect()
}

/// The plain mean of some counts, as one count.
fn mean_of(observed: &[Observed], group: &[usize]) -> Observed {
    let share = 1.0 / float(group.len());
    let mut plants = BTreeMap::new();
    let (mut value, mut noise) = (0.0, 0.0);
    for &count in group {
        for &(plant, weight) in &observed[count].plants {
            *plants.entry(plant).or_insert(0.0) += weight * share;
        }
        value += observed[count].value * share;
        noise += observed[count].noise * share * share;
    }
    Observed { plants: plants.into_iter().collect(), value, noise }
}
