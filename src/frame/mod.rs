//! From the globe to a flat block with rows along one axis.
//!
//! Takes a [`Block`] in longitude and latitude, gives a [`Site`] in metres. Never reads a file,
//! never moves a vine.
//!
//! Three coordinate systems, one way between each two:
//!
//! ```text
//!   LonLat  ──PROJ, × ground scale──▶  GroundPoint  ──turn──▶  RowPoint
//!   degrees (WGS84)                    metres east, north      metres along, across the rows
//! ```

mod bearing;
mod local_planes;
mod map_cells;
mod on_terrain;
mod place;
mod plane;
mod row_axes;
mod same_number;
mod stake_grid;
mod terrain;
mod turned;

pub use map_cells::{CellGrid, MapCells, raster_grid};
pub use on_terrain::on_terrain;
pub use place::place_block;
pub use plane::Frame;
pub use stake_grid::{StakeGrid, stake_grid};
pub use terrain::{RowTerrain, Terrain, TerrainFacts};

use std::collections::BTreeSet;

use geo::{LineString, MultiPolygon, Polygon};

use crate::{
    block::{Control, ListedRow, North, OutlineOrigin},
    names::BlockName,
    settings::{PlantingRules, RowRules},
    units::{Degrees, Metres},
};

/// A place in metres of ground east and north of the frame's origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GroundPoint {
    /// Metres east.
    pub east_m: f64,
    /// Metres north.
    pub north_m: f64,
}

/// A place in metres of ground along and across the rows, from the frame's origin.
///
/// `along_m` grows in the direction in which vine numbers grow, `across_m` in that in which row
/// numbers grow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowPoint {
    /// Metres along the rows.
    pub along_m: f64,
    /// Metres across the rows.
    pub across_m: f64,
}

/// The bearing of the rows and how it came from the one that was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AppliedBearing {
    /// Degrees clockwise from true north, 0 … 360.
    pub true_north: Degrees,
    /// As given, from the north below.
    pub given: Degrees,
    /// The north it was given from.
    pub north: North,
    /// Declination (magnetic) or convergence (grid) that was added; 0 from true north.
    pub correction: Degrees,
    /// How uncertain the declination is; only with a magnetic bearing.
    pub uncertainty: Option<Degrees>,
}

/// A block on its plane, everything in metres of ground, x along and y across the rows.
#[derive(Debug, Clone)]
pub struct Site {
    /// The block's name.
    pub name: BlockName,
    /// How the plane lies on the globe.
    pub frame: Frame,
    /// The outline, `x` along and `y` across the rows, metres; outer rings counter-clockwise on these
    /// axes.
    pub outline: MultiPolygon<f64>,
    /// Where the outline comes from.
    pub outline_origin: OutlineOrigin,
    /// Ground that is not planted.
    pub keep_outs: Vec<SiteKeepOut>,
    /// Rows that stand, as surveyed: those with a number, by number and then along.
    pub standing_rows: Vec<StandingRow>,
    /// The first line drawn along a row without a number, metres along and across: where
    /// `row_anchor` is `row-line`, a row runs through it.
    pub row_line: Option<LineString<f64>>,
    /// The zones that the grower already works by, by name.
    pub zones: Vec<(String, Polygon<f64>)>,
    /// Survey control points.
    pub controls: Vec<Control>,
    /// The grower's own list of rows.
    pub row_list: Vec<(ListedRow, Option<RowPoint>)>,
    /// Vine positions taken as they are: row, vine, where.
    pub given_vines: Vec<(u32, u32, RowPoint)>,
    /// The rules of the rows, every default settled.
    pub rules: RowRules,
    /// What grows on which rows.
    pub plantings: PlantingRules,
    /// Ids of places with no vine.
    pub missing: Vec<String>,
    /// The height and slope of its ground, where an elevation model was given.
    pub terrain: Option<Terrain>,
}

impl Site {
    /// The ground along and across the rows, where an elevation model was given.
    pub fn row_terrain(&self) -> Option<RowTerrain<'_>> {
        let bearing = self.frame.bearing().true_north;
        self.terrain.as_ref().map(|terrain| terrain.along(bearing, self.frame.rows_to()))
    }
}

/// Ground that is not planted, on the plane.
#[derive(Debug, Clone)]
pub struct SiteKeepOut {
    /// Its name.
    pub name: Option<String>,
    /// Its shape, metres along and across.
    pub shape: MultiPolygon<f64>,
    /// Clear ground around it.
    pub clearance: Metres,
    /// Rows end there and machines turn: it counts as outline.
    pub turning: bool,
}

/// A row that stands, on the plane, running along the bearing whichever way it was surveyed.
#[derive(Debug, Clone)]
pub struct StandingRow {
    /// Its number.
    pub number: u32,
    /// End post to end post, metres along and across; may bend.
    pub path: LineString<f64>,
    /// Vine places on it, set evenly; else by the spacing.
    pub vines: Option<u32>,
    /// Places of the even spacing where nothing stands, from 1 along the bearing.
    pub skipped: BTreeSet<u32>,
    /// End post to first vine, else the rules'.
    pub end_gap: Option<Metres>,
}
