//! What a map is about, gathered from the evidence and free of it: everything that is drawn, in row
//! coordinates and words.

use geo::{
    MultiPolygon,
    buffer::{Buffer as _, BufferStyle, LineJoin},
};

use crate::{
    estimate::{Field, Method},
    frame::RowPoint,
    join::Observation,
    layout::Layout,
    picture::{
        Caption, Paper, classes::Classes, density, drawings::HeatMap, lettering::printable,
        map::Compass, need, vigor, words,
    },
    plan::{Evidence, Plan},
    units::ReadingUnits,
    zones::{Zone, ZoneMean},
};

/// What a map shows.
#[derive(Debug, Clone)]
pub(super) struct Subject {
    /// The block's name.
    pub(super) block: String,
    /// What is shown of it, in two or three words.
    pub(super) quantity: &'static str,
    /// What the numbers are, from how many counts of which day.
    pub(super) subtitle: String,
    /// The block's outline, metres along and across the rows.
    pub(super) outline: MultiPolygon<f64>,
    /// Ground that is not planted, with its name.
    pub(super) keep_outs: Vec<(Option<String>, MultiPolygon<f64>)>,
    /// How row coordinates lie on the compass.
    pub(super) compass: Compass,
    /// Vine places in the layout's order, with their piece of row.
    pub(super) vines: Vec<Spot>,
    /// Rows from their first to their last vine.
    pub(super) rows: Vec<RowEnds>,
    /// Metres across and along the rows from vine to vine.
    pub(super) gaps_m: [f64; 2],
    /// The classes of the vines.
    pub(super) classes: Classes,
    /// What was measured: the vines of each measurement.
    pub(super) measured: Vec<Vec<usize>>,
    /// The zones.
    pub(super) zones: Vec<ZoneMark>,
    /// What a zone's label states; with several plantings, by planting.
    pub(super) zone_words: Vec<String>,
    /// What was done on a vine: counted, measured.
    pub(super) verb: &'static str,
    /// How the map was made and how to find a row.
    pub(super) method: String,
    /// What it must not be taken for.
    pub(super) cautions: String,
    /// The units it is read in.
    pub(super) units: ReadingUnits,
    /// The paper it is made for.
    pub(super) paper: Paper,
}

/// Where row numbers are drawn.
const VINE_ONE: &str = "Row numbers stand at vine 1.";

/// A vine place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    /// Where it is.
    pub(super) at: RowPoint,
    /// Its piece of row.
    pub(super) piece: usize,
}

/// A row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct RowEnds {
    /// Its number.
    pub(super) number: u32,
    /// Its first vine.
    pub(super) first: RowPoint,
    /// Its last vine.
    pub(super) last: RowPoint,
}

/// A zone and what is said of it.
#[derive(Debug, Clone)]
pub(super) struct ZoneMark {
    /// Its ground, metres along and across the rows.
    pub(super) shape: MultiPolygon<f64>,
    /// Its id, and its name if it has one.
    pub(super) name: String,
    /// Its value or verdict.
    pub(super) words: String,
    /// Its planting.
    pub(super) planting: usize,
}

impl ZoneMark {
    /// A zone on the map. Where plantings alternate row by row, its strips are drawn as the ground
    /// that they span together, the rows of others between them.
    pub(super) fn new(
        shape: &MultiPolygon<f64>,
        row_gap_m: f64,
        (name, words): (String, String),
        planting: usize,
    ) -> Self {
        Self { shape: spanned(shape, row_gap_m), name, words, planting }
    }
}

/// More parts than this are strips of alternate rows.
const FEW_PARTS: usize = 3;

/// A shape closed over gaps of a row spacing, if that joins its parts: grown and shrunk again.
fn spanned(shape: &MultiPolygon<f64>, row_gap_m: f64) -> MultiPolygon<f64> {
    if shape.0.len() <= FEW_PARTS {
        return shape.clone();
    }
    let reach = 0.55 * row_gap_m;
    let style = |metres| BufferStyle::new(metres).line_join(LineJoin::Miter(0.3));
    let closed = shape.buffer_with_style(style(reach)).buffer_with_style(style(-reach));
    if 2 * closed.0.len() <= shape.0.len() { closed } else { shape.clone() }
}

