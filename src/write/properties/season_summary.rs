//! What is told of several years: the same numbers in `season.json`, in the report as JSON and in the
//! report for people.

use serde::Serialize;

use super::thinned::{DECIMALS, Thinned};
use crate::{
    error::Error,
    finding::Findings,
    season::{Change, Comparison, FEWEST_FOR_RANGE, Part, PartVisit, PartYear},
    write::{layers::rounded, run_record::pretty},
    zones::ZoneMean,
};

/// Several years of a block, as they were found out.
#[derive(Debug)]
pub struct SeasonView<'a> {
    /// From the first year to the latest.
    pub years: Vec<(i16, Thinned<'a>)>,
    /// The years side by side.
    pub comparison: &'a Comparison,
    /// Records that are in no year or found no place.
    pub left_out: usize,
}

impl SeasonView<'_> {
    /// The latest year.
    pub(super) fn latest(&self) -> Option<&Thinned<'_>> {
        self.years.last().map(|(_, thinned)| thinned)
    }
}

/// What is told of several years.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonSummary {
    /// Records in some year, and left out.
    pub records: [usize; 2],
    /// From the first year to the latest.
    pub years: Vec<SeasonYear>,
    /// The zones of the latest year in their order, then the whole block.
    pub parts: Vec<SeasonPart>,
    /// Vines that are others than the year before.
    pub standing: Vec<SeasonVine>,
    /// Fewer places counted on a visit give no range.
    pub fewest_for_range: usize,
    /// What anybody who reads the numbers should know.
    pub cautions: Vec<&'static str>,
}

/// What is told of a year.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonYear {
    /// The year.
    pub year: i16,
    /// The day of the counts that its estimate rests on.
    pub date: Option<String>,
    /// Its records.
    pub records: usize,
    /// Vines or whole panels that its estimate rests on.
    pub counts: usize,
    /// How it was estimated.
    pub method: String,
    /// How its own zones were found.
    pub zones_why: String,
}

/// What is told of a zone of the latest year, or of the block.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonPart {
    /// The zone; `None` for the block.
    pub zone: Option<String>,
    /// The grower's own name for it.
    pub name: Option<String>,
    /// Its rows; `None` for the block.
    pub rows: Option<String>,
    /// Vines that stand in it.
    pub vines: usize,
    /// From the first year to the latest.
    pub years: Vec<SeasonPartYear>,
}

/// What is told of a part in a year.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonPartYear {
    /// The year.
    pub year: i16,
    /// The day of the counts.
    pub date: Option<String>,
    /// Vines or whole panels counted in it.
    pub counts: usize,
    /// Vines of the part that did not stand then.
    pub absent: usize,
    /// Shoots per metre: mean, lower and upper end of the 90 % interval.
    pub shoots_per_m: Option<[f64; 3]>,
    /// The change since the year before, in the same form.
    pub change_per_m: Option<[f64; 3]>,
    /// True when the change's interval leaves 0 out.
    pub changed: Option<bool>,
    /// Pruning weight, kilograms per metre, in the same form.
    pub pruning_kg_per_m: Option<[f64; 3]>,
    /// Mean aim: shoots to leave per metre.
    pub target_per_m: Option<f64>,
    /// The verdict; of a block, those of that year's own zones.
    pub verdict: Option<String>,
    /// Shoots to take off.
    pub remove: Option<f64>,
    /// Person-hours.
    pub hours: Option<f64>,
    /// Its visits, as they were counted.
    pub visits: Vec<SeasonVisit>,
}

/// What was counted in a part on a visit.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonVisit {
    /// The day.
    pub date: Option<String>,
    /// The label.
    pub visit: String,
    /// Vines or whole panels counted.
    pub counts: usize,
    /// Shoots counted over metres counted.
    pub shoots_per_m: Option<f64>,
    /// Its 90 % interval; `None` of few places.
    pub shoots_per_m90: Option<[f64; 2]>,
}

/// A vine that is another than the year before.
#[derive(Debug, Clone, Serialize)]
pub struct SeasonVine {
    /// The year.
    pub year: i16,
    /// The vine's id.
    pub id: String,
    /// What stood there.
    pub was: &'static str,
    /// What stands there.
    pub is: &'static str,
}

const CAUTIONS: &[&str] = &[
    "a year is estimated from its own counts alone; a change is sure where its range leaves 0 out, \
     and says nothing of its cause: weather, pruning, thinning and who counted change too",
    "lines of a visit are means of the places counted that day, not of the zone: places picked for \
     being crowded make a mean that is too high",
];

