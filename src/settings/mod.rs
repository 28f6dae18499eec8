//! Every number that somebody might want to change, with its default, unit and source.
//!
//! A stage receives only its own struct. A value comes from, in rising order: the default, the
//! settings file, the block's key, the command line. [`defaults::TABLE`] is the one list of
//! defaults; `catchwire settings` prints it as a file to edit.

mod crew_words;
mod defaults;
mod file;
mod plantings;
mod pruning;
mod reader;
mod rules;

use std::{collections::BTreeMap, str::FromStr};

use jiff::civil::Date;

use crate::{
    block::{North, RowAnchor, RowSet, RowsTo, ShortestRow, VineOne, VinePattern, VineType},
    maths::covariance::{CovarianceModel, Family},
    units::{Degrees, Metres, PerMetre, TargetRange},
};

pub use crew_words::CrewWords;
pub use defaults::{Setting, TABLE};
pub use file::{LayoutDefaults, Settings};
pub use plantings::doubtful_plantings;
pub use pruning::{BudRule, KindFormula, NodeFormula, PruneSettings, UnderAPound};
pub use rules::{Circumstances, planting_rules, row_rules};

/// The rules of a block's rows, every default settled.
#[derive(Debug, Clone, PartialEq)]
pub struct RowRules {
    /// The vines are there already.
    pub standing: bool,
    /// Direction along the rows as given; `None` when a row-line gives it.
    pub bearing: Option<Degrees>,
    /// From which north it counts.
    pub north: North,
    /// When a magnetic bearing was read.
    pub date: Option<Date>,
    /// The projected grid of a grid bearing, such as `EPSG:32633`.
    pub grid: Option<String>,
    /// Distance across the rows.
    pub row_spacing: Metres,
    /// Distance along the rows.
    pub vine_spacing: Metres,
    /// Clear length straight ahead of a row's end, from the anchor.
    pub headland: Metres,
    /// End post to tie-back anchor.
    pub anchor_gap: Metres,
    /// Clear width beside the outer rows.
    pub side_margin: Metres,
    /// Where the first row lies.
    pub anchor: RowAnchor,
    /// How vines of neighbouring rows stand to each other.
    pub pattern: VinePattern,
    /// End post to first vine.
    pub end_gap: Metres,
    /// Vines between two line posts, at least 1.
    pub vines_per_panel: u32,
    /// Vines in a row's first panel, at least 1.
    pub first_panel_vines: u32,
    /// A shorter piece of row is not planted.
    pub shortest_row: ShortestRow,
    /// A shorter gap does not end a row.
    pub shortest_gap: Metres,
    /// Metres above the ellipsoid.
    pub elevation: Metres,
    /// Distances along a row are measured along the ground, not level.
    pub ground_spacing: bool,
    /// On which side of row 1 row 2 lies.
    pub rows_to: RowsTo,
    /// Number of the first row.
    pub first_row: u32,
    /// From which end a grower counts the vines of a row.
    pub vine_1: VineOne,
    /// Vine places a block may hold.
    pub most_vines: usize,
}

/// What grows on some rows, every default settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Planting {
    /// The cultivar's name.
    pub cultivar: Option<String>,
    /// The kind of vine.
    pub vine_type: Option<VineType>,
    /// The training, in the grower's words.
    pub training: Option<String>,
    /// Curtains of canopy.
    pub curtains: u32,
    /// The year of planting.
    pub planted: Option<i16>,
    /// Shoots to leave per length of curtain, when the block says so itself.
    pub target: Option<TargetRange>,
}

impl Planting {
    /// True in the first so many years of its life, by the year given; false where either year is
    /// unsaid.
    pub fn is_young(&self, year: Option<i16>, young_years: i16) -> bool {
        let (Some(planted), Some(year)) = (self.planted, year) else { return false };
        year.saturating_sub(planted) < young_years
    }
}

/// What grows on which rows: different plantings are listed once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlantingRules {
    plantings: Vec<Planting>,
    by_row: BTreeMap<u32, usize>,
    otherwise: Vec<(RowSet, usize)>,
}

impl PlantingRules {
    /// All plantings; the first is that of the rows which nothing names.
    pub fn all(&self) -> &[Planting] {
        &self.plantings
    }

    /// The planting of a row, as an index into [`PlantingRules::all`].
    pub fn of_row(&self, row: u32) -> usize {
        if let Some(&planting) = self.by_row.get(&row) {
            return planting;
        }
        self.otherwise
            .iter()
            .find(|(rows, _)| rows.contains(row))
            .map_or(0, |&(_, planting)| planting)
    }
}

