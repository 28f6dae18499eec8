//! What each year's own plan says of a part.

use super::{Part, YearFacts};
use crate::plan::{Plan, Verdict};

/// What is planned for a part in one year.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Planned {
    /// Shoots to leave per metre of canopy: the mean aim of its vines.
    pub aim_per_m: Option<f64>,
    /// The verdict on a zone; of a block, how many of that year's own zones have which.
    pub verdict: Option<String>,
    /// Shoots to take off.
    pub remove: Option<f64>,
    /// Person-hours.
    pub hours: Option<f64>,
}

/// The plan of a year for the block, and for its own zones; a zone of another year has an aim only.
pub(super) fn planned(part: &Part, year: &YearFacts<'_>, is_latest: bool) -> Planned {
    let plan = year.plan;
    let aim_per_m = aim(part, year);
    match part.zone.and_then(|zone| plan.zones.get(zone)).filter(|_| is_latest) {
        Some(own) => Planned {
            aim_per_m: own.target_per_m.map(|target| target.aim_per_m).or(aim_per_m),
            verdict: Some(own.verdict.word().to_owned()),
            remove: Some(own.remove.value),
            hours: Some(own.hours.value),
        },
        None if part.zone.is_none() && !plan.zones.is_empty() => Planned {
            aim_per_m,
            verdict: Some(verdicts(plan)),
            remove: Some(plan.remove.value),
            hours: Some(plan.zones.iter().map(|zone| zone.hours.value).sum()),
        },
        None => Planned { aim_per_m, ..Planned::default() },
    }
}

/// The mean aim over the canopy of the part's vines.
fn aim(part: &Part, year: &YearFacts<'_>) -> Option<f64> {
    let records = &year.evidence.joined.vines;
    let (sum, metres) = part.vines.iter().fold((0.0, 0.0), |(sum, metres), &vine| {
        let canopy_m = records[vine].canopy_m;
        match year.plan.vines[vine].target {
            Some(target) => (sum + canopy_m * target.aim_per_m, metres + canopy_m),
            None => (sum, metres),
        }
    });
    (metres > 0.0).then(|| sum / metres)
}

/// `2 overcrowded, 1 on-target`; of one zone, its verdict.
fn verdicts(plan: &Plan) -> String {
    let all = [Verdict::Overcrowded, Verdict::OnTarget, Verdict::UnderTarget, Verdict::Undecided];
    let told = all.into_iter().filter_map(|verdict| {
        let number = plan.zones.iter().filter(|zone| zone.verdict == verdict).count();
        let word = verdict.word();
        match (number, plan.zones.len()) {
            (0, _) => None,
            (1, 1) => Some(word.to_owned()),
            _ => Some(format!("{number} {word}")),
        }
    });
    told.collect::<Vec<_>>().join(", ")
}
