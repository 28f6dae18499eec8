//! Where the rows lie across the block.
//!
//! Which rows hold any usable place is settled by halving bands of rows: what is forbidden on both
//! rims of a band is forbidden between, because the forbidden ground of an edge is convex. A band
//! without doubt is dropped, any other halved, so the first usable row is found to 1e-9 m and never
//! stepped over.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | v | across the rows | m |
//! | W | from the least to the greatest usable v | m |

use super::{
    clearance::GRACE_M,
    pieces::{Ground, Near},
};
use crate::maths::intervals::Interval;

/// How narrowly the first and the last usable row are settled, metres.
const SETTLED_M: f64 = 1e-9;

/// From the least to the greatest usable v; `None` where nothing is usable.
pub(super) fn usable_across(ground: &Ground) -> Option<Interval> {
    let strict = ground.strict();
    let whole = strict.across()?;
    let near = strict.near(whole);
    let low = nearest_usable(&near, whole, Side::Low)?;
    let high = nearest_usable(&near, Interval::new(low, whole.high), Side::High).unwrap_or(low);
    Some(Interval::new(low, high))
}

/// The first row of a block whose leftover is shared between both sides.
pub(super) fn centred(across: Interval, spacing_m: f64) -> f64 {
    // A width that is a whole number of spacings holds its last row whatever the rounding.
    let spacings = ((across.length() + GRACE_M) / spacing_m).floor();
    across.low + (across.length() - spacings * spacing_m) / 2.0
}

/// The lowest row in line with the one at `through`.
pub(super) fn in_line_with(through: f64, across: Interval, spacing_m: f64) -> f64 {
    let steps = ((across.low - GRACE_M - through) / spacing_m).ceil();
    through + steps * spacing_m
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Side {
    Low,
    High,
}

/// The usable row nearest to one side of the band.
fn nearest_usable(near: &Near<'_>, band: Interval, side: Side) -> Option<f64> {
    if near.shut_throughout(band) {
        return None;
    }
    let middle = band.middle();
    let halved = middle > band.low && middle < band.high;
    if band.length() <= SETTLED_M || !halved {
        return Some(if side == Side::Low { band.high } else { band.low });
    }
    let mut halves = [Interval::new(band.low, middle), Interval::new(middle, band.high)];
    if side == Side::High {
        halves.reverse();
    }
    let near = near.narrowed(band);
    halves.into_iter().find_map(|half| nearest_usable(&near, half, side))
}
