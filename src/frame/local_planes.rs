//! The plane that fits the heights around each node of a lattice best.
//!
//! A lattice of heights carries furrows, banks and noise. Over a square window around a node the
//! plane with the least squared misfit gives the smoothed height and the slope there; it is exact
//! for a plane whatever is missing from the window, also at the rim and beside absent heights.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | x, y | steps east and north of the node | lattice steps |
//! | z | height above the first one present | m |
//! | n, Sx, Sxx … | number in the window, sums of x, x² … over it | |
//! | Cxx, Cxz … | the same sums about the means | |
//!
//! # Source
//! A first-order polynomial fitted to a moving window: Sharpnack and Akin (1969), An algorithm for
//! computing slope and aspect from elevations, Photogrammetric Engineering 35:247–248, for windows
//! of 3 × 3; with wider ones it is the first-order filter of Savitzky and Golay (1964), Analytical
//! Chemistry 36:1627–1639, in two directions.

use rayon::prelude::*;

/// Height and slope of a plane at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LocalPlane {
    /// Metres; not a number where there is no height.
    pub(super) height_m: f64,
    /// Metres of height per lattice step east and north.
    pub(super) rise: [f64; 2],
}

const ABSENT: LocalPlane = LocalPlane { height_m: f64::NAN, rise: [f64::NAN; 2] };

/// Sums over the part of a window that lies in one row of nodes.
#[derive(Debug, Clone, Copy, Default)]
struct RowSums {
    n: f64,
    x: f64,
    xx: f64,
    z: f64,
    xz: f64,
}

/// The planes at all nodes, row by row; `reach` nodes to every side are in a window.
///
/// A node without a height (not a number) has none afterwards, and neither has one whose window
/// holds heights on one line only.
pub(super) fn local_planes(heights_m: &[f64], columns: usize, reach: usize) -> Vec<LocalPlane> {
    if columns == 0 {
        return Vec::new();
    }
    let base = heights_m.iter().copied().find(|height| height.is_finite()).unwrap_or(0.0);
    let by_row: Vec<Vec<RowSums>> = heights_m
        .par_chunks(columns)
        .map(|row| (0..columns).map(|at| along_row(row, at, reach, base)).collect())
        .collect();
    let rows = by_row.len();
    let planes = (0..rows).into_par_iter().flat_map_iter(|row| {
        let by_row = &by_row;
        let present = &heights_m[row * columns..];
        (0..columns).map(move |column| {
            if present[column].is_finite() {
                plane(by_row, row, column, reach, base)
            } else {
                ABSENT
            }
        })
    });
    planes.collect()
}

fn along_row(row: &[f64], at: usize, reach: usize, base: f64) -> RowSums {
    let first = at.saturating_sub(reach);
    let mut sums = RowSums::default();
    let mut x = steps(at, first);
    for height in &row[first..row.len().min(at + reach + 1)] {
        if height.is_finite() {
            let z = height - base;
            sums.n += 1.0;
            sums.x += x;
            sums.xx += x * x;
            sums.z += z;
            sums.xz += x * z;
        }
        x += 1.0;
    }
    sums
}

fn plane(
    by_row: &[Vec<RowSums>],
    row: usize,
    column: usize,
    reach: usize,
    base: f64,
) -> LocalPlane {
    let first = row.saturating_sub(reach);
    let mut all = RowSums::default();
    let [mut sum_y, mut sum_yy, mut sum_xy, mut sum_yz] = [0.0; 4];
    let mut y = steps(row, first);
    for sums in &by_row[first..by_row.len().min(row + reach + 1)] {
        let RowSums { n, x, xx, z, xz } = sums[column];
        all =
            RowSums { n: all.n + n, x: all.x + x, xx: all.xx + xx, z: all.z + z, xz: all.xz + xz };
        sum_y += y * n;
        sum_yy += y * y * n;
        sum_xy += y * x;
        sum_yz += y * z;
        y += 1.0;
    }
    let (mean_x, mean_y, mean_z) = (all.x / all.n, sum_y / all.n, all.z / all.n);
    let (cxx, cyy) = (all.xx - all.x * mean_x, sum_yy - sum_y * mean_y);
    let cxy = sum_xy - all.x * mean_y;
    let (cxz, cyz) = (all.xz - all.x * mean_z, sum_yz - sum_y * mean_z);
    let spread = cxx * cyy - cxy * cxy;
    // On one line the spread is 0 but for rounding; three nodes of a corner have 1/3.
    if spread < 0.1 {
        return ABSENT;
    }
    let rise = [(cxz * cyy - cyz * cxy) / spread, (cyz * cxx - cxz * cxy) / spread];
    let height_m = base + mean_z - rise[0] * mean_x - rise[1] * mean_y;
    LocalPlane { height_m, rise }
}

/// From one node to an earlier one, negative.
fn steps(from: usize, to: usize) -> f64 {
    -crate::maths::float(from - to)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::float;

    fn lattice(columns: usize, rows: usize, height: impl Fn(f64, f64) -> f64) -> Vec<f64> {
        let node = |at: usize| height(float(at % columns), float(at / columns));
        (0..columns * rows).map(node).collect()
    }

    #[test]
    fn a_plane_stays_itself_up_to_the_rim_and_around_holes() {
        let mut heights = lattice(9, 7, |x, y| 812.0 + 0.3 * x - 0.7 * y);
        for hole in [0, 31, 32, 62] {
            heights[hole] = f64::NAN;
        }
        for (plane, height) in local_planes(&heights, 9, 2).iter().zip(&heights) {
            if height.is_nan() {
                assert!(plane.height_m.is_nan());
                continue;
            }
            assert!((plane.height_m - height).abs() < 1e-9, "{plane:?} {height}");
            assert!((plane.rise[0] - 0.3).hypot(plane.rise[1] + 0.7) < 1e-9, "{plane:?}");
        }
    }

    #[test]
    fn furrows_shorter_than_the_window_leave_the_slope_alone() {
        let heights = lattice(31, 31, |x, y| 0.1 * x + 0.05 * (2.0 * y).sin());
        let middle = local_planes(&heights, 31, 10)[15 * 31 + 15];
        assert!((middle.rise[0] - 0.1).abs() < 1e-9 && middle.rise[1].abs() < 2e-3, "{middle:?}");
    }

    #[test]
    fn heights_on_one_line_have_no_slope() {
        let heights = lattice(5, 1, |x, _| x);
        assert!(local_planes(&heights, 5, 2).iter().all(|plane| plane.height_m.is_nan()));
        assert!(local_planes(&[], 0, 2).is_empty());
    }

    #[test]
    fn three_by_three_gives_the_mean_of_opposite_sides() {
        // from memory: Sharpnack and Akin's slope is (sum of the right column − sum of the left)
        // / 6 steps; z below is Burrough and McDonnell's example of a 3 × 3 window, rows southward.
        let southward = [50.0, 45.0, 50.0, 30.0, 30.0, 30.0, 8.0, 10.0, 10.0];
        let northward: Vec<f64> = southward.chunks(3).rev().flatten().copied().collect();
        let middle = local_planes(&northward, 3, 1)[4];
        let expected = [(90.0 - 88.0) / 6.0, (145.0 - 28.0) / 6.0];
        assert!((middle.rise[0] - expected[0]).hypot(middle.rise[1] - expected[1]) < 1e-12);
    }
}
