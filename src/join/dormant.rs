//! What was measured in the dormant season: prunings, the crop before them, buds.

use jiff::civil::Date;

use super::{
    Dormant, Ground, Observation,
    measures::{is_older, observations},
    timing, visits,
    windows::mean,
};
use crate::{
    counts::Count,
    finding::{Finding, Findings, Place},
    names::{agreeing, number_of},
};

/// A crop is picked so many days before its vine is pruned, at most: from late summer to the end of
/// the next spring.
const MOST_DAYS_TO_PRUNING: i32 = 300;

/// Takes what each vine tells of its last dormant season.
pub(super) fn settle(ground: &Ground<'_>, plantings: usize, findings: &mut Findings) -> Dormant {
    let from = timing::season_from(ground.placed, ground.season_days, is_weighed);
    Dormant {
        weighed: weights(ground, from, findings),
        picked: crops(ground, findings),
        buds: buds(ground, plantings, findings),
    }
}

/// A vine without prunings was not weighed: nothing grows and leaves none.
fn is_weighed(count: &Count) -> bool {
    count.pruning_weight_kg.is_some_and(|kg| kg > 0.0)
}

fn weights(ground: &Ground<'_>, from: Option<Date>, findings: &mut Findings) -> Vec<Observation> {
    let records = || ground.placed.iter().map(|record| record.count);
    let older = records().filter(|count| is_weighed(count) && is_older(count.date, from)).count();
    if older > 0 {
        let what = told_of(older, "pruning weight", |are| {
            format!("{are} of an earlier winter and {are} not used")
        });
        findings.push(Finding::note(Place::field("pruning_weight"), what));
    }
    findings.extend(records().filter_map(no_weight).collect());
    let of_season = |at: usize| {
        let count = ground.placed[at].count;
        is_weighed(count) && !is_older(count.date, from)
    };
    per_metre(ground, of_season, |count| count.pruning_weight_kg)
}

/// So many of a thing with what they are, which agrees with their number.
fn told_of(number: usize, thing: &str, what: impl Fn(&str) -> String) -> String {
    format!("{} {}", number_of(number, thing), what(agreeing(number, "is", "are")))
}

/// Tells a weight of 0, which is none.
fn no_weight(count: &Count) -> Option<Finding> {
    count.pruning_weight_kg.filter(|kg| *kg <= 0.0)?;
    let place = count.place.at_field("pruning_weight");
    let why = "a vine that is not there or was not weighed is no vine without growth";
    let note = Finding::note(place, "a pruning weight of 0 is not used").because(why);
    Some(note.mend("leave the cell empty where nothing was weighed, or fill in its `status`"))
}

/// Crops of the harvest before the latest prunings; of the latest harvest where no weight is dated.
fn crops(ground: &Ground<'_>, findings: &mut Findings) -> Vec<Observation> {
    let is_picked = |count: &Count| count.yield_kg.is_some();
    let pruned = ground.placed.iter().filter(|record| is_weighed(record.count));
    let pruned = pruned.filter_map(|record| record.count.date).max();
    let latest = timing::season_from(ground.placed, ground.season_days, is_picked);
    let belongs = |date: Date| match pruned {
        Some(pruned) => (0..=MOST_DAYS_TO_PRUNING).contains(&(pruned - date).get_days()),
        None => !is_older(Some(date), latest),
    };
    let of_season = |count: &Count| is_picked(count) && count.date.is_none_or(belongs);
    let others = ground.placed.iter().map(|record| record.count);
    let others = others.filter(|count| is_picked(count) && !of_season(count)).count();
    if others > 0 {
        let what =
            told_of(others, "yield", |are| format!("{are} not of the harvest before the prunings"));
        let why = "a crop load is the yield over the prunings of the winter after it";
        findings.push(Finding::note(Place::field("yield"), what).because(why));
    }
    per_metre(ground, |at| of_season(ground.placed[at].count), |count| count.yield_kg)
}

/// Kilograms per metre of canopy, the mean of the latest records of each place.
fn per_metre(
    ground: &Ground<'_>,
    used: impl Fn(usize) -> bool,
    kilograms: impl Fn(&Count) -> Option<f64>,
) -> Vec<Observation> {
    let by_place = visits::latest(ground, used);
    observations(ground, &by_place, |records, canopy_m| {
        let found = records.iter().filter_map(|&record| kilograms(ground.placed[record].count));
        let found: Vec<f64> = found.collect();
        mean(&found) / canopy_m
    })
}

/// Dead buds and buds looked at, where a record tells both.
fn looked_at(count: &Count) -> Option<(u32, u32)> {
    let (buds, dead) = count.buds.filter(|buds| *buds > 0).zip(count.buds_dead)?;
    Some((dead.min(buds), buds))
}

/// Dead buds and buds looked at by planting, in the latest winter of which there are some.
fn buds(ground: &Ground<'_>, plantings: usize, findings: &mut Findings) -> Vec<Option<(u32, u32)>> {
    let tells = |count: &Count| looked_at(count).is_some();
    let from = timing::season_from(ground.placed, ground.season_days, tells);
    tell_unused_buds(ground, from, findings);
    let mut sums = vec![None; plantings];
    for record in ground.placed.iter().filter(|record| !is_older(record.count.date, from)) {
        let first = ground.places_of(record.target).next();
        let planting = first.and_then(|vine| sums.get_mut(ground.vines[vine].planting));
        if let Some((looked, sum)) = looked_at(record.count).zip(planting) {
            *sum = add(*sum, Some(looked));
        }
    }
    sums
}

