//! Every vine from all counts, or from its nearest ones.
//!
//! Neighbouring vines mostly have the same nearest counts: each distinct set is factored once.

use std::{collections::BTreeMap, sync::Arc};

use rayon::prelude::*;

use super::kriging::{
    Kriging, KrigingError, Observed, Population, Prediction, covariances, in_order,
};
use crate::maths::{
    covariance::CovarianceModel,
    float,
    nearest::{Places, extent, halved, square_distance},
};

/// Fewest counts of a vine's own kind among its neighbours: without one its mean is unknown.
const FEWEST_OF_KIND: usize = 3;
/// About so many plants near each other are searched together: they have much the same neighbours.
const IN_TILE: f64 = 64.0;
/// Of at most so many counts every pair's covariance is kept.
const MOST_KEPT: usize = 2000;

/// Counts, each solved together with its nearest fellows only.
#[derive(Debug)]
pub(super) struct Nearby<'a> {
    population: &'a Arc<Population>,
    observed: Vec<Observed>,
    model: CovarianceModel,
    /// Covariances of all counts, lower triangle of a full matrix; `None` where they are too many.
    covariances: Option<Vec<f64>>,
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
        let observed = in_order(observed.to_vec());
        let kept = observed.len() <= MOST_KEPT;
        let covariances = kept.then(|| covariances(population, &observed, &model));
        let neighbours = neighbours.max(1);
        Self { population, observed, model, covariances, neighbours, places, of_kind }
    }

    /// The counts nearest to a place, in the order of their numbers.
    fn around(&self, at: [f64; 2], kind: usize, more: usize) -> Vec<usize> {
        let mut near = self.places.nearest(at, self.neighbours + more);
        near.sort_unstable();
        self.with_own_kind(near, at, kind, more)
    }

    /// Neighbours in the order of their numbers, and the nearest of the plant's own kind where they
    /// are too few among them.
    fn with_own_kind(
        &self,
        mut near: Vec<usize>,
        at: [f64; 2],
        kind: usize,
        more: usize,
    ) -> Vec<usize> {
        if !self.has_own_kind(&near, kind, FEWEST_OF_KIND + more)
            && let Some((own, places)) = self.of_kind.get(kind)
        {
            let own_near = places.nearest(at, FEWEST_OF_KIND + more);
            near.extend(own_near.into_iter().map(|k| own[k]));
            near.sort_unstable();
            near.dedup();
        }
        near
    }

    /// True when enough of some counts are of a kind.
    fn has_own_kind(&self, counts: &[usize], kind: usize, enough: usize) -> bool {
        self.of_kind.get(kind).is_none_or(|(own, _)| {
            let of_kind = counts.iter().filter(|count| own.binary_search(count).is_ok());
            of_kind.take(enough).count() == enough
        })
    }

    fn solve(&self, counts: &[usize]) -> Result<Kriging, KrigingError> {
        let observed: Vec<_> = counts.iter().map(|&count| self.observed[count].clone()).collect();
        let matrix = match &self.covariances {
            Some(all) => some_of(all, self.observed.len(), counts),
            None => covariances(self.population, &observed, &self.model),
        };
        Kriging::of_covariances(Arc::clone(self.population), observed, self.model, matrix)
    }

    /// What is believed about plants; `kind_of` is the kind of a plant.
    pub(super) fn predict(
        &self,
        plants: &[usize],
        kind_of: impl Fn(usize) -> usize + Sync,
    ) -> Result<Vec<Option<Prediction>>, KrigingError> {
        let places = self.population.places();
        let tiles = Places::in_cells_of(plants.iter().map(|&p| places[p]).collect(), IN_TILE);
        let cells: Vec<&[usize]> = tiles.cells().filter(|cell| !cell.is_empty()).collect();
        let of_tile = |cell: &&[usize]| self.sets_of_tile(&tiles, cell, |p| kind_of(plants[p]));
        let mut groups: Vec<(Vec<usize>, Vec<usize>)> =
            cells.par_iter().flat_map_iter(of_tile).collect();
        groups.par_sort_unstable_by(|a, b| a.0.cmp(&b.0));
        let sets: Vec<&[_]> = groups.chunk_by(|a, b| a.0 == b.0).collect();
        let positions = |set: &[(Vec<usize>, Vec<usize>)]| {
            set.iter().flat_map(|(_, positions)| positions).copied().collect::<Vec<usize>>()
        };
        let parts: Vec<_> = sets
            .par_iter()
            .map(|set| {
                let members: Vec<usize> = positions(set).iter().map(|&p| plants[p]).collect();
                self.solve(&set[0].0).map(|kriging| kriging.predict(&members))
            })
            .collect();
        let mut all = vec![None; plants.len()];
        for (part, set) in parts.into_iter().zip(sets) {
            positions(set).into_iter().zip(part?).for_each(|(p, prediction)| all[p] = prediction);
        }
        Ok(all)
    }

    /// The neighbour sets of some places near each other, each with the numbers of its places.
    ///
    /// A count more than the tile's width nearer than the last neighbour of its middle is a neighbour
    /// of every place in it; one as much farther is none. Only those between are looked at place by
    /// place.
    fn sets_of_tile(
        &self,
        tiles: &Places,
        tile: &[usize],
        kind_of: impl Fn(usize) -> usize,
    ) -> Vec<(Vec<usize>, Vec<usize>)> {
        let (sure, between) = self.sure_and_between(tiles, tile);
        let wanted = self.neighbours.saturating_sub(sure.len());
        let mut groups: Vec<Group> = Vec::new();
        let mut found = Vec::with_capacity(between.len());
        for &position in tile {
            self.nearest_of(&between, tiles.place(position), wanted, &mut found);
            let kind = kind_of(position);
            let same = |group: &Group| group.kind == kind && group.between == found;
            if let Some(known) = groups.iter().rposition(same) {
                groups[known].positions.push(position);
            } else {
                groups.push(Group { kind, between: found.clone(), positions: vec![position] });
            }
        }
        let sets = groups
            .into_iter()
            .flat_map(|group| self.sets_of_group(group, &sure, |position| tiles.place(position)));
        sets.collect()
    }

    /// The counts that are neighbours of every place of a tile, and those that may be of some.
    fn sure_and_between(&self, tiles: &Places, tile: &[usize]) -> (Vec<usize>, Vec<usize>) {
        let at: Vec<[f64; 2]> = tile.iter().map(|&position| tiles.place(position)).collect();
        let (low, high) = extent(&at);
        let middle = [0, 1].map(|k| f64::midpoint(low[k], high[k]));
        let squares = at.iter().map(|&place| square_distance(middle, place));
        // Rounding must not make a neighbour sure.
        let width = 2.0 * squares.fold(0.0, f64::max).sqrt() * (1.0 + 1e-9) + 1e-9;
        let mut near = self.places.nearest_and_margin(middle, (self.neighbours, width));
        let mut last = f64::NEG_INFINITY;
        if near.len() > self.neighbours {
            last = nth_distance(&mut near, self.neighbours);
        }
        let (sure, between): (Vec<_>, Vec<_>) =
            near.into_iter().partition(|(away, _)| *away < last - width);
        let numbers = |of: Vec<(f64, usize)>| of.into_iter().map(|(_, count)| count).collect();
        (numbers(sure), numbers(between))
    }

    /// The whole sets of a group: one, or one for each plant where its own kind is far away.
    fn sets_of_group(
        &self,
        group: Group,
        sure: &[usize],
        place: impl Fn(usize) -> [f64; 2],
    ) -> Vec<(Vec<usize>, Vec<usize>)> {
        let mut key = sure.to_vec();
        key.extend(group.between);
        key.sort_unstable();
        if self.has_own_kind(&key, group.kind, FEWEST_OF_KIND) {
            return vec![(key, group.positions)];
        }
        let one = |position: usize| {
            let key = self.with_own_kind(key.clone(), place(position), group.kind, 0);
            (key, vec![position])
        };
        group.positions.into_iter().map(one).collect()
    }

    /// Puts the `number` of some counts that are nearest to a place into `found`, in the order of
    /// their numbers; ties go to the lower number.
    fn nearest_of(&self, counts: &[usize], at: [f64; 2], number: usize, found: &mut Vec<usize>) {
        let away = |count: usize| square_distance(at, self.places.place(count));
        found.clear();
        found.extend(counts);
        if number < found.len() && number > 0 {
            found.select_nth_unstable_by(number - 1, |&a, &b| {
                away(a).total_cmp(&away(b)).then(a.cmp(&b))
            });
        }
        found.truncate(number);
        found.sort_unstable();
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

/// The rows and columns of some counts out of the lower triangle of all `n`.
fn some_of(all: &[f64], n: usize, counts: &[usize]) -> Vec<f64> {
    let mut some = vec![0.0; counts.len() * counts.len()];
    for (row, &one) in some.chunks_exact_mut(counts.len()).zip(counts) {
        for (value, &other) in row.iter_mut().zip(counts) {
            *value = all[one.max(other) * n + one.min(other)];
        }
    }
    some
}

/// Plants of a tile with the same neighbours, before those of its own kind are looked for.
#[derive(Debug)]
struct Group {
    kind: usize,
    /// Their neighbours that are not neighbours of the whole tile.
    between: Vec<usize>,
    /// Which plants.
    positions: Vec<usize>,
}

/// The distance of the `number`th nearest.
fn nth_distance(found: &mut [(f64, usize)], number: usize) -> f64 {
    found.select_nth_unstable_by(number - 1, |a, b| a.0.total_cmp(&b.0));
    found[number - 1].0
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::{covariance::Family, random::Random};

    #[test]
    fn plants_searched_together_have_the_neighbours_that_each_has_alone() {
        let mut random = Random::new(9);
        // Rows 2.5 m apart, kinds in turn; the third has few counts, so that its own are far away.
        let at: Vec<[f64; 2]> = (0..1200_u32)
            .map(|vine| [1.2 * f64::from(vine % 40), 2.5 * f64::from(vine / 40)])
            .collect();
        let kind = |plant: usize| if plant < 400 { plant / 40 % 2 } else { 2 };
        let own: Vec<Option<usize>> = (0..1200).map(|plant| Some(kind(plant))).collect();
        let population = Arc::new(Population::with_means(at, &own, 3));
        let mut plants: Vec<usize> = (0..1200).collect();
        random.shuffle(&mut plants);
        let counted: Vec<usize> =
            plants.iter().copied().filter(|&plant| plant < 440).take(90).collect();
        let observed: Vec<Observed> = counted.iter().map(|&p| Observed::plant(p, 15.0)).collect();
        let kinds: Vec<usize> = counted.iter().map(|&plant| kind(plant)).collect();
        let model =
            CovarianceModel { family: Family::Exponential, nugget: 1.0, psill: 2.0, range_m: 20.0 };
        let nearby = Nearby::new(&population, &observed, &kinds, model, 12);
        let (mut seen, mut sets) = (0, 0);
        let tiles = Places::in_cells_of(population.places().to_vec(), IN_TILE);
        for tile in tiles.cells().filter(|tile| !tile.is_empty()) {
            for (key, positions) in nearby.sets_of_tile(&tiles, tile, kind) {
                sets += 1;
                for plant in positions {
                    seen += 1;
                    let alone = nearby.around(population.places()[plant], kind(plant), 0);
                    assert_eq!(key, alone, "plant {plant}");
                }
            }
        }
        assert_eq!(seen, 1200);
        assert!(sets < 900, "{sets} sets: hardly any plant shares its neighbours");
    }
}
