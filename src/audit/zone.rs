//! A zone, and the block, after the work: what changed, what stands, what is left to do.

use super::{
    Band, Basis, Facts, Kind, Mean, Outcome, Recounted, Share, ZoneAudit,
    advice::advice,
    mean::Stratum,
    verdict::{Asked, outcome, recounts_to_settle},
};
use crate::{
    maths::{float, share::share_of_lots},
    plan::{Interval, Labour, Verdict, VineTarget, verdict::Question},
    settings::PlanSettings,
    zones::Zone,
};

/// What is looked at of a zone, and by which rules.
pub(super) struct Look<'a> {
    pub(super) basis: Basis<'a>,
    pub(super) settings: &'a PlanSettings,
    /// By vine place: its shoots were counted before the work, alone or with others.
    pub(super) counted: Vec<bool>,
    /// How long work takes.
    pub(super) labour: &'a Labour,
}

/// The vines of a zone that have a target.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Grown {
    /// How many they are.
    vines: usize,
    /// Canopy of those that were counted before the work, and of the others, metres.
    canopy_m: [f64; 2],
}

impl Grown {
    /// All their canopy, metres.
    fn all_m(self) -> f64 {
        self.canopy_m.iter().sum()
    }

    fn and(self, other: Self) -> Self {
        let canopy_m = [0, 1].map(|at| self.canopy_m[at] + other.canopy_m[at]);
        Self { vines: self.vines + other.vines, canopy_m }
    }
}

impl Look<'_> {
    fn grown(&self, zone: &Zone) -> Grown {
        let grown = zone.vines.iter().filter(|&&vine| self.basis.plan.vines[vine].target.is_some());
        grown.fold(Grown::default(), |all, &vine| {
            let canopy_m = self.basis.evidence.joined.vines[vine].canopy_m;
            let canopy_m = if self.counted[vine] { [canopy_m, 0.0] } else { [0.0, canopy_m] };
            all.and(Grown { vines: 1, canopy_m })
        })
    }

    /// The facts of some places that stand for these vines.
    fn facts(places: &[&Recounted], grown: Grown) -> Facts {
        let of = |kind: Kind| places.iter().copied().filter(move |place| place.kind == kind);
        let one_lot =
            |values: Vec<(&Recounted, f64)>| Mean::of_strata(&[stratum(&values, grown.all_m())]);
        let standing: Vec<_> = places.iter().map(|place| (*place, place.after_per_m)).collect();
        let still: Vec<_> = places.iter().copied().filter_map(still_above).collect();
        Facts {
            pairs: of(Kind::Pair).count(),
            fresh: of(Kind::Fresh).count(),
            part: of(Kind::Part).count(),
            change: one_lot(of(Kind::Pair).filter_map(changed).collect()),
            beside_expected: one_lot(of(Kind::Fresh).filter_map(beside).collect()),
            after: in_strata(&standing, grown),
            above: in_strata(&still, grown),
            band: share(places, grown),
        }
    }

    /// A zone after the work, without its place in the order of going back.
    pub(super) fn zone(&self, at: usize, places: &[Recounted]) -> ZoneAudit {
        let (zone, plan) = (&self.basis.evidence.zones.zones[at], &self.basis.plan.zones[at]);
        let grown = self.grown(zone);
        let (canopy_m, vines) = (grown.all_m(), grown.vines);
        let own: Vec<&Recounted> = places.iter().filter(|place| place.is_in(at)).collect();
        let facts = Self::facts(&own, grown);
        let planned = plan.verdict == Verdict::Overcrowded;
        // Renewal shoots are left beside the aim, and count where too few shoots stand.
        let renewal_per_m = self.settings.renewal_shoots * float(vines) / canopy_m.max(1e-9);
        let left = |target: VineTarget| {
            let raised = VineTarget {
                high_per_m: target.high_per_m + renewal_per_m,
                aim_per_m: target.aim_per_m + renewal_per_m,
                ..target
            };
            Question::new(raised, self.settings)
        };
        let fewest = self.settings.fewest_recounted;
        let asked =
            plan.target_per_m.map(|target| Asked { question: left(target), planned, fewest });
        let outcome = asked.map_or(Outcome::Undecided, |asked| outcome(&facts, &asked));
        let undecided = asked.filter(|_| outcome == Outcome::Undecided && planned);
        let units = (float(vines) / vines_a_place(&own)).round();
        let above = facts.above.and_then(|mean| mean.over(canopy_m, 0.0));
        let back = above.filter(|_| outcome == Outcome::GoBack);
        let audit = ZoneAudit {
            zone: at,
            planned,
            outcome,
            order: None,
            canopy_m,
            hours: back.map(|above| self.labour.hours_between(float(vines), above, 0.0)),
            above,
            came_off: facts.change.and_then(|mean| mean.turned().over(canopy_m, f64::MIN)),
            recounts_to_settle: undecided
                .and_then(|asked| recounts_to_settle(&facts, &asked, crate::maths::whole(units))),
            facts,
            advice: Vec::new(),
        };
        ZoneAudit { advice: advice(&audit, self.settings.fewest_recounted), ..audit }
    }

    /// The block: its zones together where each tells its own spread, else all places as one.
    pub(super) fn block(&self, zones: &[ZoneAudit], places: &[Recounted]) -> Facts {
        let all: Vec<&Recounted> = places.iter().filter(|place| place.counts()).collect();
        let grown = self.basis.evidence.zones.zones.iter().map(|zone| self.grown(zone));
        let together = |of: fn(&Facts) -> Option<Mean>| {
            let grown = zones.iter().filter(|zone| zone.canopy_m > 0.0);
            let means: Option<Vec<_>> =
                grown.map(|zone| Some((of(&zone.facts)?, zone.canopy_m))).collect();
            means.and_then(|means| Mean::of_zones(&means))
        };
        let plain = Self::facts(&all, grown.fold(Grown::default(), Grown::and));
        Facts {
            change: together(|facts| facts.change).or(plain.change),
            beside_expected: together(|facts| facts.beside_expected).or(plain.beside_expected),
            after: together(|facts| facts.after).or(plain.after),
            above: together(|facts| facts.above).or(plain.above),
            ..plain
        }
    }
}

