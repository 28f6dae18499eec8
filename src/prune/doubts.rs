//! What is doubtful about a winter's numbers.

use std::collections::BTreeSet;

use super::{PlantingPruning, PruneRules, Pruning};
use crate::{
    finding::{Finding, Findings, Place},
    join::Dormant,
    names::{agreeing, number_of},
    plan::Evidence,
    settings::UnderAPound,
};

/// What whoever prunes should know of the rules and samples behind the numbers.
pub(super) fn doubts(
    evidence: Evidence<'_>,
    grown: &[bool],
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
    doubts.extend(young_weights(&evidence.joined.dormant, grown, &place("pruning_weight")));
    doubts.extend(lone_yields(&evidence.joined.dormant, place("yield")));
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
        let number = pruning.weighed.len();
        let weighed = agreeing(number, "vine or panel was", "vines or panels were");
        let what = format!("{number} {weighed} weighed");
        Finding::note(place, what)
            .because("too few for an estimate: sizes and nodes are those of the weighed vines only")
    })
}

/// Weights of young vines, and of panels in which one stands among grown ones.
fn young_weights(dormant: &Dormant, grown: &[bool], place: &Place) -> Vec<Finding> {
    let grown_of = |vines: &[usize]| vines.iter().filter(|&&vine| grown[vine]).count();
    let of = || dormant.weighed.iter().map(|one| (grown_of(&one.vines), one.vines.len()));
    let young = of().filter(|(grown, _)| *grown == 0).count();
    let mixed = of().filter(|(grown, all)| *grown > 0 && grown < all).count();
    let why = "young vines are trained, not balanced against their prunings";
    let young = (young > 0).then(|| {
        let [weights, are] = weights(young);
        let what = format!("{weights} of young vines {are} not used");
        Finding::note(place.clone(), what).because(why)
    });
    let mixed = (mixed > 0).then(|| {
        let [weights, are] = weights(mixed);
        let what = format!("{weights} of panels with a young vine {are} not used");
        let mend = "weigh the grown vines of such a panel alone";
        Finding::warning(place.clone(), what).because(why).mend(mend)
    });
    young.into_iter().chain(mixed).collect()
}

fn weights(number: usize) -> [String; 2] {
    [number_of(number, "pruning weight"), agreeing(number, "is", "are").to_owned()]
}

/// Yields of vines that were not weighed, or not together.
fn lone_yields(dormant: &Dormant, place: Place) -> Option<Finding> {
    let weighed: BTreeSet<&[usize]> = dormant.weighed.iter().map(|one| &one.vines[..]).collect();
    let lone = dormant.picked.iter().filter(|one| !weighed.contains(&one.vines[..])).count();
    (lone > 0).then(|| {
        let have = agreeing(lone, "has", "have");
        let what =
            format!("{} {have} no pruning weight of the same vines", number_of(lone, "yield"));
        let because =
            "a crop load is the yield over the prunings of the same vines; they make none";
        let mend = "weigh the vines that were picked, alone or by the panel as they were";
        Finding::note(place, what).because(because).mend(mend)
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
        let (number, were) =
            (number_of(buds.buds, "bud"), if buds.buds == 1 { "was" } else { "were" });
        let what = format!("{}: only {number} {were} looked at", name(planting));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::join::Observation;

    fn of(vines: &[usize]) -> Observation {
        let windows = vec![(0.5, 1.0)];
        Observation { vines: vines.to_vec(), per_m: 0.5, canopy_m: 1.0, counted_m: 1.0, windows }
    }

    fn whats(findings: impl IntoIterator<Item = Finding>) -> Vec<String> {
        findings.into_iter().map(|finding| finding.what).collect()
    }

    #[test]
    fn weights_of_young_vines_are_told_by_their_number() {
        let weighed = vec![of(&[0]), of(&[1]), of(&[2, 3]), of(&[4, 5]), of(&[6])];
        let dormant = Dormant { weighed, ..Dormant::default() };
        let place = Place::field("pruning_weight");
        let grown = [true, false, false, true, true, true, false];
        assert_eq!(
            whats(young_weights(&dormant, &grown, &place)),
            [
                "2 pruning weights of young vines are not used",
                "1 pruning weight of panels with a young vine is not used"
            ]
        );
        assert!(young_weights(&dormant, &[true; 7], &place).is_empty());
    }

    #[test]
    fn yields_of_other_vines_are_told_by_their_number() {
        let weighed = vec![of(&[0]), of(&[1, 2])];
        let mut dormant = Dormant { picked: weighed.clone(), weighed, ..Dormant::default() };
        assert!(lone_yields(&dormant, Place::field("yield")).is_none());
        dormant.picked = vec![of(&[0]), of(&[1]), of(&[3])];
        let told = whats(lone_yields(&dormant, Place::field("yield")));
        assert_eq!(told, ["2 yields have no pruning weight of the same vines"]);
    }
}
