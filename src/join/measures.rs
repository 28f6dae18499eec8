//! What else the records tell: vigor, growth, suckers, buds, minutes, the date.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{
    Ground, Observation, Placed, Target, Timed, Vigor, VigorMeasure, timing, visits, windows::mean,
};
use crate::{
    finding::{Finding, Findings, Place},
    units::Metres,
};

/// Fewer vines with a measure of vigor than this are no map of it.
const FEWEST_FOR_VIGOR: usize = 5;
/// Shoots grow up to a centimetre or two a day: lengths of more days than this are no comparison.
const MOST_DAYS_APART: i32 = 3;

/// Pruning weight where enough vines have it, else shoot length.
pub(super) fn vigor(
    ground: &Ground<'_>,
    weights: &[Observation],
    findings: &mut Findings,
) -> Option<Vigor> {
    let grown = |measured: &[Observation]| {
        measured.iter().filter(|one| ground.any_grown(&one.vines)).count()
    };
    if grown(weights) >= FEWEST_FOR_VIGOR {
        let observations = weights.to_vec();
        return Some(Vigor { measure: VigorMeasure::PruningWeight, observations });
    }
    let lengths = shoot_lengths(ground, findings);
    if grown(&lengths) >= FEWEST_FOR_VIGOR {
        return Some(Vigor { measure: VigorMeasure::ShootLength, observations: lengths });
    }
    let known = grown(weights).max(grown(&lengths));
    if known > 0 {
        let what = format!("vigor is known of {known} grown vines or panels only");
        let note = Finding::note(Place::field("pruning_weight"), what)
            .because(format!("under {FEWEST_FOR_VIGOR} it moves no target"));
        findings.push(note);
    }
    None
}

pub(super) fn is_older(date: Option<Date>, from: Option<Date>) -> bool {
    date.zip(from).is_some_and(|(date, from)| date < from)
}

fn shoot_lengths(ground: &Ground<'_>, findings: &mut Findings) -> Vec<Observation> {
    let by_place = visits::latest(ground, |at| tells_shoot_length(ground, at));
    let dates: BTreeSet<Date> = by_place
        .values()
        .flatten()
        .filter_map(|&record| ground.placed[record].count.date)
        .collect();
    if let (Some(&first), Some(&last)) = (dates.first(), dates.last())
        && (last - first).get_days() > MOST_DAYS_APART
    {
        let what = format!("shoot lengths of {first} to {last} are taken as a measure of vigor");
        let warning = Finding::warning(Place::field("shoot_length"), what)
            .because("shoots grew between these days, which looks like vigor")
            .mend("measure all vines within a few days, or give pruning weights");
        findings.push(warning);
    }
    let length = |records: &[usize], _: f64| mean(&lengths_of(ground.placed, records));
    observations(ground, &by_place, length)
}

fn tells_shoot_length(ground: &Ground<'_>, at: usize) -> bool {
    ground.placed[at].count.shoot_length.is_some() && ground.timing[at].is_none()
}

