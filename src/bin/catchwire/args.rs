//! What may be typed, nothing else.

use std::path::PathBuf;

use catchwire::{
    jobs::Neighbours,
    layout::StakeChoice,
    maths::covariance::CovarianceModel,
    read::date_from_text,
    settings::{BudRule, NodeFormula},
    units::{Degrees, Metres},
    write::properties::PointOrder,
};
use clap::{Args, Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

/// From block outlines and shoot counts to a thinning plan that a crew can follow.
#[derive(Debug, Parser)]
#[command(
    name = "catchwire",
    version,
    arg_required_else_help = true,
    infer_long_args = false,
    after_help = "Examples:\n  \
        catchwire check block.geojson --counts counts.csv --standing true\n  \
        catchwire thin block.geojson --counts counts.csv --out plan\n\n\
        The usual order: check, then bearings and layout (a new planting) or sample and thin\n\
        (a standing block).\n\
        Any key of a block is also an option: --row-spacing 9ft, --row-bearing N14.5E, \
        --standing true.\n\n\
        Exit codes: 0 done, 1 unexpected, 2 usage, 3 input data wrong, 4 files, 5 nothing done."
)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Read every input, report all that is wrong and what would be done; writes nothing.
    Check(Job),
    /// Rows, vines, posts, materials and stakes from an outline, a bearing and spacings.
    Layout(Job),
    /// Choose what to count, in walking order, with a sheet to fill in.
    Sample(SampleJob),
    /// Compare candidate row bearings for a new planting: numbers, no choice.
    Bearings(Bearings),
    /// Join the counts, estimate every vine, draw zones, plan the thinning, write the maps.
    Thin(Job),
    /// In winter: vine size from pruning weights, nodes to keep, spur positions, crop load.
    Prune(PruneJob),
    /// After the work: hold a recount against the plan; what was reached, where to go back.
    Audit(AuditJob),
    /// Counts of several dates and years side by side: what changed since the year before, by zone.
    Season(Job),
    /// The same as thin, packed into one zip for a consultant.
    Bundle(BundleJob),
    /// Print every setting with its default, unit and source, as a file to edit.
    Settings(SettingsArgs),
    /// Write an invented estate and run the whole job on it.
    Demo(DemoArgs),
}

/// Options of a job on a block file.
#[derive(Debug, Args)]
pub(crate) struct Job {
    /// The block file: GeoJSON, KML, KMZ, GPX, shapefile (zipped or .shp), GeoPackage.
    #[arg(value_name = "BLOCK.geojson")]
    pub(crate) blocks: PathBuf,
    /// Shoot counts, lengths, pruning weights: CSV, XLSX, GeoJSON points, journals of phones; several
    /// files may follow.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub(crate) counts: Vec<PathBuf>,
    /// The grower's own list of rows.
    #[arg(long, value_name = "FILE.csv")]
    pub(crate) rows: Option<PathBuf>,
    /// Vine positions taken as they are: GeoJSON, KML, KMZ, GPX, shapefile, GeoPackage.
    #[arg(long, value_name = "FILE")]
    pub(crate) vines: Option<PathBuf>,
    /// An elevation model of the ground (GeoTIFF), for slopes and spacing along the ground.
    #[arg(long, value_name = "FILE.tif")]
    pub(crate) dem: Option<PathBuf>,
    /// A raster of vigor (GeoTIFF, one band), such as a vegetation index or the canopy's height.
    #[arg(long, value_name = "FILE.tif")]
    pub(crate) vigor: Option<PathBuf>,
    #[command(flatten)]
    pub(crate) reading: Reading,
    #[command(flatten)]
    pub(crate) staking: Staking,
    #[command(flatten)]
    pub(crate) thinning: Thinning,
    #[command(flatten)]
    pub(crate) keys: crate::keys::KeyOptions,
    #[command(flatten)]
    pub(crate) writing: Writing,
    #[command(flatten)]
    pub(crate) output: Output,
}

/// Options of `audit`.
#[derive(Debug, Args)]
pub(crate) struct AuditJob {
    #[command(flatten)]
    pub(crate) job: Job,
    /// Counts made after the work, in the same forms as --counts; several files may follow.
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub(crate) recount: Vec<PathBuf>,
    /// The folder that `thin` wrote the crew's plan into: says where that was made of other files or
    /// options.
    #[arg(long, value_name = "DIR")]
    pub(crate) plan: Option<PathBuf>,
}

