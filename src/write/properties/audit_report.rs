//! `audit.json`: what was reached and what it rests on, for programs.

use serde::Serialize;
use serde_json::{Map, Value as Json};

use super::{
    audit::{AuditedBlock, audit_zones},
    thinned::DECIMALS,
    thinning_report::as_objects,
    zones::date,
};
use crate::{
    audit::{Facts, Mean},
    error::Error,
    finding::Findings,
    plan::Interval,
    write::{layers::rounded, run_record::pretty},
};

#[derive(Debug, Serialize)]
struct Report<'a> {
    block: &'a str,
    counts_date: Option<String>,
    recount_date: Option<String>,
    recount: FactsReport,
    /// The properties of `zones.geojson`.
    zones: Vec<Map<String, Json>>,
    /// Zones to go back to, in order.
    go_back: Vec<&'a str>,
    came_off: Option<AmountReport>,
    planned: Option<AmountReport>,
    /// Shoots per metre that stand more (below 0: less) where vines had been counted than on fresh
    /// ones in the same zones.
    counted_less_fresh: Option<MeanReport>,
    fresh_only: bool,
    timed: Option<TimedReport>,
    zones_why: &'a str,
    estimate_before: &'a str,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct FactsReport {
    pairs: usize,
    fresh: usize,
    part: usize,
    change: Option<MeanReport>,
    beside_expected: Option<MeanReport>,
    after: Option<MeanReport>,
    below: Option<usize>,
    inside: Option<usize>,
    above: Option<usize>,
    in_band: Option<AmountReport>,
}

#[derive(Debug, Serialize)]
struct MeanReport {
    per_m: f64,
    per_m_lo90: Option<f64>,
    per_m_hi90: Option<f64>,
    se_per_m: Option<f64>,
    degrees_of_freedom: f64,
    places: usize,
}

#[derive(Debug, Serialize)]
struct AmountReport {
    value: f64,
    lo90: f64,
    hi90: f64,
}

#[derive(Debug, Serialize)]
struct TimedReport {
    places: usize,
    minutes_spent: f64,
    minutes_reckoned: f64,
}

/// The audit as the bytes of `audit.json`.
///
/// # Errors
/// A fault of the program: a number that is not finite.
pub fn audit_json(block: &AuditedBlock<'_>, findings: &Findings) -> Result<Vec<u8>, Error> {
    let (evidence, audit) = (block.thinned.evidence, block.audit);
    let id = |zone: &usize| evidence.zones.zones[*zone].id.as_str();
    pretty(&Report {
        block: evidence.site.name.as_str(),
        counts_date: date(evidence.joined.date),
        recount_date: date(block.after.date),
        recount: facts(&audit.block),
        zones: as_objects(&audit_zones(block)),
        go_back: audit.order.iter().map(id).collect(),
        came_off: audit.came_off.map(|pair| amount(pair[0])),
        planned: audit.came_off.map(|pair| amount(pair[1])),
        counted_less_fresh: audit.counted_less_fresh.map(mean),
        fresh_only: audit.fresh_only,
        timed: audit.timed.map(|timed| TimedReport {
            places: timed.places,
            minutes_spent: rounded(timed.spent_min, DECIMALS),
            minutes_reckoned: rounded(timed.reckoned_min, DECIMALS),
        }),
        zones_why: &evidence.zones.why,
        estimate_before: &evidence.estimate.shoots.why,
        warnings: findings.iter().map(ToString::to_string).collect(),
    })
}

fn facts(facts: &Facts) -> FactsReport {
    FactsReport {
        pairs: facts.pairs,
        fresh: facts.fresh,
        part: facts.part,
        change: facts.change.map(mean),
        beside_expected: facts.beside_expected.map(mean),
        after: facts.after.map(mean),
        below: facts.band.map(|band| band.below),
        inside: facts.band.map(|band| band.inside),
        above: facts.band.map(|band| band.above),
        in_band: facts.band.map(|band| amount(band.share)),
    }
}

fn mean(mean: Mean) -> MeanReport {
    let end = |at: usize| mean.ends90().map(|ends| rounded(ends[at], DECIMALS));
    MeanReport {
        per_m: rounded(mean.per_m, DECIMALS),
        per_m_lo90: end(0),
        per_m_hi90: end(1),
        se_per_m: mean.se.map(|se| rounded(se, DECIMALS)),
        degrees_of_freedom: rounded(mean.degrees, DECIMALS),
        places: mean.places,
    }
}

fn amount(Interval { value, lo90, hi90 }: Interval) -> AmountReport {
    let [value, lo90, hi90] = [value, lo90, hi90].map(|number| rounded(number, DECIMALS));
    AmountReport { value, lo90, hi90 }
}
