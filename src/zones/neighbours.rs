//! Which panels touch: next along the row, or beside each other in neighbouring rows.

use std::collections::{BTreeMap, BTreeSet};

/// The ground of a panel, as far as neighbours go.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PanelGround {
    /// The row's number.
    pub(super) row: u32,
    /// Its piece of row.
    pub(super) piece: usize,
    /// Post to post, metres along the rows.
    pub(super) along_m: [f64; 2],
    /// Metres across the rows.
    pub(super) across_m: f64,
}

/// Panels that share less of their length than this do not touch, metres.
const LEAST_OVERLAP_M: f64 = 1e-6;

/// The neighbours of every panel of one planting, by index, each list in rising order.
///
/// Panels come by row and along it, those without a vine left out: their neighbours in the same
/// piece of row then touch each other. Parts that nothing connects are tied together at their
/// nearest panels, so that a planting can always be one zone.
pub(super) fn neighbours(panels: &[PanelGround]) -> Vec<BTreeSet<usize>> {
    let mut touching = vec![BTreeSet::new(); panels.len()];
    for index in 1..panels.len() {
        if panels[index].piece == panels[index - 1].piece {
            tie(&mut touching, index - 1, index);
        }
    }
    let rows = by_row(panels);
    for (row, next) in rows.iter().zip(rows.iter().skip(1)) {
        tie_beside(panels, row, next, &mut touching);
    }
    connect_parts(panels, &mut touching);
    touching
}

fn tie(touching: &mut [BTreeSet<usize>], one: usize, other: usize) {
    touching[one].insert(other);
    touching[other].insert(one);
}

/// The panels of each row of the planting, in the order of row numbers, each along the row.
pub(super) fn by_row(panels: &[PanelGround]) -> Vec<Vec<usize>> {
    let mut rows: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for (index, panel) in panels.iter().enumerate() {
        rows.entry(panel.row).or_default().push(index);
    }
    let mut rows: Vec<_> = rows.into_values().collect();
    for row in &mut rows {
        row.sort_by(|a, b| panels[*a].along_m[0].total_cmp(&panels[*b].along_m[0]));
    }
    rows
}

/// Ties the panels of two rows that overlap along the rows; both rows are walked once.
fn tie_beside(
    panels: &[PanelGround],
    row: &[usize],
    next: &[usize],
    touching: &mut [BTreeSet<usize>],
) {
    let (mut i, mut j) = (0, 0);
    while let (Some(&one), Some(&other)) = (row.get(i), next.get(j)) {
        let (a, b) = (panels[one].along_m, panels[other].along_m);
        if a[1].min(b[1]) - a[0].max(b[0]) > LEAST_OVERLAP_M {
            tie(touching, one, other);
        }
        if a[1] <= b[1] { i += 1 } else { j += 1 }
    }
}

fn connect_parts(panels: &[PanelGround], touching: &mut [BTreeSet<usize>]) {
    loop {
        let part = part_of_first(touching);
        if part.len() == panels.len() {
            return;
        }
        let Some((inside, outside)) = nearest_pair(panels, &part) else { return };
        tie(touching, inside, outside);
    }
}

fn part_of_first(touching: &[BTreeSet<usize>]) -> BTreeSet<usize> {
    let mut part = BTreeSet::new();
    let mut waiting: Vec<usize> = (0..touching.len().min(1)).collect();
    while let Some(panel) = waiting.pop() {
        if part.insert(panel) {
            waiting.extend(touching[panel].difference(&part));
        }
    }
    part
}

/// The panel of a part and the one outside it that are nearest; ties take the lowest.
fn nearest_pair(panels: &[PanelGround], part: &BTreeSet<usize>) -> Option<(usize, usize)> {
    let outside: Vec<usize> = (0..panels.len()).filter(|panel| !part.contains(panel)).collect();
    let pairs = part.iter().flat_map(|&one| outside.iter().map(move |&other| (one, other)));
    pairs.min_by(|a, b| {
        let apart = |(one, other): (usize, usize)| squared_distance(&panels[one], &panels[other]);
        apart(*a).total_cmp(&apart(*b)).then(a.cmp(b))
    })
}

fn squared_distance(one: &PanelGround, other: &PanelGround) -> f64 {
    let middle = |panel: &PanelGround| f64::midpoint(panel.along_m[0], panel.along_m[1]);
    (middle(one) - middle(other)).powi(2) + (one.across_m - other.across_m).powi(2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Panels of the given rows: row number, piece, then starts along the row, each 8 m long.
    fn panels(rows: &[(u32, usize, &[f64])]) -> Vec<PanelGround> {
        let panel = |row: u32, piece, start: f64| PanelGround {
            row,
            piece,
            along_m: [start, start + 8.0],
            across_m: 2.5 * f64::from(row),
        };
        rows.iter().flat_map(|&(r, p, s)| s.iter().map(move |&s| panel(r, p, s))).collect()
    }

    #[track_caller]
    fn check(rows: &[(u32, usize, &[f64])], expected: &[(usize, usize)]) {
        let found = neighbours(&panels(rows));
        let pairs: Vec<(usize, usize)> = found
            .iter()
            .enumerate()
            .flat_map(|(one, others)| others.iter().map(move |&other| (one, other)))
            .filter(|(one, other)| one < other)
            .collect();
        assert_eq!(pairs, expected);
    }

    #[test]
    fn panels_touch_along_the_row_and_beside_it() {
        check(&[(1, 0, &[0.0, 8.0]), (2, 1, &[0.0, 8.0])], &[(0, 1), (0, 2), (1, 3), (2, 3)]);
    }

    #[test]
    fn panels_that_are_shifted_touch_two_of_the_next_row() {
        check(&[(1, 0, &[0.0]), (2, 1, &[-4.0, 4.0])], &[(0, 1), (0, 2), (1, 2)]);
    }

    #[test]
    fn the_next_row_of_the_same_planting_may_be_two_rows_on() {
        check(&[(1, 0, &[0.0]), (3, 1, &[0.0]), (5, 2, &[0.0])], &[(0, 1), (1, 2)]);
    }

    #[test]
    fn pieces_of_a_row_touch_only_through_other_rows_or_when_nothing_else_ties_them() {
        check(&[(1, 0, &[0.0]), (1, 1, &[8.0]), (2, 2, &[0.0, 8.0])], &[(0, 2), (1, 3), (2, 3)]);
        check(&[(1, 0, &[0.0, 8.0]), (1, 1, &[90.0, 98.0])], &[(0, 1), (1, 2), (2, 3)]);
    }
}
