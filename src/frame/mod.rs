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
mod row_axes;

use geo::{LineString, MultiPolygon, Polygon};

use crate::{
    block::{Block, Control, ListedRow, North, RowsTo},
    error::Error,
    finding::Findings,
    geodesy::LonLat,
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

/// How a block's plane lies on the globe.
///
/// Transverse Mercator on WGS84 with scale 1 at the area centroid of the outline, enlarged by
/// 1 + h / 6 371 008.8 m so that a metre is a metre of tape at elevation h.
#[derive(Debug, Clone)]
pub struct Frame {
    origin: LonLat,
    elevation: Metres,
    bearing: AppliedBearing,
    rows_to: RowsTo,
    largest_scale_error_ppm: f64,
    // Private extras of the implementation may follow.
}

impl Frame {
    /// The bearing of the rows and how it came from the one that was given.
    pub const fn bearing(&self) -> AppliedBearing {
        self.bearing
    }

    /// On which side of row 1 row 2 lies, looking along the row from vine 1.
    pub const fn rows_to(&self) -> RowsTo {
        self.rows_to
    }
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
    /// The outline, `x` along and `y` across the rows, metres.
    pub outline: MultiPolygon<f64>,
    /// Ground that is not planted.
    pub keep_outs: Vec<SiteKeepOut>,
    /// Rows that stand, as surveyed: those with a number.
    pub standing_rows: Vec<StandingRow>,
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

/// A row that stands, on the plane, from vine 1's end.
#[derive(Debug, Clone)]
pub struct StandingRow {
    /// Its number.
    pub number: u32,
    /// End post to end post, metres along and across; may bend.
    pub path: LineString<f64>,
    /// Vine places on it, set evenly; else by the spacing.
    pub vines: Option<u32>,
    /// End post to first vine, else the rules'.
    pub end_gap: Option<Metres>,
}

/// Puts a block on its plane.
///
/// # Errors
/// When the bearing cannot be had (none given, a magnetic one without a date or outside the
/// model's years, a grid one without a grid), or the block is too large or too near a pole.
pub fn place_block(
    block: &Block,
    rules: RowRules,
    plantings: PlantingRules,
) -> Result<(Site, Findings), Error> {
    let _ = (block, rules, plantings);
    todo!()
}
