//! Ward's merging, restricted to neighbours.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | m | weighted mean of a group's values: density and excess | shoots per m |
//! | w | its weight: the sum of 1 / variance over its panels | m² per shoot² |
//! | Δ | growth of the weighted sum of squares by a merge, `w₁w₂/(w₁+w₂)·‖m₁−m₂‖²` | – |
//!
//! Source: Ward 1963, J. Amer. Stat. Assoc. 58:236–244; with neighbours only, Murtagh 1985, Computer
//! Journal 28:82–88. Partitions are cut in the order of merging, as scikit-learn does.

use std::{
    cmp::Ordering,
    collections::{BTreeMap, BTreeSet, BinaryHeap},
};

/// What is merged: a panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Density and excess, shoots per metre.
    pub values: [f64; 2],
    /// 1 / variance, above 0.
    pub weight: f64,
    /// How much it counts towards the least size of a zone: its vines.
    pub size: f64,
}

impl Unit {
    fn joined(self, other: Self) -> Self {
        let weight = self.weight + other.weight;
        let mean =
            |i: usize| (self.values[i] * self.weight + other.values[i] * other.weight) / weight;
        Self { values: [mean(0), mean(1)], weight, size: self.size + other.size }
    }

    fn cost(self, other: Self) -> f64 {
        let apart = |i: usize| (self.values[i] - other.values[i]).powi(2);
        self.weight * other.weight / (self.weight + other.weight) * (apart(0) + apart(1))
    }
}

/// The merges of Ward's method from single panels to one group, or until nothing touches: the group
/// of the second index goes into that of the first. A group is named after its lowest index.
pub fn ward(units: &[Unit], touching: &[BTreeSet<usize>]) -> Vec<(usize, usize)> {
    let mut groups = Groups::new(units, touching);
    let mut queue = BinaryHeap::new();
    for (one, others) in touching.iter().enumerate() {
        queue.extend(others.range(one + 1..).map(|&other| groups.candidate(one, other)));
    }
    let mut merges = Vec::with_capacity(units.len());
    while let Some(next) = queue.pop() {
        if !groups.is_current(&next) {
            continue;
        }
        groups.merge(next.one, next.other);
        merges.push((next.one, next.other));
        let around = groups.touching[next.one].iter();
        queue.extend(around.map(|&other| groups.candidate(next.one, other)));
    }
    merges
}

/// The groups that are left when the last merges are taken back until there are `count`: for every
/// unit the lowest index of its group.
pub fn cut(units: usize, merges: &[(usize, usize)], count: usize) -> Vec<usize> {
    let kept = units.saturating_sub(count).min(merges.len());
    let mut labels: Vec<usize> = (0..units).collect();
    for &(one, other) in &merges[..kept] {
        labels[other] = one;
    }
    // A merge always leads to a lower index, whose label is then final.
    for unit in 0..units {
        labels[unit] = labels[labels[unit]];
    }
    labels
}

/// `count` groups of at least `least` in size: the cut of fewest groups that still leaves so many
/// after groups that are too small went to the neighbour that they resemble most.
///
/// Gives `None` where there is no such cut.
pub fn cut_to_size(
    units: &[Unit],
    touching: &[BTreeSet<usize>],
    merges: &[(usize, usize)],
    (count, least): (usize, f64),
) -> Option<Vec<usize>> {
    let most = (MOST_OUTLIERS + 8 * count).min(units.len());
    (count..=most).find_map(|groups| {
        let labels = cut(units.len(), merges, groups);
        let mut groups = Groups::of_labels(units, touching, &labels);
        groups.absorb_small(least);
        (groups.count() >= count).then(|| {
            groups.merge_down_to(count);
            groups.labels(&labels)
        })
    })
}

/// So many odd panels may be set apart before a cut is given up.
const MOST_OUTLIERS: usize = 16;

/// A merge that may come next: cheapest first, ties by lowest index.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Candidate {
    cost: f64,
    one: usize,
    other: usize,
    versions: [usize; 2],
}

impl Eq for Candidate {}

impl Ord for Candidate {
    /// Greatest is what a heap gives first: the cheapest.
    fn cmp(&self, other: &Self) -> Ordering {
        let rank = |c: &Self| (c.one, c.other);
        other.cost.total_cmp(&self.cost).then_with(|| rank(other).cmp(&rank(self)))
    }
}

impl PartialOrd for Candidate {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// The groups of the moment, each under its lowest index.
struct Groups {
    units: Vec<Option<Unit>>,
    touching: Vec<BTreeSet<usize>>,
    /// How often a group changed: a candidate with an older number is stale.
    versions: Vec<usize>,
    /// Where groups went that were merged after the start.
    gone_to: BTreeMap<usize, usize>,
}

impl Groups {
    fn new(units: &[Unit], touching: &[BTreeSet<usize>]) -> Self {
        Self {
            units: units.iter().copied().map(Some).collect(),
            touching: touching.to_vec(),
            versions: vec![0; units.len()],
            gone_to: BTreeMap::new(),
        }
    }

    fn of_labels(units: &[Unit], touching: &[BTreeSet<usize>], labels: &[usize]) -> Self {
        let mut groups = Self {
            units: vec![None; units.len()],
            touching: vec![BTreeSet::new(); units.len()],
            versions: vec![0; units.len()],
            gone_to: BTreeMap::new(),
        };
        for (unit, &label) in units.iter().zip(labels) {
            let sum = groups.units[label].map_or(*unit, |group| group.joined(*unit));
            groups.units[label] = Some(sum);
        }
        for (one, others) in touching.iter().enumerate() {
            let outside = others.iter().map(|&other| labels[other]);
            groups.touching[labels[one]].extend(outside.filter(|&other| other != labels[one]));
        }
        groups
    }

