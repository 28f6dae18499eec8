//! The vines that were weighed: each by its own prunings.

use super::{
    PruneRules,
    crop_load::crop_load,
    keep::{Keep, keep},
    plantings::PlantingPruning,
    size_of,
};
use crate::{
    maths::float,
    plan::{Evidence, VigorClass},
    units::{Kilograms, Metres, PerMetre},
};

/// A vine that was weighed, or the vines of a panel that were weighed together.
#[derive(Debug, Clone, PartialEq)]
pub struct WeighedVine {
    /// Its vines, as indices into the layout's; one for a vine weighed for itself.
    pub vines: Vec<usize>,
    /// Its planting.
    pub planting: usize,
    /// Prunings of a vine; their mean for a panel.
    pub prunings: Kilograms,
    /// Canopy of a vine; their mean for a panel.
    pub canopy: Metres,
    /// Prunings per metre of canopy.
    pub per_m: PerMetre,
    /// Its size.
    pub size: VigorClass,
    /// Its crop, where it is known: of a vine, or their mean.
    pub crop: Option<Kilograms>,
    /// Crop over prunings.
    pub load: Option<f64>,
    /// What to keep; `None` without a formula.
    pub keep: Option<Keep>,
}

/// Every vine and panel with a weight, young ones left out.
pub(super) fn weighed(
    evidence: Evidence<'_>,
    grown: &[bool],
    (plantings, rules): (&[PlantingPruning], &PruneRules<'_>),
) -> Vec<WeighedVine> {
    let dormant = &evidence.joined.dormant;
    let of_grown = dormant.weighed.iter().filter(|one| one.vines.iter().all(|&v| grown[v]));
    of_grown
        .map(|one| {
            let number = float(one.vines.len());
            let planting = evidence.joined.vines[one.vines[0]].planting;
            let canopy = Metres::new(one.canopy_m / number);
            let kilograms = |per_m: f64| Kilograms::new(per_m * canopy.metres());
            let prunings = kilograms(one.per_m);
            let crop = dormant.picked.iter().find(|picked| picked.vines == one.vines);
            let crop = crop.map(|picked| kilograms(picked.per_m));
            let how = (&rules.targets, nodes_per_spur(rules));
            WeighedVine {
                vines: one.vines.clone(),
                planting,
                prunings,
                canopy,
                per_m: PerMetre::new(one.per_m),
                size: size_of(one.per_m, rules),
                crop,
                load: crop.and_then(|crop| crop_load(crop, prunings)),
                keep: keep((prunings, canopy), &plantings[planting], how),
            }
        })
        .collect()
}

pub(super) fn nodes_per_spur(rules: &PruneRules<'_>) -> usize {
    usize::try_from(rules.prune.nodes_per_spur).unwrap_or(1)
}