/// What is told of several years.
pub fn season_summary(view: &SeasonView<'_>) -> SeasonSummary {
    let records = view.years.iter().map(|(_, own)| own.evidence.joined.records.len()).sum();
    SeasonSummary {
        records: [records, view.left_out],
        years: view.years.iter().map(|(year, thinned)| of_year(*year, thinned)).collect(),
        parts: view.comparison.parts.iter().map(|own| part(view, own)).collect(),
        standing: standing(view),
        fewest_for_range: FEWEST_FOR_RANGE,
        cautions: CAUTIONS.to_vec(),
    }
}

/// `season.json`.
///
/// # Errors
/// Only by a fault of the program.
pub fn season_json(
    block: &str,
    summary: &SeasonSummary,
    findings: &Findings,
) -> Result<Vec<u8>, Error> {
    #[derive(Serialize)]
    struct Document<'a> {
        block: &'a str,
        #[serde(flatten)]
        summary: &'a SeasonSummary,
        warnings: Vec<String>,
    }
    let warnings = findings.iter().map(ToString::to_string).collect();
    pretty(&Document { block, summary, warnings })
}

fn of_year(year: i16, thinned: &Thinned<'_>) -> SeasonYear {
    let evidence = thinned.evidence;
    SeasonYear {
        year,
        date: evidence.joined.date.map(|date| date.to_string()),
        records: evidence.joined.records.len(),
        counts: evidence.joined.shoots.len(),
        method: evidence.estimate.shoots.why.clone(),
        zones_why: evidence.zones.why.clone(),
    }
}

fn part(view: &SeasonView<'_>, part: &Part) -> SeasonPart {
    let zones = view.latest().map(|latest| &latest.evidence.zones.zones);
    let zone = part.zone.zip(zones).and_then(|(at, zones)| zones.get(at));
    SeasonPart {
        zone: zone.map(|zone| zone.id.clone()),
        name: zone.and_then(|zone| zone.name.clone()),
        rows: zone.map(|zone| zone.rows.clone()),
        vines: part.vines.len(),
        years: part.years.iter().map(of_part).collect(),
    }
}

fn of_part(year: &PartYear) -> SeasonPartYear {
    let number = |value: f64| rounded(value, DECIMALS);
    SeasonPartYear {
        year: year.year,
        date: year.date.map(|date| date.to_string()),
        counts: year.counts,
        absent: year.absent,
        shoots_per_m: year.shoots.map(ends),
        change_per_m: year
            .change
            .map(|Change { per_m, lo90, hi90 }| [per_m, lo90, hi90].map(number)),
        changed: year.change.map(|change| change.is_sure()),
        pruning_kg_per_m: year.pruning.map(ends),
        target_per_m: year.planned.aim_per_m.map(number),
        verdict: year.planned.verdict.clone(),
        remove: year.planned.remove.map(number),
        hours: year.planned.hours.map(number),
        visits: year.visits.iter().map(visit).collect(),
    }
}

fn ends(mean: ZoneMean) -> [f64; 3] {
    [mean.per_m, mean.lo90, mean.hi90].map(|value| rounded(value, DECIMALS))
}

fn visit(visit: &PartVisit) -> SeasonVisit {
    let counted = visit.counted;
    SeasonVisit {
        date: visit.date.map(|date| date.to_string()),
        visit: visit.label.clone(),
        counts: counted.map_or(0, |counted| counted.places),
        shoots_per_m: counted.map(|counted| rounded(counted.per_m, DECIMALS)),
        shoots_per_m90: counted
            .and_then(|counted| counted.ends90())
            .map(|ends| ends.map(|end| rounded(end, DECIMALS))),
    }
}

fn standing(view: &SeasonView<'_>) -> Vec<SeasonVine> {
    let Some(layout) = view.latest().map(|latest| latest.evidence.layout) else {
        return Vec::new();
    };
    let by_year = view.comparison.standing.iter();
    let vines = by_year.flat_map(|(year, changes)| {
        changes.iter().map(|change| {
            let vine = &layout.vines[change.vine];
            SeasonVine {
                year: *year,
                id: layout.digits.vine(vine.row, vine.vine),
                was: change.was.word(),
                is: change.is.word(),
            }
        })
    });
    vines.collect()
}
