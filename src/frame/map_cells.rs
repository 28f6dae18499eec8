//! A raster over a block, north up in the grid of its place, and how rows lie on it.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | u, v | along and across the rows | m |
//! | c, r | column and row of the raster, counted from the outer corner of its first cell | cells |
//!
//! From u and v to c and r leads a lattice of places that PROJ was asked about, bilinear between
//! them: over a block of a kilometre that is off by less than a millimetre.

use super::{RowPoint, Site};
use crate::{
    geodesy::{GeodesyError, GridTransform, LonLat},
    grid::{Affine, Georeference, Lies},
    maths::{float, whole},
    units::Degrees,
};

/// What a raster's columns and rows are counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellGrid {
    /// Metres of the UTM zone of the block's middle: square cells, for programs that know grids.
    Utm,
    /// Degrees of longitude and latitude, for viewers that know nothing else.
    Degrees,
}

/// Metres of a degree of latitude, and of longitude at the equator, near enough for the sides of cells.
const DEGREE_M: f64 = 111_320.0;
/// Sides of cells, metres; the first at which a raster is small enough is taken.
const SIDES_M: [f64; 10] = [0.25, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0, 20.0, 50.0, 100.0];
/// Meshes of the lattice, each way.
const MESHES: usize = 16;

/// The cells of a raster over some ground of a block.
#[derive(Debug, Clone, PartialEq)]
pub struct MapCells {
    georeference: Georeference,
    size: [usize; 2],
    low: RowPoint,
    /// Metres from node to node, along and across the rows.
    mesh_m: [f64; 2],
    /// Columns and rows of the lattice's nodes, those of one v after those of the last.
    nodes: Vec<[f64; 2]>,
}

impl MapCells {
    /// A raster of at most `most` cells along its longer side that holds the ground between two
    /// corners.
    ///
    /// # Errors
    /// Ground that UTM does not reach.
    pub fn over(
        site: &Site,
        [low, high]: [RowPoint; 2],
        (grid, most): (CellGrid, usize),
    ) -> Result<Self, GeodesyError> {
        let lies = match grid {
            CellGrid::Utm => Lies::Projected(raster_grid(site)?),
            CellGrid::Degrees => Lies::Degrees,
        };
        let mesh_m = [high.along_m - low.along_m, high.across_m - low.across_m]
            .map(|side| side.max(1e-3) / float(MESHES));
        let mut nodes = Vec::with_capacity((MESHES + 1) * (MESHES + 1));
        for at in lattice(low, mesh_m) {
            nodes.push(place(&lies, site.frame.to_lon_lat(at))?);
        }
        let (affine, size) = north_up(&nodes, most, in_a_metre(&lies, site.frame.origin().lat()));
        for node in &mut nodes {
            // A raster with sides has a cell for every place.
            *node = affine.cell(*node).unwrap_or_default();
        }
        let georeference = Georeference { affine, lies };
        Ok(Self { georeference, size, low, mesh_m, nodes })
    }

    /// Where its cells lie.
    pub const fn georeference(&self) -> &Georeference {
        &self.georeference
    }

    /// Columns and rows.
    pub const fn size(&self) -> [usize; 2] {
        self.size
    }

    /// Column and row of a place.
    pub fn cell_of(&self, at: RowPoint) -> [f64; 2] {
        let [(left, x), (below, y)] = [
            mesh((at.along_m - self.low.along_m) / self.mesh_m[0]),
            mesh((at.across_m - self.low.across_m) / self.mesh_m[1]),
        ];
        let node = |right: usize, up: usize| self.nodes[(below + up) * (MESHES + 1) + left + right];
        let between = |a: [f64; 2], b: [f64; 2], share: f64| {
            [0, 1].map(|axis| a[axis] + share * (b[axis] - a[axis]))
        };
        between(between(node(0, 0), node(1, 0), x), between(node(0, 1), node(1, 1), x), y)
    }
}

fn place(lies: &Lies, at: LonLat) -> Result<[f64; 2], GeodesyError> {
    match lies {
        Lies::Degrees => Ok([at.lon(), at.lat()]),
        Lies::Projected(grid) => grid.from_lon_lat(at).map(|there| [there.east, there.north]),
    }
}

/// What a metre east and a metre north are in a raster's x and y.
fn in_a_metre(lies: &Lies, latitude: f64) -> [f64; 2] {
    match lies {
        Lies::Degrees => {
            let north = 1.0 / DEGREE_M;
            [north / Degrees::new(latitude).radians().cos(), north]
        }
        Lies::Projected(_) => [1.0, 1.0],
    }
}

/// The grid of a block's rasters: the UTM zone of its middle.
///
/// # Errors
/// A block that UTM does not reach.
pub fn raster_grid(site: &Site) -> Result<GridTransform, GeodesyError> {
    GridTransform::utm(site.frame.origin())
}

/// The mesh that a coordinate lies in, and where in it; places outside go by the nearest mesh.
fn mesh(at: f64) -> (usize, f64) {
    let mesh = whole(at.clamp(0.0, float(MESHES - 1)));
    (mesh, at - float(mesh))
}

fn lattice(low: RowPoint, mesh_m: [f64; 2]) -> impl Iterator<Item = RowPoint> {
    let node = move |k: usize| RowPoint {
        along_m: low.along_m + float(k % (MESHES + 1)) * mesh_m[0],
        across_m: low.across_m + float(k / (MESHES + 1)) * mesh_m[1],
    };
    (0..(MESHES + 1) * (MESHES + 1)).map(node)
}

/// A raster around some places, its lines on whole multiples of its cells.
fn north_up(places: &[[f64; 2]], most: usize, metre: [f64; 2]) -> (Affine, [usize; 2]) {
    let least = |axis: usize| places.iter().map(|p| p[axis]).fold(f64::INFINITY, f64::min);
    let greatest = |axis: usize| places.iter().map(|p| p[axis]).fold(f64::NEG_INFINITY, f64::max);
    let ([west, south], [east, north]) = ([least(0), least(1)], [greatest(0), greatest(1)]);
    let longest = ((east - west) / metre[0]).max((north - south) / metre[1]);
    // Two cells may be added by whole multiples.
    let fits = |side: &f64| longest / side + 2.0 <= float(most);
    let side = SIDES_M.into_iter().find(fits).unwrap_or(longest / float(most.max(3) - 2));
    let [wide, high] = metre.map(|metre| side * metre);
    let (first, top) = ((west / wide).floor(), (north / high).ceil());
    let columns = ((east / wide).ceil() - first).max(1.0);
    let rows = (top - (south / high).floor()).max(1.0);
    let affine = Affine {
        origin_x: first * wide,
        column_x: wide,
        row_x: 0.0,
        origin_y: top * high,
        column_y: 0.0,
        row_y: -high,
    };
    (affine, [whole(columns), whole(rows)])
}
