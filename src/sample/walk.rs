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

/// Metres on foot: along a row, and from row to row around the nearer end, since wires cannot be
/// crossed.
pub(super) fn length_m(stops: &[Stop], layout: &Layout) -> f64 {
    // From 0: the sum of nothing is −0, which no reader expects with a sign.
    stops.windows(2).fold(0.0, |sum, pair| sum + way(&pair[0], &pair[1], layout))
}

fn way(from: &Stop, to: &Stop, layout: &Layout) -> f64 {
    let [one, other] = [from, to].map(|stop| layout.panels[stop.panel].row);
    let along = (from.at.along_m - to.at.along_m).abs();
    if one == other {
        return along;
    }
    let [ends, other_ends] = [ends(one, layout), ends(other, layout)];
    let across = (from.at.across_m - to.at.across_m).abs();
    let around = |end: usize| {
        let corner = [ends[end], other_ends[end]];
        let out = (from.at.along_m - corner[0]).abs() + (to.at.along_m - corner[1]).abs();
        out + across.hypot(corner[0] - corner[1])
    };
    around(0).min(around(1))
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
