//! Rows that stand: as surveyed, or as their vines were given.

use std::collections::{BTreeMap, BTreeSet};

use geo::LineString;

use super::{
    Plot,
    clearance::GRACE_M,
    lines::KnownRows,
    pieces::Ground,
    planned::{StrandsByRow, mean_across, with_clear},
    strand::{Strand, coord, length},
    tape::Tape,
    told,
};
use crate::{
    error::Error,
    finding::{Finding, Findings},
    frame::{RowPoint, StandingRow},
    maths::{float, intervals::Interval, whole},
};

/// An end nearer to the boundary than the rule asks is told from here on, metres.
const WORTH_TELLING_M: f64 = 0.01;

/// The strands of surveyed rows.
pub(super) fn surveyed(plot: &Plot, ground: &Ground) -> (StrandsByRow, Findings) {
    let mut rows = StrandsByRow::new();
    for row in plot.standing_rows {
        let Some(path) = oriented(&row.path) else { continue };
        let tape = Tape::of(plot, &path);
        let strand = Strand::along(path, plot.rules.vine_spacing.metres());
        let strand = set_along(Strand { tape, ..strand }, row, plot);
        rows.entry(row.number).or_default().push(with_reported_clear(strand, ground, plot));
    }
    for strands in rows.values_mut() {
        strands.sort_by(|a, b| start(a).total_cmp(&start(b)));
    }
    let findings = ends_out_of_bounds(&rows, ground, plot);
    (rows, findings)
}

/// Where surveyed rows lie across the block.
pub(super) fn known(rows: &StrandsByRow) -> KnownRows {
    KnownRows::new(rows.iter().map(|(number, strands)| (*number, across(strands))))
}

/// Metres across of a row in one or more strands.
pub(super) fn across(strands: &[Strand]) -> f64 {
    let (mut sum, mut total) = (0.0, 0.0);
    for strand in strands {
        let length = strand.length_m();
        sum += length * mean_across(&strand.path);
        total += length;
    }
    if total > 0.0 { sum / total } else { strands.first().map_or(0.0, |s| mean_across(&s.path)) }
}

fn start(strand: &Strand) -> f64 {
    strand.at(0.0).along_m
}

/// The path in the direction in which vine numbers grow, without repeated points; `None` where it
/// has no length.
fn oriented(path: &LineString<f64>) -> Option<LineString<f64>> {
    let mut points = path.0.clone();
    points.dedup();
    let (first, last) = (points.first()?, points.last()?);
    if first.x > last.x {
        points.reverse();
    }
    (points.len() > 1).then(|| LineString::new(points))
}

/// Vines along a surveyed line: so many evenly, or as many as the spacing allows.
fn set_along(strand: Strand, row: &StandingRow, plot: &Plot) -> Strand {
    let length = strand.length_m();
    let end_gap = row.end_gap.unwrap_or(plot.rules.end_gap).metres();
    let room = length - 2.0 * end_gap;
    let strand = strand.anchored(plot.rules.anchor_gap.metres());
    match row.vines {
        Some(vines) => {
            let vines = usize::try_from(vines).unwrap_or(usize::MAX);
            let strand = evenly(strand, vines.saturating_add(row.skipped.len()), end_gap);
            without_skipped(strand, &row.skipped)
        }
        None if room + GRACE_M >= 0.0 => {
            let places = 1 + whole((room + GRACE_M) / strand.step_m);
            let vines = (0..places).map(|at| end_gap + float(at) * strand.step_m).collect();
            Strand { vines, ..strand }
        }
        None => strand,
    }
}

/// The strand without the places that are skipped.
fn without_skipped(strand: Strand, skipped: &BTreeSet<u32>) -> Strand {
    let stands = |at: &usize| !u32::try_from(at + 1).is_ok_and(|place| skipped.contains(&place));
    let places = strand.vines.iter().copied().enumerate();
    let vines = places.filter(|(at, _)| stands(at)).map(|(_, along)| along).collect();
    Strand { vines, ..strand }
}

