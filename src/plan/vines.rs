//! What is planned for every vine.

use super::{
    Evidence, Verdict, VinePlan, VineTarget,
    removal::{Excess, excess},
    target::vigor_class,
};
use crate::{settings::PlanSettings, zones::wanted::vigor_of};

/// What is left on a vine, shoots per metre: the aim and the renewal shoots that are not counted
/// against it.
pub(super) fn left_per_m(target: &VineTarget, canopy_m: f64, settings: &PlanSettings) -> f64 {
    target.aim_per_m + settings.renewal_shoots / canopy_m
}

/// The excess of every vine place; 0 without a target or an estimate.
pub(super) fn excesses(
    evidence: Evidence<'_>,
    targets: &[Option<VineTarget>],
    settings: &PlanSettings,
) -> Vec<Excess> {
    let of_vine = |(vine, target): (usize, &Option<VineTarget>)| {
        excess_of(evidence, vine, target.as_ref(), settings).unwrap_or_default()
    };
    targets.iter().enumerate().map(of_vine).collect()
}

fn excess_of(
    evidence: Evidence<'_>,
    vine: usize,
    target: Option<&VineTarget>,
    settings: &PlanSettings,
) -> Option<Excess> {
    let target = target?;
    let believed = evidence.estimate.shoots.vines[vine]?;
    let canopy_m = evidence.joined.vines[vine].canopy_m;
    let zone = evidence.zones.of_vine[vine]?;
    let scale = evidence.zones.zones[zone].density.map_or(1.0, |density| density.scale);
    let sd = believed.se_per_m.unwrap_or(0.0) * scale;
    Some(excess(believed.per_m - left_per_m(target, canopy_m, settings), sd, canopy_m))
}

/// The plan of every vine place; shoots come off in overcrowded zones only.
pub(super) fn vine_plans(
    evidence: Evidence<'_>,
    (targets, excesses): (&[Option<VineTarget>], &[Excess]),
    verdicts: &[Verdict],
    settings: &PlanSettings,
) -> Vec<VinePlan> {
    let plan = |vine: usize| {
        let record = &evidence.joined.vines[vine];
        let zone = evidence.zones.of_vine[vine];
        let worked = zone.is_some_and(|zone| verdicts[zone] == Verdict::Overcrowded);
        let off = if worked { excesses[vine] } else { Excess::default() };
        let believed = evidence.estimate.shoots.vines[vine];
        let doubt_is_known = believed.is_some_and(|believed| believed.se_per_m.is_some());
        let vigor = vigor_of(evidence.estimate, vine, record.planting);
        let present = !record.status.is_missing();
        VinePlan {
            target: targets[vine],
            remove: present.then_some(off.shoots),
            remove_se: (present && (doubt_is_known || !worked)).then_some(off.sd),
            excess: excesses[vine].shoots,
            vigor: vigor.filter(|_| present).map(|v| vigor_class(v, &settings.targets())),
        }
    };
    (0..targets.len()).map(plan).collect()
}
