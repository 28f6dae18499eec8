//! What a command tells afterwards, for people and scripts alike; the binary only prints it.

use serde::Serialize;

use crate::{
    finding::{Finding, Findings, Place, Severity},
    jobs::{
        Ground, audit_report::AuditReport, survey_report::SurveyReport,
        thinning_report::ThinningReport,
    },
    units::ReadingUnits,
    write::properties::{PruningSummary, SeasonSummary},
};

/// The version of the report's form: it grows when a key is taken away or changes its meaning.
pub const SCHEMA: u32 = 1;

/// What a command did.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Report {
    /// The version of this form.
    pub schema: u32,
    /// The command.
    pub command: String,
    /// By block, in the file's order.
    pub blocks: Vec<BlockReport>,
    /// Everything noticed.
    pub findings: Vec<FindingReport>,
    /// Files written, or that would be.
    pub files: Vec<FileReport>,
    /// True when nothing was written because of `--dry-run`.
    pub dry_run: bool,
    /// What to do next, in plain words.
    pub next: Vec<String>,
}

/// What is told of a block.
#[derive(Debug, Clone, Serialize)]
pub struct BlockReport {
    /// Its name.
    pub block: String,
    /// Its folder under the output folder.
    pub folder: String,
    /// `us` or `metric`: what people read.
    pub units: &'static str,
    /// Rows with vines.
    pub rows: usize,
    /// Vine places.
    pub vines: usize,
    /// Panels.
    pub panels: usize,
    /// Metres of row.
    pub row_length_m: f64,
    /// Hectares inside the outline.
    pub block_ha: f64,
    /// Degrees clockwise from true north.
    pub bearing_true_deg: f64,
    /// What other bearings would give, when they were compared. Rows, vines and lengths above are
    /// then those of the block's own bearing, and 0 where it has none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bearings: Option<BearingsReport>,
    /// What is to be counted, when a sample was drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sample: Option<SampleReport>,
    /// How even the surveyed rows are, when `check` found some.
    pub survey: Option<SurveyReport>,
    /// The thinning, when counts were given.
    pub thinning: Option<ThinningReport>,
    /// What is kept in winter, when prunings were weighed up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pruning: Option<PruningSummary>,
    /// What the work reached, when it was audited.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub audit: Option<AuditReport>,
    /// Years side by side, when several were compared.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub season: Option<SeasonSummary>,
}

/// What is told of the sample of a block.
#[derive(Debug, Clone, Serialize)]
pub struct SampleReport {
    /// What is counted at a stop: `panel` or `vine`.
    pub unit: &'static str,
    /// Stops, close pairs among them.
    pub stops: usize,
    /// Stops that are neighbours of others, for the model only.
    pub close_pairs: usize,
    /// Coefficient of variation between these units that the sizes rest on.
    pub variation: f64,
    /// True when earlier counts gave it.
    pub variation_from_counts: bool,
    /// Confidence of the errors.
    pub confidence: f64,
    /// Error of the block's mean to expect from this sample, as a share of it; none for chosen stops.
    pub expected_error: Option<f64>,
    /// The same for other numbers of stops: number, error.
    pub errors: Vec<(usize, f64)>,
    /// Share of the vine places that could be drawn: what the numbers hold for.
    pub share_drawable: f64,
    /// Metres on foot.
    pub walk_m: f64,
    /// Minutes to count and walk.
    pub minutes: f64,
    /// By planting.
    pub strata: Vec<StratumReport>,
}

/// What is told of a part that was drawn from.
#[derive(Debug, Clone, Serialize)]
pub struct StratumReport {
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// Drawn.
    pub drawn: usize,
    /// Could be drawn.
    pub could_be_drawn: usize,
    /// Vine places that could not: row ends, young and missing vines.
    pub vines_outside: usize,
}

/// What is told of compared bearings.
#[derive(Debug, Clone, Serialize)]
pub struct BearingsReport {
    /// Bearings compared.
    pub candidates: usize,
    /// The block has a bearing of its own.
    pub own_bearing: bool,
    /// Pieces of row below this are short.
    pub short_piece_m: f64,
    /// Those that stand out by something; no ranking.
    pub standouts: Vec<StandoutReport>,
    /// What they give and cost beside the first of them.
    pub beside: Vec<String>,
    /// What anybody who reads the numbers should know.
    pub cautions: Vec<String>,
}

