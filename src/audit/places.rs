//! What was recounted: as counted before, as expected, as found.

use std::collections::BTreeSet;

use super::Recounted;
use crate::{
    join::{Joined, Observation},
    plan::{Evidence, Plan, VineTarget},
};

/// How a recounted place stood before the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The same vines were counted before.
    Pair,
    /// None of its vines was counted before.
    Fresh,
    /// Some of its vines were counted, or all of them with others: neither a pair nor fresh.
    Part,
}

impl Kind {
    /// The word that files use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pair => "pair",
            Self::Fresh => "fresh",
            Self::Part => "part",
        }
    }
}

/// Where a place stands against the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Band {
    /// Below the low end.
    Below,
    /// From the low end to the high end; renewal shoots are not counted against the high end.
    Inside,
    /// Above the high end.
    Above,
}

impl Band {
    /// The word that files use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Below => "below",
            Self::Inside => "inside",
            Self::Above => "above",
        }
    }
}

/// Every recounted place, in the order of their first vines.
pub(super) fn places(
    (evidence, plan): (Evidence<'_>, &Plan),
    after: &Joined,
    renewal_shoots: f64,
) -> Vec<Recounted> {
    let before = Counted::of(evidence.joined);
    let place = |found: &Observation| {
        let (kind, before_per_m) = before.kind(&found.vines);
        let zone = found.vines.first().and_then(|&vine| evidence.zones.of_vine[vine]);
        let target = target(plan, after, &found.vines);
        let renewal_per_m =
            renewal_shoots * crate::maths::float(found.vines.len()) / found.canopy_m;
        Recounted {
            vines: found.vines.clone(),
            zone,
            kind,
            canopy_m: found.canopy_m,
            counted_m: found.counted_m,
            before_per_m,
            expected_per_m: expected(evidence, &found.vines),
            after_per_m: found.per_m,
            target,
            left_per_m: target.map(|target| target.aim_per_m + renewal_per_m),
            band: target.map(|target| band(target, renewal_per_m, found.per_m)),
        }
    };
    after.shoots.iter().map(place).collect()
}

fn band(target: VineTarget, renewal_per_m: f64, per_m: f64) -> Band {
    if per_m < target.low_per_m {
        Band::Below
    } else if per_m > target.high_per_m + renewal_per_m {
        Band::Above
    } else {
        Band::Inside
    }
}

/// The mean target of some vines, weighted by canopy; `None` where one has none.
fn target(plan: &Plan, after: &Joined, vines: &[usize]) -> Option<VineTarget> {
    let canopy_m: f64 = vines.iter().map(|&vine| after.vines[vine].canopy_m).sum();
    let mut sums = [0.0; 3];
    for &vine in vines {
        let target = plan.vines[vine].target?;
        let share = after.vines[vine].canopy_m / canopy_m;
        let ends = [target.low_per_m, target.high_per_m, target.aim_per_m];
        sums = [0, 1, 2].map(|at| sums[at] + share * ends[at]);
    }
    let [low_per_m, high_per_m, aim_per_m] = sums;
    (canopy_m > 0.0).then_some(VineTarget { low_per_m, high_per_m, aim_per_m })
}

/// What was believed of some vines before the work, shoots per metre.
fn expected(evidence: Evidence<'_>, vines: &[usize]) -> Option<f64> {
    let (mut shoots, mut canopy_m) = (0.0, 0.0);
    for &vine in vines {
        let own = evidence.joined.vines[vine].canopy_m;
        shoots += evidence.estimate.shoots.vines[vine]?.per_m * own;
        canopy_m += own;
    }
    (canopy_m > 0.0).then(|| shoots / canopy_m)
}

/// By vine place: its shoots were counted, alone or with others.
pub(super) fn counted(joined: &Joined) -> Vec<bool> {
    Counted::of(joined).of_vine.iter().map(Option::is_some).collect()
}

/// The counts before the work, by vine.
struct Counted<'a> {
    shoots: &'a [Observation],
    of_vine: Vec<Option<usize>>,
}

impl<'a> Counted<'a> {
    fn of(joined: &'a Joined) -> Self {
        let mut of_vine = vec![None; joined.vines.len()];
        for (at, one) in joined.shoots.iter().enumerate() {
            one.vines.iter().for_each(|&vine| of_vine[vine] = Some(at));
        }
        Self { shoots: &joined.shoots, of_vine }
    }

    /// How these vines were counted, and their density where they are a pair.
    fn kind(&self, vines: &[usize]) -> (Kind, Option<f64>) {
        let found: BTreeSet<usize> = vines.iter().filter_map(|&vine| self.of_vine[vine]).collect();
        let found: Vec<&Observation> = found.into_iter().map(|at| &self.shoots[at]).collect();
        let same = |one: &&Observation| one.vines.iter().all(|vine| vines.contains(vine));
        let reached: usize = found.iter().map(|one| one.vines.len()).sum();
        if found.is_empty() {
            return (Kind::Fresh, None);
        }
        if reached != vines.len() || !found.iter().all(same) {
            return (Kind::Part, None);
        }
        let canopy_m: f64 = found.iter().map(|one| one.canopy_m).sum();
        let shoots: f64 = found.iter().map(|one| one.per_m * one.canopy_m).sum();
        (Kind::Pair, Some(shoots / canopy_m))
    }
}