/// Options of `bundle`.
#[derive(Debug, Args)]
pub(crate) struct BundleJob {
    #[command(flatten)]
    pub(crate) job: Job,
    /// Hide where the blocks lie: turn every place onto another meridian, and say so in the files.
    #[arg(long)]
    pub(crate) move_place: bool,
}

/// Options of `prune`.
#[derive(Debug, Args)]
pub(crate) struct PruneJob {
    #[command(flatten)]
    pub(crate) job: Job,
    #[command(flatten)]
    pub(crate) pruning: Pruning,
}

/// What is kept on a vine.
#[derive(Debug, Clone, Copy, Args)]
#[command(next_help_heading = "Pruning")]
pub(crate) struct Pruning {
    /// Nodes for the first pound of prunings + for each pound more [default: by type].
    #[arg(long, value_name = "30+10")]
    pub(crate) formula: Option<NodeFormula>,
    /// Most nodes on a vine.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) most_nodes: Option<u32>,
    /// Fewest nodes on a vine.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(crate) fewest_nodes: Option<u32>,
    /// The published rule for dead buds.
    #[arg(long, value_name = "cornell|purdue|michigan|survival")]
    pub(crate) bud_rule: Option<BudRule>,
}

/// Options of `sample`.
#[derive(Debug, Args)]
pub(crate) struct SampleJob {
    #[command(flatten)]
    pub(crate) job: Job,
    #[command(flatten)]
    pub(crate) sampling: Sampling,
}

/// What is to be counted.
#[derive(Debug, Args)]
#[command(next_help_heading = "Sampling")]
pub(crate) struct Sampling {
    /// What is counted at a stop: whole panels, post to post, or single vines.
    #[arg(long, value_name = "panel|vine", default_value = "panel")]
    pub(crate) by: By,
    /// Stops in each block; else as many as the error aimed at asks for.
    #[arg(long, value_name = "N", conflicts_with = "hours", value_parser = stops)]
    pub(crate) number: Option<usize>,
    /// Hours for counting and walking, shared out among the blocks.
    #[arg(long, value_name = "H", value_parser = budget)]
    pub(crate) hours: Option<f64>,
    /// Stops of a list instead of drawn ones, such as count-next.csv.
    #[arg(long, value_name = "FILE.csv", conflicts_with_all = ["hours", "number", "by", "window"])]
    pub(crate) stops: Option<PathBuf>,
    /// What to recount after the work: half of it places counted before (--counts), half others.
    #[arg(long, requires = "counts", conflicts_with_all = ["hours", "stops"])]
    pub(crate) for_audit: bool,
    /// Canopy length to count on a vine, such as 2ft; all of it when unsaid.
    #[arg(long, value_name = "LENGTH", value_parser = window)]
    pub(crate) window: Option<Metres>,
}

/// What is counted at a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum By {
    /// Whole panels.
    Panel,
    /// Single vines.
    Vine,
}

fn stops(text: &str) -> Result<usize, String> {
    text.parse()
        .ok()
        .filter(|number| *number > 0)
        .ok_or_else(|| "write a number above 0".to_owned())
}

fn budget(text: &str) -> Result<f64, String> {
    let hours = text.parse::<f64>().ok().filter(|hours| *hours > 0.0 && *hours <= 1000.0);
    hours.ok_or_else(|| "write a number of hours above 0".to_owned())
}

fn window(text: &str) -> Result<Metres, String> {
    let length = text.parse::<Metres>().map_err(|error| error.to_string())?;
    let fits = (0.1..=20.0).contains(&length.metres());
    fits.then_some(length).ok_or_else(|| "write a length from 10 cm to 20 m".to_owned())
}

/// Options of `bearings`.
#[derive(Debug, Args)]
pub(crate) struct Bearings {
    #[command(flatten)]
    pub(crate) job: Job,
    #[command(flatten)]
    pub(crate) candidates: Candidates,
}

