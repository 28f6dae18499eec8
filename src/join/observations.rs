//! One shoot density for every vine, or whole panel, that was counted.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    Ground, Observation, Target, shift,
    told::Told,
    visits,
    windows::{Measured, Pooled, pool},
};
use crate::{
    counts::Status,
    finding::{Finding, Findings, Place},
    settings::JoinSettings,
    units::Metres,
};

/// The densities of a block and what they came from.
pub(super) struct Counted {
    /// In the order of their first vines.
    pub(super) observations: Vec<Observation>,
    /// By placed record: its density, where it is used.
    pub(super) densities: Vec<Option<f64>>,
    /// The vines that were counted, young ones too.
    pub(super) vines: BTreeSet<usize>,
}

/// One place's count while overlaps are not yet settled.
struct Density {
    vines: Vec<usize>,
    records: Vec<usize>,
    pooled: Pooled,
}

/// The shoot densities of a block.
pub(super) fn shoots(
    ground: &Ground<'_>,
    settings: &JoinSettings,
    findings: &mut Findings,
) -> Counted {
    visits::tell(ground, settings.not_before, findings);
    shift::tell(ground, findings);
    let mut told = Told::default();
    let mut by_place: BTreeMap<Target, Density> = BTreeMap::new();
    for (target, records) in visits::latest(ground, |at| ground.tells_shoots(at)) {
        if let Some(density) = density(ground, target, &records, &mut told) {
            by_place.insert(target, density);
        }
    }
    settle_overlaps(ground, &mut by_place, &mut told);
    told.tell(findings);
    counted(ground, by_place)
}

fn density(
    ground: &Ground<'_>,
    target: Target,
    records: &[usize],
    told: &mut Told,
) -> Option<Density> {
    let vines = ground.standing_in(target);
    if vines.is_empty() {
        doubt_count_on_missing(ground, target, records, told);
        return None;
    }
    let canopy_m = ground.canopy_m(&vines);
    let measured: Vec<Measured> =
        records.iter().filter_map(|&record| measured(ground, record, canopy_m, told)).collect();
    if measured.is_empty() {
        return None;
    }
    let pooled = pool(ground, target, canopy_m, &measured, told);
    if pooled.per_m <= 0.0 {
        doubt_zero(ground, target, records, told);
    }
    Some(Density { vines, records: measured.iter().map(|one| one.record).collect(), pooled })
}

/// Shoots a metre above which a count is a slip, not a canopy: 30 a foot, six times a full target.
/// Our judgement.
const MOST_SHOOTS_PER_M: f64 = 100.0;

fn measured(
    ground: &Ground<'_>,
    record: usize,
    canopy_m: f64,
    told: &mut Told,
) -> Option<Measured> {
    let count = ground.placed[record].count;
    let shoots = count.shoots.filter(|_| count.status != Some(Status::Missing))?;
    let over_m = count.counted_length.map_or(canopy_m, Metres::metres);
    if over_m <= 0.0 {
        let place = count.place.at_field("counted_length");
        let warning = Finding::warning(place, "shoots counted over no length are not used")
            .mend("leave the cell empty where the whole vine was counted");
        told.push("counted over no length", warning);
        return None;
    }
    let amount = f64::from(shoots.all);
    if amount / over_m > MOST_SHOOTS_PER_M {
        let what = format!("{:.0} shoots a metre of canopy", amount / over_m);
        let warning = Finding::warning(count.place.at_field("shoots"), what)
            .because("no canopy carries so many: the count is not used")
            .mend("count it again: a slip of the pen, a whole panel, or a wrong length");
        told.push("counts that no canopy carries", warning);
        return None;
    }
    Some(Measured { record, amount, over_m })
}

fn doubt_count_on_missing(ground: &Ground<'_>, target: Target, records: &[usize], told: &mut Told) {
    let counts = records.iter().map(|&record| ground.placed[record].count);
    for count in counts.filter(|count| count.shoots.is_some_and(|shoots| shoots.all > 0)) {
        let shoots = count.shoots.map_or(0, |shoots| shoots.all);
        let what =
            format!("{} is missing, but {shoots} shoots were counted there", ground.name(target));
        let warning = Finding::warning(count.place.clone(), what)
            .because("the count is not used: where no vine stands there is no density")
            .mend("set its `status` to present, or check the id");
        told.push("counted shoots where no vine stands", warning);
    }
}

