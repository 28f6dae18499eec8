//! What `audit` tells of a block, for people and scripts alike.

use serde::Serialize;

use super::audit::Audited;
use crate::{
    audit::ZoneAudit,
    write::properties::{AmountReport, CameOffReport, FactsReport, MeanReport, TimedReport},
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
    /// Fewer pairs than this say little.
    pub fewest_places: usize,
    /// The block as a whole.
    pub block: FactsReport,
    /// By zone.
    pub zones: Vec<ZoneAuditReport>,
    /// Zones to go back to, in order.
    pub go_back: Vec<String>,
    /// What came off in planned zones beside what was to.
    pub came_off: Option<CameOffReport>,
    /// How much more (below 0: less) stands where vines had been counted than on fresh ones in the
    /// same zones, shoots per metre.
    pub counted_less_fresh: Option<MeanReport>,
    /// Minutes spent beside those reckoned.
    pub timed: Option<TimedReport>,
    /// How the map of differences was made and why.
    pub difference: String,
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
    /// Shoots still above the aim.
    pub above: Option<AmountReport>,
    /// Person-hours to take them off, where the crew has to go back.
    pub hours: Option<AmountReport>,
    /// How many more places would settle it.
    pub recounts_to_settle: Option<usize>,
    /// What to do or mind there.
    pub advice: Vec<String>,
}

pub(super) fn audit_report(block: &Audited, fewest_places: usize) -> AuditReport {
    let (audit, after, thinning) = (&block.audit, &block.after, &block.thinning);
    let id = |zone: &usize| thinning.zones.zones[*zone].id.clone();
    AuditReport {
        records: [after.records.len(), after.unjoined.len()],
        counts_date: thinning.joined.date.map(|date| date.to_string()),
        recount_date: after.date.map(|date| date.to_string()),
        fewest_places,
        block: FactsReport::of(&audit.block),
        zones: audit.zones.iter().map(|zone| zone_report(block, zone)).collect(),
        go_back: audit.order.iter().map(id).collect(),
        came_off: audit.came_off.as_ref().map(|off| CameOffReport::of(off, &thinning.zones)),
        counted_less_fresh: audit.counted_less_fresh.map(MeanReport::of),
        timed: audit.timed.as_ref().map(TimedReport::of),
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
        facts: FactsReport::of(&audit.facts),
        above: audit.above.map(AmountReport::of),
        hours: audit.hours.map(AmountReport::of),
        recounts_to_settle: audit.recounts_to_settle,
        advice: audit.advice.clone(),
    }
}
