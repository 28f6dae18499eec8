//! In which order zones are worked, and what a crew can finish in time.

use jiff::civil::Date;

use super::{CrewOutlook, Window, ZonePlan, deadline::days_between};
use crate::settings::PlanSettings;

/// The zones to work, in order: which closes first, then most excess per hour, then lowest id.
pub(super) fn order(zones: &[ZonePlan]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..zones.len()).filter(|&z| zones[z].remove.value > 0.0).collect();
    let gain = |zone: &ZonePlan| zone.remove.value / zone.hours.value.max(f64::MIN_POSITIVE);
    order.sort_by(|&a, &b| {
        let (one, other) = (&zones[a], &zones[b]);
        // A zone without a date waits for those that have one.
        let closing = |zone: &ZonePlan| zone.thin_by.unwrap_or(Date::MAX);
        let closes = closing(one).cmp(&closing(other));
        closes.then(gain(other).total_cmp(&gain(one))).then(a.cmp(&b))
    });
    order
}

/// What a crew can finish, when its size is known.
///
/// Work starts when the window opens, or on the day of the plan where that is later.
pub(super) fn outlook(
    zones: &[ZonePlan],
    order: &[usize],
    window: &Window,
    settings: &PlanSettings,
) -> Option<CrewOutlook> {
    let people = settings.crew.filter(|people| *people > 0)?;
    let hours_a_day = f64::from(people) * settings.hours_per_day;
    let start = start(window, settings);
    let mut days = 0.0;
    let finished = order.iter().map(|&zone| {
        days += zones[zone].hours.value / hours_a_day;
        (zone, days, start.and_then(|start| in_time(start, days, zones[zone].thin_by)))
    });
    let finished: Vec<(usize, f64, Option<bool>)> = finished.collect();
    Some(CrewOutlook { people, hours_per_day: settings.hours_per_day, days, finished })
}

/// The first day of work.
fn start(window: &Window, settings: &PlanSettings) -> Option<Date> {
    match (window.opens, settings.date) {
        (Some(opens), Some(today)) => Some(opens.max(today)),
        (opens, today) => opens.or(today),
    }
}

fn in_time(start: Date, days: f64, thin_by: Option<Date>) -> Option<bool> {
    let left = f64::from(days_between(start, thin_by?)) + 1.0;
    Some(days <= left)
}