/// So many vines from end gap to end gap; end gaps that leave no room shrink to half a spacing.
pub(super) fn evenly(strand: Strand, vines: usize, end_gap_m: f64) -> Strand {
    let length = strand.length_m();
    let gaps = float(vines.max(2) - 1);
    let room = length - 2.0 * end_gap_m;
    let (first, step) = match vines {
        0 => return strand,
        1 => (length / 2.0, strand.step_m),
        _ if room > 0.0 => (end_gap_m, room / gaps),
        _ => (length / float(vines) / 2.0, length / float(vines)),
    };
    let vines = (0..vines).map(|at| first + float(at) * step).collect();
    Strand { vines, step_m: step, ..strand }
}

/// The strand with the clear lengths that it has, whatever the rule asks.
fn with_reported_clear(strand: Strand, ground: &Ground, plot: &Plot) -> Strand {
    let v = mean_across(&strand.path);
    let beyond = plot.rules.anchor_gap.metres();
    let (low, high) = (start(&strand), strand.at(strand.length_m()).along_m);
    let anchors = Interval::new(low - beyond, high + beyond);
    with_clear(strand, &ground.near(Interval::new(v, v)), v, anchors)
}

/// Tells of surveyed row ends that the clearance rule would not allow; they stay.
fn ends_out_of_bounds(rows: &StrandsByRow, ground: &Ground, plot: &Plot) -> Findings {
    let mut wrong = Vec::new();
    let mut ends = 0;
    for (number, strand) in rows.iter().flat_map(|(n, list)| list.iter().map(move |s| (n, s))) {
        let posts = [strand.at(0.0), strand.at(strand.length_m())];
        for at in strand.anchors.unwrap_or(posts) {
            ends += 1;
            if !usable(ground, at) {
                wrong.push(*number);
            }
        }
    }
    let Some(first) = wrong.first() else { return Findings::none() };
    let what = format!(
        "{} of {ends} surveyed row ends lie outside the outline or nearer to it than headland and \
         side margin allow, the first in row {first}",
        wrong.len()
    );
    let why = "surveyed rows stand where they stand";
    let mend = "check the outline, or the headland where machines turn";
    Finding::warning(told::place(plot, "headland"), what).because(why).mend(mend).into()
}

fn usable(ground: &Ground, at: RowPoint) -> bool {
    let v = at.across_m;
    let slack = WORTH_TELLING_M;
    let holds = |v: f64| {
        let pieces = ground.near(Interval::new(v, v)).usable(v);
        pieces.iter().any(|p| p.ends.low - slack <= at.along_m && at.along_m <= p.ends.high + slack)
    };
    // On the boundary itself a hair to either side decides.
    holds(v) || holds(v - slack) || holds(v + slack)
}

/// The strands of vines that are taken as they are: one a row, in the order of their numbers.
///
/// # Errors
/// When two vines have the same row and number.
pub(super) fn given(plot: &Plot) -> Result<(StrandsByRow, Findings), Error> {
    let mut by_row: BTreeMap<u32, BTreeMap<u32, RowPoint>> = BTreeMap::new();
    let mut faults = Findings::none();
    for (row, vine, at) in plot.given_vines {
        if by_row.entry(*row).or_default().insert(*vine, *at).is_some() || *vine == 0 {
            let what = format!("row {row} has vine {vine} twice, or a vine 0");
            let mend = "number the vines of a row 1, 2, 3 … without repeats";
            faults.push(Finding::fault(told::place(plot, "vine"), what).mend(mend));
        }
    }
    if faults.any_fault() {
        return Err(Error::Input(faults));
    }
    let mut findings = Findings::none();
    let mut rows = StrandsByRow::new();
    for (row, vines) in by_row {
        if turns_back(&vines) {
            let what = format!("the vines of row {row} go back and forth in the order of numbers");
            let why = "they are taken as they are";
            let mend = "check the vine numbers of this row";
            findings
                .push(Finding::warning(told::place(plot, "vine"), what).because(why).mend(mend));
        }
        rows.insert(row, vec![through(&vines, plot)]);
    }
    Ok((rows, findings))
}

