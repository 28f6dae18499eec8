//! From a [`Pruning`] to what is told of it, with every rule and source, and to `pruning.json`.

use serde::Serialize;

use super::{
    pruning_summary::{
        BandSummary, BudSummary, ClassSummary, LimitsSummary, LoadSummary, PlantingSummary,
        PruningSummary, RuleSummary,
    },
    thinned::{DECIMALS, LENGTH_DECIMALS},
};
use crate::{
    error::Error,
    finding::Findings,
    plan::Evidence,
    prune::{
        BudAdvice, CropLoad, PlantingPruning, Pruning, SizeClass,
        crop_load::load_words,
        spurs::{Binds, Spurs},
    },
    settings::BudRule,
    units::PerMetre,
    write::{layers::rounded, run_record::pretty},
};

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
    let grown = pruning.plantings.iter().enumerate().filter(|(_, own)| own.vines > 0);
    PruningSummary {
        records: [joined.records.len(), joined.unjoined.len()],
        weighed: pruning.weighed.len(),
        method: method.filter(|_| pruning.estimated),
        weak_kg_per_m: weak.per_metre(),
        excess_kg_per_m: excess.per_metre(),
        limits_source,
        plantings: grown.map(planting).collect(),
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

fn planting((index, own): (usize, &PlantingPruning)) -> PlantingSummary {
    let rule = |rule: BudRule| RuleSummary {
        rule: rule.word(),
        used: rule == own.rule,
        says: own.advice(rule).map(BudAdvice::words),
        source: rule.source(),
    };
    PlantingSummary {
        planting: index,
        cultivar: own.cultivar.clone(),
        vines: own.vines,
        weighed_vines: own.weighed,
        formula: own.rules.map(|rules| rules.formula.to_string()),
        formula_source: own.formula_source.to_owned(),
        nodes_within: own.rules.map(|rules| [rules.fewest, rules.most]),
        buds: own.buds.as_ref().map(buds),
        bud_rule: own.rule.word(),
        rules: BudRule::ALL.map(rule).into(),
        rule_says90: own.advice90().map(|ends| ends.map(BudAdvice::words)),
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
        // Enough to tell on which side of a band's end it lies.
        load: rounded(load.load, 6),
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
        planting: own.planting,
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
        Some(Binds::Cap) => advice.push(
            "the cap keeps fewer nodes than spring's shoot target has room for: the cap binds; ask \
             your local extension viticulturist what the cultivar carries",
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
