//! A block as its grower describes it, in longitude and latitude; nothing computed.

use std::collections::BTreeSet;

use geo::{LineString, MultiPolygon, Polygon};
use jiff::civil::Date;

use crate::{
    finding::Place,
    geodesy::LonLat,
    names::BlockName,
    units::{Degrees, Metres, TargetRange},
};

/// A block with everything that lies on it.
///
/// Every polygon is closed, finite, free of self-crossings and of empty rings, in degrees of
/// longitude and latitude (WGS84), outer rings counter-clockwise.
#[derive(Debug, Clone)]
pub struct Block {
    /// Its name, unique in the run.
    pub name: BlockName,
    /// The outline, all parts, holes out.
    pub outline: MultiPolygon<f64>,
    /// What the grower says about it.
    pub keys: BlockKeys,
    /// Ground that is not planted.
    pub keep_outs: Vec<KeepOut>,
    /// Rows that stand, as surveyed, and lines drawn to give the bearing.
    pub row_lines: Vec<RowLine>,
    /// The zones that the grower already works by.
    pub zones: Vec<GivenZone>,
    /// Survey control points.
    pub controls: Vec<Control>,
    /// The grower's own list of rows, which outranks the outline.
    pub row_list: Vec<ListedRow>,
    /// Vine positions taken as they are, instead of a layout.
    pub vines: Vec<GivenVine>,
    /// Where the block was read.
    pub place: Place,
}

/// The keys of a block, each as given or absent. Defaults are settled in `settings`.
#[derive(Debug, Clone, Default)]
pub struct BlockKeys {
    /// The vines are there already.
    pub standing: Option<bool>,
    /// Direction along the rows in which vine numbers grow, from the north that `north` names.
    pub row_bearing: Option<Degrees>,
    /// From which north the bearing counts.
    pub north: Option<North>,
    /// When a magnetic bearing was read.
    pub date: Option<Date>,
    /// Distance across the rows.
    pub row_spacing: Option<Metres>,
    /// Distance along the rows.
    pub vine_spacing: Option<Metres>,
    /// Clear length straight ahead of a row's end.
    pub headland: Option<Metres>,
    /// End post to tie-back anchor.
    pub anchor_gap: Option<Metres>,
    /// Clear width beside the outer rows.
    pub side_margin: Option<Metres>,
    /// Where the first row lies.
    pub row_anchor: Option<RowAnchor>,
    /// How vines of neighbouring rows stand to each other.
    pub vine_pattern: Option<VinePattern>,
    /// End post to first vine.
    pub end_gap: Option<Metres>,
    /// Vines between two line posts.
    pub vines_per_panel: Option<u32>,
    /// Vines in a row's first panel.
    pub first_panel_vines: Option<u32>,
    /// A shorter piece of row is not planted.
    pub shortest_row: Option<ShortestRow>,
    /// A shorter gap does not end a row.
    pub shortest_gap: Option<Metres>,
    /// Metres above the ellipsoid.
    pub elevation: Option<Metres>,
    /// Distances along a row are measured along the ground.
    pub ground_spacing: Option<bool>,
    /// On which side of row 1 row 2 lies.
    pub rows_to: Option<RowsTo>,
    /// Number of the first row.
    pub first_row: Option<u32>,
    /// From which end a grower counts the vines of a row.
    pub vine_1: Option<VineOne>,
    /// What grows, for all rows that no planting names.
    pub planting: PlantingKeys,
    /// Rows that differ.
    pub plantings: Vec<PlantingRows>,
    /// Ids of places with no vine.
    pub missing: Vec<String>,
    /// Where the outline comes from.
    pub outline_origin: OutlineOrigin,
    /// The spacings were given in feet or inches: people read feet.
    pub in_feet: bool,
}

