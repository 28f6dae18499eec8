//! In which order stops are walked: along the rows, there and back.

use super::Stop;
use crate::layout::Layout;

/// Puts stops in walking order: rows by number, every other row that is visited backwards.
pub(super) fn put_in_order(stops: &mut [Stop], layout: &Layout) {
    let row = |stop: &Stop| layout.panels[stop.panel].row;
    stops.sort_by(|a, b| row(a).cmp(&row(b)).then(a.at.along_m.total_cmp(&b.at.along_m)));
    let mut backwards = false;
    for of_row in stops.chunk_by_mut(|a, b| row(a) == row(b)) {
        if backwards {
            of_row.reverse();
        }
        backwards = !backwards;
    }
}

/// The way from one stop to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leg {
    /// Metres on foot.
    pub metres: f64,
    /// Where the row is left; `None` when the next stop is in the same row.
    pub leaves: Option<RowEnd>,
}

/// An end of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowEnd {
    /// That of vine 1.
    First,
    /// That of the last vine.
    Last,
}

/// Metres on foot from the first stop to the last.
pub(super) fn length_m(stops: &[Stop], layout: &Layout) -> f64 {
    // From 0: the sum of nothing is −0, which no reader expects with a sign.
    stops.windows(2).fold(0.0, |sum, pair| sum + way(&pair[0], &pair[1], layout).metres)
}

/// The way between two stops: along a row, and from row to row around the nearer end, since wires
/// cannot be crossed.
pub fn way(from: &Stop, to: &Stop, layout: &Layout) -> Leg {
    let [one, other] = [from, to].map(|stop| layout.panels[stop.panel].row);
    let along = (from.at.along_m - to.at.along_m).abs();
    if one == other {
        return Leg { metres: along, leaves: None };
    }
    let [ends, other_ends] = [ends(one, layout), ends(other, layout)];
    let across = (from.at.across_m - to.at.across_m).abs();
    let around = |end: usize| {
        let corner = [ends[end], other_ends[end]];
        let out = (from.at.along_m - corner[0]).abs() + (to.at.along_m - corner[1]).abs();
        out + across.hypot(corner[0] - corner[1])
    };
    let [near, far] = [around(0), around(1)];
    let (metres, low_end) = if near <= far { (near, true) } else { (far, false) };
    let end = if low_end == begins_low(one, layout) { RowEnd::First } else { RowEnd::Last };
    Leg { metres, leaves: Some(end) }
}

/// True when vine 1 of a row stands at its lower end along the rows.
fn begins_low(row: u32, layout: &Layout) -> bool {
    let at = layout.rows.partition_point(|known| known.number < row);
    let pieces = layout.rows.get(at).and_then(|row| layout.pieces.get(row.pieces.clone()));
    let ends = pieces.and_then(|pieces| {
        let (first, last) = (pieces.first()?, pieces.last()?);
        Some([first.path.0.first()?.x, last.path.0.last()?.x])
    });
    ends.is_none_or(|[first, last]| first <= last)
}

/// Where a row begins and ends, metres along.
fn ends(row: u32, layout: &Layout) -> [f64; 2] {
    let at = layout.rows.partition_point(|known| known.number < row);
    let Some(row) = layout.rows.get(at) else { return [0.0; 2] };
    let along = layout.pieces[row.pieces.clone()].iter().flat_map(|piece| piece.path.0.iter());
    along
        .map(|corner| corner.x)
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[least, most], x| [least.min(x), most.max(x)])
}
