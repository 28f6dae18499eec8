//! What a command tells afterwards, for people and scripts alike; the binary only prints it.

use serde::Serialize;

use crate::{
    estimate::{ByDesign, by_design::DesignMean, sure::BlockMean},
    finding::{Finding, Findings, Place, Severity},
    frame::Site,
    jobs::{Ground, audit_report::AuditReport, survey_report::SurveyReport},
    plan::{Interval, Plan},
    units::{METRES_PER_FOOT, ReadingUnits},
    write::properties::{PruningSummary, SeasonSummary},
    zones::{Difference, Zones},
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

/// What is told of the thinning of a block.
#[derive(Debug, Clone, Serialize)]
pub struct ThinningReport {
    /// Records that found their place, and those that did not.
    pub records: [usize; 2],
    /// Vines counted.
    pub counted_vines: usize,
    /// How the map was made and why.
    pub method: String,
    /// How sure that is, in plain words.
    pub sure: Vec<String>,
    /// The mean of the whole block.
    pub block: Option<MeanReport>,
    /// What the draw alone says, where stops drawn by `sample` were counted.
    pub by_design: Option<DesignReport>,
    /// How the zones were found.
    pub zones_why: String,
    /// The targets by planting, with their source, in words and the units that people read.
    pub targets: Vec<String>,
    /// By zone.
    pub zones: Vec<ZoneReport>,
    /// How zones that touch differ, in words and the units that people read.
    pub differences: Vec<String>,
    /// Shoots to take off.
    pub remove: f64,
    /// Person-hours.
    pub hours: f64,
    /// Where the hours come from.
    pub labour: String,
    /// A frost that forbids any plan until a recount.
    pub frost: Option<String>,
    /// When the work can start and must end.
    pub window: WindowReport,
    /// What a crew can finish.
    pub crew: Option<String>,
}

/// A mean density.
#[derive(Debug, Clone, Serialize)]
pub struct MeanReport {
    /// Shoots per metre with its 90 % interval.
    pub shoots_per_m: [f64; 3],
    /// `draw`: the chances of the drawn stops alone; `map`: the estimates of all vines.
    pub from: &'static str,
}

/// What the draw alone says.
#[derive(Debug, Clone, Serialize)]
pub struct DesignReport {
    /// Stops drawn, and those that came back counted.
    pub stops: [usize; 2],
    /// About the share of the vines that could be drawn.
    pub share_drawable: f64,
    /// The block's mean, shoots per metre, and half its 90 % interval.
    pub block: Option<[f64; 2]>,
    /// The same by planting.
    pub plantings: Vec<PlantingReport>,
}

/// What the draw alone says of a planting.
#[derive(Debug, Clone, Serialize)]
pub struct PlantingReport {
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// Its mean, shoots per metre, and half its 90 % interval.
    pub shoots_per_m: [f64; 2],
}

/// What is told of a zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneReport {
    /// Its id, and the grower's own name.
    pub zone: String,
    /// The grower's own name.
    pub name: Option<String>,
    /// Its rows.
    pub rows: String,
    /// Present vines.
    pub vines: usize,
    /// Shoots per metre with its 90 % interval.
    pub shoots_per_m: Option<[f64; 3]>,
    /// The aim, shoots per metre.
    pub target_per_m: Option<f64>,
    /// `overcrowded`, `on-target`, `under-target`, `undecided`.
    pub verdict: &'static str,
    /// Shoots to take off with their 90 % interval.
    pub remove: [f64; 3],
    /// Person-hours with their 90 % interval.
    pub hours: [f64; 3],
    /// Place in the order of work.
    pub order: Option<usize>,
    /// What to check or mind there.
    pub advice: Vec<String>,
}

/// When the work can start and must end.
#[derive(Debug, Clone, Serialize)]
pub struct WindowReport {
    /// When it opens.
    pub thin_from: Option<String>,
    /// When it closes if shoots grow fast.
    pub thin_by: Option<String>,
    /// When it closes if they grow slowly.
    pub thin_by_latest: Option<String>,
    /// Where the growth comes from.
    pub source: String,
    /// Zones to be worked whose own shoots close it on other days, the first to close first.
    pub by_zone: Vec<ZoneWindowReport>,
}

/// When the work in a zone must end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct ZoneWindowReport {
    /// When it closes if shoots grow fast.
    pub thin_by: String,
    /// When it closes if they grow slowly.
    pub thin_by_latest: Option<String>,
    /// The zone.
    pub zone: String,
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

