//! What to keep on a vine of a weight: formula, then dead buds, then spur positions.

use super::{
    buds::BudAdvice,
    formula::{Held, NodeRules},
    plantings::PlantingPruning,
    spurs::{SpringTarget, Spurs, spurs},
};
use crate::{
    settings::{BudRule, TargetSettings},
    units::{Kilograms, Metres, PerMetre},
    zones::wanted::{Vigor, aim},
};

/// What to keep on a vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Keep {
    /// Nodes by the formula, within floor and cap.
    pub by_formula: usize,
    /// What held them.
    pub held_by: Option<Held>,
    /// Nodes after the rule for dead buds, never above the cap; `None` where it says minimal pruning.
    pub nodes: Option<usize>,
    /// What the rule alone would keep, where the cap holds fewer.
    pub beyond_cap: Option<usize>,
    /// What every published rule gives for the nodes of the formula, in the order of
    /// [`BudRule::ALL`]; no cap on them.
    pub by_rule: [Option<usize>; 4],
    /// Spur positions and spring's shoots; `None` where there is no number of nodes.
    pub spurs: Option<Spurs>,
}

/// What to keep on a vine of such prunings and canopy; `None` where its planting has no formula.
pub fn keep(
    (prunings, canopy): (Kilograms, Metres),
    planting: &PlantingPruning,
    (targets, nodes_per_spur): (&TargetSettings, usize),
) -> Option<Keep> {
    let rules: NodeRules = planting.rules?;
    let found = rules.nodes(prunings);
    let by_rule = BudRule::ALL.map(|rule| advice(planting, rule).nodes(found.nodes));
    let by_own_rule = advice(planting, planting.rule).nodes(found.nodes);
    let nodes = by_own_rule.map(|nodes| nodes.min(rules.most));
    let beyond_cap = by_own_rule.filter(|nodes| *nodes > rules.most);
    let is_capped = beyond_cap.is_some() || found.held_by == Some(Held::Cap);
    let live = planting.live_share();
    let per_m = prunings.kilograms() / canopy.metres();
    let target = planting.target.map(|range| SpringTarget {
        low: range.low(),
        high: range.high(),
        aim: PerMetre::new(aim(range, Some(Vigor::PruningWeight(per_m)), targets)),
    });
    let spurs = nodes.map(|nodes| spurs(nodes, (canopy, live), target, nodes_per_spur));
    Some(Keep {
        by_formula: found.nodes,
        held_by: found.held_by,
        nodes,
        beyond_cap,
        by_rule,
        spurs: if is_capped { spurs.map(Spurs::under_cap) } else { spurs },
    })
}

/// What a rule says of the planting's dead buds; as usual where nobody looked.
fn advice(planting: &PlantingPruning, rule: BudRule) -> BudAdvice {
    planting.buds.map_or(BudAdvice::AsUsual, |buds| rule.advice(buds.share()))
}