impl BlockKeys {
    /// These keys, each replaced where the other has it.
    #[must_use]
    pub fn overruled_by(&self, other: &Self) -> Self {
        let plantings = if other.plantings.is_empty() { self } else { other }.plantings.clone();
        let missing = if other.missing.is_empty() { self } else { other }.missing.clone();
        Self {
            standing: other.standing.or(self.standing),
            row_bearing: other.row_bearing.or(self.row_bearing),
            north: other.north.or(self.north),
            date: other.date.or(self.date),
            row_spacing: other.row_spacing.or(self.row_spacing),
            vine_spacing: other.vine_spacing.or(self.vine_spacing),
            headland: other.headland.or(self.headland),
            anchor_gap: other.anchor_gap.or(self.anchor_gap),
            side_margin: other.side_margin.or(self.side_margin),
            row_anchor: other.row_anchor.or(self.row_anchor),
            vine_pattern: other.vine_pattern.or(self.vine_pattern),
            end_gap: other.end_gap.or(self.end_gap),
            vines_per_panel: other.vines_per_panel.or(self.vines_per_panel),
            first_panel_vines: other.first_panel_vines.or(self.first_panel_vines),
            shortest_row: other.shortest_row.or(self.shortest_row),
            shortest_gap: other.shortest_gap.or(self.shortest_gap),
            elevation: other.elevation.or(self.elevation),
            ground_spacing: other.ground_spacing.or(self.ground_spacing),
            rows_to: other.rows_to.or(self.rows_to),
            first_row: other.first_row.or(self.first_row),
            vine_1: other.vine_1.or(self.vine_1),
            planting: self.planting.overruled_by(&other.planting),
            plantings,
            missing,
            outline_origin: self.outline_origin.overruled_by(&other.outline_origin),
            in_feet: self.in_feet || other.in_feet,
        }
    }
}

/// Where an outline comes from, as far as its file says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct OutlineOrigin {
    /// What it was measured or drawn with, in the grower's words.
    pub source: Option<String>,
    /// How far its corners may be off.
    pub accuracy: Option<Metres>,
}

impl OutlineOrigin {
    fn overruled_by(&self, other: &Self) -> Self {
        Self {
            source: other.source.clone().or_else(|| self.source.clone()),
            accuracy: other.accuracy.or(self.accuracy),
        }
    }
}

/// What grows on some rows.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PlantingKeys {
    /// The cultivar's name.
    pub cultivar: Option<String>,
    /// The kind of vine, which decides the target.
    pub vine_type: Option<VineType>,
    /// The training, in the grower's words.
    pub training: Option<String>,
    /// Curtains of canopy: two double the canopy length.
    pub curtains: Option<u32>,
    /// The year of planting.
    pub planted: Option<i16>,
    /// Shoots to leave per length of curtain.
    pub target: Option<TargetRange>,
}

impl PlantingKeys {
    /// These keys, each replaced where the other has it.
    #[must_use]
    pub fn overruled_by(&self, other: &Self) -> Self {
        Self {
            cultivar: other.cultivar.clone().or_else(|| self.cultivar.clone()),
            vine_type: other.vine_type.or(self.vine_type),
            training: other.training.clone().or_else(|| self.training.clone()),
            curtains: other.curtains.or(self.curtains),
            planted: other.planted.or(self.planted),
            target: other.target.or(self.target),
        }
    }
}

/// Rows that differ from the block, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantingRows {
    /// Which rows.
    pub rows: RowSet,
    /// What grows there.
    pub planting: PlantingKeys,
}

/// Some rows, as written: `1-12,15`, `odd`, `1-23/2`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RowSet {
    /// These numbers.
    Listed(BTreeSet<u32>),
    /// Rows with an odd number.
    Odd,
    /// Rows with an even number.
    Even,
}

impl RowSet {
    /// True when the row belongs to the set.
    pub fn contains(&self, row: u32) -> bool {
        match self {
            Self::Listed(rows) => rows.contains(&row),
            Self::Odd => row % 2 == 1,
            Self::Even => row.is_multiple_of(2),
        }
    }
}