/// Which bearings are compared.
#[derive(Debug, Args)]
#[command(next_help_heading = "Comparing bearings")]
pub(crate) struct Candidates {
    /// Degrees from one bearing to the next, 0.1 to 45 [default: 1].
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    pub(crate) step: Option<f64>,
    /// The first bearing, from true north; without it all are compared.
    #[arg(long, value_name = "BEARING", allow_negative_numbers = true)]
    pub(crate) from: Option<Degrees>,
    /// The last bearing, clockwise from the first.
    #[arg(long, value_name = "BEARING", allow_negative_numbers = true)]
    pub(crate) to: Option<Degrees>,
    /// The first day of the season whose sun is compared.
    #[arg(long, value_name = "DATE", value_parser = date_from_text)]
    pub(crate) sun_from: Option<Date>,
    /// Its last day.
    #[arg(long, value_name = "DATE", value_parser = date_from_text)]
    pub(crate) sun_to: Option<Date>,
}

/// How inputs are read.
#[derive(Debug, Args)]
#[expect(clippy::struct_excessive_bools, reason = "each is a flag that is typed or not")]
#[command(next_help_heading = "Reading")]
pub(crate) struct Reading {
    /// Settings file (see `catchwire settings`).
    #[arg(long, value_name = "FILE.toml")]
    pub(crate) settings: Option<PathBuf>,
    /// The projected grid of the inputs, of grid bearings and of stake-out tables.
    #[arg(long, value_name = "EPSG:n")]
    pub(crate) crs: Option<String>,
    /// The files name latitude before longitude.
    #[arg(long)]
    pub(crate) swap_axes: bool,
    /// Character set of the tables, when it is not Unicode.
    #[arg(long, value_name = "NAME")]
    pub(crate) encoding: Option<String>,
    /// Let unusual spacings and areas pass.
    #[arg(long)]
    pub(crate) allow_unusual: bool,
    /// Counts of several sheets that were drawn for one block all count.
    #[arg(long)]
    pub(crate) several_plans: bool,
    /// Doubts stop the job.
    #[arg(long)]
    pub(crate) strict: bool,
}

/// How a new planting is staked out.
#[derive(Debug, Args)]
#[command(next_help_heading = "Staking out")]
pub(crate) struct Staking {
    /// Columns of the stake-out table: pnezd, penzd, or llh for degrees.
    #[arg(long, value_name = "pnezd|penzd|llh", default_value_t)]
    pub(crate) order: PointOrder,
    /// What is staked out.
    #[arg(long, value_name = "row-ends|vines|posts", default_value_t)]
    pub(crate) stake: StakeChoice,
    /// Most points in a file of waypoints.
    #[arg(long, value_name = "N", default_value_t = 500,
        value_parser = clap::value_parser!(u32).range(3..=10_000_000))]
    pub(crate) points_per_file: u32,
}

/// How the thinning is estimated and planned.
#[derive(Debug, Args)]
#[command(next_help_heading = "Estimating and planning")]
pub(crate) struct Thinning {
    /// The day of the plan; else the day of the counts.
    #[arg(long, value_name = "DATE", value_parser = date_from_text)]
    pub(crate) date: Option<Date>,
    /// People in the crew.
    #[arg(long, value_name = "N", value_parser = people, allow_negative_numbers = true)]
    pub(crate) crew: Option<u32>,
    /// Hours of work a day.
    #[arg(long, value_name = "H", value_parser = hours, allow_negative_numbers = true)]
    pub(crate) hours_per_day: Option<f64>,
    /// The last frost expected.
    #[arg(long, value_name = "DATE", value_parser = date_from_text)]
    pub(crate) last_frost: Option<Date>,
    /// A frost that happened: earlier counts are not used.
    #[arg(long, value_name = "DATE", value_parser = date_from_text)]
    pub(crate) frost: Option<Date>,
    /// Pin the variation: "spherical nugget=0.05 psill=0.59 range=897".
    #[arg(long, value_name = "MODEL")]
    pub(crate) variogram: Option<CovarianceModel>,
    /// Neighbours used for each vine: a number or `all`.
    #[arg(long, value_name = "N|all")]
    pub(crate) neighbours: Option<Neighbours>,
    /// Counts are exact: plain ordinary kriging.
    #[arg(long)]
    pub(crate) no_count_noise: bool,
    /// Blocks with too few counts for a fit share one variation, each with its own mean.
    #[arg(long)]
    pub(crate) pool: bool,
    /// Zones are whole rows, side by side.
    #[arg(long)]
    pub(crate) whole_rows: bool,
    /// Seed of the random draws.
    #[arg(long, value_name = "N")]
    pub(crate) seed: Option<u64>,
}