/// What is told of a block's mean.
pub(super) fn block_mean(mean: BlockMean) -> MeanReport {
    let [lo90, hi90] = mean.ends90_per_m();
    MeanReport {
        shoots_per_m: [mean.per_m, lo90, hi90],
        from: if mean.from_draw { "draw" } else { "map" },
    }
}

/// What is told of the draw.
pub(super) fn by_design(design: &ByDesign, site: &Site) -> DesignReport {
    let pair = |mean: DesignMean| [mean.per_m, mean.half90()];
    let planting = |&(planting, mean): &(usize, DesignMean)| PlantingReport {
        cultivar: site.plantings.all().get(planting).and_then(|own| own.cultivar.clone()),
        shoots_per_m: pair(mean),
    };
    DesignReport {
        stops: [design.drawn, design.counted],
        share_drawable: design.share_drawable,
        block: design.block.map(pair),
        plantings: design.plantings.iter().map(planting).collect(),
    }
}

/// What is told of every zone of a plan.
pub(super) fn zones(zones: &Zones, plan: &Plan) -> Vec<ZoneReport> {
    zones
        .zones
        .iter()
        .zip(&plan.zones)
        .map(|(zone, planned)| ZoneReport {
            zone: zone.id.clone(),
            name: zone.name.clone(),
            rows: zone.rows.clone(),
            vines: zone.vines.len(),
            shoots_per_m: zone.density.map(|mean| [mean.per_m, mean.lo90, mean.hi90]),
            target_per_m: planned.target_per_m.map(|target| target.aim_per_m),
            verdict: planned.verdict.word(),
            remove: triple(planned.remove),
            hours: triple(planned.hours),
            order: planned.order,
            advice: planned.advice.clone(),
        })
        .collect()
}

/// How zones that touch differ: "Z1 carries 3.1 to 5.2 shoots a metre more than Z2".
pub(super) fn differences(zones: &Zones, units: ReadingUnits) -> Vec<String> {
    let touching = zones.differences.iter().filter(|difference| difference.touching);
    touching.map(|difference| difference_words(zones, difference, units)).collect()
}

fn difference_words(zones: &Zones, difference: &Difference, units: ReadingUnits) -> String {
    let (factor, unit) = match units {
        ReadingUnits::Us => (METRES_PER_FOOT, "foot"),
        ReadingUnits::Metric => (1.0, "metre"),
    };
    let [one, other] = [difference.one, difference.other].map(|zone| &zones.zones[zone].id);
    let ends = [difference.lo90 * factor, difference.hi90 * factor];
    if !difference.is_clear() {
        let [fewer, more] = [-ends[0], ends[1]];
        return format!(
            "{one} and {other} may carry alike: {one} anything from {fewer:.1} shoots a {unit} less \
             to {more:.1} more"
        );
    }
    let (more, less, [low, high]) =
        if ends[0] > 0.0 { (one, other, ends) } else { (other, one, [-ends[1], -ends[0]]) };
    format!("{more} carries {low:.1} to {high:.1} shoots a {unit} more than {less}")
}

const fn triple(interval: Interval) -> [f64; 3] {
    [interval.value, interval.lo90, interval.hi90]
}

/// What is told of the window of a plan, and of zones that have another one.
pub(super) fn window(zones: &Zones, plan: &Plan) -> WindowReport {
    let Plan { window, .. } = plan;
    let text = |date: Option<jiff::civil::Date>| date.map(|date| date.to_string());
    WindowReport {
        thin_from: text(window.opens),
        thin_by: text(window.closes_first),
        thin_by_latest: text(window.closes_last),
        source: window.source.clone(),
        by_zone: by_zone(zones, plan),
    }
}

/// Zones to be worked that close on other days than the block.
fn by_zone(zones: &Zones, plan: &Plan) -> Vec<ZoneWindowReport> {
    let of_block = [plan.window.closes_first, plan.window.closes_last];
    let own = zones.zones.iter().zip(&plan.zones).filter(|(_, planned)| {
        planned.order.is_some() && [planned.thin_by, planned.thin_by_latest] != of_block
    });
    let mut told: Vec<ZoneWindowReport> = own
        .filter_map(|(zone, planned)| {
            Some(ZoneWindowReport {
                thin_by: planned.thin_by?.to_string(),
                thin_by_latest: planned.thin_by_latest.map(|day| day.to_string()),
                zone: zone.id.clone(),
            })
        })
        .collect();
    told.sort();
    told
}
