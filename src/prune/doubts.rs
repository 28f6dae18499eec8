//! What is doubtful about a winter's numbers.

use super::{PlantingPruning, PruneRules, Pruning};
use crate::{
    finding::{Finding, Findings, Place},
    plan::Evidence,
    settings::UnderAPound,
};

/// What whoever prunes should know of the rules and samples behind the numbers.
pub(super) fn doubts(
    evidence: Evidence<'_>,
    pruning: &Pruning,
    rules: &PruneRules<'_>,
) -> Findings {
    let block = format!("block `{}`", evidence.site.name);
    let place = |field: &str| Place::field(field).in_feature(block.clone());
    let mut doubts = Vec::new();
    for (at, planting) in pruning.plantings.iter().enumerate() {
        if planting.vines > 0 {
            doubts.extend(formula(planting, place("type")));
            doubts.extend(buds(planting, rules, place("buds")));
            doubts.extend(cap(pruning, at, place("--most-nodes")));
        }
    }
    doubts.extend(under_a_pound(pruning, rules, place("prune.under_a_pound")));
    doubts.extend(few_weights(pruning, place("pruning_weight")));
    doubts.into_iter().collect()
}

fn few_weights(pruning: &Pruning, place: Place) -> Option<Finding> {
    if pruning.weighed.is_empty() {
        let finding = Finding::warning(place, "no pruning weight of a grown vine")
            .because("nodes are balanced against the weight of a vine's own prunings")
            .mend("weigh some vines: a column pruning_weight_kg, or _lb, _g, _oz");
        return Some(finding);
    }
    (!pruning.estimated).then(|| {
        let what = format!("{} vines or panels were weighed", pruning.weighed.len());
        Finding::note(place, what)
            .because("too few for an estimate: sizes and nodes are those of the weighed vines only")
    })
}

fn name(planting: &PlantingPruning) -> &str {
    planting.cultivar.as_deref().unwrap_or("the vines")
}

fn formula(planting: &PlantingPruning, place: Place) -> Option<Finding> {
    if planting.rules.is_some() {
        return None;
    }
    let what = format!("{}: no formula, so no number of nodes", name(planting));
    let because = format!("{}; formulas differ by kind and cultivar", planting.formula_source);
    let mend = "give the block a `type` (vinifera, hybrid), or pass --formula 30+10 as your local \
                extension says for the cultivar";
    Some(Finding::warning(place, what).because(because).mend(mend))
}

fn buds(planting: &PlantingPruning, rules: &PruneRules<'_>, place: Place) -> Option<Finding> {
    let fewest = rules.prune.fewest_buds;
    let mend = "look at 50 to 100 buds of each cultivar and each part of a slope, and warm the canes \
                for 24 to 48 hours before you cut buds (Cornell, Maryland)";
    let Some(buds) = planting.buds else {
        let what = format!("{}: nobody looked at its buds", name(planting));
        let because = "nodes are reckoned as though all of them lived";
        return Some(Finding::note(place, what).because(because).mend(mend));
    };
    (u32::try_from(buds.buds).unwrap_or(u32::MAX) < fewest).then(|| {
        let what = format!("{}: only {} buds were looked at", name(planting), buds.buds);
        let [low, high] = buds.share90().map(|share| 100.0 * share);
        let because = format!("anything from {low:.0} to {high:.0} % of them may be dead");
        Finding::warning(place, what).because(because).mend(mend)
    })
}

fn cap(pruning: &Pruning, at: usize, place: Place) -> Option<Finding> {
    let planting = pruning.plantings.get(at)?;
    let own = pruning.weighed.iter().filter(|one| one.planting == at);
    let beyond = own.filter_map(|one| one.keep?.beyond_cap);
    let (number, most) = beyond.fold((0, 0), |(number, most), nodes| (number + 1, most.max(nodes)));
    (number > 0).then(|| {
        let cap = planting.rules.map_or(0, |rules| rules.most);
        let what = format!("{}: the cap of {cap} nodes holds {number} weighed", name(planting));
        let because = format!("the rule for dead buds alone would keep up to {most}");
        let mend = "with many dead buds ask your local extension viticulturist, then set \
                    --most-nodes";
        Finding::note(place, what).because(because).mend(mend)
    })
}

fn under_a_pound(pruning: &Pruning, rules: &PruneRules<'_>, place: Place) -> Option<Finding> {
    let light = pruning.weighed.iter().filter(|one| one.keep.is_some());
    let light = light.filter(|one| one.prunings.pounds() < 1.0).count();
    (light > 0).then(|| {
        let what = format!("{light} of {} weighed left under a pound", pruning.weighed.len());
        let because = match rules.prune.under_a_pound {
            UnderAPound::First => "they keep the first pound's nodes; other bulletins give a share",
            UnderAPound::ProRata => {
                "they keep a share of the first pound's nodes; other bulletins give them all"
            }
        };
        Finding::note(place, what).because(because)
    })
}