impl Subject {
    /// What a map of this kind shows; `None` when nothing is known that it could show.
    pub(super) fn of(
        kind: HeatMap,
        evidence: Evidence<'_>,
        plan: &Plan,
        caption: &Caption,
    ) -> Option<Self> {
        let (field, observations) = match kind {
            HeatMap::Vigor => (
                evidence.estimate.vigor.as_ref().map(|(_, field)| field)?,
                &evidence.joined.vigor.as_ref()?.observations,
            ),
            HeatMap::ShootDensity | HeatMap::ThinningNeed => {
                (&evidence.estimate.shoots, &evidence.joined.shoots)
            }
        };
        let classes = classes(kind, evidence, plan, caption)?;
        let site = evidence.site;
        Some(Self {
            block: printable(site.name.as_str()),
            quantity: kind.words(),
            subtitle: subtitle(kind, evidence, observations, caption),
            outline: site.outline.clone(),
            keep_outs: keep_outs(evidence),
            compass: Compass {
                bearing: site.frame.bearing().true_north,
                rows_to: site.frame.rows_to(),
            },
            vines: spots(evidence.layout),
            rows: row_ends(evidence.layout),
            gaps_m: [site.rules.row_spacing.metres(), site.rules.vine_spacing.metres()],
            classes,
            measured: observations.iter().map(|each| each.vines.clone()).collect(),
            zones: zones(kind, evidence, plan, caption),
            zone_words: zone_words(kind, evidence),
            verb: kind.verb(),
            method: format!("{} {VINE_ONE}", method(field)),
            cautions: cautions(kind, evidence, observations),
            units: caption.units,
            paper: caption.paper,
        })
    }
}

