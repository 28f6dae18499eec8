//! What is told of a winter's pruning: the same numbers in `pruning.json`, in the report as JSON and in
//! the report for people.

use serde::Serialize;

/// What is told of a winter's pruning.
#[derive(Debug, Clone, Serialize)]
pub struct PruningSummary {
    /// Records joined and not.
    pub records: [usize; 2],
    /// Vines or whole panels that were weighed.
    pub weighed: usize,
    /// How weights were carried to the other vines; `None` where that could not be done.
    pub method: Option<String>,
    /// At and below it a vine is weak, kilograms per metre of canopy.
    pub weak_kg_per_m: f64,
    /// Above it, in excess.
    pub excess_kg_per_m: f64,
    /// Where these limits come from.
    pub limits_source: String,
    /// By planting.
    pub plantings: Vec<PlantingSummary>,
    /// By planting and class of size.
    pub classes: Vec<ClassSummary>,
    /// Dead buds and buds looked at in the whole block.
    pub buds: Option<BudSummary>,
    /// What anybody who prunes by these numbers should know.
    pub cautions: Vec<&'static str>,
}

/// What is told of a planting.
#[derive(Debug, Clone, Serialize)]
pub struct PlantingSummary {
    /// Its index in the site's plantings: two of them can be of one cultivar.
    pub planting: usize,
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// Grown vines.
    pub vines: usize,
    /// Of these, weighed.
    pub weighed_vines: usize,
    /// The formula; `None` where nobody gave one.
    pub formula: Option<String>,
    /// Where it comes from.
    pub formula_source: String,
    /// Fewest and most nodes on a vine.
    pub nodes_within: Option<[usize; 2]>,
    /// Dead buds.
    pub buds: Option<BudSummary>,
    /// The rule for dead buds that nodes follow.
    pub bud_rule: &'static str,
    /// What every published rule says of these buds.
    pub rules: Vec<RuleSummary>,
    /// What the rule used would say at both ends of the interval.
    pub rule_says90: Option<[String; 2]>,
    /// Limits of size that others publish.
    pub other_limits: Vec<LimitsSummary>,
    /// Crop load.
    pub crop_load: Option<LoadSummary>,
}

/// Dead buds.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct BudSummary {
    /// Dead ones.
    pub dead: usize,
    /// All looked at.
    pub buds: usize,
    /// Their share with its 90 % interval.
    pub dead_share: [f64; 3],
}

/// What a rule for dead buds says.
#[derive(Debug, Clone, Serialize)]
pub struct RuleSummary {
    /// Its name.
    pub rule: &'static str,
    /// True for the one that nodes follow.
    pub used: bool,
    /// What it says of these buds; `None` where nobody looked.
    pub says: Option<String>,
    /// Where it is printed.
    pub source: &'static str,
}

/// What published limits of size say.
#[derive(Debug, Clone, Serialize)]
pub struct LimitsSummary {
    /// Whose they are.
    pub who: &'static str,
    /// The lower and the upper, kilograms per metre of canopy.
    pub kg_per_m: [f64; 2],
    /// Weighed vines below, within and above.
    pub weighed_vines: [usize; 3],
    /// Where they are printed.
    pub source: &'static str,
}

/// Crop load with what it means.
#[derive(Debug, Clone, Serialize)]
pub struct LoadSummary {
    /// Yield over prunings.
    pub load: f64,
    /// Vines or panels whose yield and prunings are known.
    pub number: usize,
    /// By published band, that of the verdict first.
    pub bands: Vec<BandSummary>,
}

/// A published band of crop load.
#[derive(Debug, Clone, Serialize)]
pub struct BandSummary {
    /// Whose it is.
    pub who: &'static str,
    /// Its ends.
    pub within: [f64; 2],
    /// What it says: under-cropped, balanced, over-cropped.
    pub says: &'static str,
    /// Where it is printed.
    pub source: &'static str,
}

/// What is told of a class of size.
#[derive(Debug, Clone, Serialize)]
pub struct ClassSummary {
    /// Its planting, as the index that [`PlantingSummary`] has.
    pub planting: usize,
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// weak, moderate, strong or excess.
    pub vine_size: &'static str,
    /// Its rows.
    pub rows: String,
    /// Its panels, by id; none where only weighed vines are known.
    pub panels: Vec<String>,
    /// Grown vines.
    pub vines: usize,
    /// Of these, weighed.
    pub weighed_vines: usize,
    /// Canopy of a vine, metres.
    pub canopy_per_vine_m: f64,
    /// Prunings, kilograms per metre of canopy.
    pub pruning_kg_per_m: f64,
    /// Their 90 % interval.
    pub pruning_kg_per_m90: Option<[f64; 2]>,
    /// Nodes by the formula on a vine of mean weight.
    pub nodes_by_formula: Option<usize>,
    /// Nodes to keep; `None` where the rule says minimal pruning, or without a formula.
    pub nodes: Option<usize>,
    /// The same at both ends of the interval.
    pub nodes90: Option<[usize; 2]>,
    /// What the rule alone would keep, where the cap holds fewer.
    pub nodes_beyond_cap: Option<usize>,
    /// What every rule gives, without the cap, in the order of `rules`.
    pub nodes_by_rule: Option<[Option<usize>; 4]>,
    /// Shoots to expect in spring, per metre of canopy.
    pub shoots_per_m: Option<f64>,
    /// Spring's target, per metre of canopy.
    pub target_per_m: Option<[f64; 2]>,
    /// Nodes that would bring the aim inside it.
    pub nodes_for_aim: Option<usize>,
    /// formula, cap, target or both.
    pub binds: Option<&'static str>,
    /// Nodes to leave by what binds.
    pub leave: Option<usize>,
    /// Spur positions for them, on a vine.
    pub spurs: Option<usize>,
    /// The same per metre of canopy.
    pub spurs_per_m: Option<f64>,
    /// Crop load, where it is known.
    pub crop_load: Option<f64>,
    /// What to mind there.
    pub advice: Vec<&'static str>,
}
