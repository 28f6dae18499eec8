//! Every key of a block that moves a row or a vine on the plane, against expectations worked by
//! hand.
//!
//! Most cases change one thing on a block of 82 m along and 45 m across the rows: with 9 m of
//! headland 64 m are left from post to post, (64 − 2 · 0.6) / 1.2 = 52.3 spacings, 53 vines from
//! 9.6 m on; rows lie from 2.5 to 42.5 m, 17 of them; 53 vines fill 14 panels of 4.

use catchwire::{
    block::{RowAnchor, ShortestRow, VineOne, VinePattern},
    frame::SiteKeepOut,
    layout::Layout,
    units::Metres,
};
use geo::{MultiPolygon, Polygon};

use super::plots::{Field, polygon, rectangle};

/// What a row must hold: its number, vines, panels and pieces, and where its vine 1 stands.
type Expected = (u32, usize, usize, usize, (f64, f64));

/// Rows in all, then one row of them.
#[track_caller]
fn check(key: &str, change: impl FnOnce(&mut Field), rows: usize, expected: Expected) {
    let mut field = Field::new(rectangle(82.0, 45.0));
    change(&mut field);
    let (layout, _) = field.lay_out().unwrap();
    assert_eq!(layout.rows.len(), rows, "rows with {key}");
    let (number, vines, panels, pieces, at) = expected;
    let row = layout.rows.iter().find(|row| row.number == number).unwrap();
    let of_row: Vec<_> = layout.vines.iter().filter(|vine| vine.row == number).collect();
    let panels_of_row = layout.panels.iter().filter(|panel| panel.row == number).count();
    assert_eq!(
        (of_row.len(), panels_of_row, row.pieces.len()),
        (vines, panels, pieces),
        "vines, panels and pieces of row {number} with {key}"
    );
    let first = of_row[0].at;
    let off = (first.along_m - at.0).hypot(first.across_m - at.1);
    assert!(off < 1e-6, "vine 1 of row {number} with {key} stands at {first:?}");
}

fn m(metres: f64) -> Metres {
    Metres::new(metres)
}

#[test]
fn lengths_along_and_across_move_rows_and_vines_as_worked_by_hand() {
    check("nothing", |_| {}, 17, (1, 53, 14, 1, (9.6, 2.5)));
    // 58 m from post to post: 47.3 spacings.
    check("headland", |f| f.rules.headland = m(12.0), 17, (1, 48, 12, 1, (12.6, 2.5)));
    // From 5 to 40 m across: 14 spacings.
    check("side_margin", |f| f.rules.side_margin = m(5.0), 15, (15, 53, 14, 1, (9.6, 40.0)));
    // 60 m from post to post: 49 spacings exactly.
    check("anchor_gap", |f| f.rules.anchor_gap = m(2.0), 17, (1, 50, 13, 1, (11.6, 2.5)));
    // 62 m from vine to vine at most: 51.7 spacings.
    check("end_gap", |f| f.rules.end_gap = m(1.0), 17, (1, 52, 13, 1, (10.0, 2.5)));
    // 40 m across: 13.3 spacings.
    check("row_spacing", |f| f.rules.row_spacing = m(3.0), 14, (14, 53, 14, 1, (9.6, 41.5)));
    // 62.8 m: 41.9 spacings.
    check("vine_spacing", |f| f.rules.vine_spacing = m(1.5), 17, (1, 42, 11, 1, (9.6, 2.5)));
}

#[test]
fn panels_and_numbers_are_counted_as_worked_by_hand() {
    // 8 panels of 6 and one of 5.
    let six = |f: &mut Field| (f.rules.vines_per_panel, f.rules.first_panel_vines) = (6, 6);
    check("vines_per_panel", six, 17, (1, 53, 9, 1, (9.6, 2.5)));
    // 5 and then 12 panels of 4.
    check("first_panel_vines", |f| f.rules.first_panel_vines = 5, 17, (1, 53, 13, 1, (9.6, 2.5)));
    check("first_row", |f| f.rules.first_row = 7, 17, (23, 53, 14, 1, (9.6, 42.5)));
    // The last vine stands 52 spacings on, at 72.0 m.
    let end = |f: &mut Field| f.rules.vine_1 = VineOne::End;
    check("vine_1 end", end, 17, (1, 53, 14, 1, (72.0, 2.5)));
    let serpentine = |f: &mut Field| f.rules.vine_1 = VineOne::Serpentine;
    check("vine_1 serpentine, odd", serpentine, 17, (3, 53, 14, 1, (9.6, 7.5)));
    check("vine_1 serpentine, even", serpentine, 17, (2, 53, 14, 1, (72.0, 5.0)));
    let first = |f: &mut Field| {
        f.rules.first_panel_vines = 1;
        f.rules.vine_1 = VineOne::End;
    };
    // 1, then 13 panels of 4, counted from vine 1.
    check("first panel from the far end", first, 17, (1, 53, 14, 1, (72.0, 2.5)));
}

