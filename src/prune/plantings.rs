//! The rules of each planting, and what its vines show together.

use super::{
    PruneRules,
    buds::{BudAdvice, BudLoss},
    crop_load::{LoadBand, published_bands},
    formula::NodeRules,
    size::{Side, SizeLimits, published_limits},
    weighed::WeighedVine,
};
use crate::{
    block::VineType,
    maths::float,
    plan::Evidence,
    settings::{BudRule, NodeFormula, Planting, PruneSettings},
    units::TargetRange,
    zones::wanted::range_of,
};

/// The rules of a planting and what was found in it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantingPruning {
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// Grown vines.
    pub vines: usize,
    /// Grown vines that were weighed, alone or with their panel.
    pub weighed: usize,
    /// Formula, floor and cap; `None` where nobody gave one for its kind.
    pub rules: Option<NodeRules>,
    /// Where the formula comes from.
    pub formula_source: &'static str,
    /// The rule for dead buds that is used.
    pub rule: BudRule,
    /// Dead buds; `None` where nobody looked.
    pub buds: Option<BudLoss>,
    /// Shoots wanted in spring.
    pub target: Option<TargetRange>,
    /// Limits of size that authorities publish, with weighed vines below, within and above.
    pub by_limits: Vec<(SizeLimits, [usize; 3])>,
    /// Crop load of the vines whose crop is known.
    pub load: Option<CropLoad>,
}

/// The crop load of some vines together.
#[derive(Debug, Clone, PartialEq)]
pub struct CropLoad {
    /// Their crop over their prunings.
    pub load: f64,
    /// Vines or panels whose crop and prunings are known.
    pub number: usize,
    /// Published bands, the first the one of the verdict, each with the side of `load`.
    pub bands: Vec<(LoadBand, Side)>,
}

impl PlantingPruning {
    /// The share of buds that live; 1 where nobody looked, and never 0.
    pub fn live_share(&self) -> f64 {
        self.buds.map_or(1.0, |buds| (1.0 - buds.share()).max(LEAST_LIVE))
    }

    /// What a rule says of its dead buds; `None` where nobody looked.
    pub fn advice(&self, rule: BudRule) -> Option<BudAdvice> {
        self.buds.map(|buds| rule.advice(buds.share()))
    }

    /// What the rule used would say at both ends of the interval of dead buds.
    pub fn advice90(&self) -> Option<[BudAdvice; 2]> {
        self.buds.map(|buds| buds.share90().map(|share| self.rule.advice(share)))
    }
}

/// Shoots cannot be reckoned from no live bud at all.
const LEAST_LIVE: f64 = 0.01;

/// Every planting with its rules; nothing is counted yet.
pub(super) fn plantings(
    evidence: Evidence<'_>,
    grown: &[bool],
    rules: &PruneRules<'_>,
) -> Vec<PlantingPruning> {
    let records = &evidence.joined.vines;
    let all = evidence.site.plantings.all().iter().enumerate();
    all.map(|(at, planting)| {
        let own = records.iter().zip(grown).filter(|(vine, grown)| **grown && vine.planting == at);
        let (formula, formula_source) = formula_of(planting, rules.prune);
        let buds = evidence.joined.dormant.buds.get(at).copied().flatten();
        PlantingPruning {
            cultivar: planting.cultivar.clone(),
            vines: own.count(),
            weighed: 0,
            rules: formula.map(|formula| NodeRules::new(formula, rules.prune)),
            formula_source,
            rule: rules.prune.bud_rule,
            buds: buds.and_then(BudLoss::of),
            target: range_of(planting, &rules.targets),
            by_limits: published_limits(planting.curtains).map(|limits| (limits, [0; 3])).into(),
            load: None,
        }
    })
    .collect()
}

/// The formula of a planting and where it comes from.
fn formula_of(
    planting: &Planting,
    settings: &PruneSettings,
) -> (Option<NodeFormula>, &'static str) {
    if settings.formula.is_some() {
        return (settings.formula, "given with --formula");
    }
    let of_kind = match planting.vine_type {
        Some(VineType::Vinifera) => settings.vinifera,
        Some(VineType::Hybrid) => settings.hybrid,
        Some(VineType::Native) => settings.native,
        None => return (None, "no `type` is given"),
    };
    (of_kind.formula, of_kind.source)
}

/// Counts up what the weighed vines show.
pub(super) fn count_up(
    plantings: &mut [PlantingPruning],
    weighed: &[WeighedVine],
    evidence: Evidence<'_>,
) {
    for (at, planting) in plantings.iter_mut().enumerate() {
        let own: Vec<&WeighedVine> = weighed.iter().filter(|one| one.planting == at).collect();
        planting.weighed = own.iter().map(|one| one.vines.len()).sum();
        for (limits, sides) in &mut planting.by_limits {
            for one in &own {
                let side = match limits.side(one.per_m) {
                    Side::Below => 0,
                    Side::Within => 1,
                    Side::Above => 2,
                };
                sides[side] += one.vines.len();
            }
        }
        if let Some(grows) = evidence.site.plantings.all().get(at) {
            planting.load = load_of(own.iter().copied(), grows);
        }
    }
}

/// The crop load of some vines together: all of their crop over all of their prunings.
pub(super) fn load_of<'a>(
    weighed: impl Iterator<Item = &'a WeighedVine>,
    planting: &Planting,
) -> Option<CropLoad> {
    let known = weighed.filter_map(|one| {
        let number = float(one.vines.len());
        Some((one.crop?.kilograms() * number, one.prunings.kilograms() * number))
    });
    let (mut crop, mut prunings, mut number) = (0.0, 0.0, 0);
    for (of_crop, of_prunings) in known {
        crop += of_crop;
        prunings += of_prunings;
        number += 1;
    }
    let load = (prunings > 0.0).then(|| crop / prunings)?;
    let bands = published_bands(planting.vine_type, planting.curtains).into_iter();
    let bands = bands.map(|band| (band, band.side(load))).collect();
    Some(CropLoad { load, number, bands })
}
