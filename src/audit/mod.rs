//! What the work reached, by a recount: what came off, what stands, where to go back.
//!
//! Takes what was found out and planned before the work and a [`Joined`] recount, gives an [`Audit`].
//! Never puts counts from before and after into one estimate, never gives an interval from one place,
//! never settles a zone on fewer than five.
//!
//! Decided here, because the recounts leave it open:
//! - What stands now is put together from places counted before and fresh ones by the canopy that each
//!   kind stands for: a crew may work better where vines are marked. Without a place of each kind, or with
//!   one that is neither, all places are one lot.
//! - Inside the target means from its low end to its high end; the renewal shoots that the crew was
//!   told to leave are not counted against the high end.
//! - A panel counted whole is one place: how its vines differ is not known.

mod advice;
mod days;
mod marked;
mod mean;
mod places;
mod timed;
pub mod verdict;
mod zone;

use crate::{
    estimate::{Estimate, VineEstimate},
    finding::{Finding, Findings, Place},
    join::{Joined, Observation},
    names::number_of,
    plan::{Evidence, Interval, Plan, VineTarget},
    settings::PlanSettings,
};

pub use mean::Mean;
pub use places::{Band, Kind};
pub use timed::TimedWork;
pub use verdict::Outcome;

/// What was found out and planned before the work.
#[derive(Debug, Clone, Copy)]
pub struct Basis<'a> {
    /// What the stages before the plan found out.
    pub evidence: Evidence<'a>,
    /// What the crew was to do.
    pub plan: &'a Plan,
}

/// What was found after the work.
#[derive(Debug, Clone, Copy)]
pub struct Found<'a> {
    /// The recount at its places.
    pub joined: &'a Joined,
    /// What was estimated from [`changes`].
    pub change: &'a Estimate,
    /// How far these were moved up, shoots per metre.
    pub moved_per_m: f64,
}

/// The change at every recounted place, to be estimated between them like counts.
#[derive(Debug, Clone)]
pub struct Changes {
    /// The recount with changes for its densities, moved up so that none is below 0.
    pub joined: Joined,
    /// By how much, shoots per metre.
    pub moved_per_m: f64,
}

/// The change at every recounted place: found less counted before, of a fresh one less believed.
///
/// What was counted before is not put into one estimate with what was found after: each place gives
/// one difference.
pub fn changes(basis: Basis<'_>, after: &Joined, settings: &PlanSettings) -> Changes {
    let places = places::places((basis.evidence, basis.plan), after, settings.renewal_shoots);
    let change: Vec<Option<f64>> = places.iter().map(Recounted::change_at_all_per_m).collect();
    let moved_per_m = change.iter().flatten().fold(0.0, |most: f64, change| most.max(-change));
    let moved = |(found, change): (&Observation, &Option<f64>)| {
        let per_m = (*change)? + moved_per_m;
        let windows = vec![(per_m, found.canopy_m)];
        Some(Observation { per_m, counted_m: found.canopy_m, windows, ..found.clone() })
    };
    let shoots = after.shoots.iter().zip(&change).filter_map(moved).collect();
    Changes { joined: Joined { shoots, vigor: None, raster: None, ..after.clone() }, moved_per_m }
}

/// What the work reached.
#[derive(Debug, Clone)]
pub struct Audit {
    /// Every recounted place, in the order of the layout.
    pub places: Vec<Recounted>,
    /// By zone, in the order of the zones.
    pub zones: Vec<ZoneAudit>,
    /// The block as a whole.
    pub block: Facts,
    /// What came off beside what was planned.
    pub came_off: Option<CameOff>,
    /// How much more (below 0: less) stands where vines had been counted than on fresh ones.
    pub counted_less_fresh: Option<Mean>,
    /// Zones to go back to, in order, as indices into [`Audit::zones`].
    pub order: Vec<usize>,
    /// Minutes spent beside those reckoned.
    pub timed: Option<TimedWork>,
    /// By vine place: shoots per metre after less before, estimated from the recounted places.
    pub change_per_m: Vec<Option<f64>>,
}

/// What came off in zones that were to be thinned.
#[derive(Debug, Clone, PartialEq)]
pub struct CameOff {
    /// Those whose pairs give an interval, as indices into [`Audit::zones`].
    pub zones: Vec<usize>,
    /// True when no other zone was to be thinned.
    pub all: bool,
    /// Shoots that came off there.
    pub off: Interval,
    /// Shoots that were to.
    pub planned: Interval,
}

