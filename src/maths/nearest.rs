//! The nearest of many places, found through a lattice of cells.

use crate::maths::float;

/// Places on a plane, sorted into square cells.
#[derive(Debug, Clone)]
pub struct Places {
    at: Vec<[f64; 2]>,
    least: [f64; 2],
    cell_m: f64,
    /// Cells along and across.
    size: [usize; 2],
    /// Cell by cell, the places in it.
    order: Vec<usize>,
    /// Where each cell starts in `order`, and the end.
    starts: Vec<usize>,
}

impl Places {
    /// Sorts places, metres, into cells of about two each.
    pub fn new(at: Vec<[f64; 2]>) -> Self {
        Self::in_cells_of(at, 2.0)
    }

    /// Sorts places, metres, into cells of about so many each.
    pub fn in_cells_of(at: Vec<[f64; 2]>, in_cell: f64) -> Self {
        let (least, most) = extent(&at);
        let spans = [most[0] - least[0], most[1] - least[1]];
        let cell_m = cell_size(spans, at.len(), in_cell);
        let size = spans.map(|span| cells(span, cell_m) + 1);
        let mut places = Self { at, least, cell_m, size, order: Vec::new(), starts: Vec::new() };
        places.sort();
        places
    }

    fn sort(&mut self) {
        let cell_of: Vec<usize> = self.at.iter().map(|&at| self.cell_index(at)).collect();
        // Where each cell starts, shifted by one: filling the cells moves every start to its place.
        let mut starts = vec![0; self.size[0] * self.size[1] + 2];
        for &cell in &cell_of {
            starts[cell + 2] += 1;
        }
        for cell in 2..starts.len() {
            starts[cell] += starts[cell - 1];
        }
        self.order = vec![0; self.at.len()];
        for (place, &cell) in cell_of.iter().enumerate() {
            self.order[starts[cell + 1]] = place;
            starts[cell + 1] += 1;
        }
        starts.pop();
        self.starts = starts;
    }

    /// The numbers of the places, cell by cell.
    pub fn cells(&self) -> impl Iterator<Item = &[usize]> {
        self.starts.windows(2).map(|ends| &self.order[ends[0]..ends[1]])
    }

    fn cell(&self, at: [f64; 2]) -> [usize; 2] {
        [0, 1].map(|k| cells(at[k] - self.least[k], self.cell_m).min(self.size[k] - 1))
    }

    fn cell_index(&self, at: [f64; 2]) -> usize {
        let [along, across] = self.cell(at);
        across * self.size[0] + along
    }

    /// The `count` places nearest to `at`, nearest first, ties by lower number.
    pub fn nearest(&self, at: [f64; 2], count: usize) -> Vec<usize> {
        let middle = self.cell(at);
        let mut found: Vec<(f64, usize)> = Vec::new();
        let widest = self.size[0].max(self.size[1]);
        for ring in 0..=widest {
            self.add_ring(at, middle, ring, &mut found);
            found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            found.truncate(count);
            // Whatever lies outside the ring is at least this far away.
            let covered = self.covered(at, middle, ring);
            if found.len() == count && found.last().is_none_or(|last| last.0 < covered * covered) {
                break;
            }
        }
        found.into_iter().map(|(_, place)| place).collect()
    }

    /// Every place at most `margin` farther from `at` than the `count`th nearest, with its distance,
    /// in no order: what may be among the `count` nearest of any point within half the margin.
    pub fn nearest_and_margin(
        &self,
        at: [f64; 2],
        (count, margin): (usize, f64),
    ) -> Vec<(f64, usize)> {
        let middle = self.cell(at);
        let mut found: Vec<(f64, usize)> = Vec::new();
        let widest = self.size[0].max(self.size[1]);
        let mut reach = f64::INFINITY;
        for ring in 0..=widest {
            self.add_ring(at, middle, ring, &mut found);
            if found.len() >= count {
                let nth = count.saturating_sub(1);
                found.select_nth_unstable_by(nth, |a, b| a.0.total_cmp(&b.0));
                reach = found[nth].0.sqrt() + margin;
                if reach < self.covered(at, middle, ring) {
                    break;
                }
            }
        }
        for (square, _) in &mut found {
            *square = square.sqrt();
        }
        found.retain(|(distance, _)| *distance <= reach);
        found
    }

    /// Where a place is.
    pub fn place(&self, number: usize) -> [f64; 2] {
        self.at[number]
    }

    fn add_ring(
        &self,
        at: [f64; 2],
        middle: [usize; 2],
        ring: usize,
        found: &mut Vec<(f64, usize)>,
    ) {
        let low = middle.map(|cell| cell.saturating_sub(ring));
        let high = [0, 1].map(|k| (middle[k] + ring).min(self.size[k] - 1));
        let in_ring = |&[along, across]: &[usize; 2]| {
            along.abs_diff(middle[0]).max(across.abs_diff(middle[1])) == ring
        };
        let cells = (low[1]..=high[1])
            .flat_map(|across| (low[0]..=high[0]).map(move |along| [along, across]));
        for [along, across] in cells.filter(in_ring) {
            let cell = across * self.size[0] + along;
            let places = &self.order[self.starts[cell]..self.starts[cell + 1]];
            found.extend(places.iter().map(|&place| (square_distance(at, self.at[place]), place)));
        }
    }

