//! How long the border between two groups of panels is, by the lines that it cuts.
//!
//! Counting the sides of panels would make a border from corner to corner as long as one around the
//! corner. By the formula of Cauchy and Crofton a curve is as long as the lines of every direction
//! that it cuts: here the lines through the middles of panels in four directions.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | p, s | length of a panel, distance of the next row | m |
//! | φ | angle of a panel's diagonal with its row, tan φ = s / p | rad |
//! | d | how far the middles of panels of neighbouring rows are shifted along the rows | m |
//!
//! ```text
//! a line along the row      ½ s φ
//! across the rows, d = 0    ½ p (π/2 − φ)
//! a diagonal, d = p         ½ p s / √(p² + s²) · π/4
//! ```
//!
//! In between each weight goes to the nearest shifts in parts that sum to it, so that a border along
//! rows is as long whether their panels are shifted or not. A border across rows of shifted panels has
//! to go around their ends and is longer than its line.
//!
//! # Source
//! Boykov & Kolmogorov 2003, Proc. ICCV, 26–33: weights of a least cut from the formula of Cauchy
//! and Crofton.

use std::{
    collections::BTreeMap,
    f64::consts::{FRAC_PI_2, FRAC_PI_4},
};

use super::neighbours::{PanelGround, by_row};

/// By pair of panels, lower index first, what a border that parts them is longer for it, metres.
pub(super) fn border_lengths(
    panels: &[PanelGround],
    spacing_m: f64,
) -> BTreeMap<(usize, usize), f64> {
    let mut lengths = BTreeMap::new();
    let rows = by_row(panels);
    for (at, row) in rows.iter().enumerate() {
        for pair in row.windows(2) {
            let (one, other) = (panels[pair[0]], panels[pair[1]]);
            if one.piece == other.piece {
                let panel_m = middle(&other) - middle(&one);
                lengths.insert(ordered(pair[0], pair[1]), Cell { panel_m, spacing_m }.along());
            }
        }
        let Some(next) = rows.get(at + 1) else { continue };
        for (one, other) in near(panels, row, next) {
            let (a, b) = (panels[one], panels[other]);
            let cell = Cell {
                panel_m: 0.5 * (length(&a) + length(&b)),
                spacing_m: (a.across_m - b.across_m).abs(),
            };
            let metres = cell.beside((middle(&a) - middle(&b)).abs());
            if metres > 0.0 {
                lengths.insert(ordered(one, other), metres);
            }
        }
    }
    lengths
}

/// Pairs of panels of two rows whose middles are less than two panels apart along the rows.
fn near(panels: &[PanelGround], row: &[usize], next: &[usize]) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for &one in row {
        let (at, own) = (middle(&panels[one]), length(&panels[one]));
        let shift = |other: usize| (middle(&panels[other]) - at) / (own + length(&panels[other]));
        let from = next.partition_point(|&other| shift(other) <= -1.0);
        let others = next[from..].iter().copied().take_while(|&other| shift(other) < 1.0);
        pairs.extend(others.map(|other| (one, other)));
    }
    pairs
}

/// A panel and its place in the lattice of its neighbours.
struct Cell {
    panel_m: f64,
    spacing_m: f64,
}

impl Cell {
    fn angle(&self) -> f64 {
        self.spacing_m.atan2(self.panel_m)
    }

    /// Between two panels of a row.
    fn along(&self) -> f64 {
        0.5 * self.spacing_m * self.angle()
    }

    /// Between panels of neighbouring rows, shifted by so much.
    fn beside(&self, shift_m: f64) -> f64 {
        let across = 0.5 * self.panel_m * (FRAC_PI_2 - self.angle());
        let diagonal_m = self.panel_m.hypot(self.spacing_m);
        let diagonal = 0.5 * self.panel_m * self.spacing_m / diagonal_m * FRAC_PI_4;
        let panels = shift_m / self.panel_m;
        let share_of_diagonal = (2.0 * panels).min(1.0).min(3.0 - 2.0 * panels).max(0.0);
        across * (1.0 - panels).max(0.0) + diagonal * share_of_diagonal
    }
}

fn middle(panel: &PanelGround) -> f64 {
    f64::midpoint(panel.along_m[0], panel.along_m[1])
}

fn length(panel: &PanelGround) -> f64 {
    panel.along_m[1] - panel.along_m[0]
}

fn ordered(one: usize, other: usize) -> (usize, usize) {
    (one.min(other), one.max(other))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Degrees;

    /// 60 rows 2.5 m apart of 40 panels of 6 m, every other row shifted by `shift_m`.
    fn lattice(shift_m: f64) -> Vec<PanelGround> {
        let panel = |row: u32, number: u32| {
            let start = 6.0 * f64::from(number) + shift_m * f64::from(row % 2);
            let along_m = [start, start + 6.0];
            let piece = usize::try_from(row).unwrap();
            PanelGround { row, piece, along_m, across_m: 2.5 * f64::from(row) }
        };
        (0..60).flat_map(|row| (0..40).map(move |number| panel(row, number))).collect()
    }

    /// The length of the border between the panels on both sides of a line through the middle of the
    /// lattice, over that of the line.
    fn share(panels: &[PanelGround], degrees: f64) -> f64 {
        let (sin, cos) = Degrees::new(degrees).radians().sin_cos();
        // 0.1 m off, so that no middle is on the line.
        let beyond = |panel: &PanelGround| {
            sin * (middle(panel) - 120.1) - cos * (panel.across_m - 75.1) > 0.0
        };
        let found: f64 = border_lengths(panels, 2.5)
            .into_iter()
            .filter(|((one, other), _)| beyond(&panels[*one]) != beyond(&panels[*other]))
            .map(|(_, metres)| metres)
            .sum();
        let line_m = (240.0 / cos.abs()).min(150.0 / sin.abs());
        found / line_m
    }

    #[test]
    fn a_straight_border_is_about_as_long_in_every_direction() {
        for (shift_m, unlike) in [(0.0, 1.25), (3.0, 1.5)] {
            let panels = lattice(shift_m);
            let shares: Vec<f64> =
                (0..12).map(|step| share(&panels, 15.0 * f64::from(step))).collect();
            let least = shares.iter().copied().fold(f64::MAX, f64::min);
            let most = shares.iter().copied().fold(0.0, f64::max);
            assert!(most < unlike * least, "{shift_m}: {shares:?}");
            assert!(least > 0.8 && most < 1.3, "{shift_m}: {shares:?}");
        }
    }

    #[test]
    fn panels_with_a_gap_between_them_are_not_parted_by_a_border() {
        let mut panels = lattice(0.0);
        panels.truncate(3);
        panels[2].piece = 99;
        let lengths = border_lengths(&panels, 2.5);
        assert_eq!(lengths.into_keys().collect::<Vec<_>>(), [(0, 1)]);
    }
}
