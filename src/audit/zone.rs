//! A zone, and the block, after the work: what changed, what stands, what is left to do.

use super::{
    Band, Basis, Facts, Kind, Mean, Outcome, Recounted, Share, ZoneAudit,
    advice::advice,
    verdict::{outcome, recounts_to_settle},
};
use crate::{
    maths::{float, share::exact_share},
    plan::{Interval, Verdict, verdict::Question},
    settings::PlanSettings,
    zones::Zone,
};

/// What is looked at of a zone, and by which rules.
pub(super) struct Look<'a> {
    pub(super) basis: Basis<'a>,
    pub(super) settings: &'a PlanSettings,
    /// Means rest on fresh places alone: those counted before look better.
    pub(super) fresh_only: bool,
    /// Minutes spent over those reckoned, where enough were timed.
    pub(super) pace: f64,
}

impl Look<'_> {
    /// Canopy of the vines of a zone that have a target, metres, and how many they are.
    pub(super) fn canopy(&self, zone: &Zone) -> (f64, usize) {
        let grown = zone.vines.iter().filter(|&&vine| self.basis.plan.vines[vine].target.is_some());
        let canopy = |&vine: &usize| self.basis.evidence.joined.vines[vine].canopy_m;
        (grown.clone().map(canopy).sum(), grown.count())
    }

    /// The facts of some places that stand for so many metres of canopy.
    pub(super) fn facts(&self, places: &[&Recounted], canopy_m: f64) -> Facts {
        let of = |kind: Kind| places.iter().filter(move |place| place.kind == kind);
        let mean = |values: Vec<(&Recounted, f64)>| mean_of(&values, canopy_m);
        Facts {
            pairs: of(Kind::Pair).count(),
            fresh: of(Kind::Fresh).count(),
            part: of(Kind::Part).count(),
            change: mean(of(Kind::Pair).filter_map(|place| changed(place)).collect()),
            beside_expected: mean(of(Kind::Fresh).filter_map(|place| beside(place)).collect()),
            after: mean(self.counting(places).map(|place| (place, place.after_per_m)).collect()),
            above: mean(self.counting(places).filter_map(still_above).collect()),
            band: share(&self.counting(places).collect::<Vec<_>>()),
        }
    }

    /// The places that means of what stands rest on.
    fn counting<'b>(&self, places: &'b [&'b Recounted]) -> impl Iterator<Item = &'b Recounted> {
        let fresh_only = self.fresh_only;
        places.iter().copied().filter(move |place| !fresh_only || place.kind == Kind::Fresh)
    }

    /// A zone after the work, without its place in the order of going back.
    pub(super) fn zone(&self, at: usize, places: &[Recounted]) -> ZoneAudit {
        let (zone, plan) = (&self.basis.evidence.zones.zones[at], &self.basis.plan.zones[at]);
        let (canopy_m, vines) = self.canopy(zone);
        let own: Vec<&Recounted> = places.iter().filter(|place| place.is_in(at)).collect();
        let facts = self.facts(&own, canopy_m);
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
            hours: back.map(|above| self.hours(float(vines), above)),
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

    /// Person-hours for so many vines, at the pace of the timed work.
    fn hours(&self, vines: f64, above: Interval) -> Interval {
        let plain = self.basis.plan.labour.hours_between(vines, above, 0.0);
        let Interval { value, lo90, hi90 } = plain;
        Interval { value: value * self.pace, lo90: lo90 * self.pace, hi90: hi90 * self.pace }
    }

    /// The block: its zones together where each tells its own spread, else all places as one.
    pub(super) fn block(&self, zones: &[ZoneAudit], places: &[Recounted]) -> Facts {
        let all: Vec<&Recounted> = places.iter().filter(|place| place.counts()).collect();
        let canopy_m: f64 = zones.iter().map(|zone| zone.canopy_m).sum();
        let together = |of: fn(&Facts) -> Option<Mean>| {
            let grown = zones.iter().filter(|zone| zone.canopy_m > 0.0);
            let means: Option<Vec<_>> =
                grown.map(|zone| Some((of(&zone.facts)?, zone.canopy_m))).collect();
            means.and_then(|means| Mean::of_zones(&means))
        };
        let plain = self.facts(&all, canopy_m);
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

/// What these places say of so many metres of canopy.
fn mean_of(values: &[(&Recounted, f64)], canopy_m: f64) -> Option<Mean> {
    let counted: f64 = values.iter().map(|(place, _)| place.canopy_m).sum();
    // What was not counted of a vine that was counted in part is not known either.
    let whole = values.iter().all(|(place, _)| place.counted_m >= place.canopy_m * (1.0 - 1e-6));
    let known = if whole && canopy_m > 0.0 { counted / canopy_m } else { 0.0 };
    let values: Vec<(f64, f64)> = values.iter().map(|(p, value)| (*value, p.canopy_m)).collect();
    Mean::of(&values, known)
}

fn vines_a_place(places: &[&Recounted]) -> f64 {
    let vines: usize = places.iter().map(|place| place.vines.len()).sum();
    if places.is_empty() { 1.0 } else { float(vines) / float(places.len()) }
}

fn share(places: &[&Recounted]) -> Option<Share> {
    let of = |band: Band| places.iter().filter(|place| place.band == Some(band)).count();
    let [below, inside, above] = [Band::Below, Band::Inside, Band::Above].map(of);
    let [share, lo90, hi90] = exact_share(inside, below + inside + above, 0.1)?;
    Some(Share { below, inside, above, share: Interval { value: share, lo90, hi90 } })
}
