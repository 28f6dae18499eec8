//! What a count says of how many vines, on small fields.

use super::field::{Field, VINE_M, densities, on, on_panel, on_window, told};
use crate::{
    counts::{Count, Shoots, Status},
    units::Metres,
};

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
