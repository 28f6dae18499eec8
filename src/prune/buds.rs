//! Nodes to keep where buds died in winter: four published rules, which disagree.
//!
//! | rule | dead buds → nodes |
//! | --- | --- |
//! | `cornell` | under 20 % as usual; 20 to 80 % as many more, in percent, as buds died; above, minimal pruning |
//! | `purdue` | to 15 % as usual; to 35 % 35 % more; to 50 % 50 % more; above, minimal pruning |
//! | `michigan` | to 15 % as usual; to 50 % so many more that the wanted number lives; above, minimal pruning |
//! | `survival` | the wanted number ÷ the share that lives |
//!
//! Decided here, because print leaves it open:
//! - `purdue` prints 15–35 % and 25–50 %, which overlap: the first band holds up to 35 %.
//! - `michigan` prints 0–15 % and 20–50 %: what lies between is read with the second band. "To
//!   compensate for the percentage dead" is read as the wanted number ÷ the share that lives.
//! - Where minimal pruning is said there is no number of nodes.

use super::formula::rounded_up;
use crate::{
    maths::{float, share::exact_share},
    settings::BudRule,
};

/// What a rule says of a share of dead buds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BudAdvice {
    /// Keep what is wanted.
    AsUsual,
    /// Keep so many times what is wanted.
    Times(f64),
    /// Prune minimally: no number.
    Minimal,
}

impl BudAdvice {
    /// Nodes to keep for a wanted number, parts of a node rounded up; `None` where the rule gives no
    /// number.
    pub fn nodes(self, wanted: usize) -> Option<usize> {
        match self {
            Self::AsUsual => Some(wanted),
            Self::Times(times) => Some(rounded_up(times * float(wanted))),
            Self::Minimal => None,
        }
    }

    /// In words: `as usual`, `54 % more nodes`, `prune minimally`.
    pub fn words(self) -> String {
        match self {
            Self::AsUsual => "as usual, nothing extra".to_owned(),
            Self::Times(times) => format!("{:.0} % more nodes", 100.0 * (times - 1.0)),
            Self::Minimal => "prune minimally, as the rule says: no number of nodes".to_owned(),
        }
    }
}

impl BudRule {
    /// What the rule says of a share of dead buds, 0 to 1.
    pub fn advice(self, dead: f64) -> BudAdvice {
        use BudAdvice::{AsUsual, Minimal, Times};
        let replaced = || if dead < 1.0 { Times(1.0 / (1.0 - dead)) } else { Minimal };
        match self {
            Self::Cornell if dead < 0.2 => AsUsual,
            Self::Cornell if dead <= 0.8 => Times(1.0 + dead),
            Self::Purdue | Self::Michigan if dead <= 0.15 => AsUsual,
            Self::Purdue if dead <= 0.35 => Times(1.35),
            Self::Purdue if dead <= 0.5 => Times(1.5),
            Self::Michigan if dead <= 0.5 => replaced(),
            Self::Cornell | Self::Purdue | Self::Michigan => Minimal,
            Self::Survival if dead <= 0.0 => AsUsual,
            Self::Survival => replaced(),
        }
    }

    /// Where it is printed.
    pub const fn source(self) -> &'static str {
        match self {
            Self::Cornell => {
                "Cornell University, Northern New York Grape Update, 28 February 2014 (above 80 %: \
                 from memory)"
            }
            Self::Purdue => {
                "Purdue University Extension, Facts for Fancy Fruit, double pruning (its bands 15-35 \
                 and 25-50 % overlap; the first is held up to 35 %)"
            }
            Self::Michigan => {
                "a guide to table grapes in Michigan (15 to 20 % is not printed; read as the next \
                 band, which makes up for the share dead)"
            }
            Self::Survival => "wanted nodes / share of live buds: widely taught, from memory",
        }
    }
}

/// Dead buds among those looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BudLoss {
    /// Dead ones.
    pub dead: usize,
    /// All looked at, above 0.
    pub buds: usize,
}

impl BudLoss {
    /// From dead buds and buds looked at; `None` where nobody looked.
    pub fn of((dead, buds): (u32, u32)) -> Option<Self> {
        let [dead, buds] = [dead, buds].map(|buds| usize::try_from(buds).unwrap_or(usize::MAX));
        (buds > 0).then_some(Self { dead: dead.min(buds), buds })
    }

    /// The share that is dead.
    pub fn share(&self) -> f64 {
        float(self.dead) / float(self.buds)
    }