fn lengths_of(placed: &[Placed<'_>], records: &[usize]) -> Vec<f64> {
    let lengths = records.iter().filter_map(|&record| placed[record].count.shoot_length);
    lengths.map(Metres::metres).collect()
}

/// One observation a place, but none of a panel whose vines were measured alone.
pub(super) fn observations(
    ground: &Ground<'_>,
    by_place: &visits::ByPlace,
    per_m: impl Fn(&[usize], f64) -> f64,
) -> Vec<Observation> {
    let mut alone = BTreeSet::new();
    let mut all = Vec::new();
    // Vines come before panels in the order of targets.
    for (&target, records) in by_place {
        let vines = ground.standing_in(target);
        let canopy_m = ground.canopy_m(&vines);
        if canopy_m <= 0.0 || vines.iter().any(|vine| alone.contains(vine)) {
            continue;
        }
        if let Target::Vine(vine) = target {
            alone.insert(vine);
        }
        let per_m = per_m(records, canopy_m);
        let windows = vec![(per_m, canopy_m)];
        all.push(Observation { vines, per_m, canopy_m, counted_m: canopy_m, windows });
    }
    all.sort_by(|a, b| a.vines.cmp(&b.vines));
    all
}

/// Timed work, with the shoots that were there before it.
pub(super) fn timed(ground: &Ground<'_>, observations: &[Observation]) -> Vec<Timed> {
    let by_vines: BTreeMap<&[usize], &Observation> =
        observations.iter().map(|one| (&one.vines[..], one)).collect();
    let timed = ground.placed.iter().zip(&ground.timing).filter_map(|(record, why)| {
        let minutes = record.count.minutes.filter(|minutes| *minutes > 0.0)?;
        let vines = ground.standing_in(record.target);
        let this_season = *why != Some(timing::Why::OtherSeason);
        let before = by_vines.get(&vines[..]).filter(|_| this_season);
        let shoots = before.map(|one| one.per_m * one.canopy_m);
        (!vines.is_empty()).then_some(Timed { minutes, vines: vines.len(), shoots })
    });
    timed.collect()
}

/// The latest date of the counts used, else of any record.
pub(super) fn date(placed: &[Placed<'_>], densities: &[Option<f64>]) -> Option<Date> {
    let dates = |used_only: bool| {
        let records = placed.iter().zip(densities);
        records
            .filter(move |(_, density)| density.is_some() || !used_only)
            .filter_map(|(record, _)| record.count.date)
            .max()
    };
    dates(true).or_else(|| dates(false))
}

/// Places with the records of their shoot length, by date.
type LengthsByDate = BTreeMap<Date, BTreeMap<Target, Vec<usize>>>;

/// Two visits fewer days apart are one: a length is read to the centimetre, and so much is a day.
const DAYS_APART: i32 = 3;
/// Fewest places measured on two visits that tell growth.
const FEWEST_PAIRED: usize = 3;

/// Mean shoot length at the last visit and, where the same places were measured at an earlier one,
/// at that: other vines on other days would look like growth.
pub(super) fn growth(ground: &Ground<'_>) -> Vec<(Date, f64, usize)> {
    let placed = ground.placed;
    let by_date = lengths_by_date(ground);
    let Some((&last, latest)) = by_date.last_key_value() else { return Vec::new() };
    let apart = |date: Date| (last - date).get_days();
    let paired = by_date.iter().rev().filter(|(date, _)| apart(**date) >= DAYS_APART).find_map(
        |(&date, earlier)| {
            let shared: Vec<&Target> =
                earlier.keys().filter(|place| latest.contains_key(place)).collect();
            let mean_at = |places: &BTreeMap<Target, Vec<usize>>| {
                let lengths: Vec<f64> =
                    shared.iter().flat_map(|place| lengths_of(placed, &places[place])).collect();
                (mean(&lengths), lengths.len())
            };
            let ((before, number), (now, latest_number)) = (mean_at(earlier), mean_at(latest));
            (shared.len() >= FEWEST_PAIRED)
                .then(|| vec![(date, before, number), (last, now, latest_number)])
        },
    );
    paired.unwrap_or_else(|| {
        let visit = by_date.iter().filter(|(date, _)| apart(**date) < DAYS_APART);
        let records = visit.flat_map(|(_, places)| places.values());
        let lengths: Vec<f64> = records.flat_map(|records| lengths_of(placed, records)).collect();
        vec![(last, mean(&lengths), lengths.len())]
    })
}

fn lengths_by_date(ground: &Ground<'_>) -> LengthsByDate {
    let mut by_date = LengthsByDate::new();
    for (at, record) in ground.placed.iter().enumerate() {
        if let Some(date) = record.count.date
            && tells_shoot_length(ground, at)
        {
            by_date.entry(date).or_default().entry(record.target).or_default().push(at);
        }
    }
    by_date
}

/// Suckers a vine, where they were counted before the work.
pub(super) fn suckers_per_vine(ground: &Ground<'_>) -> Option<f64> {
    let by_place = visits::latest(ground, |at| {
        ground.placed[at].count.suckers.is_some() && ground.timing[at].is_none()
    });
    let (mut suckers, mut vines) = (0.0, 0.0);
    for (&target, records) in &by_place {
        let standing = ground.standing_in(target).into_iter().fold(0.0, |sum, _| sum + 1.0);
        let of_place: Vec<f64> = records
            .iter()
            .filter_map(|&record| ground.placed[record].count.suckers.map(f64::from))
            .collect();
        if standing > 0.0 {
            suckers += mean(&of_place);
            vines += standing;
        }
    }
    (vines > 0.0).then(|| suckers / vines)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::counts::{Count, Status};
    use crate::join::{
        Joined,
        field::{Field, on, told},
    };
    use jiff::civil::date;

    fn weighed(vine: u32, kg: f64) -> Count {
        Count { shoots: None, pruning_weight_kg: Some(kg), ..on(1, vine, 0) }
    }

    fn long(vine: u32, day: i8, cm: f64) -> Count {
        let length = Some(Metres::new(cm / 100.0));
        Count { shoot_length: length, date: Some(date(2026, 5, day)), ..on(1, vine, 24) }
    }

    fn join(counts: &[Count]) -> (Joined, Findings) {
        Field::new().join(counts)
    }

    #[test]
    fn pruning_weight_is_the_vigor_when_five_vines_have_it() {
        let mut counts: Vec<Count> = (1..=5).map(|vine| weighed(vine, 0.6)).collect();
        counts.extend((1..=8).map(|vine| long(vine, 9, 12.0)));
        let vigor = join(&counts).0.vigor.unwrap();
        assert_eq!((vigor.measure, vigor.observations.len()), (VigorMeasure::PruningWeight, 5));
        assert!((vigor.observations[0].per_m - 0.5).abs() < 1e-12);
        let vigor = join(&counts[1..]).0.vigor.unwrap();
        assert_eq!((vigor.measure, vigor.observations.len()), (VigorMeasure::ShootLength, 8));
        assert!((vigor.observations[0].per_m - 0.12).abs() < 1e-12);
        let (joined, findings) = join(&counts[..4]);
        assert!(joined.vigor.is_none());
        assert_eq!(told(&findings, "vigor is known of 4 grown vines"), 1);
    }

    #[test]
    fn pruning_weights_and_buds_of_an_earlier_winter_are_not_mixed_in() {
        let of = |year: i16, kg: f64| {
            move |vine: u32| Count {
                date: Some(date(year, 2, 1)),
                buds: Some(10),
                buds_dead: Some(2),
                ..weighed(vine, kg)
            }
        };
        let counts: Vec<Count> =
            (1..=8).map(of(2025, 1.2)).chain((1..=5).map(of(2026, 0.6))).collect();
        let (joined, findings) = join(&counts);
        let vigor = joined.vigor.unwrap();
        assert!(vigor.observations.iter().all(|one| (one.per_m - 0.5).abs() < 1e-12));
        assert_eq!((vigor.observations.len(), joined.buds), (5, Some((10, 50))));
        assert_eq!(told(&findings, "8 pruning weights are of an earlier winter"), 1);
    }

    #[test]
    fn a_replant_is_no_measure_of_vigor() {
        let mut counts: Vec<Count> = (1..=5).map(|vine| weighed(vine, 0.6)).collect();
        counts[0].status = Some(Status::Replant);
        assert!(join(&counts).0.vigor.is_none());
    }

    #[test]
    fn lengths_of_many_days_are_doubted_as_vigor() {
        let counts: Vec<Count> =
            (1..=5_u32).zip([1_i8, 1, 1, 1, 9]).map(|(vine, day)| long(vine, day, 12.0)).collect();
        assert_eq!(told(&join(&counts).1, "2026-05-01 to 2026-05-09"), 1);
    }

    #[test]
    fn growth_compares_the_same_vines() {
        let mut counts: Vec<Count> = (1..=3).map(|vine| long(vine, 1, 10.0)).collect();
        counts.extend((1..=3).map(|vine| long(vine, 6, 15.0)));
        counts.push(long(4, 6, 40.0));
        let growth = join(&counts).0.growth;
        assert_eq!(growth.len(), 2);
        assert!((growth[1].1 - 0.15).abs() < 1e-12 && growth[1].2 == 3, "{growth:?}");
        let growth = join(&counts[3..]).0.growth;
        assert_eq!((growth.len(), growth[0].2), (1, 4));
    }

    #[test]
    fn other_vines_on_other_days_are_no_growth() {
        let mut counts: Vec<Count> = (1..=6).map(|vine| long(vine, 1, 10.0)).collect();
        counts.extend((7..=12).map(|vine| long(vine, 9, 15.0)));
        assert_eq!(join(&counts).0.growth.len(), 1, "no vine was measured twice");
        let mut counts: Vec<Count> = (1..=6).map(|vine| long(vine, 1, 10.0)).collect();
        counts.extend((1..=6).map(|vine| long(vine, 2, 11.0)));
        let growth = join(&counts).0.growth;
        assert_eq!((growth.len(), growth[0].2), (1, 12), "two days of one visit");
    }

    #[test]
    fn minutes_know_the_shoots_before_the_work() {
        let worked = Count {
            shoots: None,
            minutes: Some(1.5),
            visit: Some("after".to_owned()),
            ..on(1, 1, 0)
        };
        let timed = join(&[on(1, 1, 24), worked]).0.timed;
        assert_eq!(timed, [Timed { minutes: 1.5, vines: 1, shoots: Some(24.0) }]);
    }

    #[test]
    fn suckers_are_a_mean_over_vines() {
        let with = |vine, suckers| Count { suckers: Some(suckers), ..on(1, vine, 24) };
        assert_eq!(join(&[with(1, 3), with(2, 0)]).0.suckers_per_vine, Some(1.5));
        assert_eq!(join(&[on(1, 1, 24)]).0.suckers_per_vine, None);
    }
}
