//! `pruning.json`, and what the report of `prune` tells: the same numbers with their rules and
//! sources.

use serde::Serialize;

use super::thinned::{DECIMALS, LENGTH_DECIMALS};
use crate::{
    error::Error,
    finding::Findings,
    plan::Evidence,
    prune::{
        CropLoad, PlantingPruning, Pruning, SizeClass,
        crop_load::load_words,
        spurs::{Binds, Spurs},
    },
    settings::BudRule,
    units::PerMetre,
    write::{layers::rounded, run_record::pretty},
};

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
    /// By published band, the first one's words first.
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
    /// formula, target or both.
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

const CAUTIONS: &[&str] = &[
    "cultivars differ: formulas, caps and what to do after bud kill are for your local extension \
     viticulturist to say, and local advice goes first",
    "shears, saws and wires under tension hurt: eyes and hands covered, wires slackened and cut by \
     who has been trained for it, by your local rules",
    "weigh one-year-old wood only; look at buds after the canes have been warm for 24 to 48 hours",
];

/// What is told of a pruning; `limits` are those of size with their source.
pub fn pruning_summary(
    evidence: Evidence<'_>,
    pruning: &Pruning,
    (weak, excess, limits_source): (PerMetre, PerMetre, String),
) -> PruningSummary {
    let joined = evidence.joined;
    let method = evidence.estimate.vigor.as_ref().map(|(_, field)| field.why.clone());
    PruningSummary {
        records: [joined.records.len(), joined.unjoined.len()],
        weighed: pruning.weighed.len(),
        method: method.filter(|_| pruning.estimated),
        weak_kg_per_m: weak.per_metre(),
        excess_kg_per_m: excess.per_metre(),
        limits_source,
        plantings: pruning.plantings.iter().filter(|own| own.vines > 0).map(planting).collect(),
        classes: pruning.classes.iter().map(|own| class(evidence, pruning, own)).collect(),
        buds: pruning.buds.as_ref().map(buds),
        cautions: CAUTIONS.to_vec(),
    }
}

fn buds(loss: &crate::prune::BudLoss) -> BudSummary {
    let [low, high] = loss.share90();
    let dead_share = [loss.share(), low, high].map(|share| rounded(share, DECIMALS));
    BudSummary { dead: loss.dead, buds: loss.buds, dead_share }
}

fn planting(own: &PlantingPruning) -> PlantingSummary {
    let rule = |rule: BudRule| RuleSummary {
        rule: rule.word(),
        used: rule == own.rule,
        says: own.advice(rule).map(|says| says.words()),
        source: rule.source(),
    };
    PlantingSummary {
        cultivar: own.cultivar.clone(),
        vines: own.vines,
        weighed_vines: own.weighed,
        formula: own.rules.map(|rules| rules.formula.to_string()),
        formula_source: own.formula_source.to_owned(),
        nodes_within: own.rules.map(|rules| [rules.fewest, rules.most]),
        buds: own.buds.as_ref().map(buds),
        bud_rule: own.rule.word(),
        rules: BudRule::ALL.map(rule).into(),
        rule_says90: own.advice90().map(|ends| ends.map(|says| says.words())),
        other_limits: own.by_limits.iter().map(limits).collect(),
        crop_load: own.load.as_ref().map(load),
    }
}

fn limits((limits, sides): &(crate::prune::size::SizeLimits, [usize; 3])) -> LimitsSummary {
    LimitsSummary {
        who: limits.who,
        kg_per_m: [limits.low, limits.high].map(|end| rounded(end.per_metre(), DECIMALS)),
        weighed_vines: *sides,
        source: limits.source,
    }
}

fn load(load: &CropLoad) -> LoadSummary {
    let band = |(band, side): &(crate::prune::crop_load::LoadBand, _)| BandSummary {
        who: band.who,
        within: [band.low, band.high],
        says: load_words(*side),
        source: band.source,
    };
    LoadSummary {
        load: rounded(load.load, 3),
        number: load.number,
        bands: load.bands.iter().map(band).collect(),
    }
}

