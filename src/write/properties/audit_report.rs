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
    audit::{CameOff, Facts, Mean, TimedWork},
    error::Error,
    finding::Findings,
    plan::Interval,
    write::{layers::rounded, run_record::pretty},
    zones::Zones,
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
    came_off: Option<CameOffReport>,
    /// Shoots per metre that stand more (below 0: less) where vines had been counted than on fresh
    /// ones in the same zones.
    counted_less_fresh: Option<MeanReport>,
    timed: Option<TimedReport>,
    zones_why: &'a str,
    estimate_before: &'a str,
    warnings: Vec<String>,
}

/// What recounts say of a zone or the block.
#[derive(Debug, Clone, Serialize)]
pub struct FactsReport {
    /// Places counted before and after.
    pub pairs: usize,
    /// Places with no vine that was counted before.
    pub fresh: usize,
    /// Places counted before in part, or with others.
    pub part: usize,
    /// Change of the pairs, shoots per metre.
    pub change: Option<MeanReport>,
    /// Found less believed on fresh places, shoots per metre.
    pub beside_expected: Option<MeanReport>,
    /// What stands, shoots per metre.
    pub after: Option<MeanReport>,
    /// Places against the target.
    pub band: Option<BandReport>,
}

/// Places against the target.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct BandReport {
    /// Places below its low end.
    pub below: usize,
    /// Places inside.
    pub inside: usize,
    /// Places above its high end.
    pub above: usize,
    /// The share inside, of the canopy that the places stand for.
    pub share: AmountReport,
}

/// A mean with its 90 % interval, where there is one.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct MeanReport {
    /// The mean, shoots per metre.
    pub per_m: f64,
    /// Lower end of its 90 % interval; `None` without a spread.
    pub per_m_lo90: Option<f64>,
    /// Upper end.
    pub per_m_hi90: Option<f64>,
    /// Standard error, shoots per metre.
    pub se_per_m: Option<f64>,
    /// Degrees of freedom of Student's t.
    pub degrees_of_freedom: f64,
    /// Places that it rests on.
    pub places: usize,
    /// It is put together from the means of zones, by their canopy.
    pub by_zone: bool,
}

/// A number with its 90 % interval.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct AmountReport {
    /// The number.
    pub value: f64,
    /// Lower end.
    pub lo90: f64,
    /// Upper end.
    pub hi90: f64,
}

/// What came off in zones that were to be thinned.
#[derive(Debug, Clone, Serialize)]
pub struct CameOffReport {
    /// Those whose pairs give an interval.
    pub zones: Vec<String>,
    /// True when no other zone was to be thinned.
    pub all_that_were_to: bool,
    /// Shoots that came off there.
    pub came_off: AmountReport,
    /// Shoots that were to.
    pub planned: AmountReport,
}

/// Minutes spent beside those reckoned.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct TimedReport {
    /// Timed places.
    pub places: usize,
    /// Person-minutes spent.
    pub minutes_spent: f64,
    /// Person-minutes that the plan reckons for the shoots that came off there.
    pub minutes_reckoned: f64,
    /// They are enough for hours to follow them.
    pub hours_follow: bool,
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
        recount: FactsReport::of(&audit.block),
        zones: as_objects(&audit_zones(block)),
        go_back: audit.order.iter().map(id).collect(),
        came_off: audit.came_off.as_ref().map(|off| CameOffReport::of(off, evidence.zones)),
        counted_less_fresh: audit.counted_less_fresh.map(MeanReport::of),
        timed: audit.timed.as_ref().map(TimedReport::of),
        zones_why: &evidence.zones.why,
        estimate_before: &evidence.estimate.shoots.why,
        warnings: findings.iter().map(ToString::to_string).collect(),
    })
}

impl FactsReport {
    /// What recounts say.
    pub fn of(facts: &Facts) -> Self {
        Self {
            pairs: facts.pairs,
            fresh: facts.fresh,
            part: facts.part,
            change: facts.change.map(MeanReport::of),
            beside_expected: facts.beside_expected.map(MeanReport::of),
            after: facts.after.map(MeanReport::of),
            band: facts.band.map(|band| BandReport {
                below: band.below,
                inside: band.inside,
                above: band.above,
                share: AmountReport::of(band.share),
            }),
        }
    }
}

impl MeanReport {
    /// A mean.
    pub fn of(mean: Mean) -> Self {
        let end = |at: usize| mean.ends90().map(|ends| rounded(ends[at], DECIMALS));
        Self {
            per_m: rounded(mean.per_m, DECIMALS),
            per_m_lo90: end(0),
            per_m_hi90: end(1),
            se_per_m: mean.se.map(|se| rounded(se, DECIMALS)),
            degrees_of_freedom: rounded(mean.degrees, DECIMALS),
            places: mean.places,
            by_zone: mean.by_zone,
        }
    }

    /// Both ends of its 90 % interval, shoots per metre.
    pub fn ends90(&self) -> Option<[f64; 2]> {
        Some([self.per_m_lo90?, self.per_m_hi90?])
    }
}

impl AmountReport {
    /// A number.
    pub fn of(Interval { value, lo90, hi90 }: Interval) -> Self {
        let [value, lo90, hi90] = [value, lo90, hi90].map(|number| rounded(number, DECIMALS));
        Self { value, lo90, hi90 }
    }
}

impl CameOffReport {
    /// What came off, its zones by their ids.
    pub fn of(off: &CameOff, zones: &Zones) -> Self {
        Self {
            zones: off.zones.iter().map(|&zone| zones.zones[zone].id.clone()).collect(),
            all_that_were_to: off.all,
            came_off: AmountReport::of(off.off),
            planned: AmountReport::of(off.planned),
        }
    }
}

impl TimedReport {
    /// Timed work.
    pub fn of(timed: &TimedWork) -> Self {
        Self {
            places: timed.places,
            minutes_spent: rounded(timed.spent_min, DECIMALS),
            minutes_reckoned: rounded(timed.reckoned_min, DECIMALS),
            hours_follow: timed.labour.is_some(),
        }
    }
}
