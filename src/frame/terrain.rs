//! The height and slope of a block's ground, on a lattice in metres of ground.
//!
//! Made once from an elevation model, so that the stages after it ask neither the raster nor the
//! globe. Slope is meant over a support: the plane that fits the ground best over a square of that
//! side ([`super::local_planes`]). Between nodes height and slope are bilinear.

use geo::{Coord, Line, LinesIter, MapCoords, MultiPolygon};
use rayon::prelude::*;

use super::{
    Frame, GroundPoint, RowPoint,
    local_planes::{LocalPlane, local_planes},
    row_axes::RowAxes,
};
use crate::{
    block::RowsTo,
    grid::Grid,
    maths::{
        float,
        intervals::{Interval, inside},
        whole,
    },
    units::{Degrees, Metres},
};

/// Nodes of a lattice at most.
const MOST_NODES: f64 = 1e6;
/// Steps of a lattice to half a support, at least and at most.
const STEPS_TO_HALF_A_SUPPORT: [f64; 2] = [2.0, 20.0];
/// Ground beyond the outline that is kept besides half a support, metres.
const MARGIN_M: f64 = 30.0;
/// Where nodes lie in the raster is asked of the globe so far apart and shared between: over this
/// length a straight line bends by L² / 8R, 0.1 mm.
const MESH_M: f64 = 50.0;

/// The height and slope of a block's ground.
#[derive(Debug, Clone)]
pub struct Terrain {
    lattice: Lattice,
    planes: Vec<LocalPlane>,
    facts: TerrainFacts,
}

/// What an elevation model says of a block as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct TerrainFacts {
    /// The own name of the elevation model's file.
    pub source: String,
    /// The larger side of its cells on the ground.
    pub cell: Metres,
    /// The side of the square over which slope is meant: as asked, and at least two cells.
    pub support: Metres,
    /// How much of the ground inside the outline has heights, 0 … 1.
    pub covered_share: f64,
    /// The lowest and highest ground inside the outline, metres; `None` without any height there.
    pub heights_m: Option<[f64; 2]>,
    /// The mean and the steepest slope inside the outline, metres of rise per metre.
    pub slopes: Option<[f64; 2]>,
}

/// Nodes at equal steps east and north.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lattice {
    west_m: f64,
    south_m: f64,
    step_m: f64,
    columns: usize,
    rows: usize,
}

impl Terrain {
    /// The ground inside an outline (metres along and across the rows of `frame`) and around it,
    /// its slope meant over `support`.
    ///
    /// Heights of the raster are taken as metres. Without any height inside the outline the result
    /// still tells so: [`TerrainFacts::covered_share`].
    pub fn of(frame: &Frame, outline: &MultiPolygon<f64>, grid: &Grid, support: Metres) -> Self {
        let outline = outline.map_coords(|Coord { x, y }| {
            let at = frame.to_ground(RowPoint { along_m: x, across_m: y });
            Coord { x: at.east_m, y: at.north_m }
        });
        let lie = grid.georeference();
        let cell = lie.cell_of(frame.origin()).and_then(|cell| lie.cell_m(cell));
        let cell_m = cell.map_or(support.metres(), |[wide, high]| wide.max(high));
        let cell_m = cell_m * frame.ground_scale();
        let half_support_m = (support.metres() / 2.0).max(cell_m);
        let lattice = Lattice::over(&outline, half_support_m, cell_m);
        let reach = whole((half_support_m / lattice.step_m).round().max(1.0));
        let heights = sampled(frame, grid, lattice);
        let mut planes = local_planes(&heights, lattice.columns, reach);
        for plane in &mut planes {
            plane.rise = plane.rise.map(|rise| rise / lattice.step_m);
        }
        let facts = TerrainFacts {
            source: grid.name().to_owned(),
            cell: Metres::new(cell_m),
            support: Metres::new(2.0 * float(reach) * lattice.step_m),
            ..facts_inside(&outline, lattice, &planes)
        };
        Self { lattice, planes, facts }
    }

    /// What it says of the block as a whole.
    pub const fn facts(&self) -> &TerrainFacts {
        &self.facts
    }

    /// The smoothed height of the ground; `None` where the model has none.
    ///
    /// # Units
    /// Metres, above whatever the elevation model counts from.
    pub fn height_m(&self, at: GroundPoint) -> Option<f64> {
        self.plane_at(at).map(|plane| plane.height_m)
    }

    /// How much the ground rises to the east and to the north; `None` where the model has no
    /// heights.
    ///
    /// # Units
    /// Metres of rise per level metre.
    pub fn gradient(&self, at: GroundPoint) -> Option<[f64; 2]> {
        self.plane_at(at).map(|plane| plane.rise)
    }

