//! Person-minutes spent beside those that the plan reckoned with.

use super::Recounted;
use crate::{
    join::Joined,
    maths::float,
    plan::{Labour, Plan},
    settings::PlanSettings,
};

/// Timed work on places that were counted before and after it.
#[derive(Debug, Clone, PartialEq)]
pub struct TimedWork {
    /// Timed places.
    pub places: usize,
    /// Person-minutes spent.
    pub spent_min: f64,
    /// Person-minutes that the plan's labour reckons for the shoots that came off there.
    pub reckoned_min: f64,
    /// The plan's labour at this pace; `None` of too few places for hours to follow them.
    pub labour: Option<Labour>,
}

/// The timed work of a recount; `None` where no pair was timed.
///
/// Suckers are part of the minutes: those counted before the work are reckoned with, unless a fit of
/// the plan's labour to timed work holds them already.
pub(super) fn timed(
    (plan, before): (&Plan, &Joined),
    (after, places): (&Joined, &[Recounted]),
    settings: &PlanSettings,
) -> Option<TimedWork> {
    let suckers = before.suckers_per_vine.filter(|_| plan.labour.assumed).unwrap_or(0.0);
    // Records whose shoots are not used, such as those from before the work, time nothing.
    let used = after.records.iter().filter(|record| record.shoots_per_m.is_some());
    let timed = used.filter_map(|record| {
        let minutes = record.count.minutes.filter(|minutes| *minutes > 0.0)?;
        let place = places.iter().find(|place| {
            place.vines.iter().all(|vine| record.vines.contains(vine))
                && record.vines.iter().all(|vine| {
                    place.vines.contains(vine) || after.vines[*vine].status.is_missing()
                })
        })?;
        let off = (-place.change_per_m()? * place.canopy_m).max(0.0);
        let vines = float(place.vines.len());
        Some([minutes, 60.0 * plan.labour.hours(vines, off + suckers * vines)])
    });
    let records: Vec<[f64; 2]> = timed.collect();
    let sum = |at: usize| records.iter().map(|record| record[at]).sum();
    (!records.is_empty()).then(|| TimedWork {
        places: records.len(),
        spent_min: sum(0),
        reckoned_min: sum(1),
        labour: plan.labour.at_pace_of(&records, settings),
    })
}