fn turns_back(vines: &BTreeMap<u32, RowPoint>) -> bool {
    let along: Vec<f64> = vines.values().map(|at| at.along_m).collect();
    let forward = |pair: &[f64]| pair[0] <= pair[1];
    let steps = along.windows(2).map(forward);
    let (mut up, mut down) = (false, false);
    steps.for_each(|step| if step { up = true } else { down = true });
    up && down
}

/// A strand through vines, its posts the end gap beyond the first and the last.
fn through(vines: &BTreeMap<u32, RowPoint>, plot: &Plot) -> Strand {
    let end_gap = plot.rules.end_gap.metres();
    let points: Vec<_> = vines.values().map(|at| coord(*at)).collect();
    let (first, last) = (points[0], points[points.len() - 1]);
    let apart = length(first, last);
    let beyond =
        if apart > 0.0 { (last - first) * (end_gap / apart) } else { (end_gap, 0.0).into() };
    let mut path = vec![first - beyond];
    path.extend(&points);
    path.push(last + beyond);
    let mut chainage = 0.0;
    let legs: Vec<f64> = path.windows(2).map(|pair| length(pair[0], pair[1])).collect();
    let chainages = legs[..legs.len() - 1].iter().map(|leg| {
        chainage += leg;
        chainage
    });
    let vines_m: Vec<f64> = chainages.collect();
    let path = LineString::new(path);
    let tape = Tape::of(plot, &path);
    let vines_m = vines_m.into_iter().map(|level| tape.tape_m(level)).collect();
    let strand = Strand { tape, ..Strand::along(path, plot.rules.vine_spacing.metres()) };
    let strand = strand.anchored(plot.rules.anchor_gap.metres());
    Strand { vines: vines_m, numbers: Some(vines.keys().copied().collect()), ..strand }
}

#[cfg(test)]
mod tests {
    use geo::MultiPolygon;

    use super::*;
    use crate::{
        layout::{
            Layout,
            tests::{attempt, rectangle, rules},
        },
        settings::RowRules,
        units::Metres,
    };

    fn standing_rules() -> RowRules {
        let zero = Metres::new(0.0);
        RowRules { standing: true, headland: zero, side_margin: zero, anchor_gap: zero, ..rules() }
    }

    fn row(number: u32, points: &[(f64, f64)], vines: Option<u32>) -> StandingRow {
        let path = LineString::from(points.to_vec());
        StandingRow { number, path, vines, skipped: BTreeSet::new(), end_gap: None }
    }

    fn lay(outline: &MultiPolygon<f64>, rows: &[StandingRow]) -> (Layout, Findings) {
        let rules = standing_rules();
        attempt(outline, &rules, |plot| Plot { standing_rows: rows, ..plot }).unwrap()
    }

    #[test]
    fn vines_follow_a_row_that_bends() {
        // 10 m, then 10 m at right angles; 0.6 m in from each end.
        let bent = [row(3, &[(0.0, 5.0), (10.0, 5.0), (10.0, 15.0)], Some(17))];
        let (layout, _) = lay(&rectangle(30.0, 6.0), &bent);
        let vines: Vec<_> = layout.vines.iter().filter(|vine| vine.row == 3).collect();
        assert_eq!(vines.len(), 17);
        let step = (20.0 - 1.2) / 16.0;
        assert!((vines[1].chainage_m - vines[0].chainage_m - step).abs() < 1e-9);
        let last = vines[16].at;
        assert!((last.across_m - 14.4).abs() < 1e-9 && (last.along_m - 10.0).abs() < 1e-9);
        let panel = &layout.panels[vines[8].panel];
        assert_eq!(panel.path.0.len(), 3, "the panel's line keeps the bend");
    }

