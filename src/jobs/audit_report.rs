//! What `audit` tells of a block, for people and scripts alike.

use serde::Serialize;

use super::audit::Audited;
use crate::{
    audit::{Facts, Mean, ZoneAudit},
    plan::Interval,
};

/// What a recount says of a block.
#[derive(Debug, Clone, Serialize)]
pub struct AuditReport {
    /// Records of the recount that found their place, and those that did not.
    pub records: [usize; 2],
    /// The day of the counts before the work.
    pub counts_date: Option<String>,
    /// The day of the recount.
    pub recount_date: Option<String>,
    /// The block as a whole.
    pub block: FactsReport,
    /// By zone.
    pub zones: Vec<ZoneAuditReport>,
    /// Zones to go back to, in order.
    pub go_back: Vec<String>,
    /// Shoots that came off in planned zones with a 90 % interval, and those that were to.
    pub came_off: Option<[[f64; 3]; 2]>,
    /// How much more (below 0: less) stands where vines had been counted than on fresh ones in the
    /// same zones, shoots per metre.
    pub counted_less_fresh: Option<MeanWithEnds>,
    /// Numbers of zones rest on fresh places alone.
    pub fresh_only: bool,
    /// Timed places, minutes spent, minutes reckoned.
    pub timed: Option<(usize, f64, f64)>,
    /// How the map of differences was made and why.
    pub difference: String,
}

/// A mean with its 90 % interval, where there is one.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct MeanWithEnds {
    /// The mean, shoots per metre.
    pub per_m: f64,
    /// Both ends of its 90 % interval; `None` of a single place.
    pub ends90: Option<[f64; 2]>,
    /// Places that it rests on.
    pub places: usize,
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
    pub change_per_m: Option<MeanWithEnds>,
    /// Found less believed on fresh places, shoots per metre.
    pub beside_expected_per_m: Option<MeanWithEnds>,
    /// What stands, shoots per metre.
    pub after_per_m: Option<MeanWithEnds>,
    /// Places below, inside and above the target.
    pub band: Option<[usize; 3]>,
    /// The share inside with its exact 90 % interval.
    pub in_band: Option<[f64; 3]>,
}

/// What is said of a zone after the work.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneAuditReport {
    /// Its id.
    pub zone: String,
    /// The grower's own name.
    pub name: Option<String>,
    /// Its rows.
    pub rows: String,
    /// Shoots were to come off.
    pub planned: bool,
    /// `reached`, `go-back`, `over-thinned`, `left-alone`, `thinned-unasked`, `undecided`.
    pub verdict: &'static str,
    /// Its place among those to go back to.
    pub order: Option<usize>,
    /// Low end, aim and high end of the target, shoots per metre.
    pub target_per_m: Option<[f64; 3]>,
    /// What recounts say.
    pub facts: FactsReport,
    /// Shoots still above the aim, with a 90 % interval.
    pub above: Option<[f64; 3]>,
    /// Person-hours to take them off, where the crew has to go back.
    pub hours: Option<[f64; 3]>,
    /// How many more places would settle it.
    pub recounts_to_settle: Option<usize>,
    /// What to do or mind there.
    pub advice: Vec<String>,
}

pub(super) fn audit_report(block: &Audited) -> AuditReport {
    let (audit, after, thinning) = (&block.audit, &block.after, &block.thinning);
    let id = |zone: &usize| thinning.zones.zones[*zone].id.clone();
    AuditReport {
        records: [after.records.len(), after.unjoined.len()],
        counts_date: thinning.joined.date.map(|date| date.to_string()),
        recount_date: after.date.map(|date| date.to_string()),
        block: facts(&audit.block),
        zones: audit.zones.iter().map(|zone| zone_report(block, zone)).collect(),
        go_back: audit.order.iter().map(id).collect(),
        came_off: audit.came_off.map(|pair| pair.map(triple)),
        counted_less_fresh: audit.counted_less_fresh.map(mean),
        fresh_only: audit.fresh_only,
        timed: audit.timed.map(|timed| (timed.places, timed.spent_min, timed.reckoned_min)),
        difference: block.estimate.shoots.why.clone(),
    }
}

fn zone_report(block: &Audited, audit: &ZoneAudit) -> ZoneAuditReport {
    let zone = &block.thinning.zones.zones[audit.zone];
    let target = block.thinning.plan.zones[audit.zone].target_per_m;
    ZoneAuditReport {
        zone: zone.id.clone(),
        name: zone.name.clone(),
        rows: zone.rows.clone(),
        planned: audit.planned,
        verdict: audit.outcome.word(),
        order: audit.order,
        target_per_m: target.map(|own| [own.low_per_m, own.aim_per_m, own.high_per_m]),
        facts: facts(&audit.facts),
        above: audit.above.map(triple),
        hours: audit.hours.map(triple),
        recounts_to_settle: audit.recounts_to_settle,
        advice: audit.advice.clone(),
    }
}

fn facts(facts: &Facts) -> FactsReport {
    FactsReport {
        pairs: facts.pairs,
        fresh: facts.fresh,
        part: facts.part,
        change_per_m: facts.change.map(mean),
        beside_expected_per_m: facts.beside_expected.map(mean),
        after_per_m: facts.after.map(mean),
        band: facts.band.map(|band| [band.below, band.inside, band.above]),
        in_band: facts.band.map(|band| triple(band.share)),
    }
}

fn mean(mean: Mean) -> MeanWithEnds {
    MeanWithEnds { per_m: mean.per_m, ends90: mean.ends90(), places: mean.places }
}

const fn triple(interval: Interval) -> [f64; 3] {
    [interval.value, interval.lo90, interval.hi90]
}