fn class(evidence: Evidence<'_>, pruning: &Pruning, own: &SizeClass) -> ClassSummary {
    let planting = pruning.plantings.get(own.planting);
    let keep = own.keep;
    let spurs: Option<Spurs> = keep.and_then(|keep| keep.spurs);
    let per_m = |density: PerMetre| rounded(density.per_metre(), DECIMALS);
    let panel = |&panel: &usize| {
        let panel = evidence.layout.panels.get(panel)?;
        Some(evidence.layout.digits.panel(panel.row, panel.panel))
    };
    let target = planting.and_then(|planting| planting.target);
    ClassSummary {
        cultivar: planting.and_then(|planting| planting.cultivar.clone()),
        vine_size: own.size.word(),
        rows: own.rows.clone(),
        panels: own.panels.iter().filter_map(panel).collect(),
        vines: own.vines.len(),
        weighed_vines: own.weighed,
        canopy_per_vine_m: rounded(own.canopy.metres(), LENGTH_DECIMALS),
        pruning_kg_per_m: per_m(own.per_m),
        pruning_kg_per_m90: own.per_m90.map(|ends| ends.map(per_m)),
        nodes_by_formula: keep.map(|keep| keep.by_formula),
        nodes: keep.and_then(|keep| keep.nodes),
        nodes90: own.keep90.and_then(|[low, high]| Some([low.nodes?, high.nodes?])),
        nodes_beyond_cap: keep.and_then(|keep| keep.beyond_cap),
        nodes_by_rule: keep.map(|keep| keep.by_rule),
        shoots_per_m: spurs.map(|spurs| per_m(spurs.shoots)),
        target_per_m: target.map(|target| [target.low(), target.high()].map(per_m)),
        nodes_for_aim: spurs.and_then(|spurs| spurs.nodes_for_aim),
        binds: spurs.and_then(|spurs| spurs.binds).map(Binds::word),
        leave: spurs.map(|spurs| spurs.leave),
        spurs: spurs.map(|spurs| spurs.positions),
        spurs_per_m: spurs.map(|spurs| per_m(spurs.density)),
        crop_load: own.load.as_ref().map(|load| rounded(load.load, 3)),
        advice: advice(own),
    }
}

/// What to mind in a class.
fn advice(own: &SizeClass) -> Vec<&'static str> {
    use crate::plan::VigorClass::{Excess, Weak};
    let mut advice = Vec::new();
    if own.size == Excess {
        advice.push(
            "in excess: more canopy length is the answer (a divided canopy, or every other vine \
             out), not more nodes on this one",
        );
    }
    if own.size == Weak {
        advice.push("weak: look for the cause (drought, disease, winter injury, too much crop)");
    }
    match own.keep.and_then(|keep| keep.spurs).and_then(|spurs| spurs.binds) {
        Some(Binds::Target) => advice.push(
            "the formula keeps more nodes than spring's shoot target has room for: the target \
             binds; else they come off as shoots",
        ),
        Some(Binds::Formula) => advice.push(
            "the formula keeps fewer nodes than spring's shoot target has room for: the formula \
             binds, the vine cannot feed more",
        ),
        Some(Binds::Both) | None => {}
    }
    advice
}

/// What `pruning.json` says.
#[derive(Debug, Serialize)]
struct Report<'a> {
    block: &'a str,
    #[serde(flatten)]
    summary: &'a PruningSummary,
    warnings: Vec<String>,
}

/// The bytes of `pruning.json`.
///
/// # Errors
/// A fault of the program: a number that is not finite.
pub fn pruning_json(
    block: &str,
    summary: &PruningSummary,
    findings: &Findings,
) -> Result<Vec<u8>, Error> {
    let warnings = findings.iter().map(ToString::to_string).collect();
    pretty(&Report { block, summary, warnings })
}