fn people(text: &str) -> Result<u32, String> {
    let people = text.parse().ok().filter(|people| (1..=500).contains(people));
    people.ok_or_else(|| {
        "a crew is a whole number of people from 1 to 500; write such as --crew 4".to_owned()
    })
}

fn hours(text: &str) -> Result<f64, String> {
    let hours = text.parse::<f64>().ok().filter(|hours| *hours > 0.0 && *hours <= 24.0);
    hours.ok_or_else(|| {
        "a day of work has more than 0 and at most 24 hours; write such as --hours-per-day 7.5"
            .to_owned()
    })
}

/// Where and what is written.
#[derive(Debug, Args)]
#[command(next_help_heading = "Writing")]
pub(crate) struct Writing {
    /// Folder for the results; each block gets its own inside.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Replace files that are there.
    #[arg(long)]
    pub(crate) force: bool,
    /// List what would be made or replaced, and write nothing.
    #[arg(long)]
    pub(crate) dry_run: bool,
    /// The paper of drawings and maps; else Letter with feet, A4 with metres.
    #[arg(long, value_name = "letter|a4|a3")]
    pub(crate) paper: Option<Sheet>,
    /// Which way is up on printed maps; else north, unless straight rows show the block much larger.
    #[arg(long, value_name = "north|rows")]
    pub(crate) up: Option<UpWord>,
    /// The ink of printed maps: black draws classes as patterns.
    #[arg(long, value_name = "colour|black")]
    pub(crate) ink: Option<InkWord>,
    /// The words of the crew sheet in another language (see `catchwire settings --words`).
    #[arg(long, value_name = "FILE.toml")]
    pub(crate) lang: Option<PathBuf>,
    /// Only these files, such as vines.geojson,zones.csv.
    #[arg(long, value_name = "LIST")]
    pub(crate) write: Option<String>,
}

/// What a person or a script reads back.
#[derive(Debug, Args)]
#[command(next_help_heading = "Report")]
pub(crate) struct Output {
    /// Units of what people read; else feet where the block's spacings are given in feet.
    #[arg(long, value_name = "us|metric")]
    pub(crate) units: Option<Units>,
    /// The report on stdout as JSON.
    #[arg(long)]
    pub(crate) json: bool,
    /// Only warnings and errors.
    #[arg(long)]
    pub(crate) quiet: bool,
    /// Threads to use; results do not depend on it.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=256))]
    pub(crate) jobs: Option<u16>,
}

/// Units of what people read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Units {
    /// Feet and inches.
    Us,
    /// Metres.
    Metric,
}

/// The paper of drawings and maps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Sheet {
    /// 8.5 × 11 inches.
    Letter,
    /// 210 × 297 mm.
    A4,
    /// 297 × 420 mm.
    A3,
}

/// Which way is up on printed maps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum UpWord {
    /// North.
    North,
    /// The rows.
    Rows,
}

/// The ink of printed maps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum InkWord {
    /// Classes have colours.
    Colour,
    /// Classes have patterns.
    Black,
}

/// Options of `settings`.
#[derive(Debug, Args)]
pub(crate) struct SettingsArgs {
    /// Print this file's values instead of the defaults.
    #[arg(long, value_name = "FILE.toml")]
    pub(crate) settings: Option<PathBuf>,
    /// Print the words of the crew sheet instead, as a file to translate.
    #[arg(long, conflicts_with = "settings")]
    pub(crate) words: bool,
}

/// Options of `demo`.
#[derive(Debug, Args)]
pub(crate) struct DemoArgs {
    /// Folder for the estate and the results.
    #[arg(long, value_name = "DIR")]
    pub(crate) out: PathBuf,
    /// Replace files that are there.
    #[arg(long)]
    pub(crate) force: bool,
    #[command(flatten)]
    pub(crate) output: Output,
}