    /// The same ground seen along rows of this bearing from true north.
    pub fn along(&self, bearing: Degrees, rows_to: RowsTo) -> RowTerrain<'_> {
        RowTerrain { terrain: self, axes: RowAxes::new(bearing, rows_to) }
    }

    fn plane_at(&self, at: GroundPoint) -> Option<LocalPlane> {
        let (left, right) = self.lattice.columns_at(at.east_m)?;
        let (lower, upper) = self.lattice.rows_at(at.north_m)?;
        let mut sum = LocalPlane { height_m: 0.0, rise: [0.0; 2] };
        for (row, up) in [lower, upper] {
            for (column, share) in [left, right] {
                let weight = up * share;
                if weight > 0.0 {
                    let plane = self.planes[row * self.lattice.columns + column];
                    sum.height_m += weight * plane.height_m;
                    sum.rise[0] += weight * plane.rise[0];
                    sum.rise[1] += weight * plane.rise[1];
                }
            }
        }
        sum.height_m.is_finite().then_some(sum)
    }
}

/// The ground in metres along and across rows of some bearing.
#[derive(Debug, Clone, Copy)]
pub struct RowTerrain<'a> {
    terrain: &'a Terrain,
    axes: RowAxes,
}

impl<'a> RowTerrain<'a> {
    /// The ground itself.
    pub const fn terrain(self) -> &'a Terrain {
        self.terrain
    }

    /// The smoothed height of the ground, metres; `None` where the model has none.
    pub fn height_m(self, at: RowPoint) -> Option<f64> {
        self.terrain.height_m(self.axes.to_ground(at))
    }

    /// How much the ground rises along and across the rows, metres per level metre; `None` where
    /// the model has no heights.
    pub fn gradient(self, at: RowPoint) -> Option<[f64; 2]> {
        let [east_m, north_m] = self.terrain.gradient(self.axes.to_ground(at))?;
        // A gradient turns as a place does.
        let turned = self.axes.to_row(GroundPoint { east_m, north_m });
        Some([turned.along_m, turned.across_m])
    }
}

/// A node's column or row and its weight.
type Weighted = (usize, f64);

impl Lattice {
    fn over(outline: &MultiPolygon<f64>, half_support_m: f64, cell_m: f64) -> Self {
        let corners = || outline.lines_iter().map(|line| line.start);
        let span = |axis: fn(&Coord<f64>) -> f64| {
            let places = || corners().map(|corner| axis(&corner));
            Interval::new(
                places().fold(f64::INFINITY, f64::min),
                places().fold(f64::NEG_INFINITY, f64::max),
            )
        };
        let (east, north) = (span(|c| c.x), span(|c| c.y));
        let margin = MARGIN_M + half_support_m;
        let [fewest, most] = STEPS_TO_HALF_A_SUPPORT;
        let steps = (2.0 * half_support_m / cell_m).ceil().clamp(fewest, most);
        let area = (east.length() + 2.0 * margin) * (north.length() + 2.0 * margin);
        let step_m = (half_support_m / steps).max((area / MOST_NODES).sqrt());
        // Nodes at whole steps from the origin: a changed corner of the outline moves none.
        let from = |low: f64| ((low - margin) / step_m).floor() * step_m;
        let nodes = |low: f64, high: f64| 1 + whole(((high + margin - low) / step_m).ceil());
        let (west_m, south_m) = (from(east.low), from(north.low));
        Self {
            west_m,
            south_m,
            step_m,
            columns: nodes(west_m, east.high),
            rows: nodes(south_m, north.high),
        }
    }

    fn node(&self, column: usize, row: usize) -> GroundPoint {
        GroundPoint {
            east_m: self.west_m + float(column) * self.step_m,
            north_m: self.south_m + float(row) * self.step_m,
        }
    }

    fn columns_at(&self, east_m: f64) -> Option<(Weighted, Weighted)> {
        around((east_m - self.west_m) / self.step_m, self.columns)
    }

    fn rows_at(&self, north_m: f64) -> Option<(Weighted, Weighted)> {
        around((north_m - self.south_m) / self.step_m, self.rows)
    }
}

fn around(at: f64, nodes: usize) -> Option<(Weighted, Weighted)> {
    let last = nodes.checked_sub(1)?;
    if !(0.0..=float(last)).contains(&at) {
        return None;
    }
    let share = at - at.floor();
    let low = whole(at);
    Some(((low, 1.0 - share), ((low + 1).min(last), share)))
}

