//! Several counts of a place: which of them is used, on small fields.

use super::field::{Field, densities, on, on_panel, on_window, timed, told, visited};
use crate::{counts::Count, units::Metres};
use jiff::civil::date;

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
    assert_eq!(told(&findings, "1 place was counted on several visits"), 1);
    assert_eq!(joined.date, Some(date(2026, 5, 9)));
    let used: Vec<bool> = joined.records.iter().map(|r| r.shoots_per_m.is_some()).collect();
    assert_eq!(used, [false, true, false, false]);
}

#[test]
fn two_unlabelled_visits_before_the_work_give_the_later_and_keep_both() {
    let counts = [visited("", 1, on(1, 1, 12)), visited("", 9, on(1, 1, 24))];
    let (joined, findings) = densities(&counts, &[20.0]);
    assert_eq!(told(&findings, "1 place was counted on several visits"), 1);
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
    let what = "1 count of shoots made where work had been done";
    let later = visited("", 20, on(1, 1, 6));
    let told_once = |before: Count, work: Option<Count>, after: Count, expected: &[f64]| {
        let counts: Vec<Count> = [Some(before), work, Some(after)].into_iter().flatten().collect();
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
    let dated =
        |year: i16, month: i8, count: Count| Count { date: Some(date(year, month, 20)), ..count };
    // North of the equator, and south of it across the turn of the year.
    for [(old, then), (new, now)] in [[(2025, 5), (2026, 5)], [(2024, 12), (2025, 11)]] {
        let counts = [dated(old, then, on(1, 1, 12)), dated(new, now, on(1, 2, 24))];
        let (joined, findings) = densities(&counts, &[20.0]);
        assert_eq!(told(&findings, "1 count of shoots is of another season"), 1);
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
    assert_eq!(told(&findings, "2 counts of shoots are without a date, and others have one"), 1);
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
    assert_eq!(told(&findings, "3 places counted on the earlier visit only"), 1);
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
    assert_eq!(told(&findings, "2 counts of shoots from before 2026-05-10"), 1);
}
