//! The targets of a block as they are told: by planting, from where, and what vigor made of them.

use std::collections::BTreeMap;

use super::{Evidence, VigorClass, VinePlan};
use crate::{
    block::VineType,
    maths::float,
    settings::{PlanSettings, Planting, Settings, TABLE},
    units::TargetRange,
    zones::wanted::range_of,
};

/// The target of a planting and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct PlantingTarget {
    /// The planting, as an index into the site's plantings.
    pub planting: usize,
    /// Shoots to leave per metre of curtain, low and high end.
    pub range: TargetRange,
    /// Who says so.
    pub source: String,
    /// By class of vigor, weakest first: vines and their mean aim, shoots per metre. Empty where
    /// nothing is known of the vigor.
    pub by_vigor: Vec<(VigorClass, usize, f64)>,
}

/// The targets of the plantings that have vines to thin.
pub(super) fn planting_targets(
    evidence: Evidence<'_>,
    vines: &[VinePlan],
    settings: &PlanSettings,
) -> Vec<PlantingTarget> {
    let all = evidence.site.plantings.all();
    let told = all.iter().enumerate().filter_map(|(at, planting)| {
        let own = || {
            let places = evidence.joined.vines.iter().zip(vines);
            places.filter(move |(record, vine)| record.planting == at && vine.target.is_some())
        };
        own().next()?;
        let mut classes: BTreeMap<VigorClass, (usize, f64)> = BTreeMap::new();
        for (_, vine) in own() {
            if let Some((class, target)) = vine.vigor.zip(vine.target) {
                let (number, sum) = classes.entry(class).or_default();
                *number += 1;
                *sum += target.aim_per_m;
            }
        }
        let by_vigor =
            classes.into_iter().map(|(class, (number, sum))| (class, number, sum / float(number)));
        Some(PlantingTarget {
            planting: at,
            range: range_of(planting, &settings.targets())?,
            source: source(planting, settings),
            by_vigor: by_vigor.collect(),
        })
    });
    told.collect()
}

/// Whose range it is: the grower's, the settings file's, or that of the defaults' source.
fn source(planting: &Planting, settings: &PlanSettings) -> String {
    if planting.target.is_some() {
        return "your own target".to_owned();
    }
    let usual = Settings::default().plan();
    let (key, kind, same) = match planting.vine_type {
        Some(VineType::Vinifera) => {
            ("plan.vinifera", "vinifera", usual.vinifera == settings.vinifera)
        }
        Some(VineType::Hybrid) => ("plan.hybrid", "hybrid", usual.hybrid == settings.hybrid),
        Some(VineType::Native) | None => {
            ("plan.unsaid", "no type given", usual.unsaid == settings.unsaid)
        }
    };
    let published = TABLE.iter().find(|setting| setting.key == key).map(|setting| setting.source);
    match published.filter(|_| same) {
        Some(source) => format!("{kind}: {source}"),
        None => format!("{kind}: your settings, {key}"),
    }
}
