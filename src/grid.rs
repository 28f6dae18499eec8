//! Values on a raster: how it lies on the globe, and what it says between its cells.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | c, r | column and row, counted in cells from the outer corner of the first cell | cells |
//! | x, y | degrees of longitude and latitude, or easting and northing of a grid | °, or the grid's |
//!
//! The middle of the first cell is at c = r = 0.5, whether the file counted from corners or from
//! middles: whoever makes a [`Grid`] settles that.

use crate::{
    geodesy::{GridTransform, LonLat, distance},
    maths::{float, whole},
};

/// Places this near beyond the middles of the outer cells still belong to the raster, in cells.
const GRACE_CELLS: f64 = 1e-6;

/// How columns and rows of a raster become x and y:
/// x = `origin_x` + c `column_x` + r `row_x`, and y likewise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Affine {
    /// x of the outer corner of the first cell.
    pub origin_x: f64,
    /// What a column adds to x.
    pub column_x: f64,
    /// What a row adds to x.
    pub row_x: f64,
    /// y of the outer corner of the first cell.
    pub origin_y: f64,
    /// What a column adds to y.
    pub column_y: f64,
    /// What a row adds to y.
    pub row_y: f64,
}

impl Affine {
    /// x and y at a column and row.
    pub fn place(&self, [c, r]: [f64; 2]) -> [f64; 2] {
        [
            self.origin_x + c * self.column_x + r * self.row_x,
            self.origin_y + c * self.column_y + r * self.row_y,
        ]
    }

    /// The column and row at x and y; `None` where the raster has no extent.
    pub fn cell(&self, [x, y]: [f64; 2]) -> Option<[f64; 2]> {
        let turn = self.column_x * self.row_y - self.row_x * self.column_y;
        let (x, y) = (x - self.origin_x, y - self.origin_y);
        let cell = [
            (self.row_y * x - self.row_x * y) / turn,
            (self.column_x * y - self.column_y * x) / turn,
        ];
        cell.iter().all(|part| part.is_finite()).then_some(cell)
    }

    /// The same raster without so many of its first columns and rows.
    #[must_use]
    pub fn without(self, columns: f64, rows: f64) -> Self {
        let [origin_x, origin_y] = self.place([columns, rows]);
        Self { origin_x, origin_y, ..self }
    }
}

/// What x and y of a raster are.
#[derive(Debug, Clone, PartialEq)]
pub enum Lies {
    /// Degrees of longitude and latitude on WGS84, or within two metres of it.
    Degrees,
    /// Easting and northing of a projected grid, in its unit.
    Projected(GridTransform),
}

/// Where the cells of a raster lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Georeference {
    /// How columns and rows become x and y.
    pub affine: Affine,
    /// What x and y are.
    pub lies: Lies,
}

impl Georeference {
    /// The column and row at a place, inside the raster or not; `None` where its grid does not
    /// reach.
    pub fn cell_of(&self, at: LonLat) -> Option<[f64; 2]> {
        match &self.lies {
            Lies::Projected(grid) => {
                let there = grid.from_lon_lat(at).ok()?;
                self.affine.cell([there.east, there.north])
            }
            // Rasters of the globe may count longitude from 0 to 360 degrees: the turn in which a
            // place lies east of the raster's western edge, or less than a degree before it.
            Lies::Degrees => {
                let before = self.affine.origin_x - 1.0;
                let before = if self.affine.column_x < 0.0 { before - 358.0 } else { before };
                let turns = ((at.lon() - before) / 360.0).floor();
                self.affine.cell([at.lon() - turns * 360.0, at.lat()])
            }
        }
    }

    /// The place of a column and row, in longitude and latitude.
    pub fn place(&self, cell: [f64; 2]) -> Option<LonLat> {
        let [x, y] = self.affine.place(cell);
        match &self.lies {
            Lies::Projected(grid) => grid.to_lon_lat(x, y).ok(),
            Lies::Degrees => LonLat::new(if x > 180.0 { x - 360.0 } else { x }, y),
        }
    }