    /// Distance from `at` to the edge of the cells looked at so far.
    fn covered(&self, at: [f64; 2], middle: [usize; 2], ring: usize) -> f64 {
        let edge = |k: usize| {
            let low = self.least[k] + self.cell_m * (float(middle[k]) - float(ring));
            let high = self.least[k] + self.cell_m * (float(middle[k]) + float(ring) + 1.0);
            (at[k] - low).min(high - at[k])
        };
        edge(0).min(edge(1))
    }
}

/// The square of the distance between two places.
pub fn square_distance(one: [f64; 2], other: [f64; 2]) -> f64 {
    let (x, y) = (one[0] - other[0], one[1] - other[1]);
    x * x + y * y
}

/// The least and the greatest coordinates; zeros without a place.
pub fn extent(at: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    let Some(&first) = at.first() else { return ([0.0; 2], [0.0; 2]) };
    at.iter().fold((first, first), |(least, most), place| {
        ([0, 1].map(|k| least[k].min(place[k])), [0, 1].map(|k| most[k].max(place[k])))
    })
}

/// Some of the places in groups of neighbours of at most `most`, by halving the longer side; each
/// group and its fellows in the order of their place on the ground.
pub fn halved(some: Vec<usize>, at: &[[f64; 2]], most: usize) -> Vec<Vec<usize>> {
    let mut groups = Vec::new();
    let mut waiting = vec![some];
    while let Some(mut group) = waiting.pop() {
        if group.len() <= most.max(1) {
            groups.push(group);
            continue;
        }
        let places: Vec<[f64; 2]> = group.iter().map(|&place| at[place]).collect();
        let (low, high) = extent(&places);
        let axis = usize::from(high[1] - low[1] > high[0] - low[0]);
        group.sort_by(|&a, &b| at[a][axis].total_cmp(&at[b][axis]).then(a.cmp(&b)));
        waiting.push(group.split_off(group.len() / 2));
        waiting.push(group);
    }
    groups
}

/// The side of a cell that holds about so many places.
fn cell_size(spans: [f64; 2], places: usize, in_cell: f64) -> f64 {
    let share = in_cell / float(places.max(1));
    let by_area = (spans[0] * spans[1] * share).sqrt();
    // Places in a line have no area.
    let side = by_area.max(spans[0].max(spans[1]) * share);
    if side > 0.0 && side.is_finite() { side } else { 1.0 }
}

/// Whole cells in a length.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast from a float stops at 0 and at the greatest number"
)]
fn cells(length: f64, cell: f64) -> usize {
    (length / cell).floor() as usize
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::random::Random;

    fn brute(at: &[[f64; 2]], from: [f64; 2], count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..at.len()).collect();
        let far = |&place: &usize| square_distance(from, at[place]);
        order.sort_by(|a, b| far(a).total_cmp(&far(b)).then(a.cmp(b)));
        order.truncate(count);
        order
    }

    #[test]
    fn the_lattice_finds_what_a_full_search_finds() {
        let mut random = Random::new(11);
        for (count, stretch) in [(1, 1.0), (7, 1.0), (200, 1.0), (200, 0.001), (200, 0.0)] {
            // Rounded, so that some distances tie.
            let mut draw = || (random.uniform() * 20.0).round() * 5.0;
            let at: Vec<_> = (0..count).map(|_| [draw(), draw() * stretch]).collect();
            let places = Places::new(at.clone());
            for from in [[0.0, 0.0], [50.0, 30.0], [-400.0, 12.0], [103.0, 700.0]] {
                assert_eq!(places.nearest(from, 5), brute(&at, from, 5), "{count} {from:?}");
            }
        }
    }

    #[test]
    fn halving_loses_no_place_and_keeps_neighbours_together() {
        let at: Vec<[f64; 2]> = (0..10_u8).map(|k| [f64::from(k * 7 % 10), 0.0]).collect();
        let groups = halved((0..10).collect(), &at, 3);
        let mut all = groups.concat();
        assert!(groups.iter().all(|group| group.len() <= 3));
        let along: Vec<f64> = all.iter().map(|&place| at[place][0]).collect();
        assert!(along.is_sorted(), "{along:?}");
        all.sort_unstable();
        assert_eq!(all, (0..10).collect::<Vec<_>>());
    }

    #[test]
    fn no_places_have_no_nearest() {
        assert!(Places::new(Vec::new()).nearest([0.0, 0.0], 3).is_empty());
    }
}
