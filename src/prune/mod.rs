//! What is kept in winter: vine size, nodes, spur positions, and by which rules.
//!
//! Takes the [`Evidence`] of a block whose prunings were weighed, gives a [`Pruning`]. Never gives a
//! number without the rule that it follows, never gives nodes of its own to a vine that was not
//! weighed, never takes a vine without a weight for one without growth.
//!
//! Decided here, because authorities disagree:
//! - Vine size follows the limits of the settings; what other published limits would say stands
//!   beside it.
//! - Nodes follow a formula of balanced pruning (`30+10`), a floor and a cap, then a rule for dead
//!   buds; what every other published rule would give stands beside it. The cap holds after the rule.
//! - A vine that was not weighed belongs to a class by its panel's mean, and its class has nodes for
//!   a vine of mean weight, with an interval.
//! - Formula and spring's shoot target can disagree: the fewer nodes bind ([`spurs`]).
//! - Young vines are trained, not balanced: they have no nodes.

pub mod buds;
mod classes;
pub mod crop_load;
mod doubts;
pub mod formula;
mod keep;
mod plantings;
mod published;
pub mod size;
pub mod spurs;
#[cfg(test)]
mod tests;
mod weighed;

use jiff::civil::Date;

pub use self::{
    buds::{BudAdvice, BudLoss},
    classes::SizeClass,
    formula::NodeRules,
    keep::{Keep, keep},
    plantings::{CropLoad, PlantingPruning},
    published::published_rules,
    weighed::WeighedVine,
};
use crate::{
    finding::Findings,
    join::{JoinedRecord, VigorMeasure},
    plan::{Evidence, VigorClass, vigor_class},
    settings::{PlanSettings, PruneSettings, TargetSettings},
    zones::wanted::Vigor,
};

/// What is kept in winter.
#[derive(Debug, Clone)]
pub struct Pruning {
    /// By planting, in the site's order: its rules and what was found in it.
    pub plantings: Vec<PlantingPruning>,
    /// Vines and whole panels that were weighed, in the order of their vines.
    pub weighed: Vec<WeighedVine>,
    /// By vine place: the size of its panel by the estimate; `None` where nothing is known, no vine
    /// stands or it is young.
    pub sizes: Vec<Option<VigorClass>>,
    /// Plantings by class of size.
    pub classes: Vec<SizeClass>,
    /// Dead buds of all plantings together.
    pub buds: Option<BudLoss>,
    /// True where every vine has an estimate of its pruning weight.
    pub estimated: bool,
}

/// What the stage is told beside the evidence.
#[derive(Debug, Clone, Copy)]
pub struct PruneRules<'a> {
    /// Formulas, floor, cap, rule for buds.
    pub prune: &'a PruneSettings,
    /// Limits of size and targets of spring.
    pub targets: TargetSettings,
    /// Vines in these years of their life are young.
    pub young_years: i16,
    /// The day of the plan, for the age of vines where no record has a date.
    pub date: Option<Date>,
}

impl<'a> PruneRules<'a> {
    /// The rules of the settings.
    pub const fn new(prune: &'a PruneSettings, plan: &PlanSettings) -> Self {
        let (targets, young_years) = (plan.targets(), plan.young_years);
        Self { prune, targets, young_years, date: plan.date }
    }
}

/// Says what to keep; nothing in a block where no vine was weighed, and that is in the findings.
///
/// # Source
/// `docs/methods.md`, Winter pruning; see [`formula`], [`buds`], [`size`], [`crop_load`] and
/// [`spurs`].
pub fn prune(evidence: Evidence<'_>, rules: &PruneRules<'_>) -> (Pruning, Findings) {
    let grown = grown(evidence, rules);
    let mut plantings = plantings::plantings(evidence, &grown, rules);
    let weighed = weighed::weighed(evidence, &grown, (&plantings, rules));
    plantings::count_up(&mut plantings, &weighed, evidence);
    let classes = classes::classes(evidence, &grown, (&plantings, &weighed), rules);
    let pruning = Pruning {
        buds: evidence.joined.buds.and_then(BudLoss::of),
        estimated: field(evidence).is_some(),
        sizes: sizes(&classes, grown.len()),
        classes,
        plantings,
        weighed,
    };
    let findings = doubts::doubts(evidence, &grown, &pruning, rules);
    (pruning, findings)
}

/// By vine place: a vine stands there that is old enough to be pruned by its weight.
fn grown(evidence: Evidence<'_>, rules: &PruneRules<'_>) -> Vec<bool> {
    let joined = evidence.joined;
    let day = weighed_on(&joined.records).or(joined.date).or(rules.date);
    let year = day.map(Date::year);
    let plantings = evidence.site.plantings.all();
    let young: Vec<bool> =
        plantings.iter().map(|planting| planting.is_young(year, rules.young_years)).collect();
    let grown =
        evidence.joined.vines.iter().map(|vine| {
            !vine.status.is_missing() && !vine.status.is_young() && !young[vine.planting]
        });
    grown.collect()
}

/// The latest day on which a vine was weighed: counts of last spring's shoots say nothing of its age
/// this winter.
fn weighed_on(records: &[JoinedRecord]) -> Option<Date> {
    let records = records.iter().map(|record| &record.count);
    let weighed = records.filter(|count| count.pruning_weight_kg.is_some_and(|kg| kg > 0.0));
    weighed.filter_map(|count| count.date).max()
}

/// The estimate of pruning weights, where there is one.
fn field(evidence: Evidence<'_>) -> Option<&crate::estimate::Field> {
    let (measure, field) = evidence.estimate.vigor.as_ref()?;
    let known = field.vines.iter().any(Option::is_some);
    (*measure == VigorMeasure::PruningWeight && known).then_some(field)
}

/// By vine place: the class of its panel, where there is an estimate.
fn sizes(classes: &[SizeClass], places: usize) -> Vec<Option<VigorClass>> {
    let mut sizes = vec![None; places];
    for class in classes.iter().filter(|class| !class.panels.is_empty()) {
        for &vine in &class.vines {
            sizes[vine] = Some(class.size);
        }
    }
    sizes
}

fn size_of(kg_per_m: f64, rules: &PruneRules<'_>) -> VigorClass {
    vigor_class(Vigor::PruningWeight(kg_per_m), &rules.targets)
}
