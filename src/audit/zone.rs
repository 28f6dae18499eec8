//! A zone, and the block, after the work: what changed, what stands, what is left to do.

use super::{
    Band, Basis, Facts, Kind, Mean, Outcome, Recounted, Share, ZoneAudit,
    advice::advice,
    mean::Stratum,
    verdict::{outcome, recounts_to_settle},
};
use crate::{
    maths::{float, share::share_of_lots},
    plan::{Interval, Labour, Verdict, verdict::Question},
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
        let question = plan.target_per_m.map(|target| Question::new(target, self.settings));
        // Renewal shoots are left beside the aim.
        let renewal_per_m = self.settings.renewal_shoots * float(vines) / canopy_m.max(1e-9);
        let asked_of = facts.beside_renewal(renewal_per_m);
        let outcome =
            question.map_or(Outcome::Undecided, |asked| outcome(&asked_of, &asked, planned));
        let undecided = question.filter(|_| outcome == Outcome::Undecided && planned);
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
            recounts_to_settle: undecided.and_then(|asked| {
                recounts_to_settle(&asked_of, &asked, crate::maths::whole(units))
            }),
            facts,
            advice: Vec::new(),
        };
        ZoneAudit { advice: advice(&audit), ..audit }
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

/// What these places say of the vines they stand for: those that were counted before and the others
/// weigh by their canopy, so that a crew that took more care where vines were counted misleads nobody.
fn in_strata(values: &[(&Recounted, f64)], grown: Grown) -> Option<Mean> {
    let strata = [0, 1].map(|at| {
        let own: Vec<_> = values.iter().copied().filter(|(place, _)| lot(place) == at).collect();
        stratum(&own, grown.canopy_m[at])
    });
    Mean::of_strata(&strata)
}

/// Which of both lots a place belongs to: some of its vines were counted before, or none.
fn lot(place: &Recounted) -> usize {
    usize::from(place.kind == Kind::Fresh)
}

/// Places that stand for so many metres of canopy.
fn stratum(values: &[(&Recounted, f64)], canopy_m: f64) -> Stratum {
    let counted: f64 = values.iter().map(|(place, _)| place.canopy_m).sum();
    // A panel that lies in two zones reaches beyond the one that its first vine is in.
    let canopy_m = canopy_m.max(counted);
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
    let banded = || places.iter().filter_map(|place| Some((lot(place), place.band?)));
    let of = |wanted: Band| banded().filter(|(_, band)| *band == wanted).count();
    let [below, inside, above] = [Band::Below, Band::Inside, Band::Above].map(of);
    let lots = [0, 1].map(|at| {
        let own = || banded().filter(|(lot, _)| *lot == at);
        let inside = own().filter(|(_, band)| *band == Band::Inside).count();
        (inside, own().count(), grown.canopy_m[at])
    });
    let [share, lo90, hi90] = share_of_lots(&lots, 0.1)?;
    Some(Share { below, inside, above, share: Interval { value: share, lo90, hi90 } })
}