    /// How wide and how high a cell is on the ellipsoid there, metres along a row and along a
    /// column of the raster.
    pub fn cell_m(&self, [c, r]: [f64; 2]) -> Option<[f64; 2]> {
        let way = |half: [f64; 2]| {
            let from = self.place([c - half[0], r - half[1]])?;
            let to = self.place([c + half[0], r + half[1]])?;
            Some(distance(from, to).metres())
        };
        Some([way([0.5, 0.0])?, way([0.0, 0.5])?])
    }
}

/// Values on a raster.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    name: String,
    columns: usize,
    rows: usize,
    values: Vec<f64>,
    georeference: Georeference,
    unit: String,
}

impl Grid {
    /// A raster: its file's own name, columns and rows, values row by row (not a number where there
    /// is none), how it lies, and the unit of its values.
    ///
    /// `None` when the values are not columns × rows or the raster has no extent.
    pub fn new(
        name: impl Into<String>,
        [columns, rows]: [usize; 2],
        values: Vec<f64>,
        georeference: Georeference,
        unit: impl Into<String>,
    ) -> Option<Self> {
        let affine = &georeference.affine;
        let extent = affine.cell(affine.place([1.0, 1.0])).is_some();
        let whole = columns > 0 && columns.checked_mul(rows) == Some(values.len());
        let (name, unit) = (name.into(), unit.into());
        (whole && extent && !values.is_empty()).then_some(Self {
            name,
            columns,
            rows,
            values,
            georeference,
            unit,
        })
    }

    /// The own name of the file it came from.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Columns and rows.
    pub const fn size(&self) -> [usize; 2] {
        [self.columns, self.rows]
    }

    /// Where its cells lie.
    pub const fn georeference(&self) -> &Georeference {
        &self.georeference
    }

    /// The unit of the values.
    pub fn unit(&self) -> &str {
        &self.unit
    }

    /// The value of a cell; `None` outside and where there is none.
    pub fn value(&self, column: usize, row: usize) -> Option<f64> {
        let inside = column < self.columns && row < self.rows;
        let value = inside.then(|| self.values[row * self.columns + column])?;
        value.is_finite().then_some(value)
    }

    /// All values, row by row.
    pub fn values(&self) -> impl Iterator<Item = Option<f64>> + '_ {
        self.values.iter().map(|value| value.is_finite().then_some(*value))
    }

    /// The value at a column and row, bilinear between the middles of the four cells around it.
    ///
    /// `None` beyond the middles of the outer cells, and where one of the four has no value.
    pub fn value_between(&self, [c, r]: [f64; 2]) -> Option<f64> {
        let (left, right) = neighbours(c - 0.5, self.columns)?;
        let (upper, lower) = neighbours(r - 0.5, self.rows)?;
        let mut sum = 0.0;
        for (row, down) in [upper, lower] {
            for (column, share) in [left, right] {
                let weight = down * share;
                if weight > 0.0 {
                    sum += weight * self.value(column, row)?;
                }
            }
        }
        Some(sum)
    }

    /// West, south, east and north of the raster's outer edges, in its own x and y.
    pub fn extent(&self) -> [f64; 4] {
        let [columns, rows] = self.size().map(float);
        let corners = [[0.0, 0.0], [columns, 0.0], [0.0, rows], [columns, rows]];
        let corners = corners.map(|corner| self.georeference.affine.place(corner));
        let least = |axis: usize| corners.iter().map(|c| c[axis]).fold(f64::INFINITY, f64::min);
        let most = |axis: usize| corners.iter().map(|c| c[axis]).fold(f64::NEG_INFINITY, f64::max);
        [least(0), least(1), most(0), most(1)]
    }
}

/// A cell and its weight.
type Weighted = (usize, f64);

