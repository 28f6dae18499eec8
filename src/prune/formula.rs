//! Balanced pruning: how many nodes a vine keeps, by the weight of its own prunings.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | w | prunings of the vine | lb |
//! | a + b | the formula: nodes for the first pound, for each more | nodes a pound |

use crate::{
    maths::{float, whole},
    settings::{NodeFormula, PruneSettings, UnderAPound},
    units::Kilograms,
};

/// A formula with its floor and cap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NodeRules {
    /// The formula.
    pub formula: NodeFormula,
    /// How it is read below its first pound.
    pub under_a_pound: UnderAPound,
    /// Fewest nodes on a vine.
    pub fewest: usize,
    /// Most nodes on a vine.
    pub most: usize,
}

/// What a formula gives, and what held it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NodesByFormula {
    /// Whole nodes, within floor and cap.
    pub nodes: usize,
    /// What held the number.
    pub held_by: Option<Held>,
}

/// What holds a number of nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Held {
    /// The fewest that a vine keeps.
    Floor,
    /// The most that it keeps.
    Cap,
}

impl NodeFormula {
    /// a + b · (w − 1), pro rata between pounds; below one pound as `under` says.
    ///
    /// # Units
    /// Nodes a vine, not yet whole.
    ///
    /// # Source
    /// Balanced pruning as extension bulletins print it: 20+20 gives 30 nodes at 1.5 lb (Finger
    /// Lakes winery column, 2021), so that parts of a pound count pro rata. What prunings under a
    /// pound get differs between bulletins.
    pub fn exact_nodes(self, prunings: Kilograms, under: UnderAPound) -> f64 {
        let (first, more) = (f64::from(self.first), f64::from(self.more));
        let above = prunings.pounds() - 1.0;
        match under {
            _ if above >= 0.0 => first + more * above,
            UnderAPound::First => first,
            UnderAPound::ProRata => first * prunings.pounds().max(0.0),
        }
    }
}

impl NodeRules {
    /// A formula with the floor and cap of the settings.
    pub fn new(formula: NodeFormula, settings: &PruneSettings) -> Self {
        let [fewest, most] = [settings.fewest_nodes, settings.most_nodes]
            .map(|nodes| usize::try_from(nodes).unwrap_or(usize::MAX));
        Self { formula, under_a_pound: settings.under_a_pound, fewest: fewest.min(most), most }
    }

    /// Whole nodes for a vine: the nearest number, within floor and cap.
    pub fn nodes(&self, prunings: Kilograms) -> NodesByFormula {
        let nodes = nearest(self.formula.exact_nodes(prunings, self.under_a_pound));
        let held_by = if nodes < self.fewest {
            Some(Held::Floor)
        } else {
            (nodes > self.most).then_some(Held::Cap)
        };
        NodesByFormula { nodes: nodes.clamp(self.fewest, self.most), held_by }
    }
}

/// What lies below this is rounding of floating point, not a part of a node.
pub(super) const NO_PART: f64 = 1e-9;

/// The nearest whole number; halves go up.
pub(super) fn nearest(nodes: f64) -> usize {
    whole(nodes + 0.5 + NO_PART)
}

/// The next whole number: part of a node more is a node more.
pub(super) fn rounded_up(nodes: f64) -> usize {
    let down = whole(nodes + NO_PART);
    if nodes - float(down) > NO_PART { down + 1 } else { down }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::settings::Settings;

    fn rules(formula: &str, under_a_pound: UnderAPound, [fewest, most]: [usize; 2]) -> NodeRules {
        NodeRules { formula: formula.parse().unwrap(), under_a_pound, fewest, most }
    }

    #[test]
    fn formulas_give_what_is_printed() {
        let check = |formula: &str, pounds: f64, expected: usize| {
            let rules = rules(formula, UnderAPound::First, [1, 200]);
            let found = rules.nodes(Kilograms::from_pounds(pounds));
            assert_eq!((found.nodes, found.held_by), (expected, None), "{formula}, {pounds} lb");
        };
        // 98905.com, growing grapes: 30+10 at 4 lb is 60 buds.
        check("30+10", 4.0, 60);
        // Finger Lakes winery column, auburnpub.com 2021: 20+20 at 1.5 lb is 30 buds.
        check("20+20", 1.5, 30);
        // Grower's log, cooksplace.us 2013: 20+20 at 2 lb is 40 buds.
        check("20+20", 2.0, 40);
        // Cortell 2012, Oregon Wine Press, cool-climate Pinot noir: 14 at 1 lb, 10 each further.
        check("14+10", 1.0, 14);
        check("14+10", 2.0, 24);
        // Vidon vineyard 2017, Pinot noir in Oregon: 20 at 1 lb, 10 each further.
        check("20+10", 1.0, 20);
        check("20+10", 3.0, 40);
    }

    #[test]
    fn a_cap_holds() {
        // Grower's log, houseofvines 2016, St. Croix: 30+10, at most 50.
        let rules = rules("30+10", UnderAPound::First, [10, 50]);
        let at = |pounds| rules.nodes(Kilograms::from_pounds(pounds));
        assert_eq!((at(3.0).nodes, at(3.0).held_by), (50, None));
        assert_eq!((at(4.0).nodes, at(4.0).held_by), (50, Some(Held::Cap)));
    }

    #[test]
    fn under_a_pound_bulletins_differ() {
        let at =
            |under, pounds| rules("20+10", under, [6, 50]).nodes(Kilograms::from_pounds(pounds));
        assert_eq!(at(UnderAPound::First, 0.5).nodes, 20);
        assert_eq!(at(UnderAPound::ProRata, 0.5).nodes, 10);
        assert_eq!(at(UnderAPound::ProRata, 0.1).held_by, Some(Held::Floor));
        assert_eq!(at(UnderAPound::ProRata, 0.1).nodes, 6);
    }

    #[test]
    fn a_cap_below_the_floor_holds_first() {
        let settings =
            PruneSettings { fewest_nodes: 30, most_nodes: 20, ..Settings::default().prune() };
        let rules = NodeRules::new("30+10".parse().unwrap(), &settings);
        assert_eq!((rules.fewest, rules.most), (20, 20));
    }

    #[test]
    fn parts_of_nodes_round_as_said() {
        assert_eq!([33.4, 33.5, 0.0].map(nearest), [33, 34, 0]);
        assert_eq!([33.0, 33.3, 54.000_000_000_000_01].map(rounded_up), [33, 34, 54]);
    }

    proptest! {
        #[test]
        fn more_prunings_never_keep_fewer_nodes(
            (first, more) in (1_u32..60, 0_u32..40),
            (light, extra) in (0.0_f64..4.0, 0.0_f64..4.0),
            (fewest, most) in (0_usize..20, 20_usize..90),
            pro_rata in any::<bool>(),
        ) {
            let under = if pro_rata { UnderAPound::ProRata } else { UnderAPound::First };
            let formula = NodeFormula { first, more };
            let rules = NodeRules { formula, under_a_pound: under, fewest, most };
            let one = rules.nodes(Kilograms::new(light)).nodes;
            let other = rules.nodes(Kilograms::new(light + extra)).nodes;
            prop_assert!(one <= other);
            prop_assert!((fewest..=most).contains(&one) && (fewest..=most).contains(&other));
        }
    }
}