/// The raster's heights at the nodes; not a number where it has none.
fn sampled(frame: &Frame, grid: &Grid, lattice: Lattice) -> Vec<f64> {
    let stride = whole((MESH_M / lattice.step_m).max(1.0));
    let mesh_columns = lattice.columns.div_ceil(stride) + 1;
    let mesh_rows = lattice.rows.div_ceil(stride) + 1;
    let cell = |at: usize| {
        let node = lattice.node(at % mesh_columns * stride, at / mesh_columns * stride);
        grid.georeference().cell_of(frame.to_lon_lat(frame.from_ground(node)))
    };
    let mesh: Vec<Option<[f64; 2]>> =
        (0..mesh_columns * mesh_rows).into_par_iter().map(cell).collect();
    let height = |at: usize| {
        let (column, row) = (at % lattice.columns, at / lattice.columns);
        let corner = |right: usize, up: usize| {
            mesh[(row / stride + up) * mesh_columns + column / stride + right]
        };
        let shares = [column % stride, row % stride].map(|part| float(part) / float(stride));
        let cell = between([[corner(0, 0), corner(1, 0)], [corner(0, 1), corner(1, 1)]], shares);
        cell.and_then(|cell| grid.value_between(cell)).unwrap_or(f64::NAN)
    };
    (0..lattice.columns * lattice.rows).into_par_iter().map(height).collect()
}

/// A corner of the mesh in the raster.
type Corner = Option<[f64; 2]>;

fn between(corners: [[Corner; 2]; 2], [right, up]: [f64; 2]) -> Option<[f64; 2]> {
    let mix = |one: [f64; 2], other: [f64; 2], share: f64| {
        [0, 1].map(|axis| one[axis] + (other[axis] - one[axis]) * share)
    };
    let [[one, two], [three, four]] = corners;
    Some(mix(mix(one?, two?, right), mix(three?, four?, right), up))
}

/// What the nodes inside the outline say together.
fn facts_inside(
    outline: &MultiPolygon<f64>,
    lattice: Lattice,
    planes: &[LocalPlane],
) -> TerrainFacts {
    let edges: Vec<Line<f64>> = outline.lines_iter().collect();
    let (mut nodes, mut steepest, mut sum) = (0_usize, 0.0_f64, 0.0);
    let mut heights = Interval::new(f64::INFINITY, f64::NEG_INFINITY);
    let mut present = 0_usize;
    for row in 0..lattice.rows {
        for column in columns_inside(&edges, lattice, row) {
            nodes += 1;
            let plane = planes[row * lattice.columns + column];
            if plane.height_m.is_finite() {
                present += 1;
                let slope = plane.rise[0].hypot(plane.rise[1]);
                steepest = steepest.max(slope);
                sum += slope;
                heights.low = heights.low.min(plane.height_m);
                heights.high = heights.high.max(plane.height_m);
            }
        }
    }
    let some = present > 0;
    TerrainFacts {
        source: String::new(),
        cell: Metres::new(0.0),
        support: Metres::new(0.0),
        covered_share: if nodes > 0 { float(present) / float(nodes) } else { 0.0 },
        heights_m: some.then_some([heights.low, heights.high]),
        slopes: some.then(|| [sum / float(present), steepest]),
    }
}

/// The nodes of a row of the lattice that lie inside the outline.
fn columns_inside(edges: &[Line<f64>], lattice: Lattice, row: usize) -> Vec<usize> {
    let north = lattice.node(0, row).north_m;
    let crosses = |edge: &&Line<f64>| (edge.start.y <= north) != (edge.end.y <= north);
    let east = |edge: &Line<f64>| {
        edge.start.x + (north - edge.start.y) / edge.dy() * edge.dx() - lattice.west_m
    };
    let mut crossings: Vec<f64> = edges.iter().filter(crosses).map(east).collect();
    let columns = |stretch: Interval| {
        let first = whole((stretch.low / lattice.step_m).ceil());
        first..lattice.columns.min(1 + whole(stretch.high / lattice.step_m))
    };
    inside(&mut crossings).into_iter().flat_map(columns).collect()
}

#[cfg(test)]
mod tests {
    use geo::polygon;

    use super::*;
    use crate::{
        frame::AppliedBearing,
        geodesy::{GridTransform, LonLat},
        grid::{Affine, Georeference, Lies},
    };

    fn frame(bearing: f64) -> Frame {
        let bearing = AppliedBearing::from_true_north(Degrees::new(bearing));
        let origin = LonLat::new(-3.0, 50.0).unwrap();
        Frame::new(origin, Metres::new(0.0), bearing, RowsTo::Right).unwrap()
    }

    fn square(half: f64) -> MultiPolygon<f64> {
        polygon![
            (x: -half, y: -half), (x: half, y: -half), (x: half, y: half), (x: -half, y: half),
        ]
        .into()
    }

