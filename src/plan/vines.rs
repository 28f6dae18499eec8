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
    let canopy_m = evidence.joined.vines[vine].canopy_m;
    let (per_m, sd_per_m) = believed(evidence, vine)?;
    Some(excess(per_m - left_per_m(target, canopy_m, settings), sd_per_m, canopy_m))
}

/// Density of a vine and its scaled standard deviation, shoots per metre. Where the counts allow no
/// map the vine is one of its zone: around the zone's mean with the variance of a vine.
fn believed(evidence: Evidence<'_>, vine: usize) -> Option<(f64, f64)> {
    let field = &evidence.estimate.shoots;
    let density = evidence.zones.zones[evidence.zones.of_vine[vine]?].density?;
    let (per_m, se_per_m) = match field.vines[vine] {
        Some(own) => (own.per_m, own.se_per_m.unwrap_or(0.0)),
        None => (density.per_m, density.se.hypot(field.nugget().max(0.0).sqrt())),
    };
    Some((per_m, se_per_m * density.scale))
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