/// A bearing that stands out.
#[derive(Debug, Clone, Serialize)]
pub struct StandoutReport {
    /// By what.
    pub by: &'static str,
    /// Degrees clockwise from true north.
    pub bearing_true_deg: f64,
    /// The same in words.
    pub direction: String,
    /// Vine places.
    pub vines: usize,
    /// Fewest and most over all places of the first row.
    pub vines_by_offset: Option<[usize; 2]>,
    /// Rows.
    pub rows: usize,
    /// The median row, metres.
    pub median_row_m: Option<f64>,
    /// Short pieces of row.
    pub short_pieces: usize,
    /// Turns on headlands.
    pub turns: usize,
    /// Mean slope along the rows.
    pub slope_along_pct: Option<f64>,
    /// Mean slope across the rows.
    pub slope_across_pct: Option<f64>,
    /// Hours of sun a day on the side to the right along the bearing and on the other.
    pub sun_h: Option<[f64; 2]>,
}

/// One thing noticed.
#[derive(Debug, Clone, Serialize)]
pub struct FindingReport {
    /// `note`, `warning`, `fault`.
    pub severity: &'static str,
    /// Where.
    pub place: String,
    /// What.
    pub what: String,
    /// Why.
    pub why: String,
    /// How to mend it.
    pub mend: String,
    /// Where, in its parts: for telling many of a kind together.
    #[serde(skip)]
    pub at: Place,
}

/// One file.
#[derive(Debug, Clone, Serialize)]
pub struct FileReport {
    /// Its path under the output folder.
    pub file: String,
    /// Its size in bytes.
    pub bytes: usize,
    /// True when a file of that name is replaced.
    pub replaces: bool,
}

impl From<&Finding> for FindingReport {
    fn from(finding: &Finding) -> Self {
        let severity = match finding.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Fault => "fault",
        };
        Self {
            severity,
            place: finding.place.to_string(),
            what: finding.what.clone(),
            why: finding.why.clone(),
            mend: finding.mend.clone(),
            at: finding.place.clone(),
        }
    }
}

impl Report {
    /// An empty report of a command.
    pub fn new(command: &str, findings: &Findings) -> Self {
        Self {
            schema: SCHEMA,
            command: command.to_owned(),
            findings: findings.iter().map(FindingReport::from).collect(),
            ..Self::default()
        }
    }

    /// Adds the report of a job whose output lies in a folder below this one's.
    pub(super) fn add(&mut self, other: Self, below: &str) {
        self.findings.extend(other.findings);
        self.blocks.extend(
            other
                .blocks
                .into_iter()
                .map(|block| BlockReport { folder: format!("{below}/{}", block.folder), ..block }),
        );
        self.files.extend(
            other
                .files
                .into_iter()
                .map(|file| FileReport { file: format!("{below}/{}", file.file), ..file }),
        );
    }

    /// Adds what was noticed later.
    pub fn notice(&mut self, findings: &Findings) {
        self.findings.extend(findings.iter().map(FindingReport::from));
    }
}

impl BlockReport {
    /// What is told of a block's layout.
    pub fn of(ground: &Ground, folder: &str, units: ReadingUnits) -> Self {
        let quantities = &ground.layout.quantities;
        Self {
            block: ground.block.name.to_string(),
            folder: folder.to_owned(),
            units: match units {
                ReadingUnits::Us => "us",
                ReadingUnits::Metric => "metric",
            },
            rows: quantities.rows,
            vines: quantities.vines,
            panels: ground.layout.panels.len(),
            row_length_m: quantities.row_length_m,
            block_ha: quantities.block_ha,
            bearing_true_deg: ground.site.frame.bearing().true_north.degrees(),
            sample: None,
            bearings: None,
            survey: None,
            thinning: None,
            pruning: None,
            audit: None,
            season: None,
        }
    }
}