    fn count(&self) -> usize {
        self.units.iter().flatten().count()
    }

    fn labels(&self, before: &[usize]) -> Vec<usize> {
        let now = |&label: &usize| {
            let mut label = label;
            while let Some(&next) = self.gone_to.get(&label) {
                label = next;
            }
            label
        };
        before.iter().map(now).collect()
    }

    fn cost(&self, one: usize, other: usize) -> f64 {
        match (self.units[one], self.units[other]) {
            (Some(a), Some(b)) => a.cost(b),
            _ => f64::INFINITY,
        }
    }

    fn candidate(&self, one: usize, other: usize) -> Candidate {
        let (one, other) = (one.min(other), one.max(other));
        let versions = [self.versions[one], self.versions[other]];
        Candidate { cost: self.cost(one, other), one, other, versions }
    }

    fn is_current(&self, candidate: &Candidate) -> bool {
        let Candidate { one, other, versions, .. } = *candidate;
        self.units[one].is_some()
            && self.units[other].is_some()
            && versions == [self.versions[one], self.versions[other]]
    }

    /// Puts the group of the higher index into that of the lower.
    fn merge(&mut self, one: usize, other: usize) {
        let (one, other) = (one.min(other), one.max(other));
        if let (Some(a), Some(b)) = (self.units[one], self.units[other].take()) {
            self.units[one] = Some(a.joined(b));
        }
        self.versions[one] += 1;
        self.gone_to.insert(other, one);
        let around = std::mem::take(&mut self.touching[other]);
        for &neighbour in &around {
            self.touching[neighbour].remove(&other);
            if neighbour != one {
                self.touching[neighbour].insert(one);
                self.touching[one].insert(neighbour);
            }
        }
    }

    /// Smallest first: every group under `least` goes to the neighbour that costs least.
    fn absorb_small(&mut self, least: f64) {
        while let Some(small) = self.smallest_under(least) {
            let nearest = self.touching[small].iter().copied().min_by(|a, b| {
                self.cost(small, *a).total_cmp(&self.cost(small, *b)).then(a.cmp(b))
            });
            let Some(nearest) = nearest else { return };
            self.merge(small, nearest);
        }
    }

    fn smallest_under(&self, least: f64) -> Option<usize> {
        let sizes = self.units.iter().enumerate().filter_map(|(i, u)| Some((i, (*u)?.size)));
        // A group without neighbours is all there is.
        sizes
            .filter(|&(index, size)| size < least && !self.touching[index].is_empty())
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
            .map(|(index, _)| index)
    }

    fn merge_down_to(&mut self, count: usize) {
        for _ in count..self.count() {
            let pairs =
                self.touching.iter().enumerate().flat_map(|(one, others)| {
                    others.range(one + 1..).map(move |&other| (one, other))
                });
            let cheapest = pairs
                .min_by(|a, b| self.cost(a.0, a.1).total_cmp(&self.cost(b.0, b.1)).then(a.cmp(b)));
            let Some((one, other)) = cheapest else { return };
            self.merge(one, other);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Units side by side in one row.
    fn row(values: &[f64]) -> (Vec<Unit>, Vec<BTreeSet<usize>>) {
        let units = values.iter().map(|v| Unit { values: [*v, 0.0], weight: 1.0, size: 1.0 });
        let last = values.len() - 1;
        let touching = (0..=last).map(|i| {
            let mut around = BTreeSet::from([i.saturating_sub(1), (i + 1).min(last)]);
            around.remove(&i);
            around
        });
        (units.collect(), touching.collect())
    }

    #[test]
    fn alike_neighbours_merge_first_and_strangers_last() {
        let (units, touching) = row(&[1.0, 1.1, 5.0, 5.05, 1.0]);
        let merges = ward(&units, &touching);
        assert_eq!(merges[..2], [(2, 3), (0, 1)]);
        assert_eq!(cut(5, &merges, 3), [0, 0, 2, 2, 4]);
        assert_eq!(cut(5, &merges, 1), [0; 5]);
    }

    #[test]
    fn ties_go_to_the_lowest_index() {
        let (units, touching) = row(&[2.0; 4]);
        assert_eq!(ward(&units, &touching), [(0, 1), (0, 2), (0, 3)]);
    }

    #[test]
    fn an_odd_panel_is_no_zone_of_its_own() {
        let (units, touching) = row(&[1.0, 1.0, 9.0, 1.0, 4.0, 4.0, 4.0, 4.0]);
        let merges = ward(&units, &touching);
        assert_eq!(cut(8, &merges, 3), [0, 0, 2, 3, 3, 3, 3, 3]);
        let zones = cut_to_size(&units, &touching, &merges, (2, 3.0)).unwrap();
        assert_eq!(zones, [0, 0, 0, 0, 4, 4, 4, 4]);
        assert_eq!(cut_to_size(&units, &touching, &merges, (3, 3.0)), None);
    }

    #[test]
    fn a_badly_known_panel_weighs_little() {
        let (mut units, touching) = row(&[1.0, 1.0, 9.0, 1.2, 1.2, 4.0, 4.0]);
        assert_eq!(cut(7, &ward(&units, &touching), 3), [0, 0, 2, 3, 3, 3, 3]);
        units[2].weight = 1e-6;
        assert_eq!(cut(7, &ward(&units, &touching), 3), [0, 0, 2, 2, 2, 5, 5]);
    }
}