/// What drawing a sample needs to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SampleSettings {
    /// Coefficient of variation between vines when no earlier counts give it.
    pub variation: f64,
    /// How alike two vines of a panel are: their intraclass correlation.
    pub alike_in_panel: f64,
    /// Half-width of the interval around the mean that is aimed at, as a share of it.
    pub error: f64,
    /// Confidence of that interval.
    pub confidence: f64,
    /// Fewest stops in a block.
    pub fewest: usize,
    /// Vines at each end of a piece of row that are not drawn.
    pub skip_ends: usize,
    /// One stop in so many gets a close neighbour.
    pub close_pair_every: usize,
    /// One stretch in so many gets a second one on its vine.
    pub second_window_every: usize,
    /// Minutes to count one vine.
    pub minutes_per_vine: f64,
    /// Metres walked in a minute.
    pub walk_m_per_minute: f64,
}

/// What comparing bearings needs to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompareSettings {
    /// Pieces of row below this are short.
    pub short_piece: Metres,
    /// The sun grazes both sides of a row when its direction is within this of the row's line.
    pub grazing: Degrees,
}

/// What the list of materials needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialSettings {
    /// Vines ordered above the places, as a share of them.
    pub spare_share: f64,
    /// Wires along a row.
    pub wires: Wires,
    /// Wires where shoots are trained upward.
    pub wires_upward: u32,
    /// Wires of a high cordon.
    pub wires_high_cordon: u32,
    /// Wires of two curtains.
    pub wires_two_curtains: u32,
    /// Wire for tying, at each end of each wire.
    pub tie: Metres,
    /// Drip line above the length of the rows, as a share of it.
    pub drip_spare_share: f64,
    /// What the grower pays.
    pub prices: Prices,
}

/// Wires along a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wires {
    /// As many as the training takes.
    ByTraining,
    /// So many.
    Number(u32),
}

impl FromStr for Wires {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.trim().parse::<u32>() {
            _ if text.trim().replace('-', " ") == "by training" => Ok(Self::ByTraining),
            Ok(wires) if (1..=30).contains(&wires) => Ok(Self::Number(wires)),
            _ => Err("write a number from 1 to 30, or by training".to_owned()),
        }
    }
}

/// What the grower pays, each in the same currency; nothing is assumed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Prices {
    /// The currency.
    pub currency: Option<String>,
    /// A vine.
    pub vine: Option<f64>,
    /// An end post.
    pub end_post: Option<f64>,
    /// A line post.
    pub line_post: Option<f64>,
    /// An anchor.
    pub anchor: Option<f64>,
    /// A metre of wire.
    pub wire_per_m: Option<f64>,
    /// A metre of drip line.
    pub drip_per_m: Option<f64>,
}

/// What joining records to places needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct JoinSettings {
    /// A canopy length above this many times the default is doubted.
    pub doubtful_canopy_ratio: f64,
    /// Records more days apart than this belong to two seasons.
    pub season_days: i32,
    /// A block of fewer cells of a raster of vigor shows no differences inside.
    pub fewest_vigor_cells: f64,
    /// How far a vine's ground in a raster of vigor reaches across the row, in row spacings.
    pub vigor_ground_rows: f64,
    /// Counts from before this date are not used (`--frost`).
    pub not_before: Option<Date>,
    /// The records tell what was left after the work, not what was there before it.
    pub after_work: bool,
}

/// A variation fitted to the counts of several small blocks together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedVariation {
    /// The variation.
    pub model: CovarianceModel,
    /// How many blocks it was fitted to.
    pub blocks: usize,
    /// Their counts.
    pub counts: usize,
}

/// What estimation needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct EstimateSettings {
    /// Fewest counts for a map.
    pub fewest_for_map: usize,
    /// Fewest counts for kriging with a fitted variation.
    pub fewest_for_kriging: usize,
    /// Fewest counts at which errors of means of many vines are taken as computed …
    pub fewest_for_means: usize,
    /// … and what they are multiplied by with fewer.
    pub widening_of_means: f64,
    /// Fewest counts from which the range across the rows may differ from that along them.
    pub fewest_for_anisotropy: usize,
    /// By which share leave-one-out must fall before a raster is used.
    pub least_trend_gain: f64,
    /// Most observations solved at once; beyond, the nearest neighbours.
    pub most_at_once: usize,
    /// Neighbours beyond that, or as pinned by `--neighbours`.
    pub neighbours: usize,
    /// `--neighbours all`.
    pub all_at_once: bool,
    /// Nugget share above which there is no spatial pattern.
    pub most_nugget_share: f64,
    /// Standard deviation of one observer's count around another's, as a share of the count.
    pub observer_share: f64,
    /// Share of the vines estimated from which those far from every count are told.
    pub far_share_told: f64,
    /// Shape of the fitted covariance.
    pub family: Family,
    /// A variation given instead of a fitted one.
    pub pinned: Option<CovarianceModel>,
    /// The variation that small blocks of a run share (`--pool`).
    pub shared: Option<SharedVariation>,
    /// Counts are exact (`--no-count-noise`): one overall mean, ordinary kriging, no scaling and no
    /// pooling; a counted vine has its count and no variance.
    pub no_count_noise: bool,
}