fn doubt_zero(ground: &Ground<'_>, target: Target, records: &[usize], told: &mut Told) {
    let Some(&record) = records.last() else { return };
    let what = format!("{} has no shoots at all: is the vine missing?", ground.name(target));
    let place = ground.placed[record].count.place.at_field("shoots");
    let warning = Finding::warning(place, what)
        .because("it is used as a vine without shoots; a missing vine is never a zero")
        .mend("set its `status` to missing if no vine stands there");
    told.push("have no shoots on a vine that stands", warning);
}

/// No vine is counted twice: where some vines of a counted panel were counted alone, the panel's
/// count speaks for the others only.
fn settle_overlaps(ground: &Ground<'_>, by_place: &mut BTreeMap<Target, Density>, told: &mut Told) {
    let panels: Vec<Target> =
        by_place.keys().copied().filter(|target| matches!(target, Target::Panel(_))).collect();
    for panel in panels {
        let alone: Vec<Target> = ground
            .places_of(panel)
            .map(Target::Vine)
            .filter(|vine| by_place.contains_key(vine))
            .collect();
        if !alone.is_empty()
            && let Some(of_panel) = by_place.remove(&panel)
        {
            let what = settle_overlap(ground, by_place, (panel, of_panel), &alone);
            let place = Place::field("panel");
            told.push("are of panels whose vines were counted too", Finding::note(place, what));
        }
    }
}

fn settle_overlap(
    ground: &Ground<'_>,
    by_place: &mut BTreeMap<Target, Density>,
    (panel, of_panel): (Target, Density),
    alone: &[Target],
) -> String {
    let name = ground.name(panel);
    let singles: Vec<&Density> = alone.iter().filter_map(|vine| by_place.get(vine)).collect();
    if !of_panel.pooled.whole || singles.iter().any(|single| !single.pooled.whole) {
        for vine in alone {
            by_place.remove(vine);
        }
        by_place.insert(panel, of_panel);
        return format!("{name} was counted whole: the windows on its single vines are not used");
    }
    let counted_alone: BTreeSet<usize> =
        singles.iter().flat_map(|single| single.vines.iter().copied()).collect();
    let amount_alone: f64 =
        singles.iter().map(|single| single.pooled.per_m * ground.canopy_m(&single.vines)).sum();
    let amount = of_panel.pooled.per_m * ground.canopy_m(&of_panel.vines) - amount_alone;
    let others: Vec<usize> =
        of_panel.vines.iter().copied().filter(|vine| !counted_alone.contains(vine)).collect();
    let canopy_m = ground.canopy_m(&others);
    if canopy_m <= 0.0 || amount < 0.0 {
        return format!("{name}: its vines were counted alone too, and those counts are used");
    }
    let per_m = amount / canopy_m;
    let windows = vec![(per_m, canopy_m)];
    let pooled = Pooled { per_m, counted_m: canopy_m, windows, whole: true };
    by_place.insert(panel, Density { vines: others, pooled, ..of_panel });
    format!("{name}: some vines were counted alone; the rest of its count is for the others")
}

fn counted(ground: &Ground<'_>, by_place: BTreeMap<Target, Density>) -> Counted {
    let mut counted = Counted {
        observations: Vec::new(),
        densities: vec![None; ground.placed.len()],
        vines: BTreeSet::new(),
    };
    for density in by_place.into_values() {
        for &record in &density.records {
            counted.densities[record] = density_of(ground, record);
        }
        counted.vines.extend(&density.vines);
        counted.observations.push(Observation {
            canopy_m: ground.canopy_m(&density.vines),
            per_m: density.pooled.per_m,
            counted_m: density.pooled.counted_m,
            windows: density.pooled.windows,
            vines: density.vines,
        });
    }
    counted.observations.sort_by(|a, b| a.vines.cmp(&b.vines));
    counted
}

/// What a record says by itself: shoots over the length that it counted.
fn density_of(ground: &Ground<'_>, record: usize) -> Option<f64> {
    let placed = &ground.placed[record];
    let over_m = placed
        .count
        .counted_length
        .map_or_else(|| ground.canopy_m(&ground.standing_in(placed.target)), Metres::metres);
    let shoots = placed.count.shoots.filter(|_| over_m > 0.0)?;
    Some(f64::from(shoots.all) / over_m)
}
