//! Surveyed rows that are uneven: they stand where they stand, their numbers carry the truth, and
//! rows without a line are laid between and beyond.

use catchwire::{
    finding::{Finding, Findings, Severity},
    frame::StandingRow,
    layout::Layout,
    units::Metres,
};

use super::plots::{Field, rectangle};

/// A standing block of 60 m by 30 m with rows 2.5 m apart.
fn lay(rows: &[(u32, &[(f64, f64)])]) -> (Layout, Findings) {
    let mut field = Field::new(rectangle(60.0, 30.0));
    field.rules.standing = true;
    (field.rules.headland, field.rules.side_margin) = (Metres::new(0.0), Metres::new(0.0));
    let row = |(number, points): &(u32, &[(f64, f64)])| StandingRow {
        number: *number,
        path: points.to_vec().into(),
        vines: None,
        skipped: std::collections::BTreeSet::new(),
        end_gap: None,
    };
    field.standing_rows = rows.iter().map(row).collect();
    field.lay_out().unwrap()
}

fn straight(v: f64) -> [(f64, f64); 2] {
    [(0.5, v), (59.5, v)]
}

#[track_caller]
fn lie_at(layout: &Layout, expected: &[(u32, f64)]) {
    let rows: Vec<(u32, f64)> = layout.rows.iter().map(|row| (row.number, row.across_m)).collect();
    assert_eq!(rows.len(), expected.len(), "{rows:?}");
    for (row, expected) in rows.iter().zip(expected) {
        assert!(row.0 == expected.0 && (row.1 - expected.1).abs() < 1e-6, "{rows:?}");
    }
}

fn told(findings: &Findings, severity: Severity) -> Vec<&Finding> {
    findings.iter().filter(|finding| finding.severity == severity).collect()
}

#[test]
fn nothing_is_laid_on_a_track_and_numbers_go_on_behind_it() {
    let (layout, findings) = lay(&[
        (1, &straight(2.0)),
        (5, &straight(12.0)),
        (6, &straight(17.0)),
        (8, &straight(22.0)),
    ]);
    lie_at(
        &layout,
        &[
            (1, 2.0),
            (2, 4.5),
            (3, 7.0),
            (4, 9.5),
            (5, 12.0),
            (6, 17.0),
            (7, 19.5),
            (8, 22.0),
            (9, 24.5),
            (10, 27.0),
            (11, 29.5),
        ],
    );
    assert!(told(&findings, Severity::Warning).is_empty(), "{findings:?}");
    let notes = told(&findings, Severity::Note);
    let track = notes.iter().find(|note| note.what.contains("rows 5 and 6 stand 5.00 m apart"));
    assert!(track.is_some_and(|note| note.what.contains("2.0 row spacings")), "{notes:?}");
}

#[test]
fn numbers_that_leave_room_for_more_or_fewer_rows_are_told() {
    // Between 4.5 and 17.0 m there is room for 4 rows; to 14.5 m for 3, to 19.5 m for 5.
    for (last, words) in [(17.0, None), (14.5, Some("room for 3 rows")), (19.5, Some("room for 5"))]
    {
        let (layout, findings) =
            lay(&[(1, &straight(2.0)), (2, &straight(4.5)), (7, &straight(last))]);
        let numbers: Vec<u32> = layout.rows.iter().take(7).map(|row| row.number).collect();
        assert_eq!(numbers, [1, 2, 3, 4, 5, 6, 7]);
        let step = (last - 4.5) / 5.0;
        assert!((layout.rows[2].across_m - 4.5 - step).abs() < 1e-9);
        let warnings = told(&findings, Severity::Warning);
        assert_eq!(warnings.len(), usize::from(words.is_some()), "{warnings:?}");
        let said = |words: &str| warnings[0].what.contains(words);
        assert!(words.is_none_or(said), "{warnings:?}");
    }
    let (_, findings) = lay(&[(1, &straight(2.0)), (2, &straight(3.0))]);
    let near = told(&findings, Severity::Warning);
    assert!(near[0].what.contains("rows 1 and 2 stand 1.00 m apart"), "{near:?}");
    let (_, findings) = lay(&[(4, &straight(9.5)), (5, &straight(4.5))]);
    let turned = told(&findings, Severity::Warning);
    assert!(turned[0].what.contains("row 5 lies on the other side of row 4"), "{turned:?}");
}

#[test]
fn rows_that_fan_out_keep_their_lines_and_a_laid_row_that_comes_too_near_is_told() {
    // Row 3 diverges by a degree: 60 m · tan 1° / 2 = 0.52 m at its ends.
    let fan = |half: f64| [(0.0, 10.0 - half), (60.0, 10.0 + half)];
    let (layout, findings) = lay(&[(1, &straight(5.0)), (3, &fan(0.52))]);
    lie_at(
        &layout,
        &[
            (1, 5.0),
            (2, 7.5),
            (3, 10.0),
            (4, 12.5),
            (5, 15.0),
            (6, 17.5),
            (7, 20.0),
            (8, 22.5),
            (9, 25.0),
            (10, 27.5),
        ],
    );
    let row_3 = layout.pieces.iter().find(|piece| piece.row == 3).unwrap();
    assert!((row_3.path.0[1].y - 10.52).abs() < 1e-9);
    let near = |findings: &Findings| {
        let warnings = told(findings, Severity::Warning).into_iter().map(|w| w.what.clone());
        warnings.filter(|what| what.contains("as laid")).collect::<Vec<_>>()
    };
    assert!(near(&findings).is_empty(), "{findings:?}");
    // By three degrees 1.57 m: laid row 4 is left 12.5 − 11.57 = 0.93 m, less than 1.25 m.
    let (_, findings) = lay(&[(1, &straight(5.0)), (3, &fan(1.5722))]);
    let told = near(&findings);
    assert!(told[0].contains("within 0.93 m of surveyed row 3; 2 rows"), "{told:?}");
    // Bent by 4.5 m: its mean lies at 6.1 m, and row 4 as laid at 8.6 m runs across it.
    let (_, findings) = lay(&[(3, &[(0.5, 5.0), (30.0, 5.0), (59.5, 9.5)])]);
    let told = near(&findings);
    assert!(told[0].contains("row 4 as laid crosses surveyed row 3"), "{told:?}");
}

#[test]
fn lines_drawn_either_way_and_in_any_order_are_the_same_rows() {
    let forward = [straight(2.0), straight(4.6), straight(9.7)];
    let backward = forward.map(|[from, to]| [to, from]);
    let (one, _) = lay(&[(1, &forward[0]), (2, &forward[1]), (4, &forward[2])]);
    let (other, _) = lay(&[(4, &backward[2]), (1, &backward[0]), (2, &backward[1])]);
    assert_eq!(one.vines, other.vines);
    assert_eq!(one.posts, other.posts);
}