/// What drawing zones needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSettings {
    /// Most zones in a planting.
    pub most: usize,
    /// No zone is smaller than this share of the block.
    pub smallest_share: f64,
    /// Neighbouring zones differ by more than so many standard errors of their difference.
    pub standard_errors: f64,
    /// Least share of held-out variance that more zones must explain.
    pub least_held_out: f64,
    /// How many standard errors of its fall the squared error of held-out counts must fall.
    pub standard_errors_of_fall: f64,
    /// What a border costs as long as counts lie apart, in units of log-likelihood.
    pub border_cost: f64,
    /// Zones are whole rows of a planting, one beside the other.
    pub whole_rows: bool,
    /// What is wanted on a vine: zones are drawn on the excess above it too.
    pub targets: TargetSettings,
}

/// How many shoots are wanted on a vine, by its kind and vigor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetSettings {
    /// Targets of vinifera.
    pub vinifera: TargetRange,
    /// Targets of hybrids.
    pub hybrid: TargetRange,
    /// Target where no kind of vine is given.
    pub unsaid: TargetRange,
    /// Pruning weight at and below which a vine is weak, kilograms per metre.
    pub weak_kg_per_m: PerMetre,
    /// Pruning weight above which it is in excess, kilograms per metre.
    pub excess_kg_per_m: PerMetre,
    /// How far a relative measure of vigor moves a target.
    pub most_vigor_shift: PerMetre,
    /// A relative measure is below or above when it is this share off its planting's mean.
    pub vigor_band_share: f64,
}

/// What planning needs to know.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanSettings {
    /// Targets by kind of vine.
    pub vinifera: TargetRange,
    /// Targets of hybrids.
    pub hybrid: TargetRange,
    /// Target where no kind of vine is given.
    pub unsaid: TargetRange,
    /// Pruning weight at and below which a vine is weak, kilograms per metre.
    pub weak_kg_per_m: PerMetre,
    /// Pruning weight above which it is in excess, kilograms per metre.
    pub excess_kg_per_m: PerMetre,
    /// How far a relative measure of vigor moves a target.
    pub most_vigor_shift: PerMetre,
    /// A relative measure is below or above when it is this share off its planting's mean.
    pub vigor_band_share: f64,
    /// Margin of a verdict.
    pub margin: PerMetre,
    /// Probability that makes a zone overcrowded or under-target.
    pub sure: f64,
    /// Probability that makes it on-target.
    pub sure_on_target: f64,
    /// Renewal shoots left on a vine and not counted against its target.
    pub renewal_shoots: f64,
    /// Minutes a vine: walk and look.
    pub minutes_per_vine: f64,
    /// Minutes a shoot taken off.
    pub minutes_per_shoot: f64,
    /// Assumed labour may be off by this factor either way.
    pub labour_factor: f64,
    /// Fewest timed records from which minutes are fitted.
    pub fewest_timed: usize,
    /// Hours from timed work are never surer than this factor either way.
    pub least_timed_factor: f64,
    /// Fewest recounted places that settle a zone.
    pub fewest_recounted: usize,
    /// Shoot length past which work is slower.
    pub slower_past: Metres,
    /// How much slower.
    pub slower_factor: f64,
    /// Shoot length at which the window opens.
    pub opens_at: Metres,
    /// Shoot length at which it closes.
    pub closes_at: Metres,
    /// Slowest growth, a day.
    pub slowest_growth: Metres,
    /// Fastest growth, a day.
    pub fastest_growth: Metres,
    /// Hours of work a day.
    pub hours_per_day: f64,
    /// People in the crew, when said.
    pub crew: Option<u32>,
    /// The date of the plan, when said.
    pub date: Option<Date>,
    /// The last frost expected, when said.
    pub last_frost: Option<Date>,
    /// A frost that happened, when said.
    pub frost: Option<Date>,
    /// Vines in these years of their life have no target: 1 to this.
    pub young_years: i16,
    /// Random draws for intervals of totals.
    pub draws: usize,
    /// Seed of the draws.
    pub seed: u64,
}

impl PlanSettings {
    /// The part that says how many shoots are wanted on a vine.
    pub const fn targets(&self) -> TargetSettings {
        TargetSettings {
            vinifera: self.vinifera,
            hybrid: self.hybrid,
            unsaid: self.unsaid,
            weak_kg_per_m: self.weak_kg_per_m,
            excess_kg_per_m: self.excess_kg_per_m,
            most_vigor_shift: self.most_vigor_shift,
            vigor_band_share: self.vigor_band_share,
        }
    }
}