    #[test]
    fn a_line_drawn_the_other_way_is_the_same_row() {
        let outline = rectangle(30.0, 6.0);
        let (one, _) = lay(&outline, &[row(1, &[(0.1, 2.0), (29.9, 2.0)], None)]);
        let (other, _) = lay(&outline, &[row(1, &[(29.9, 2.0), (0.1, 2.0)], None)]);
        assert_eq!(one.vines, other.vines);
    }

    #[test]
    fn surveyed_rows_stand_and_the_rest_is_laid_around_them() {
        let outline = rectangle(40.0, 20.0);
        let surveyed = [
            row(2, &[(0.5, 4.0), (39.0, 4.1)], Some(30)),
            row(5, &[(0.5, 12.0), (19.0, 12.0)], Some(14)),
            row(5, &[(24.0, 12.0), (39.0, 12.0)], Some(11)),
        ];
        let (layout, findings) = lay(&outline, &surveyed);
        let rows: Vec<(u32, f64)> = layout
            .rows
            .iter()
            .map(|row| (row.number, (row.across_m * 1e3).round() / 1e3))
            .collect();
        let expected = [(1, 1.55), (2, 4.05), (3, 6.7), (4, 9.35), (5, 12.0), (6, 14.5), (7, 17.0)];
        assert_eq!(rows[..7], expected);
        assert_eq!(rows.len(), 8, "row 8 lies at 19.5 m");
        let letters: Vec<String> = layout.pieces[layout.rows[4].pieces.clone()]
            .iter()
            .map(|piece| layout.digits.piece(piece.row, piece.letter))
            .collect();
        assert_eq!(letters, ["R005a", "R005b"]);
        let row_5: Vec<u32> =
            layout.vines.iter().filter(|vine| vine.row == 5).map(|vine| vine.vine).collect();
        assert_eq!(row_5, (1..=25).collect::<Vec<u32>>());
        assert!(findings.is_empty(), "{findings:?}");
    }

    #[test]
    fn a_surveyed_row_outside_the_outline_is_told_and_stays() {
        let (layout, findings) =
            lay(&rectangle(30.0, 6.0), &[row(1, &[(-3.0, 2.0), (29.0, 2.0)], None)]);
        assert!((layout.pieces[0].path.0[0].x + 3.0).abs() < 1e-12);
        let told = findings.iter().next().unwrap().to_string();
        assert!(told.contains("1 of 2 surveyed row ends lie outside the outline"), "{told}");
    }

    #[test]
    fn given_vines_are_taken_as_they_are() {
        let rules = standing_rules();
        let at = |along_m: f64, across_m: f64| RowPoint { along_m, across_m };
        let mut vines: Vec<(u32, u32, RowPoint)> =
            (1..=9).map(|vine| (4, vine, at(f64::from(vine) * 1.3, 0.1))).collect();
        vines.remove(5);
        vines.push((7, 1, at(0.0, 7.0)));
        let outline = rectangle(30.0, 6.0);
        let laid = |vines: &[(u32, u32, RowPoint)]| {
            let vines = vines.to_vec();
            attempt(&outline, &rules, |plot| Plot { given_vines: vines.leak(), ..plot })
        };
        let (layout, findings) = laid(&vines).unwrap();
        let numbers: Vec<(u32, u32)> = layout.vines.iter().map(|v| (v.row, v.vine)).collect();
        assert_eq!(numbers, vines.iter().map(|v| (v.0, v.1)).collect::<Vec<_>>());
        for (vine, (_, _, at)) in layout.vines.iter().zip(&vines) {
            assert!((vine.at.along_m - at.along_m).abs() < 1e-9);
        }
        let panels: Vec<(u32, usize)> =
            layout.panels.iter().map(|panel| (panel.panel, panel.vines.len())).collect();
        assert_eq!(panels, [(1, 4), (2, 3), (3, 1), (1, 1)], "vine 6 is not there");
        assert!(findings.is_empty());
        vines.push((4, 2, at(2.6, 0.1)));
        let error = laid(&vines).unwrap_err();
        assert!(error.to_string().contains("row 4 has vine 2 twice"), "{error}");
    }
}