/// A recounted place: a vine, or a panel whose vines were counted together.
#[derive(Debug, Clone, PartialEq)]
pub struct Recounted {
    /// Its present vines, as indices into the layout's vines.
    pub vines: Vec<usize>,
    /// Its zone; `None` where no vine was thought to stand.
    pub zone: Option<usize>,
    /// How it stood before the work.
    pub kind: Kind,
    /// Metres of canopy.
    pub canopy_m: f64,
    /// Metres of canopy that were counted.
    pub counted_m: f64,
    /// Shoots per metre counted before the work; only of a pair.
    pub before_per_m: Option<f64>,
    /// Shoots per metre that were believed before the work.
    pub expected_per_m: Option<f64>,
    /// Shoots per metre found.
    pub after_per_m: f64,
    /// The target of its vines; `None` for young ones.
    pub target: Option<VineTarget>,
    /// What was to be left, renewal shoots among them, shoots per metre.
    pub left_per_m: Option<f64>,
    /// Where it stands against its target.
    pub band: Option<Band>,
}

impl Default for Recounted {
    fn default() -> Self {
        Self {
            vines: Vec::new(),
            zone: None,
            kind: Kind::Fresh,
            canopy_m: 1.0,
            counted_m: 1.0,
            before_per_m: None,
            expected_per_m: None,
            after_per_m: 0.0,
            target: None,
            left_per_m: None,
            band: None,
        }
    }
}

impl Recounted {
    /// Found less counted before, shoots per metre; only of a pair.
    pub fn change_per_m(&self) -> Option<f64> {
        Some(self.after_per_m - self.before_per_m?)
    }

    /// Found less what was counted before, or else believed.
    pub fn change_at_all_per_m(&self) -> Option<f64> {
        Some(self.after_per_m - self.before_per_m.or(self.expected_per_m)?)
    }

    /// True when it is part of what is said of zones: it has one, and a target.
    pub const fn counts(&self) -> bool {
        self.zone.is_some() && self.target.is_some()
    }

    fn is_in(&self, zone: usize) -> bool {
        self.zone == Some(zone) && self.counts()
    }
}

/// What recounts say of a zone or the block.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Facts {
    /// Places counted before and after.
    pub pairs: usize,
    /// Places with no vine that was counted before.
    pub fresh: usize,
    /// Places that were counted before in part, or with others.
    pub part: usize,
    /// Change of the pairs, shoots per metre.
    pub change: Option<Mean>,
    /// Found less believed on fresh places, shoots per metre.
    pub beside_expected: Option<Mean>,
    /// What stands now, shoots per metre.
    pub after: Option<Mean>,
    /// What stands above the aim, vine by vine, shoots per metre.
    pub above: Option<Mean>,
    /// Places inside the target.
    pub band: Option<Share>,
}

/// Places against their target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Below the low end.
    pub below: usize,
    /// Inside.
    pub inside: usize,
    /// Above the high end.
    pub above: usize,
    /// The share inside with its exact 90 % interval.
    pub share: Interval,
}

impl Share {
    /// All places that have a target.
    pub const fn all(&self) -> usize {
        self.below + self.inside + self.above
    }
}

/// A zone after the work.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneAudit {
    /// The zone, as an index.
    pub zone: usize,
    /// Shoots were to come off.
    pub planned: bool,
    /// What is said of it.
    pub outcome: Outcome,
    /// Its place among those to go back to, from 1.
    pub order: Option<usize>,
    /// Metres of canopy of its vines with a target.
    pub canopy_m: f64,
    /// What recounts say.
    pub facts: Facts,
    /// Shoots still above the aim.
    pub above: Option<Interval>,
    /// Person-hours to take them off, where the crew has to go back.
    pub hours: Option<Interval>,
    /// Shoots that came off.
    pub came_off: Option<Interval>,
    /// How many more places to recount until an undecided zone that was to be thinned is settled.
    pub recounts_to_settle: Option<usize>,
    /// What to do or mind there, in plain words.
    pub advice: Vec<String>,
}

/// Audits the work on a block.
///
/// # Source
/// `docs/methods.md`, Audit; see [`Mean`], [`verdict`] and [`crate::maths::share`].
pub fn audit(basis: Basis<'_>, found: Found<'_>, settings: &PlanSettings) -> (Audit, Findings) {
    let Basis { evidence, plan } = basis;
    let places = places::places((evidence, plan), found.joined, settings.renewal_shoots);
    let counting: Vec<&Recounted> = places.iter().filter(|place| place.counts()).collect();
    let marked = marked::counted_less_fresh(&counting, &worked(plan));
    let timed = timed::timed((plan, evidence.joined), (found.joined, &places), settings);
    let labour = timed.as_ref().and_then(|timed| timed.labour.as_ref()).unwrap_or(&plan.labour);
    let counted = places::counted(evidence.joined);
    let look = zone::Look { basis, settings, counted, labour };
    let mut zones: Vec<ZoneAudit> =
        (0..plan.zones.len()).map(|zone| look.zone(zone, &places)).collect();
    let order = order(&zones);
    for (place, &zone) in order.iter().enumerate() {
        zones[zone].order = Some(place + 1);
    }
    let block = look.block(&zones, &places);
    let audit = Audit {
        block,
        came_off: came_off(plan, &zones),
        counted_less_fresh: marked,
        order,
        change_per_m: change_by_vine(found),
        timed,
        zones,
        places,
    };
    let findings = noticed((evidence, found.joined), &audit, settings.fewest_recounted);
    (audit, findings)
}