    /// Its 90 % interval, as though buds died one by one: those of a cane die together, so it is
    /// rather too narrow.
    ///
    /// # Source
    /// Exact interval of a binomial share, Clopper & Pearson 1934.
    pub fn share90(&self) -> [f64; 2] {
        let share = self.share();
        exact_share(self.dead, self.buds, 0.10).map_or([share; 2], |[_, low, high]| [low, high])
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::settings::BudRule::{Cornell, Michigan, Purdue, Survival};

    fn kept(rule: BudRule, wanted: usize, percent: f64) -> Option<usize> {
        rule.advice(percent / 100.0).nodes(wanted)
    }

    #[test]
    fn cornell_leaves_as_many_more_as_died() {
        // Cornell NNY Grape Update 2014: under 20 % nothing extra; 35 % injured, 35 % more.
        assert_eq!(kept(Cornell, 40, 0.0), Some(40));
        assert_eq!(kept(Cornell, 40, 19.9), Some(40));
        assert_eq!(kept(Cornell, 40, 20.0), Some(48));
        assert_eq!(kept(Cornell, 40, 35.0), Some(54));
        assert_eq!(kept(Cornell, 40, 80.0), Some(72));
        // Above 80 %: from memory.
        assert_eq!(kept(Cornell, 40, 80.1), None);
    }

    #[test]
    fn purdue_has_steps() {
        // Purdue, Facts for Fancy Fruit: 0–15 % normal, 15–35 % → +35 %, to 50 % → +50 %, above
        // minimal.
        assert_eq!(kept(Purdue, 40, 15.0), Some(40));
        assert_eq!(kept(Purdue, 40, 15.1), Some(54));
        assert_eq!(kept(Purdue, 40, 35.0), Some(54));
        assert_eq!(kept(Purdue, 40, 35.1), Some(60));
        assert_eq!(kept(Purdue, 40, 50.0), Some(60));
        assert_eq!(kept(Purdue, 40, 50.1), None);
    }

    #[test]
    fn michigan_makes_up_for_the_dead() {
        // Table-grape guide text: 0–15 % as usual, 20–50 % add canes for the share dead, above 50 %
        // cut only unmanageable growth.
        assert_eq!(kept(Michigan, 40, 15.0), Some(40));
        assert_eq!(kept(Michigan, 40, 20.0), Some(50));
        assert_eq!(kept(Michigan, 40, 50.0), Some(80));
        assert_eq!(kept(Michigan, 40, 51.0), None);
    }

    #[test]
    fn survival_leaves_the_wanted_number_alive() {
        // Widely taught: 40 wanted, 50 % dead → 80; 20 wanted, 40 % dead → 34 (33.3 rounded up).
        assert_eq!(kept(Survival, 40, 50.0), Some(80));
        assert_eq!(kept(Survival, 20, 40.0), Some(34));
        assert_eq!(kept(Survival, 40, 0.0), Some(40));
        assert_eq!(kept(Survival, 40, 100.0), None);
    }

    #[test]
    fn the_rules_disagree_as_computed() {
        // 40 wanted, 35 % dead: A 54; D 61.5, that is 62.
        assert_eq!((kept(Cornell, 40, 35.0), kept(Survival, 40, 35.0)), (Some(54), Some(62)));
    }

    #[test]
    fn a_share_is_told_in_words() {
        assert_eq!(Cornell.advice(0.35).words(), "35 % more nodes");
        assert_eq!(Survival.advice(0.35).words(), "54 % more nodes");
        assert!(Purdue.advice(0.6).words().starts_with("prune minimally"));
    }

    #[test]
    fn a_loss_is_a_share_with_an_interval() {
        let loss = BudLoss::of((7, 20)).unwrap();
        assert!((loss.share() - 0.35).abs() < 1e-15);
        let [low, high] = loss.share90();
        assert!(low < 0.35 && high > 0.35 && high - low > 0.2, "{low} to {high}");
        assert_eq!(BudLoss::of((0, 0)), None);
    }

    proptest! {
        #[test]
        fn more_dead_buds_never_keep_fewer_nodes(
            wanted in 1_usize..120, dead in 0.0_f64..1.0, more in 0.0_f64..1.0
        ) {
            for rule in BudRule::ALL {
                let worse = (dead + more).min(1.0);
                let [one, other] = [dead, worse].map(|dead| rule.advice(dead).nodes(wanted));
                prop_assert!(one.is_none_or(|one| one >= wanted));
                // No number stands for more than any number.
                prop_assert!(other.is_none_or(|other| one.is_some_and(|one| one <= other)));
            }
        }
    }
}
