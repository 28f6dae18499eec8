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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::counts::{Count, Shoots};
    use crate::join::field::{Field, VINE_M, on, on_panel, told};
    use jiff::civil::date;

    fn on_window(vine: u32, label: &str, all: u32, over_m: f64) -> Count {
        let window = Some(label.to_owned());
        Count { window, counted_length: Some(Metres::new(over_m)), ..on(1, vine, all) }
    }

    fn visited(label: &str, day: i8, count: Count) -> Count {
        Count { visit: Some(label.to_owned()), date: Some(date(2026, 5, day)), ..count }
    }

    #[track_caller]
    fn densities(counts: &[Count], expected: &[f64]) -> (crate::join::Joined, Findings) {
        let (joined, findings) = Field::new().join(counts);
        let found: Vec<f64> = joined.shoots.iter().map(|one| one.per_m).collect();
        let off = found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-12);
        assert!(found.len() == expected.len() && off, "{found:?}, not {expected:?}");
        (joined, findings)
    }

    #[test]
    fn a_vine_counted_whole_has_its_shoots_over_its_canopy() {
        let (joined, findings) = densities(&[on(1, 1, 24)], &[20.0]);
        assert!(findings.is_empty(), "{findings:?}");
        let one = &joined.shoots[0];
        assert_eq!((one.canopy_m, one.counted_m, &one.windows[..]), (1.2, 1.2, &[(20.0, 1.2)][..]));
        assert_eq!(joined.records[0].shoots_per_m, Some(20.0));
        let longer = Count { canopy_length: Some(Metres::new(2.4)), ..on(1, 1, 24) };
        densities(&[longer], &[10.0]);
    }

    #[test]
    fn windows_of_one_visit_are_repeats_pooled_by_length() {
        let windows = [on_window(1, "a", 6, 0.3), on_window(1, "b", 3, 0.6)];
        let (joined, findings) = densities(&windows, &[10.0]);
        assert!(findings.is_empty(), "{findings:?}");
        assert!((joined.shoots[0].counted_m - 0.9).abs() < 1e-12);
        assert_eq!(joined.shoots[0].windows.len(), 2);
        assert_eq!(joined.records[1].shoots_per_m, Some(5.0));
        let starts = [0.0, 0.5].map(|start| Count {
            window: None,
            window_start: Some(Metres::new(start)),
            ..on_window(1, "", 6, 0.3)
        });
        assert_eq!(densities(&starts, &[20.0]).0.shoots[0].windows.len(), 2);
    }

    #[test]
    fn the_same_count_twice_is_one_and_a_different_one_is_a_conflict() {
        let (joined, findings) = densities(&[on(1, 1, 24), on(1, 1, 24)], &[20.0]);
        assert_eq!(told(&findings, "R001V001 is there 2 times with the same count"), 1);
        assert_eq!(joined.shoots[0].windows.len(), 1);
        let (joined, findings) = densities(&[on(1, 1, 24), on(1, 1, 36)], &[25.0]);
        assert_eq!(told(&findings, "2 different counts of one visit and window: 24, 36"), 1);
        assert_eq!(joined.records.len(), 2);
    }

    #[test]
    fn the_latest_visit_before_the_work_is_used() {
        let counts = [
            visited("before", 1, on(1, 1, 12)),
            visited("before", 9, on(1, 1, 24)),
            visited("After work", 20, on(1, 1, 6)),
            visited("recount", 21, on(1, 2, 6)),
        ];
        let (joined, findings) = densities(&counts, &[20.0]);
        assert_eq!(told(&findings, "2 counts of shoots are labelled as after the work"), 1);
        assert_eq!(told(&findings, "1 places were counted on several visits"), 1);
        assert_eq!(joined.date, Some(date(2026, 5, 9)));
        let used: Vec<bool> = joined.records.iter().map(|r| r.shoots_per_m.is_some()).collect();
        assert_eq!(used, [false, true, false, false]);
    }

    fn timed(count: Count) -> Count {
        Count { minutes: Some(2.0), ..count }
    }

    #[test]
    fn two_unlabelled_visits_before_the_work_give_the_later_and_keep_both() {
        let counts = [visited("", 1, on(1, 1, 12)), visited("", 9, on(1, 1, 24))];
        let (joined, findings) = densities(&counts, &[20.0]);
        assert_eq!(told(&findings, "1 places were counted on several visits"), 1);
        assert_eq!((joined.records.len(), findings.iter().count()), (2, 1), "{findings:?}");
    }

    #[test]
    fn other_vines_on_a_later_visit_of_the_season_are_used_beside_the_first() {
        let counts = [visited("", 1, on(1, 1, 24)), visited("", 9, on(1, 2, 36))];
        let (_, findings) = densities(&counts, &[20.0, 30.0]);
        assert!(findings.is_empty(), "{findings:?}");
    }

    #[test]
    fn a_count_after_known_work_on_its_vines_is_never_averaged_with_one_before() {
        let what = "1 counts of shoots were made where work had been done";
        let later = visited("", 20, on(1, 1, 6));
        let told_once = |before: Count, work: Option<Count>, after: Count, expected: &[f64]| {
            let counts: Vec<Count> =
                [Some(before), work, Some(after)].into_iter().flatten().collect();
            let (joined, findings) = densities(&counts, expected);
            assert_eq!(told(&findings, what), 1, "{findings:?}");
            assert!(joined.records.last().unwrap().shoots_per_m.is_none());
        };
        let before = visited("", 9, on(1, 1, 24));
        // Timed with its count; timed on a line of its own; timed as a whole panel; on one day.
        told_once(timed(before.clone()), None, later.clone(), &[20.0]);
        let work = timed(Count { shoots: None, ..visited("", 10, on(1, 1, 0)) });
        told_once(before.clone(), Some(work), later.clone(), &[20.0]);
        let work = timed(Count { shoots: None, ..visited("", 10, on_panel(1, 1, 0)) });
        told_once(before.clone(), Some(work), later.clone(), &[20.0]);
        told_once(timed(before.clone()), None, visited("", 9, on(1, 1, 6)), &[20.0]);
        // A labelled recount, then one whose label was forgotten; no count before at all.
        told_once(before.clone(), Some(visited("after", 12, on(1, 1, 7))), later.clone(), &[20.0]);
        let work = timed(Count { shoots: None, ..visited("", 10, on(1, 1, 0)) });
        let (_, findings) = densities(&[work, later], &[]);
        assert_eq!(told(&findings, what), 1);
    }

    #[test]
    fn work_elsewhere_or_later_and_a_label_leave_a_count_as_it_is() {
        let work =
            |vine: u32, day: i8| timed(Count { shoots: None, ..visited("", day, on(1, vine, 0)) });
        let count = visited("", 9, on(1, 1, 24));
        for other in [work(2, 1), work(1, 9), work(1, 20)] {
            let (_, findings) = densities(&[other, count.clone()], &[20.0]);
            assert!(findings.is_empty(), "{findings:?}");
        }
        densities(&[work(1, 1), visited("before", 9, on(1, 1, 24))], &[20.0]);
    }

    #[test]
    fn counts_of_another_season_are_not_mixed_in() {
        let dated = |year: i16, month: i8, count: Count| Count {
            date: Some(date(year, month, 20)),
            ..count
        };
        // North of the equator, and south of it across the turn of the year.
        for [(old, then), (new, now)] in [[(2025, 5), (2026, 5)], [(2024, 12), (2025, 11)]] {
            let counts = [dated(old, then, on(1, 1, 12)), dated(new, now, on(1, 2, 24))];
            let (joined, findings) = densities(&counts, &[20.0]);
            assert_eq!(told(&findings, "1 counts of shoots are of another season"), 1);
            assert_eq!(joined.shoots[0].vines, [1]);
        }
        let counts = [dated(2025, 12, on(1, 1, 12)), dated(2026, 1, on(1, 2, 24))];
        let (_, findings) = densities(&counts, &[10.0, 20.0]);
        assert!(findings.is_empty(), "one southern season: {findings:?}");
        // Work of last season says nothing of this one's counts.
        let counts = [timed(dated(2025, 5, on(1, 1, 12))), dated(2026, 5, on(1, 1, 24))];
        let (joined, findings) = densities(&counts, &[20.0]);
        assert_eq!(told(&findings, "where work had been done"), 0);
        assert_eq!(joined.timed[0].shoots, None, "its shoots are not those of this season");
    }

    #[test]
    fn undated_counts_beside_dated_ones_are_told_and_older() {
        let counts = [on(1, 1, 12), visited("", 9, on(1, 1, 24)), on(1, 2, 36)];
        let (_, findings) = densities(&counts, &[20.0, 30.0]);
        assert_eq!(told(&findings, "2 counts of shoots have no date, and others have one"), 1);
        let (_, findings) = densities(&[on(1, 1, 24), on(1, 2, 36)], &[20.0, 30.0]);
        assert!(findings.is_empty(), "{findings:?}");
    }

    /// Differences of 6, 3, 4, 5, 2 shoots on 1.2 m: mean 4 / 1.2 = 3.33, s = 1.5811 / 1.2,
    /// t = 4 / (1.5811 / √5) = 5.66.
    #[test]
    fn a_clear_change_between_visits_is_told_with_its_size() {
        let twice = |changes: [u32; 5]| {
            let pairs = (1..=5).zip(changes).flat_map(|(vine, more)| {
                [visited("", 1, on(1, vine, 20)), visited("", 9, on(1, vine, 20 + more))]
            });
            let alone = (6..=8).map(|vine| visited("", 1, on(1, vine, 20)));
            Field::new().join(&pairs.chain(alone).collect::<Vec<_>>())
        };
        let (joined, findings) = twice([6, 3, 4, 5, 2]);
        let what = "shoots rose by 3.3 a metre between two visits (t = 5.7, 5 places";
        assert_eq!(told(&findings, what), 1, "{findings:?}");
        assert_eq!(told(&findings, "3 places were counted on the earlier visit only"), 1);
        assert_eq!(joined.shoots.len(), 8);
        let (_, findings) = twice([6, 0, 1, 0, 0]);
        assert_eq!(told(&findings, "between two visits"), 0, "t = 1.2: {findings:?}");
    }

    #[test]
    fn counts_from_before_a_frost_are_not_used() {
        let mut field = Field::new();
        field.settings.not_before = Some(date(2026, 5, 10));
        let counts = [visited("", 9, on(1, 1, 12)), visited("", 10, on(1, 2, 24)), on(1, 3, 30)];
        let (joined, findings) = field.join(&counts);
        assert_eq!(joined.shoots.len(), 1);
        assert_eq!(joined.shoots[0].vines, [1]);
        assert_eq!(told(&findings, "2 counts of shoots are from before 2026-05-10"), 1);
    }

    #[test]
    fn a_missing_vine_is_never_an_observation() {
        let mut field = Field::new();
        field.site.missing = vec!["r1v2".to_owned(), "R099V001".to_owned()];
        let gone = Count { status: Some(Status::Missing), ..on(1, 1, 0) };
        let (joined, findings) = field.join(&[gone, on(1, 2, 12), on(1, 3, 0)]);
        assert_eq!(joined.shoots.len(), 1);
        assert_eq!(joined.shoots[0].vines, [2]);
        assert!(joined.vines[0].status.is_missing() && joined.vines[1].status.is_missing());
        assert_eq!(told(&findings, "R001V002 is missing, but 12 shoots"), 1);
        assert_eq!(told(&findings, "`R099V001` is listed as missing, but row 99"), 1);
        assert_eq!(told(&findings, "R001V003 has no shoots at all"), 1);
        assert_eq!(findings.iter().count(), 3, "{findings:?}");
    }

    #[test]
    fn a_whole_panel_is_the_mean_of_the_vines_that_stand() {
        let gone = Count { status: Some(Status::Missing), shoots: None, ..on(1, 2, 0) };
        let (joined, _) = densities(&[on_panel(1, 1, 72), gone], &[20.0]);
        assert_eq!(joined.shoots[0].vines, [0, 2, 3]);
        assert!(!joined.vines[1].counted && joined.vines[3].counted);
        assert!((joined.shoots[0].canopy_m - 3.0 * VINE_M).abs() < 1e-12);
        let empty = Count { status: Some(Status::Missing), ..on_panel(1, 1, 72) };
        let (_, findings) = densities(&[empty], &[]);
        assert_eq!(told(&findings, "R001P01 is missing, but 72 shoots"), 1);
    }

    #[test]
    fn a_window_in_a_counted_panel_is_left_to_the_panel() {
        let counts = [on_panel(1, 1, 96), on_window(1, "a", 6, 0.3)];
        let (joined, findings) = densities(&counts, &[20.0]);
        assert_eq!(joined.shoots[0].vines.len(), 4);
        assert_eq!(told(&findings, "R001P01 was counted whole"), 1);
        let all: Vec<Count> = (1..=4).map(|vine| on(1, vine, 24)).collect();
        densities(&[&all[..], &[on_panel(1, 1, 90)]].concat(), &[20.0; 4]);
    }

    #[test]
    fn lengths_that_cannot_be_are_mended_and_told() {
        let (joined, findings) = densities(&[on_window(1, "", 30, 3.0)], &[10.0]);
        assert!((joined.vines[0].canopy_m - 3.0).abs() < 1e-12);
        assert_eq!(told(&findings, "1.20 m of canopy, but 3.00 m were counted"), 1);
        let (_, findings) = densities(&[on_window(1, "", 30, 0.0)], &[]);
        assert_eq!(told(&findings, "over no length"), 1);
        let long = Count { canopy_length: Some(Metres::new(3.7)), ..on(1, 1, 37) };
        let (_, findings) = densities(&[long], &[10.0]);
        assert_eq!(told(&findings, "more than 3 times"), 1, "{findings:?}");
        let none = Count { canopy_length: Some(Metres::new(0.0)), ..on(1, 1, 24) };
        let (_, findings) = densities(&[none], &[20.0]);
        assert_eq!(told(&findings, "no length"), 1);
        let panel = Count { canopy_length: Some(Metres::new(9.6)), ..on_panel(1, 1, 96) };
        densities(&[panel], &[10.0]);
    }

    #[test]
    fn young_vines_are_counted_but_are_no_measure_of_what_is_usual() {
        let young = (1..=8).map(|vine| Count { status: Some(Status::Replant), ..on(2, vine, 3) });
        let grown = (1..=6).map(|vine| on(1, vine, 20 + vine));
        let (joined, findings) = Field::new().join(&young.chain(grown).collect::<Vec<_>>());
        assert_eq!(joined.shoots.len(), 14);
        assert!(findings.is_empty(), "{findings:?}");
    }

    #[test]
    fn parts_are_already_summed() {
        let shoots = Some(Shoots { all: 24, secondary: Some(6), base: Some(2) });
        densities(&[Count { shoots, ..on(1, 1, 0) }], &[20.0]);
    }

    #[test]
    fn a_slip_of_the_pen_is_doubted_and_used() {
        let mut counts: Vec<Count> = (1..=8).map(|vine| on(1, vine, 20 + vine)).collect();
        counts.push(on(2, 1, 90));
        let (joined, findings) = Field::new().join(&counts);
        assert_eq!(told(&findings, "R002V001 has 75.0 shoots a metre"), 1, "{findings:?}");
        assert_eq!((joined.shoots.len(), findings.iter().count()), (9, 1));
    }

    #[test]
    fn a_count_that_no_canopy_carries_is_told_and_not_used() {
        let mut counts: Vec<Count> = (1..=8).map(|vine| on(1, vine, 20 + vine)).collect();
        counts.push(on(2, 1, 242));
        let (joined, findings) = Field::new().join(&counts);
        assert_eq!(told(&findings, "202 shoots a metre of canopy"), 1, "{findings:?}");
        assert_eq!((joined.shoots.len(), joined.records.len()), (8, 9));
    }
}
