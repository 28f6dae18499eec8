//! One file per command, composition only.
//!
//! | command | file | stages |
//! | --- | --- | --- |
//! | `check` | [`check`] | read, frame, layout, join, and with counts those of `thin`; writes nothing |
//! | `layout` | [`layout`] | read, frame, layout, picture, write |
//! | `bearings` | [`bearings`] | read, frame, layout (counting only), picture, write |
//! | `sample` | [`sample`] | read, frame, layout, join (earlier counts), sample, picture, write |
//! | `thin` | [`thin`] | read, frame, layout, join, estimate, zones, plan, picture, write |
//! | `prune` | [`prune`] | read, frame, layout, join, estimate, prune, picture, write |
//! | `audit` | [`audit`] | those of `thin` and join of the recount, audit, picture, write |
//! | `season` | [`season`] | those of `thin` for every year, season, picture, write |
//! | `bundle` | [`bundle`] | those of `thin`, into one archive |
//! | `settings` | [`settings`] | none: every setting, and the published rules of prune |
//! | `demo` | [`demo`] | an invented estate, and the other writing commands on it |

pub mod audit;
mod audit_files;
mod audit_plan;
pub mod audit_report;
pub mod bearings;
mod bearings_told;
pub mod bundle;
pub mod check;
mod deliver;
pub mod demo;
pub mod layout;
mod next_steps;
mod overlays;
mod prepare;
pub mod prune;
mod prune_files;
mod record;
mod recount_told;
pub mod report;
pub mod sample;
mod sample_files;
mod sample_told;
pub mod season;
mod season_files;
mod season_told;
pub mod settings;
mod stakes;
pub mod survey_report;
pub mod thin;
mod thin_files;
mod thin_settings;
mod thin_told;
pub mod thinning_report;

use std::{fmt, path::PathBuf, str::FromStr};

use jiff::civil::Date;

use crate::{
    maths::covariance::CovarianceModel,
    picture::{MapStyle, Paper},
    read::Request,
    sample::Unit,
    settings::{BudRule, CrewWords, NodeFormula, Settings},
    units::{Degrees, Metres, ReadingUnits},
};

pub use prepare::Ground;
pub use report::Report;
pub use stakes::StakeOptions;

/// Everything that a command was asked.
#[derive(Debug, Clone, Default)]
pub struct Call {
    /// What to read and how.
    pub request: Request,
    /// Every setting with its value.
    pub settings: Settings,
    /// The file that settings came from: its name without folders and the SHA-256 of its bytes.
    pub settings_file: Option<(String, String)>,
    /// Which bearings are compared.
    pub bearings: BearingOptions,
    /// What is to be counted.
    pub sampling: SamplingOptions,
    /// How the thinning is estimated and planned.
    pub thinning: ThinningOptions,
    /// How vines are pruned.
    pub pruning: PruningOptions,
    /// How a new planting is staked out.
    pub stakes: StakeOptions,
    /// The output folder of the `thin` whose plan the crew worked by (`audit`).
    pub plan: Option<PathBuf>,
    /// Where and what is written.
    pub output: OutputOptions,
    /// The words of the crew sheet.
    pub words: CrewWords,
    /// Units of what people read; by the block's own spacings when unsaid.
    pub units: Option<ReadingUnits>,
    /// The options as typed, `(name, value)`, for the run record; no path outside the output folder.
    pub options: Vec<(String, String)>,
}

/// What is to be counted.
#[derive(Debug, Clone, Copy, Default)]
pub struct SamplingOptions {
    /// Whole panels or single vines.
    pub unit: Unit,
    /// Stops in each block, when said.
    pub number: Option<usize>,
    /// Hours for counting and walking, shared out among the blocks.
    pub hours: Option<f64>,
    /// Canopy length counted on a vine; all of it when unsaid.
    pub window: Option<Metres>,
    /// A recount after the work: half of it where vines were counted before.
    pub for_audit: bool,
}

/// Which bearings are compared, and over which days the sun.
#[derive(Debug, Clone, Copy, Default)]
pub struct BearingOptions {
    /// Degrees from one to the next; 1 when unsaid.
    pub step: Option<f64>,
    /// The first, from true north.
    pub from: Option<Degrees>,
    /// The last, clockwise from the first.
    pub to: Option<Degrees>,
    /// The first day of the sun.
    pub sun_from: Option<Date>,
    /// Its last day.
    pub sun_to: Option<Date>,
}

/// How the thinning is estimated and planned.
#[derive(Debug, Clone, Default)]
pub struct ThinningOptions {
    /// The day of the plan.
    pub date: Option<Date>,
    /// People in the crew.
    pub crew: Option<u32>,
    /// Hours of work a day.
    pub hours_per_day: Option<f64>,
    /// The last frost expected.
    pub last_frost: Option<Date>,
    /// A frost that happened.
    pub frost: Option<Date>,
    /// A variation given instead of a fitted one.
    pub variogram: Option<CovarianceModel>,
    /// How many observations each vine is estimated from, when said.
    pub neighbours: Option<Neighbours>,
    /// Counts are exact.
    pub no_count_noise: bool,
    /// Small blocks share one variation.
    pub pool: bool,
    /// Zones are whole rows.
    pub whole_rows: bool,
    /// Seed of the random draws.
    pub seed: Option<u64>,
}

/// How vines are pruned, where the settings are overruled.
#[derive(Debug, Clone, Copy, Default)]
pub struct PruningOptions {
    /// The formula of every planting.
    pub formula: Option<NodeFormula>,
    /// Most nodes on a vine.
    pub most_nodes: Option<u32>,
    /// Fewest nodes on a vine.
    pub fewest_nodes: Option<u32>,
    /// The rule for dead buds.
    pub bud_rule: Option<BudRule>,
}

/// Where and what is written.
#[derive(Debug, Clone, Default)]
pub struct OutputOptions {
    /// Folder for the results.
    pub folder: Option<PathBuf>,
    /// Replace files that are there.
    pub force: bool,
    /// List what would be made or replaced, and write nothing.
    pub dry_run: bool,
    /// The paper of pages; by the units when unsaid.
    pub paper: Option<Paper>,
    /// How printed maps are drawn.
    pub style: MapStyle,
    /// Only these files, as typed.
    pub only: Option<String>,
    /// Hide where the blocks lie (`bundle`).
    pub move_place: bool,
}

/// How many observations a vine is estimated from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Neighbours {
    /// All of them.
    All,
    /// The nearest so many.
    Nearest(usize),
}

impl FromStr for Neighbours {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.parse::<usize>() {
            _ if text == "all" => Ok(Self::All),
            Ok(number) if number >= 2 => Ok(Self::Nearest(number)),
            _ => Err("write a number of 2 or more, or `all`".to_owned()),
        }
    }
}

impl fmt::Display for Neighbours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::All => f.write_str("all"),
            Self::Nearest(number) => write!(f, "{number}"),
        }
    }
}