/// Zones that were to be thinned; all where none was.
fn worked(plan: &Plan) -> Vec<usize> {
    if plan.order.is_empty() { (0..plan.zones.len()).collect() } else { plan.order.clone() }
}

/// Zones to go back to: most shoots above the aim per hour first.
fn order(zones: &[ZoneAudit]) -> Vec<usize> {
    let gain = |zone: &usize| {
        let back = zones[*zone].above.zip(zones[*zone].hours);
        back.map_or(0.0, |(above, hours)| above.value / hours.value.max(1e-9))
    };
    let back = |zone: &usize| zones[*zone].outcome == Outcome::GoBack;
    let mut order: Vec<usize> = (0..zones.len()).filter(back).collect();
    order.sort_by(|a, b| gain(b).total_cmp(&gain(a)).then(a.cmp(b)));
    order
}

/// What came off in planned zones beside what was planned there.
///
/// Pairs of one zone tell nothing of another, so that what came off adds up as independent. What was
/// planned does not, the map ties it together: of all zones the plan knows the interval; of some of
/// them the ends are added, which is as wide as it can be.
fn came_off(plan: &Plan, zones: &[ZoneAudit]) -> Option<CameOff> {
    let planned = || zones.iter().filter(|zone| zone.planned);
    let known: Vec<(usize, Interval)> =
        planned().filter_map(|zone| Some((zone.zone, zone.came_off?))).collect();
    let all = known.len() == planned().count();
    let sum = |of: fn(Interval) -> f64, power: i32| -> f64 {
        known.iter().map(|(_, off)| of(*off).powi(power)).sum()
    };
    let value = sum(|off| off.value, 1);
    let low = sum(|off| off.value - off.lo90, 2).sqrt();
    let high = sum(|off| off.hi90 - off.value, 2).sqrt();
    let off = Interval { value, lo90: value - low, hi90: value + high };
    let zones: Vec<usize> = known.iter().map(|(zone, _)| *zone).collect();
    let planned = if all { plan.remove } else { planned_in(plan, &zones) };
    (!zones.is_empty()).then_some(CameOff { zones, all, off, planned })
}

/// What was to come off in some zones, its ends as far apart as they can be.
fn planned_in(plan: &Plan, zones: &[usize]) -> Interval {
    zones.iter().map(|&zone| plan.zones[zone].remove).fold(Interval::default(), |all, one| {
        let Interval { value, lo90, hi90 } = one;
        Interval { value: all.value + value, lo90: all.lo90 + lo90, hi90: all.hi90 + hi90 }
    })
}

/// The surface of the changes.
fn change_by_vine(found: Found<'_>) -> Vec<Option<f64>> {
    let surface =
        |vine: &Option<VineEstimate>| Some(vine.as_ref()?.surface_per_m - found.moved_per_m);
    found.change.shoots.vines.iter().map(surface).collect()
}

fn noticed((evidence, after): (Evidence<'_>, &Joined), audit: &Audit, few: usize) -> Findings {
    let place = || Place::default().in_feature(format!("block {}", evidence.site.name));
    let mut findings = Findings::none();
    let both = evidence.joined.date.zip(after.date);
    findings.extend(both.and_then(|both| days::doubt(both, place())).into_iter().collect());
    let Facts { pairs, fresh, .. } = audit.block;
    if pairs == 0 {
        let what = "no place was counted both before and after the work";
        let why = "what came off cannot be said, only what stands";
        findings.push(Finding::warning(place(), what).because(why));
    } else if pairs < few {
        let pairs = number_of(pairs, "pair");
        let what = format!("{pairs} of counts: this says little of what came off");
        findings.push(
            Finding::warning(place(), what).mend("recount more of the places counted before"),
        );
    }
    if fresh == 0 && pairs > 0 {
        let what = "every recounted place had been counted before";
        let why = "whether the crew did better on vines that had been counted cannot be told";
        let mend =
            "recount as many places that were not: `catchwire sample --for-audit` draws both";
        findings.push(Finding::warning(place(), what).because(why).mend(mend));
    }
    if audit.counted_less_fresh.and_then(|mean| mean.ends90()).is_some_and(|[_, high]| high < 0.0) {
        let what =
            "places that were counted before carry fewer shoots than fresh ones, beyond chance";
        let why = "the crew may have worked better where vines were marked: what came off by the pairs is \
                   more than elsewhere, what stands now is weighed by the canopy of each kind";
        findings.push(Finding::warning(place(), what).because(why));
    }
    let without = audit.places.iter().filter(|place| !place.counts()).count();
    if without > 0 {
        let places = number_of(without, "recounted place");
        let what = format!("{places} with young vines, or where none was thought to stand");
        let why = "these have no target: audit-pairs.csv lists them, what is said of zones leaves them out";
        findings.push(Finding::warning(place(), what).because(why));
    }
    findings
}
