//! Whether laid rows keep their distance from surveyed ones, which may bend or fan out.

use super::{
    Plot,
    planned::StrandsByRow,
    strand::{Strand, coord},
    told,
};
use crate::{
    finding::{Finding, Findings},
    maths::intervals::Interval,
};

/// A laid row nearer than this share of the row spacing to a surveyed one is told.
const NEAR_SHARE: f64 = 0.5;

/// Tells of laid rows that come too near to the surveyed row before or after them.
pub(super) fn too_near(plot: &Plot, surveyed: &StrandsByRow, laid: &StrandsByRow) -> Findings {
    let mut near: Vec<(u32, u32, f64)> = Vec::new();
    for (number, strands) in laid {
        let before = surveyed.range(..number).next_back();
        let after = surveyed.range(number..).next();
        for (other, others) in before.into_iter().chain(after) {
            let apart = strands.iter().flat_map(|one| others.iter().filter_map(|o| apart(one, o)));
            near.extend(apart.min_by(f64::total_cmp).map(|metres| (*number, *other, metres)));
        }
    }
    let spacing = plot.rules.row_spacing.metres();
    near.retain(|(_, _, metres)| *metres < NEAR_SHARE * spacing);
    let Some((row, other, metres)) = near.iter().min_by(|a, b| a.2.total_cmp(&b.2)) else {
        return Findings::none();
    };
    let (how, near) = if *metres > 0.0 {
        (format!("comes within {metres:.2} m of"), near.len())
    } else {
        ("crosses".to_owned(), near.len())
    };
    let more = if near > 1 { format!("; {near} rows come too near") } else { String::new() };
    let what = format!("row {row} as laid {how} surveyed row {other}{more}");
    let why = "a laid row is straight and runs along the bearing of the block; the surveyed one \
               bends or runs another way";
    let mend = format!("draw row {row} as a row-line, or give the bearing of its rows");
    Finding::warning(told::place(plot, "row"), what).because(why).mend(mend).into()
}

/// The least distance across between a straight laid strand and a surveyed one beside it, 0 where
/// they cross; `None` where neither lies beside the other.
fn apart(laid: &Strand, surveyed: &Strand) -> Option<f64> {
    let (from, to) = (coord(laid.at(0.0)), coord(laid.at(laid.length_m())));
    let beside = Interval::new(from.x.min(to.x), from.x.max(to.x));
    let parts = surveyed.path.lines().filter_map(|line| {
        let (low, high) = if line.start.x <= line.end.x {
            (line.start, line.end)
        } else {
            (line.end, line.start)
        };
        let (left, right) = (low.x.max(beside.low), high.x.min(beside.high));
        let share = |u: f64| if high.x > low.x { (u - low.x) / (high.x - low.x) } else { 0.0 };
        let off = |u: f64| low.y + share(u) * (high.y - low.y) - from.y;
        (left < right).then(|| (off(left), off(right)))
    });
    let parts: Vec<(f64, f64)> = parts.collect();
    let sides = || parts.iter().flat_map(|(one, other)| [*one, *other]);
    let crosses = sides().any(|side| side > 0.0) && sides().any(|side| side < 0.0);
    let least = sides().map(f64::abs).min_by(f64::total_cmp)?;
    Some(if crosses { 0.0 } else { least })
}
