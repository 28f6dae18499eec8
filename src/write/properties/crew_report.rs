//! What `thinning.json` says of targets and of the crew.

use serde::Serialize;

use super::{
    thinned::{DECIMALS, Thinned},
    thinning_report::zone_id,
};
use crate::{plan::CrewOutlook, write::layers::rounded};

#[derive(Debug, Serialize)]
pub(super) struct CrewReport<'a> {
    people: u32,
    hours_per_day: f64,
    days: f64,
    finished: Vec<FinishedReport<'a>>,
    late: Vec<LateReport<'a>>,
    enough: Option<u32>,
}

#[derive(Debug, Serialize)]
struct FinishedReport<'a> {
    zone: &'a str,
    day: f64,
    in_time: Option<bool>,
}

#[derive(Debug, Serialize)]
struct LateReport<'a> {
    zone: &'a str,
    hours: f64,
}

/// The target of a planting, and what vigor made of it.
#[derive(Debug, Serialize)]
pub(super) struct TargetReport<'a> {
    cultivar: Option<&'a str>,
    low_per_m: f64,
    high_per_m: f64,
    source: &'a str,
    by_vigor: Vec<VigorReport>,
}

#[derive(Debug, Serialize)]
struct VigorReport {
    vigor_class: &'static str,
    vines: usize,
    aim_per_m: f64,
}

/// The targets by planting.
pub(super) fn target_reports<'a>(thinned: &Thinned<'a>) -> Vec<TargetReport<'a>> {
    let plantings = thinned.evidence.site.plantings.all();
    let told = thinned.plan.targets.iter().map(|target| TargetReport {
        cultivar: plantings[target.planting].cultivar.as_deref(),
        low_per_m: rounded(target.range.low().per_metre(), DECIMALS),
        high_per_m: rounded(target.range.high().per_metre(), DECIMALS),
        source: &target.source,
        by_vigor: (target.by_vigor.iter())
            .map(|&(class, vines, aim)| VigorReport {
                vigor_class: class.word(),
                vines,
                aim_per_m: rounded(aim, DECIMALS),
            })
            .collect(),
    });
    told.collect()
}

pub(super) fn crew_report<'a>(thinned: &Thinned<'a>, crew: &CrewOutlook) -> CrewReport<'a> {
    let finished = crew.finished.iter().map(|&(zone, day, in_time)| FinishedReport {
        zone: zone_id(thinned, zone),
        day: rounded(day, 3),
        in_time,
    });
    let late = crew.late.iter().map(|&(zone, hours)| LateReport {
        zone: zone_id(thinned, zone),
        hours: rounded(hours, 3),
    });
    CrewReport {
        people: crew.people,
        hours_per_day: crew.hours_per_day,
        days: rounded(crew.days, 3),
        finished: finished.collect(),
        late: late.collect(),
        enough: crew.enough,
    }
}
