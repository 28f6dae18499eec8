//! The settings of a thinning: those of the file, and what the call says beside them.

use crate::{
    jobs::{Call, Neighbours},
    settings::{EstimateSettings, JoinSettings, PlanSettings, ZoneSettings},
};

pub(super) fn join_settings(call: &Call) -> JoinSettings {
    JoinSettings { not_before: call.thinning.frost, ..call.settings.join() }
}

pub(super) fn estimate_settings(call: &Call) -> EstimateSettings {
    let settings = call.settings.estimate();
    let (neighbours, all_at_once) = match call.thinning.neighbours {
        None => (settings.neighbours, false),
        Some(Neighbours::All) => (settings.neighbours, true),
        Some(Neighbours::Nearest(number)) => (number, false),
    };
    EstimateSettings {
        neighbours,
        all_at_once,
        most_at_once: match call.thinning.neighbours {
            Some(Neighbours::Nearest(number)) => number,
            _ => settings.most_at_once,
        },
        pinned: call.thinning.variogram,
        no_count_noise: call.thinning.no_count_noise,
        ..settings
    }
}

pub(super) fn zone_settings(call: &Call) -> ZoneSettings {
    let settings = call.settings.zones();
    ZoneSettings { whole_rows: settings.whole_rows || call.thinning.whole_rows, ..settings }
}

pub(super) fn plan_settings(call: &Call) -> PlanSettings {
    let settings = call.settings.plan();
    let thinning = &call.thinning;
    PlanSettings {
        crew: thinning.crew,
        hours_per_day: thinning.hours_per_day.unwrap_or(settings.hours_per_day),
        date: thinning.date,
        last_frost: thinning.last_frost,
        frost: thinning.frost,
        seed: thinning.seed.unwrap_or(settings.seed),
        ..settings
    }
}