/// From which north a bearing counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum North {
    /// The north of the globe.
    True,
    /// The north of a projected grid.
    Grid,
    /// The north of a compass.
    Magnetic,
}

/// Where the first row lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowAnchor {
    /// At the margin.
    Edge,
    /// The leftover is shared between both sides.
    Centre,
    /// At the offset that gives the most vines.
    MostVines,
    /// Through the row-line.
    RowLine,
}

/// How vines of neighbouring rows stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VinePattern {
    /// Set from each row's start.
    RowEnd,
    /// Abreast across rows.
    Square,
    /// Every other row shifted by half a spacing.
    Staggered,
}

/// On which side of row 1 row 2 lies, looking along the row from vine 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowsTo {
    /// To the right.
    Right,
    /// To the left.
    Left,
}

/// From which end a grower counts the vines of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VineOne {
    /// From the row's start.
    Start,
    /// From the row's far end.
    End,
    /// Odd rows from the start, even rows from the far end.
    Serpentine,
}

/// The kind of vine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VineType {
    /// Vitis vinifera.
    Vinifera,
    /// Hybrids.
    Hybrid,
    /// Natives such as labrusca.
    Native,
}

/// The shortest piece of a row that is planted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ShortestRow {
    /// As a number of vines.
    Vines(u32),
    /// As a length between the end posts.
    Length(Metres),
}

/// Ground that is not planted.
#[derive(Debug, Clone)]
pub struct KeepOut {
    /// Its name, for messages and maps.
    pub name: Option<String>,
    /// Its shape in longitude and latitude.
    pub shape: MultiPolygon<f64>,
    /// Clear ground around it; half the vine spacing when unsaid.
    pub clearance: Option<Metres>,
    /// Rows end there and machines turn: it counts as outline.
    pub turning: bool,
}

/// A row that stands, or a line that gives the bearing.
#[derive(Debug, Clone)]
pub struct RowLine {
    /// The line in longitude and latitude; its ends are the end posts.
    pub line: LineString<f64>,
    /// The row's number; without it the line only gives the bearing.
    pub row: Option<u32>,
    /// Vine places on it, set evenly; else by the spacing.
    pub vines: Option<u32>,
    /// Places of the even spacing where nothing stands, such as at a short gap that does not end the
    /// row; counted from 1 along the bearing, `vines` not among them.
    pub skipped: BTreeSet<u32>,
    /// End post to first vine on this line, else the block's.
    pub end_gap: Option<Metres>,
    /// Where it was read.
    pub place: Place,
}

/// A zone that the grower already works by.
#[derive(Debug, Clone)]
pub struct GivenZone {
    /// Its name.
    pub name: String,
    /// Its shape in longitude and latitude.
    pub shape: Polygon<f64>,
    /// Where it was read.
    pub place: Place,
}

/// A survey control point.
#[derive(Debug, Clone)]
pub struct Control {
    /// Its name.
    pub name: String,
    /// Where it is.
    pub at: LonLat,
    /// Its place in the order of control points.
    pub order: Option<u32>,
}

/// One line of the grower's own list of rows.
#[derive(Debug, Clone)]
pub struct ListedRow {
    /// The row's number.
    pub row: u32,
    /// Places in the row, empty ones too.
    pub vines: u32,
    /// Vines in its first panel.
    pub first_panel_vines: Option<u32>,
    /// What grows there, where it differs.
    pub cultivar: Option<String>,
    /// Where the row starts.
    pub start: Option<LonLat>,
    /// Where it was read.
    pub place: Place,
}

/// A vine whose position is taken as it is.
#[derive(Debug, Clone)]
pub struct GivenVine {
    /// Its row.
    pub row: u32,
    /// Its number in the row.
    pub vine: u32,
    /// Where it stands.
    pub at: LonLat,
}
