//! Whose ground a place is: a raster of vines.
//!
//! A vine's ground reaches halfway to its neighbours along the row, half a gap beyond the first and
//! the last of a piece, and half a row spacing to either side.

use super::Layout;
use crate::{
    frame::{CellGrid, MapCells, RowPoint, Site},
    geodesy::GeodesyError,
    maths::{float, whole},
};

/// Most cells along the longer side of the raster.
const MOST_CELLS: usize = 2000;

/// The vine on whose ground the middle of each cell lies.
#[derive(Debug, Clone, PartialEq)]
pub struct VineCells {
    /// Where the cells are.
    pub cells: MapCells,
    /// Row by row; `None` where no vine has its ground.
    pub vines: Vec<Option<u32>>,
}

impl VineCells {
    /// A value by vine, as one by cell: row by row, `None` where there is no vine or no value.
    pub fn spread<'a, T: Copy>(
        &'a self,
        of_vine: &'a [Option<T>],
    ) -> impl Iterator<Item = Option<T>> {
        self.vines.iter().map(|vine| {
            let vine = usize::try_from((*vine)?).ok()?;
            of_vine.get(vine).copied().flatten()
        })
    }
}

/// The raster of a block's vines; `None` for a block without any.
///
/// # Errors
/// A block that UTM does not reach.
pub fn vine_cells(
    site: &Site,
    layout: &Layout,
    grid: CellGrid,
) -> Result<Option<VineCells>, GeodesyError> {
    let grounds = grounds(site, layout);
    let Some(corners) = corners(&grounds) else { return Ok(None) };
    let cells = MapCells::over(site, corners, (grid, MOST_CELLS))?;
    let [columns, rows] = cells.size();
    let mut vines = vec![None; columns * rows];
    for (vine, ground) in (0_u32..).zip(&grounds) {
        let corners = ground.map(|corner| cells.cell_of(corner));
        for row in lines(&corners, rows) {
            for column in middles(&corners, row, columns) {
                vines[row * columns + column] = Some(vine);
            }
        }
    }
    Ok(Some(VineCells { cells, vines }))
}

/// The corners of every vine's ground, one after the other.
fn grounds(site: &Site, layout: &Layout) -> Vec<[RowPoint; 4]> {
    let half_m = site.rules.row_spacing.metres() / 2.0;
    let gap_m = site.rules.vine_spacing.metres();
    let ground = |vine: usize| {
        let [from, to] = ends(layout, vine, gap_m);
        let aside = |at: RowPoint, side: f64| RowPoint { across_m: at.across_m + side, ..at };
        [aside(from, -half_m), aside(to, -half_m), aside(to, half_m), aside(from, half_m)]
    };
    (0..layout.vines.len()).map(ground).collect()
}

/// Where a vine's ground begins and ends along its row.
fn ends(layout: &Layout, vine: usize, gap_m: f64) -> [RowPoint; 2] {
    let own = &layout.vines[vine];
    let beside = |other: Option<usize>| {
        let other = layout.vines.get(other?)?;
        (other.piece == own.piece).then_some(other.at)
    };
    let (before, after) = (beside(vine.checked_sub(1)), beside(Some(vine + 1)));
    let beyond = |away: f64| RowPoint { along_m: own.at.along_m + away, ..own.at };
    let half =
        |other: Option<RowPoint>, opposite: Option<RowPoint>, away: f64| match (other, opposite) {
            (Some(other), _) => middle(own.at, other),
            // As far as on the other side.
            (None, Some(opposite)) => mirrored(own.at, middle(own.at, opposite)),
            (None, None) => beyond(away),
        };
    [half(before, after, -gap_m / 2.0), half(after, before, gap_m / 2.0)]
}

fn middle(one: RowPoint, other: RowPoint) -> RowPoint {
    RowPoint {
        along_m: f64::midpoint(one.along_m, other.along_m),
        across_m: f64::midpoint(one.across_m, other.across_m),
    }
}

/// A place on the other side of another, as far away.
fn mirrored(at: RowPoint, place: RowPoint) -> RowPoint {
    RowPoint {
        along_m: 2.0 * at.along_m - place.along_m,
        across_m: 2.0 * at.across_m - place.across_m,
    }
}

fn corners(grounds: &[[RowPoint; 4]]) -> Option<[RowPoint; 2]> {
    let mut all = grounds.iter().flatten().copied();
    let first = all.next()?;
    let grown = |[low, high]: [RowPoint; 2], at: RowPoint| {
        let along = [low.along_m.min(at.along_m), high.along_m.max(at.along_m)];
        let across = [low.across_m.min(at.across_m), high.across_m.max(at.across_m)];
        [0, 1].map(|end| RowPoint { along_m: along[end], across_m: across[end] })
    };
    Some(all.fold([first, first], grown))
}

/// The rows of a raster whose middles some ground may hold.
fn lines(corners: &[[f64; 2]; 4], rows: usize) -> std::ops::Range<usize> {
    let least = corners.iter().map(|at| at[1]).fold(f64::INFINITY, f64::min);
    let most = corners.iter().map(|at| at[1]).fold(f64::NEG_INFINITY, f64::max);
    numbers([least, most], rows)
}

/// The cells of a row whose middles lie in some ground: from its left border up to but without its
/// right one, so that grounds with a common border share no cell and leave none out.
fn middles(corners: &[[f64; 2]; 4], row: usize, columns: usize) -> std::ops::Range<usize> {
    let y = float(row) + 0.5;
    let (mut left, mut right) = (f64::INFINITY, f64::NEG_INFINITY);
    for k in 0..4 {
        let ([x0, y0], [x1, y1]) = (corners[k], corners[(k + 1) % 4]);
        if (y0 <= y) != (y1 <= y) {
            let x = x0 + (y - y0) / (y1 - y0) * (x1 - x0);
            (left, right) = (left.min(x), right.max(x));
        }
    }
    if left <= right { numbers([left, right], columns) } else { 0..0 }
}

/// The numbers whose middles lie between two places.
fn numbers([from, to]: [f64; 2], most: usize) -> std::ops::Range<usize> {
    let first = |place: f64| whole((place - 0.5).ceil().clamp(0.0, float(most)));
    first(from)..first(to)
}