fn classes(
    kind: HeatMap,
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Option<Classes> {
    let records = &evidence.joined.vines;
    match kind {
        HeatMap::ShootDensity => {
            let vines = evidence.estimate.shoots.vines.iter();
            let surface: Vec<_> = vines.map(|vine| vine.map(|vine| vine.surface_per_m)).collect();
            let targets = density::targets(evidence, plan);
            density::classes(&surface, &targets, records, caption.units)
        }
        HeatMap::Vigor => {
            let (measure, field) = evidence.estimate.vigor.as_ref()?;
            let vines = field.vines.iter().zip(&plan.vines);
            let known: Vec<_> = vines.map(|(known, vine)| known.as_ref().and(vine.vigor)).collect();
            vigor::classes(*measure, &known, records, caption)
        }
        HeatMap::ThinningNeed => need::classes(&need::needs(evidence, plan, caption), records),
    }
}

fn spots(layout: &Layout) -> Vec<Spot> {
    layout.vines.iter().map(|vine| Spot { at: vine.at, piece: vine.piece }).collect()
}

fn row_ends(layout: &Layout) -> Vec<RowEnds> {
    let vines = |row: &crate::layout::Row| {
        let pieces = layout.pieces.get(row.pieces.clone())?;
        let first = layout.vines.get(pieces.first()?.vines.start)?;
        let last = layout.vines.get(pieces.last()?.vines.end.checked_sub(1)?)?;
        Some(RowEnds { number: row.number, first: first.at, last: last.at })
    };
    layout.rows.iter().filter_map(vines).collect()
}

fn keep_outs(evidence: Evidence<'_>) -> Vec<(Option<String>, MultiPolygon<f64>)> {
    (evidence.site.keep_outs.iter())
        .map(|ground| (ground.name.as_deref().map(printable), ground.shape.clone()))
        .collect()
}

fn subtitle(
    kind: HeatMap,
    evidence: Evidence<'_>,
    observations: &[Observation],
    caption: &Caption,
) -> String {
    let what = match (kind, &evidence.estimate.vigor) {
        (HeatMap::ShootDensity, _) => {
            format!("{} of canopy", density::capital(&words::shoots(caption.units).unit))
        }
        (HeatMap::ThinningNeed, _) => "Shoots a vine above or below its target".to_owned(),
        (HeatMap::Vigor, Some((measure, _))) => {
            use crate::join::VigorMeasure::{PruningWeight, ShootLength};
            match measure {
                PruningWeight => "Vigor of the vines, from last winter's prunings".to_owned(),
                ShootLength => "Vigor of the vines, from the length of their shoots".to_owned(),
            }
        }
        (HeatMap::Vigor, None) => "Vigor of the vines".to_owned(),
    };
    let date = evidence.joined.date.or(caption.date);
    let date = date.map_or_else(
        || "without a date".to_owned(),
        |date| format!("as of {}", words::date(date, caption.units)),
    );
    let [one, many] = match kind {
        HeatMap::Vigor => ["measurement", "measurements"],
        HeatMap::ShootDensity | HeatMap::ThinningNeed => ["count", "counts"],
    };
    let counts = words::count_of(observations.len(), one, many);
    format!("{what}, estimated from {counts}, {date}")
}

fn zone_words(kind: HeatMap, evidence: Evidence<'_>) -> Vec<String> {
    let plantings = evidence.site.plantings.all();
    if plantings.len() < 2 {
        return vec![kind.zone_words().to_owned()];
    }
    let name = |at: usize, cultivar: Option<&str>| {
        cultivar.map_or_else(|| format!("planting {}", at + 1), printable)
    };
    (plantings.iter().enumerate())
        .map(|(at, grows)| format!("zone of {}", name(at, grows.cultivar.as_deref())))
        .collect()
}

fn zones(kind: HeatMap, evidence: Evidence<'_>, plan: &Plan, caption: &Caption) -> Vec<ZoneMark> {
    let row_gap_m = evidence.site.rules.row_spacing.metres();
    (evidence.zones.zones.iter().enumerate())
        .map(|(at, zone)| {
            let words = match kind {
                HeatMap::ShootDensity => {
                    value(zone.density.as_ref(), &words::shoots(caption.units))
                }
                HeatMap::Vigor => vigor_words(evidence, zone, caption),
                HeatMap::ThinningNeed => plan
                    .zones
                    .get(at)
                    .map_or_else(String::new, |zone| zone.verdict.word().replace('-', " ")),
            };
            let name = zone.name.as_deref().map(|name| format!(" {}", printable(name)));
            let name = format!("{}{}", zone.id, name.unwrap_or_default());
            ZoneMark::new(&zone.shape, row_gap_m, (name, words), zone.planting)
        })
        .collect()
}

fn vigor_words(evidence: Evidence<'_>, zone: &Zone, caption: &Caption) -> String {
    evidence.estimate.vigor.as_ref().map_or_else(String::new, |(measure, _)| {
        value(zone.vigor.as_ref(), &vigor::reading(*measure, caption))
    })
}

fn value(mean: Option<&ZoneMean>, reading: &words::Reading) -> String {
    mean.map_or_else(
        || "no estimate".to_owned(),
        |mean| {
            let value = mean.per_m * reading.factor;
            let decimals = if value < 1.0 { 2 } else { 1 };
            let space = if reading.short.starts_with('/') { "" } else { " " };
            format!("{value:.decimals$}{space}{}", reading.short)
        },
    )
}

fn method(field: &Field) -> &'static str {
    match field.method {
        Method::None => "Too few counts for an estimate.",
        Method::Mean => "The counts show no pattern on the ground: every vine has the mean.",
        Method::InverseDistance => "Few counts: near counts weigh more, all are drawn to the mean.",
        Method::Kriging => "Between the counts by kriging: near counts weigh more.",
    }
}

fn cautions(kind: HeatMap, evidence: Evidence<'_>, observations: &[Observation]) -> String {
    let counted: usize = observations.iter().map(|each| each.vines.len()).sum();
    let present = evidence.joined.vines.iter().filter(|vine| !vine.status.is_missing()).count();
    format!(
        "An estimate: {} of {} were {}. Check on the vines before cutting. Local advice goes \
         first. The map says nothing about slopes, heat or where machines can go: judge these on \
         the day.",
        words::grouped(counted),
        words::count_of(present, "vine", "vines"),
        kind.verb(),
    )
}
