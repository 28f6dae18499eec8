//! Person-minutes spent beside those that the plan reckoned with.

use super::Recounted;
use crate::{join::Joined, maths::float, plan::Plan};

/// Fewer timed places do not change how hours are reckoned.
const FEWEST_TIMED: usize = 5;

/// Timed work on places that were counted before and after it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimedWork {
    /// Timed places.
    pub places: usize,
    /// Person-minutes spent.
    pub spent_min: f64,
    /// Person-minutes that the plan's labour reckons for the shoots that came off there.
    pub reckoned_min: f64,
}

impl TimedWork {
    /// Minutes spent over minutes reckoned.
    pub fn pace(&self) -> f64 {
        self.spent_min / self.reckoned_min
    }

    /// True when there are enough for the hours of going back to follow them.
    pub fn is_enough(&self) -> bool {
        self.places >= FEWEST_TIMED && self.reckoned_min > 0.0
    }
}

/// The timed work of a recount; `None` where no pair was timed.
pub(super) fn timed(plan: &Plan, after: &Joined, places: &[Recounted]) -> Option<TimedWork> {
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
        Some((minutes, 60.0 * plan.labour.hours(float(place.vines.len()), off)))
    });
    let none = TimedWork { places: 0, spent_min: 0.0, reckoned_min: 0.0 };
    let all = timed.fold(none, |all, (spent, reckoned)| TimedWork {
        places: all.places + 1,
        spent_min: all.spent_min + spent,
        reckoned_min: all.reckoned_min + reckoned,
    });
    (all.places > 0).then_some(all)
}
