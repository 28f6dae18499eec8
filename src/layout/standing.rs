//! Rows that stand: as surveyed, or as their vines were given.

use std::collections::BTreeMap;

use geo::LineString;

use super::{
    Plot,
    along::{real, whole},
    clearance::GRACE_M,
    lines::KnownRows,
    pieces::Ground,
    planned::{StrandsByRow, mean_across, with_clear},
    strand::{Strand, coord, length},
    told,
};
use crate::{
    error::Error,
    finding::{Finding, Findings},
    frame::{RowPoint, StandingRow},
    maths::intervals::Interval,
};

/// An end nearer to the boundary than the rule asks is told from here on, metres.
const WORTH_TELLING_M: f64 = 0.01;

/// The strands of surveyed rows.
pub(super) fn surveyed(plot: &Plot, ground: &Ground) -> (StrandsByRow, Findings) {
    let mut rows = StrandsByRow::new();
    for row in plot.standing_rows {
        let Some(path) = oriented(&row.path) else { continue };
        let strand = set_along(Strand::along(path, plot.rules.vine_spacing.metres()), row, plot);
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
        Some(vines) => evenly(strand, usize::try_from(vines).unwrap_or(usize::MAX), end_gap),
        None if room + GRACE_M >= 0.0 => {
            let places = 1 + whole((room + GRACE_M) / strand.step_m);
            let vines = (0..places).map(|at| end_gap + real(at) * strand.step_m).collect();
            Strand { vines, ..strand }
        }
        None => strand,
    }
}

/// So many vines from end gap to end gap; end gaps that leave no room shrink to half a spacing.
pub(super) fn evenly(strand: Strand, vines: usize, end_gap_m: f64) -> Strand {
    let length = strand.length_m();
    let gaps = real(vines.max(2) - 1);
    let room = length - 2.0 * end_gap_m;
    let (first, step) = match vines {
        0 => return strand,
        1 => (length / 2.0, strand.step_m),
        _ if room > 0.0 => (end_gap_m, room / gaps),
        _ => (length / real(vines) / 2.0, length / real(vines)),
    };
    let vines = (0..vines).map(|at| first + real(at) * step).collect();
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
        let pieces = ground.near(Interval::new(v, v)).usable(v, 0.0);
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
    let strand = Strand::along(LineString::new(path), plot.rules.vine_spacing.metres());
    let strand = strand.anchored(plot.rules.anchor_gap.metres());
    Strand { vines: vines_m, numbers: Some(vines.keys().copied().collect()), ..strand }
}