    /// A model of 2 m cells in UTM 30, whose middle meridian is 3° W, around the frame's origin.
    fn model(half_cells: u32, height: impl Fn(f64, f64) -> f64) -> Grid {
        let utm = GridTransform::new("EPSG:32630").unwrap();
        let middle = utm.from_lon_lat(frame(0.0).origin()).unwrap();
        let half = f64::from(half_cells);
        let affine = Affine {
            origin_x: middle.east - 2.0 * half,
            column_x: 2.0,
            row_x: 0.0,
            origin_y: middle.north + 2.0 * half,
            column_y: 0.0,
            row_y: -2.0,
        };
        let side = 2 * half_cells as usize;
        let value = |at: usize| {
            let offset = |index: usize| 2.0 * (float(index) + 0.5 - half) / 0.9996;
            height(offset(at % side), -offset(at / side))
        };
        let values = (0..side * side).map(value).collect();
        let georeference = Georeference { affine, lies: Lies::Projected(utm) };
        Grid::new("dem.tif", [side, side], values, georeference, "m").unwrap()
    }

    fn terrain(bearing: f64, half: f64, grid: &Grid) -> Terrain {
        Terrain::of(&frame(bearing), &square(half), grid, Metres::new(10.0))
    }

    #[test]
    fn a_plane_has_its_slope_along_and_across_rows_of_any_bearing() {
        let grid = model(100, |east, north| 182.0 + 0.12 * east - 0.05 * north);
        let terrain = terrain(33.0, 60.0, &grid);
        let bearing = Degrees::new(33.0);
        let (sin, cos) = bearing.radians().sin_cos();
        for (rows_to, side) in [(RowsTo::Right, 1.0), (RowsTo::Left, -1.0)] {
            let rows = terrain.along(bearing, rows_to);
            for at in [(0.0, 0.0), (59.0, -58.0), (-40.0, 13.7)] {
                let at = RowPoint { along_m: at.0, across_m: at.1 };
                let [along, across] = rows.gradient(at).unwrap();
                assert!((along - (0.12 * sin - 0.05 * cos)).abs() < 2e-6, "{along}");
                assert!((across - side * (0.12 * cos + 0.05 * sin)).abs() < 2e-6, "{across}");
            }
        }
        let facts = terrain.facts();
        assert!((facts.cell.metres() - 2.0 / 0.9996).abs() < 1e-6);
        assert!((facts.support.metres() - 10.0).abs() < 1e-9, "{facts:?}");
        assert!((facts.covered_share - 1.0).abs() < 1e-12);
        let [mean, steepest] = facts.slopes.unwrap();
        assert!((mean - 0.13).abs() < 1e-5 && (steepest - 0.13).abs() < 1e-5, "{mean}");
        let [lowest, highest] = facts.heights_m.unwrap();
        assert!(lowest > 180.0 - 12.0 && highest < 184.0 + 12.0 && highest - lowest > 15.0);
    }

    #[test]
    fn heights_are_those_of_the_model() {
        let grid = model(100, |east, north| 50.0 + 0.1 * east + 0.2 * north);
        let terrain = terrain(0.0, 60.0, &grid);
        let at = GroundPoint { east_m: 31.4, north_m: -15.9 };
        let height = terrain.height_m(at).unwrap();
        assert!((height - (50.0 + 0.1 * 31.4 - 0.2 * 15.9)).abs() < 1e-4, "{height}");
        assert_eq!(terrain.height_m(GroundPoint { east_m: 500.0, north_m: 0.0 }), None);
    }

    #[test]
    fn a_cone_falls_away_from_its_top_to_all_sides() {
        let grid = model(100, |east, north| 100.0 - 0.25 * east.hypot(north));
        let terrain = terrain(70.0, 60.0, &grid);
        for degrees in [0.0, 45.0, 130.0, 290.0] {
            let (sin, cos) = Degrees::new(degrees).radians().sin_cos();
            let at = GroundPoint { east_m: 40.0 * sin, north_m: 40.0 * cos };
            let [east, north] = terrain.gradient(at).unwrap();
            assert!((east + 0.25 * sin).hypot(north + 0.25 * cos) < 1e-3, "{east} {north}");
        }
        let top = terrain.gradient(GroundPoint { east_m: 0.0, north_m: 0.0 }).unwrap();
        assert!(top[0].hypot(top[1]) < 1e-4, "{top:?}");
    }

    #[test]
    fn a_model_of_half_the_block_says_so() {
        let grid = model(100, |east, _| if east > 0.0 { f64::NAN } else { 10.0 - east });
        let facts = terrain(0.0, 60.0, &grid).facts().clone();
        assert!((facts.covered_share - 0.5).abs() < 0.02, "{facts:?}");
        let far = model(10, |_, _| f64::NAN);
        let facts = terrain(0.0, 60.0, &far).facts().clone();
        assert_eq!((facts.heights_m, facts.slopes), (None, None));
        assert!(facts.covered_share <= 0.0);
    }
}