#[test]
fn the_first_row_and_the_pattern_lie_as_worked_by_hand() {
    // 41 m across: 16 spacings and 1 m, half of it before the first row.
    let centre = |f: &mut Field| {
        f.outline = rectangle(82.0, 46.0);
        f.rules.anchor = RowAnchor::Centre;
    };
    check("row_anchor centre", centre, 17, (1, 53, 14, 1, (9.6, 3.0)));
    // 4 · 2.5 m below the line at 14.2 m lies the first row.
    let line = |f: &mut Field| {
        f.rules.anchor = RowAnchor::RowLine;
        f.row_line = Some(vec![(5.0, 14.2), (60.0, 14.2)].into());
    };
    check("row_anchor row-line", line, 16, (1, 53, 14, 1, (9.6, 4.2)));
    // The lattice from the origin: 9 · 1.2 = 10.8 is the first place from 9.7 on, 60 · 1.2 = 72.0
    // the last up to 72.3; half a spacing on, 8.5 · 1.2 = 10.2 to 59.5 · 1.2 = 71.4.
    let with = |pattern| {
        move |f: &mut Field| {
            f.rules.pattern = pattern;
            f.rules.end_gap = m(0.7);
        }
    };
    check("square", with(VinePattern::Square), 17, (2, 52, 13, 1, (10.8, 5.0)));
    check("staggered", with(VinePattern::Staggered), 17, (1, 52, 13, 1, (10.8, 2.5)));
    check("staggered", with(VinePattern::Staggered), 17, (2, 52, 13, 1, (10.2, 5.0)));
}

/// A bite out of one corner: 7 rows of 53 vines, then 10 rows that end 9 m before the bite, 22 m
/// from post to post: 17.3 spacings, 18 vines.
fn bitten() -> MultiPolygon<f64> {
    polygon(&[(0.0, 0.0), (82.0, 0.0), (82.0, 20.0), (40.0, 20.0), (40.0, 45.0), (0.0, 45.0)])
        .into()
}

#[test]
fn short_rows_are_left_out_by_vines_or_by_length() {
    let bite = |shortest: ShortestRow| {
        move |f: &mut Field| {
            f.outline = bitten();
            f.rules.shortest_row = shortest;
        }
    };
    let long = (7, 53, 14, 1, (9.6, 17.5));
    check("18 vines", bite(ShortestRow::Vines(18)), 17, (8, 18, 5, 1, (9.6, 20.0)));
    check("19 vines", bite(ShortestRow::Vines(19)), 7, long);
    check("21.9 m", bite(ShortestRow::Length(m(21.9))), 17, (17, 18, 5, 1, (9.6, 42.5)));
    check("22.1 m", bite(ShortestRow::Length(m(22.1))), 7, long);
}

/// Something of 1 m by 10 m that the rows at 10, 12.5, 15, 17.5 and 20 m run into.
fn wall(clearance: f64, turning: bool, shortest_gap: f64) -> impl Fn(&mut Field) {
    move |f| {
        let shape = polygon(&[(40.0, 10.0), (41.0, 10.0), (41.0, 20.0), (40.0, 20.0)]).into();
        f.keep_outs.push(SiteKeepOut { name: None, shape, clearance: m(clearance), turning });
        f.rules.shortest_gap = m(shortest_gap);
    }
}

