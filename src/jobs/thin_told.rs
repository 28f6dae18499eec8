//! What is told of a thinned block.

use super::{prepare, thin::Thinning};
use crate::{
    jobs::{
        Call,
        report::BlockReport,
        thinning_report::{self, ThinningReport},
    },
    names::number_of,
    picture::{count_of, shoots_reading, sure_lines},
    plan::{CrewOutlook, Plan, VigorClass},
    units::ReadingUnits,
    zones::Zones,
};

/// The report of a thinned block.
pub(super) fn tell(call: &Call, thinning: &Thinning, folder: &str) -> BlockReport {
    let Thinning { ground, joined, estimate, sure, zones, plan, .. } = thinning;
    let units = prepare::units(call, &ground.block);
    let told = ThinningReport {
        records: [joined.records.len(), joined.unjoined.len()],
        counted_vines: joined.vines.iter().filter(|vine| vine.counted).count(),
        method: estimate.shoots.why.clone(),
        sure: sure_lines(sure, units),
        block: sure.block.map(thinning_report::block_mean),
        by_design: (estimate.by_design.as_ref())
            .map(|design| thinning_report::by_design(design, &ground.site)),
        zones_why: zones.why.clone(),
        targets: target_words(thinning, units),
        zones: thinning_report::zones(zones, plan),
        differences: thinning_report::differences(zones, units),
        remove: plan.zones.iter().map(|zone| zone.remove.value).sum(),
        hours: plan.zones.iter().map(|zone| zone.hours.value).sum(),
        labour: plan.labour.source.clone(),
        frost: plan.frost.map(|date| date.to_string()),
        window: thinning_report::window(zones, plan),
        crew: (plan.crew.as_ref())
            .filter(|crew| !crew.finished.is_empty())
            .map(|crew| crew_words(crew, plan, zones)),
    };
    BlockReport { thinning: Some(told), ..BlockReport::of(ground, folder, units) }
}

fn crew_words(crew: &CrewOutlook, plan: &Plan, zones: &Zones) -> String {
    let zone = |(zone, day, in_time): &(usize, f64, Option<bool>)| {
        let late = if *in_time == Some(false) { ", too late" } else { "" };
        format!("{} after {day:.1} days{late}", zones.zones[*zone].id)
    };
    let finished: Vec<String> = crew.finished.iter().map(zone).collect();
    let people = count_of(crew.people as usize, "person", "people");
    let mut said = format!(
        "{people}, {} h a day, every day worked: {:.1} days ({})",
        crew.hours_per_day,
        crew.days,
        finished.join("; ")
    );
    if !crew.late.is_empty() {
        let late = crew.late.iter();
        let late = late.map(|(zone, hours)| format!("{hours:.1} h of {}", zones.zones[*zone].id));
        let late: Vec<String> = late.collect();
        let hands = crew.enough.map_or_else(
            || "no crew would be in time".to_owned(),
            |people| format!("{people} people would finish all in time"),
        );
        said = format!(
            "{said}; {} fall after the window closes: {hands}; what is left there, leave at {}",
            late.join(" and "),
            plan.take_off.lightly()
        );
    }
    said
}

/// The targets in the units that people read: range, who says so, and what vigor made of it.
fn target_words(thinning: &Thinning, units: ReadingUnits) -> Vec<String> {
    let reading = shoots_reading(units);
    let number = |per_m: f64| format!("{:.1}", per_m * reading.factor);
    let told = thinning.plan.targets.iter().map(|target| {
        let planting = &thinning.ground.site.plantings.all()[target.planting];
        let cultivar = planting.cultivar.as_deref().unwrap_or("the vines");
        let [low, high] =
            [target.range.low(), target.range.high()].map(|end| number(end.per_metre()));
        let by_vigor = target.by_vigor.iter();
        let aims = by_vigor.map(|(class, vines, aim)| {
            format!("{} on {} {}", number(*aim), number_of(*vines, "vine"), of_class(*class))
        });
        let aims: Vec<String> = aims.collect();
        let aims = if aims.is_empty() {
            "the middle is aimed at: nothing is known of the vigor".to_owned()
        } else {
            format!("aims {}", aims.join(", "))
        };
        let (unit, source) = (reading.short, &target.source);
        format!("{cultivar}: leave {low} to {high} shoots{unit} ({source}); {aims}")
    });
    told.collect()
}

fn of_class(class: VigorClass) -> String {
    match class {
        VigorClass::Below | VigorClass::Near | VigorClass::Above => {
            format!("{} the mean vigor", class.word())
        }
        VigorClass::Weak | VigorClass::Moderate | VigorClass::Strong | VigorClass::Excess => {
            format!("of {} vigor", class.word())
        }
    }
}