/// Found less counted before.
fn changed(place: &Recounted) -> Option<(&Recounted, f64)> {
    Some((place, place.change_per_m()?))
}

/// Found less believed before.
fn beside(place: &Recounted) -> Option<(&Recounted, f64)> {
    Some((place, place.after_per_m - place.expected_per_m?))
}

/// Shoots per metre that stand above what was to be left.
fn still_above(place: &Recounted) -> Option<(&Recounted, f64)> {
    Some((place, (place.after_per_m - place.left_per_m?).max(0.0)))
}

/// What these places say of the vines they stand for.
fn in_strata(values: &[(&Recounted, f64)], grown: Grown) -> Option<Mean> {
    let lots = lots(values.iter().map(|(place, _)| *place), grown);
    let of = |at: usize| {
        let own = values.iter().copied().filter(|(place, _)| lots.of(place) == at);
        stratum(&own.collect::<Vec<_>>(), lots.canopy_m[at])
    };
    Mean::of_strata(&[of(0), of(1)])
}

/// How places are put together: as two lots, of vines counted before and of others, so that a crew
/// that took more care where vines were counted misleads nobody; or as one.
struct Lots {
    two: bool,
    canopy_m: [f64; 2],
}

/// Two lots where each has a place, and none lies in both.
fn lots<'a>(places: impl Iterator<Item = &'a Recounted>, grown: Grown) -> Lots {
    let mut seen = [false; 2];
    let mut parted = true;
    for place in places {
        seen[usize::from(place.kind == Kind::Fresh)] = true;
        parted &= place.kind != Kind::Part;
    }
    // A lot that no vine is in needs no place.
    let told = (0..2).all(|at| seen[at] || grown.canopy_m[at] <= 0.0);
    let two = parted && told;
    Lots { two, canopy_m: if two { grown.canopy_m } else { [grown.all_m(), 0.0] } }
}

impl Lots {
    fn of(&self, place: &Recounted) -> usize {
        usize::from(self.two && place.kind == Kind::Fresh)
    }
}

/// Places that stand for so many metres of canopy.
fn stratum(values: &[(&Recounted, f64)], canopy_m: f64) -> Stratum {
    let counted: f64 = values.iter().map(|(place, _)| place.canopy_m).sum();
    // What was not counted of a vine that was counted in part is not known either.
    let whole = values.iter().all(|(place, _)| place.counted_m >= place.canopy_m * (1.0 - 1e-6));
    let known = if whole && canopy_m > 0.0 { counted / canopy_m } else { 0.0 };
    let values = values.iter().map(|(place, value)| (*value, place.canopy_m)).collect();
    Stratum { values, canopy_m, known }
}

fn vines_a_place(places: &[&Recounted]) -> f64 {
    let vines: usize = places.iter().map(|place| place.vines.len()).sum();
    if places.is_empty() { 1.0 } else { float(vines) / float(places.len()) }
}