#[test]
fn keep_outs_cut_rows_as_worked_by_hand() {
    let at = (9.6, 15.0);
    // 9 to 39.4: 24.3 spacings, 25 vines in 7 panels; 41.6 to 73: 25.2, 26 vines in 7 panels.
    check("clearance 0.6 m", wall(0.6, false, 0.0), 17, (6, 51, 14, 2, at));
    // 9 to 38: 23.2, 24 vines; 43 to 73: 24 exactly, 25 vines.
    check("clearance 2 m", wall(2.0, false, 0.0), 17, (6, 49, 13, 2, at));
    // Rows end 9 m before it: 22 m, 18 vines in 5 panels; 23 m, 18.2 spacings, 19 vines in 5.
    check("turning", wall(2.0, true, 0.0), 17, (6, 37, 10, 2, at));
    // Its own clearance where that is more: rows end 12 m before it. 9 to 28: 14.8 spacings between
    // end gaps, 15 vines in 4 panels; 53 to 73: 15.7, 16 vines in 4.
    check("turning and wide", wall(12.0, true, 0.0), 17, (6, 31, 8, 2, at));
    // The places at 39.6 and 40.8 m fall into the gap of 2.2 m.
    check("shortest_gap", wall(0.6, false, 3.0), 17, (6, 51, 13, 1, at));
    check("shortest_gap too short", wall(0.6, false, 2.0), 17, (6, 51, 14, 2, at));
    // Beside it rows go on: 7.5 m lies 2.5 m off.
    check("beside", wall(2.0, true, 0.0), 17, (3, 53, 14, 1, (9.6, 7.5)));
}

fn without_margins(f: &mut Field) {
    (f.rules.headland, f.rules.side_margin) = (m(0.0), m(0.0));
}

fn ring(outer: [f64; 4], inner: [f64; 4]) -> Polygon<f64> {
    let corners = |[left, right, low, high]: [f64; 4]| {
        polygon(&[(left, low), (right, low), (right, high), (left, high)])
    };
    Polygon::new(corners(outer).exterior().clone(), vec![corners(inner).exterior().clone()])
}

#[test]
fn parts_holes_and_islands_are_planted_as_worked_by_hand() {
    // Two parts beside each other: a row has a piece in each and counts on.
    let parts = |f: &mut Field| {
        f.outline = rectangle(82.0, 45.0);
        f.outline.0.push(polygon(&[(100.0, 0.0), (182.0, 0.0), (182.0, 45.0), (100.0, 45.0)]));
    };
    check("two parts", parts, 17, (4, 106, 28, 2, (9.6, 10.0)));
    // Row 8 at 17.501 m: 0.001 to 29.999, 24.0 spacings less 2 mm, 24 vines in 6 panels; the island
    // from 36.001 to 45.999, 7.3 spacings, 8 vines in 2; the far side as the near one.
    let island = |f: &mut Field| {
        without_margins(f);
        f.outline = ring([0.0, 82.0, 0.0, 45.0], [30.0, 52.0, 10.0, 35.0]).into();
        f.outline.0.push(polygon(&[(36.0, 15.0), (46.0, 15.0), (46.0, 30.0), (36.0, 30.0)]));
    };
    check("island in a hole", island, 18, (8, 56, 14, 3, (0.601, 17.501)));
    // The same ground, kept out by a ring with an island of ground inside.
    let kept_out = |f: &mut Field| {
        without_margins(f);
        let shape = ring([30.0, 52.0, 10.0, 35.0], [36.0, 46.0, 15.0, 30.0]).into();
        let clearance = m(0.0);
        f.keep_outs.push(SiteKeepOut { name: None, shape, clearance, turning: false });
    };
    check("island in a keep-out", kept_out, 18, (8, 56, 14, 3, (0.601, 17.501)));
}

#[test]
fn the_offset_with_the_most_vines_is_the_smallest_of_those_that_tie() {
    let lay = |anchor: RowAnchor| -> Layout {
        let mut field = Field::new(rectangle(82.0, 46.0));
        field.rules.anchor = anchor;
        field.lay_out().unwrap().0
    };
    // 41 m hold 17 rows at every offset from 0 to 1 m.
    let most = lay(RowAnchor::MostVines);
    assert_eq!(most.vines.len(), 17 * 53);
    assert!((most.rows[0].across_m - 2.5).abs() < 1e-6, "{}", most.rows[0].across_m);
    assert_eq!(most.vines, lay(RowAnchor::Edge).vines);
}