fn tell_unused_buds(ground: &Ground<'_>, from: Option<Date>, findings: &mut Findings) {
    let records = || ground.placed.iter().map(|record| record.count);
    let older = |count: &&Count| looked_at(count).is_some() && is_older(count.date, from);
    let older = records().filter(older).count();
    if older > 0 {
        let what = told_of(older, "record", |are| {
            format!("of buds {are} of an earlier winter and {are} not used")
        });
        findings.push(Finding::note(Place::field("buds"), what));
    }
    let half = |count: &&Count| {
        looked_at(count).is_none() && (count.buds.is_some() || count.buds_dead.is_some())
    };
    let half = records().filter(half).count();
    if half > 0 {
        let what = told_of(half, "record", |are| format!("of buds {are} not used"));
        let why =
            "a share of dead buds takes both, the buds looked at and the dead ones among them";
        let mend = "fill in both buds and buds_dead, 0 where none was dead";
        findings.push(Finding::warning(Place::field("buds_dead"), what).because(why).mend(mend));
    }
}

/// Those of all plantings together.
pub(super) fn all_buds(by_planting: &[Option<(u32, u32)>]) -> Option<(u32, u32)> {
    by_planting.iter().copied().fold(None, add)
}

fn add(one: Option<(u32, u32)>, other: Option<(u32, u32)>) -> Option<(u32, u32)> {
    match (one, other) {
        (Some((dead, buds)), Some((more_dead, more))) => {
            Some((dead.saturating_add(more_dead), buds.saturating_add(more)))
        }
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::{
        counts::Status,
        join::{
            Joined,
            field::{Field, on, on_panel, told},
        },
    };

    fn join(counts: &[Count]) -> (Joined, Findings) {
        Field::new().join(counts)
    }

    fn weighed(vine: u32, kg: f64) -> Count {
        Count { shoots: None, pruning_weight_kg: Some(kg), ..on(1, vine, 0) }
    }

    #[test]
    fn two_weights_are_kept_though_they_make_no_map() {
        let (joined, _) = join(&[weighed(1, 0.6), weighed(2, 1.2)]);
        assert!(joined.vigor.is_none());
        let found: Vec<f64> = joined.dormant.weighed.iter().map(|one| one.per_m).collect();
        assert!((found[0] - 0.5).abs() < 1e-12 && (found[1] - 1.0).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn a_weight_of_zero_and_a_missing_vine_are_no_weak_vines() {
        let missing = Count { status: Some(Status::Missing), ..weighed(2, 0.4) };
        let nothing = Count { place: Place::default().at_line(3), ..weighed(1, 0.0) };
        let (joined, findings) = join(&[nothing, missing, weighed(3, 0.6)]);
        let vines: Vec<_> = joined.dormant.weighed.iter().map(|one| one.vines.clone()).collect();
        assert_eq!(vines, [vec![2]]);
        assert_eq!(told(&findings, "line 3, `pruning_weight`: a pruning weight of 0"), 1);
    }

    #[test]
    fn a_crop_belongs_to_the_winter_after_it() {
        let picked = |year: i16, month: i8, vine: u32| Count {
            yield_kg: Some(3.0),
            date: Some(date(year, month, 1)),
            ..weighed(vine, 0.0)
        };
        let pruned = Count { date: Some(date(2026, 3, 1)), ..weighed(1, 0.6) };
        let counts = [pruned, picked(2025, 10, 1), picked(2024, 10, 2), picked(2026, 10, 3)];
        let (joined, findings) = join(&counts);
        let vines: Vec<_> = joined.dormant.picked.iter().map(|one| one.vines.clone()).collect();
        assert_eq!(vines, [vec![0]]);
        assert!((joined.dormant.picked[0].per_m - 2.5).abs() < 1e-12);
        assert_eq!(told(&findings, "2 yields are not of the harvest"), 1);
    }

    #[test]
    fn a_panel_is_weighed_over_the_vines_that_stand() {
        let panel = Count { shoots: None, pruning_weight_kg: Some(2.4), ..on_panel(1, 1, 0) };
        let missing = Count { status: Some(Status::Missing), shoots: None, ..on(1, 2, 0) };
        let (joined, _) = join(&[panel, missing]);
        let one = &joined.dormant.weighed[0];
        assert_eq!(one.vines, [0, 2, 3]);
        assert!((one.per_m - 2.4 / 3.6).abs() < 1e-12);
    }

    #[test]
    fn buds_are_summed_over_the_latest_winter() {
        let looked = |year: i16, dead: u32| Count {
            buds: Some(20),
            buds_dead: Some(dead),
            date: Some(date(year, 2, 1)),
            ..weighed(1, 0.5)
        };
        let (joined, _) = join(&[looked(2025, 19), looked(2026, 3), looked(2026, 5)]);
        assert_eq!((joined.buds, &joined.dormant.buds[0]), (Some((8, 40)), &Some((8, 40))));
    }

    #[test]
    fn buds_that_are_not_used_are_told() {
        let looked = |year: i16, [buds, buds_dead]: [Option<u32>; 2]| Count {
            buds,
            buds_dead,
            date: Some(date(year, 2, 1)),
            ..weighed(1, 0.5)
        };
        let [both, no_dead, no_buds] = [[Some(20), Some(4)], [Some(20), None], [None, Some(3)]];
        let counts =
            [looked(2024, both), looked(2025, both), looked(2028, no_dead), looked(2025, no_buds)];
        let (joined, findings) = join(&counts);
        assert_eq!(joined.buds, Some((4, 20)), "a later winter without dead ones hides none");
        assert_eq!(told(&findings, "1 record of buds is of an earlier winter"), 1);
        assert_eq!(told(&findings, "2 records of buds are not used"), 1);
        let (_, findings) = join(&[looked(2025, both), looked(2025, [None; 2])]);
        assert_eq!(told(&findings, "records of buds"), 0);
    }
}