fn share(places: &[&Recounted], grown: Grown) -> Option<Share> {
    let together = lots(places.iter().copied(), grown);
    let banded = || places.iter().filter_map(|place| Some((together.of(place), place.band?)));
    let of = |wanted: Band| banded().filter(|(_, band)| *band == wanted).count();
    let [below, inside, above] = [Band::Below, Band::Inside, Band::Above].map(of);
    let lots = [0, 1].map(|at| {
        let own = || banded().filter(|(lot, _)| *lot == at);
        let inside = own().filter(|(_, band)| *band == Band::Inside).count();
        (inside, own().count(), together.canopy_m[at])
    });
    let [share, lo90, hi90] = share_of_lots(&lots, 0.1)?;
    Some(Share { below, inside, above, share: Interval { value: share, lo90, hi90 } })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::random::Random;

    fn place(kind: Kind, after_per_m: f64, canopy_m: f64) -> Recounted {
        let band = Some(if after_per_m < 16.0 { Band::Inside } else { Band::Above });
        Recounted { kind, after_per_m, canopy_m, counted_m: canopy_m, band, ..Recounted::default() }
    }

    fn facts(places: &[Recounted], canopy_m: [f64; 2]) -> Facts {
        let grown = Grown { vines: 60, canopy_m };
        Look::facts(&places.iter().collect::<Vec<_>>(), grown)
    }

    // Of 72 m of canopy all 6 counted vines are looked at again, and no other: they stand for the
    // zone, of which a tenth is known.
    #[test]
    fn places_of_one_kind_are_one_lot_of_the_whole_zone() {
        let values = [14.0, 17.0, 15.0, 13.0, 16.0, 12.0];
        let pairs = values.map(|value| place(Kind::Pair, value, 1.2));
        let found = facts(&pairs, [7.2, 64.8]).after.unwrap();
        let lot = Mean::of(&values.map(|value| (value, 1.2)), 0.1).unwrap();
        assert!((found.se.unwrap() - lot.se.unwrap()).abs() < 1e-12 && found.se.unwrap() > 0.5);
        // A panel that was counted in part lies in both kinds: all are one lot.
        let part = [&pairs[..], &[place(Kind::Part, 15.0, 4.8), place(Kind::Fresh, 15.0, 1.2)]];
        let found = facts(&part.concat(), [7.2, 64.8]);
        let values: Vec<(f64, f64)> =
            part.concat().iter().map(|place| (place.after_per_m, place.canopy_m)).collect();
        let lot = Mean::of(&values, 13.2 / 72.0).unwrap();
        assert!((found.after.unwrap().se.unwrap() - lot.se.unwrap()).abs() < 1e-12, "{found:?}");
        let share = found.band.unwrap().share.value;
        assert!((share - 6.0 / 8.0).abs() < 1e-12, "{share}");
    }

    #[test]
    fn mean_and_share_weigh_by_the_same_canopy() {
        let marked = [13.0, 14.0, 13.0].map(|value| place(Kind::Pair, value, 1.2));
        let others = [17.0, 18.0, 15.0].map(|value| place(Kind::Fresh, value, 1.2));
        let found = facts(&[marked, others].concat(), [12.0, 48.0]);
        let after = found.after.unwrap().per_m;
        assert!((after - (0.2 * 40.0 / 3.0 + 0.8 * 50.0 / 3.0)).abs() < 1e-12, "{after}");
        let share = found.band.unwrap().share.value;
        assert!((share - (0.2 + 0.8 / 3.0)).abs() < 1e-12, "{share}");
    }

    // 600 zones of which only vines that were counted before are recounted, by a crew that treats all
    // alike: nine in ten intervals must hold what stands.
    #[test]
    fn pairs_alone_still_cover_as_they_say() {
        let mut random = Random::new(8);
        let (zones, mut held) = (600, 0);
        for _ in 0..zones {
            let vines: Vec<f64> =
                (0..60).map(|_| (1.2 * (16.0 + 1.5 * random.normal())).round() / 1.2).collect();
            let truth = vines.iter().sum::<f64>() / 60.0;
            let pairs: Vec<Recounted> =
                vines[..7].iter().map(|value| place(Kind::Pair, *value, 1.2)).collect();
            let [low, high] = facts(&pairs, [9.6, 62.4]).after.unwrap().ends90().unwrap();
            held += usize::from(low <= truth && truth <= high);
        }
        let share = float(held) / float(zones);
        assert!((0.875..0.925).contains(&share), "{share}");
    }
}