/// The cells on both sides of a place between middles, with their weights.
fn neighbours(at: f64, cells: usize) -> Option<(Weighted, Weighted)> {
    let last = float(cells.checked_sub(1)?);
    if !(-GRACE_CELLS..=last + GRACE_CELLS).contains(&at) {
        return None;
    }
    let at = at.clamp(0.0, last);
    let low = whole(at);
    let share = at - at.floor();
    Some(((low, 1.0 - share), ((low + 1).min(cells - 1), share)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn north_up(origin: [f64; 2], cell: f64) -> Affine {
        let [origin_x, origin_y] = origin;
        Affine { origin_x, column_x: cell, row_x: 0.0, origin_y, column_y: 0.0, row_y: -cell }
    }

    fn grid(lies: Lies, affine: Affine, values: Vec<f64>) -> Grid {
        Grid::new("a.tif", [3, 2], values, Georeference { affine, lies }, "m").unwrap()
    }

    fn in_degrees(values: Vec<f64>) -> Grid {
        grid(Lies::Degrees, north_up([10.0, 50.0], 0.5), values)
    }

    fn at(grid: &Grid, lon: f64, lat: f64) -> Option<f64> {
        grid.value_between(grid.georeference().cell_of(LonLat::new(lon, lat).unwrap())?)
    }

    #[test]
    fn values_are_true_at_the_middles_of_cells_and_bilinear_between() {
        let grid = in_degrees(vec![1.0, 2.0, 3.0, 5.0, 7.0, 11.0]);
        assert_eq!(at(&grid, 10.25, 49.75), Some(1.0));
        assert_eq!(at(&grid, 11.25, 49.25), Some(11.0));
        assert_eq!(at(&grid, 10.5, 49.5), Some((1.0 + 2.0 + 5.0 + 7.0) / 4.0));
        assert_eq!(at(&grid, 10.2, 49.6), None, "beyond the middles of the outer cells");
    }

    #[test]
    fn an_absent_cell_makes_its_neighbourhood_absent_and_no_more() {
        let grid = in_degrees(vec![1.0, 2.0, f64::NAN, 5.0, 7.0, 11.0]);
        assert_eq!(at(&grid, 11.0, 49.5), None);
        assert_eq!(at(&grid, 10.5, 49.5), Some(3.75));
        assert_eq!(at(&grid, 11.25, 49.25), Some(11.0), "the absent one has no weight here");
    }

    #[test]
    fn a_turned_raster_leads_back_to_its_cells() {
        let turned = Affine {
            origin_x: 3.0,
            column_x: 1.5,
            row_x: 0.4,
            origin_y: -7.0,
            column_y: 0.6,
            row_y: -2.0,
        };
        let [c, r] = turned.cell(turned.place([2.25, 0.75])).unwrap();
        assert!((c - 2.25).hypot(r - 0.75) < 1e-12);
        let [x, y] = turned.without(2.0, 1.0).place([0.5, 0.5]);
        let [same_x, same_y] = turned.place([2.5, 1.5]);
        assert!((x - same_x).hypot(y - same_y) < 1e-12);
        let flat = Affine { column_x: 0.0, column_y: 0.0, ..turned };
        let flat = Georeference { affine: flat, lies: Lies::Degrees };
        assert!(Grid::new("a.tif", [1, 1], vec![0.0], flat, "m").is_none());
    }

    #[test]
    fn a_raster_that_counts_longitude_from_0_to_360_is_found() {
        let around = grid(Lies::Degrees, north_up([286.0, 45.0], 0.5), vec![1.0; 6]);
        assert_eq!(at(&around, -73.5, 44.5), Some(1.0));
    }

    #[test]
    fn a_cell_is_as_wide_as_the_ground() {
        let utm = GridTransform::new("EPSG:32631").unwrap();
        let there = utm.from_lon_lat(LonLat::new(3.0, 48.0).unwrap()).unwrap();
        let affine = north_up([there.east, there.north], 5.0);
        let grid = grid(Lies::Projected(utm), affine, vec![0.0; 6]);
        let [wide, high] = grid.georeference().cell_m([1.0, 1.0]).unwrap();
        // UTM's scale on its own meridian is 0.9996.
        assert!((wide - 5.0 / 0.9996).abs() < 1e-6 && (high - 5.0 / 0.9996).abs() < 1e-6);
    }
}
