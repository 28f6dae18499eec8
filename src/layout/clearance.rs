//! Which stretch of a row one edge of the boundary forbids.
//!
//! Nothing of a row may stand where the edge has a point inside the ellipse centred there. Scaled
//! by 1/H along and 1/S across, the ellipse is a unit disc, and the forbidden ground of an edge is
//! a capsule: all places nearer than 1 to it. A row cuts a capsule in one stretch, whose ends have
//! a closed form.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | H, S | semi-axes of the ellipse, along and across the row | m |
//! | u, v | along, across | m |
//! | y | (v of the edge − v of the row) / S | 1 |
//! | turn | cosine of the scaled edge with the row: the y at which the capsule is touched | 1 |

use crate::{maths::intervals::Interval, units::Metres};

/// A clear length of nothing counts as this much, metres, so that no post stands on the boundary.
const LEAST_CLEARANCE_M: f64 = 0.001;

/// A row this much too near a boundary beside it is let pass, metres: a width that is a whole
/// number of spacings holds its last row whatever the rounding.
pub(super) const GRACE_M: f64 = 1e-6;

/// A straight edge of a boundary, from its lower end across the rows to its upper one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    pub(super) low_v: f64,
    pub(super) low_u: f64,
    pub(super) high_v: f64,
    pub(super) high_u: f64,
}

impl Edge {
    /// The edge between two places `(along, across)`, whichever comes first.
    pub(super) fn between(one: (f64, f64), other: (f64, f64)) -> Self {
        let ((low_u, low_v), (high_u, high_v)) =
            if (one.1, one.0) <= (other.1, other.0) { (one, other) } else { (other, one) };
        Self { low_v, low_u, high_v, high_u }
    }

    /// Where the edge crosses the row at `v`: an end on the row counts when the edge rises from it.
    pub(super) fn crossing(&self, v: f64) -> Option<f64> {
        ((self.low_v <= v) != (self.high_v <= v)).then(|| self.along_at(v))
    }

    /// The extent along the rows of the part of the edge within a band, if any.
    pub(super) fn extent_within(&self, band: Interval) -> Option<Interval> {
        if self.high_v < band.low || self.low_v > band.high {
            return None;
        }
        let at = |v: f64, end_u: f64, inside: bool| if inside { end_u } else { self.along_at(v) };
        let one = at(band.low, self.low_u, self.low_v >= band.low);
        let other = at(band.high, self.high_u, self.high_v <= band.high);
        Some(Interval::new(one.min(other), one.max(other)))
    }

    fn along_at(&self, v: f64) -> f64 {
        let share = (v - self.low_v) / (self.high_v - self.low_v);
        self.low_u + share * (self.high_u - self.low_u)
    }
}

/// The ground around a place of a row that no boundary may reach into.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ellipse {
    /// H, metres.
    along: f64,
    /// S, metres.
    across: f64,
    /// How much of S beside a row is let pass, metres.
    grace: f64,
}

impl Ellipse {
    /// So much clear along and across the row.
    pub(super) fn new(along: Metres, across: Metres) -> Self {
        Self {
            along: along.metres().max(LEAST_CLEARANCE_M),
            across: across.metres().max(LEAST_CLEARANCE_M),
            grace: GRACE_M,
        }
    }

    /// The same without the grace beside a row.
    pub(super) const fn strict(self) -> Self {
        Self { grace: 0.0, ..self }
    }

    /// How far across an edge can matter, metres.
    pub(super) const fn across_m(self) -> f64 {
        self.across
    }

    /// The stretch of the row at `v` that the edge forbids.
    pub(super) fn forbidden(self, edge: &Edge, v: f64) -> Option<Interval> {
        let scaled = |other: f64| (other - v) / self.across;
        let (low, high) = (scaled(edge.low_v), scaled(edge.high_v));
        let most = 1.0 - self.grace / self.across;
        let (from, to) = (low.max(-most), high.min(most));
        if from > to {
            return None;
        }
        let rise = high - low;
        let run = edge.high_u - edge.low_u;
        // Metres of a block neither overflow nor vanish when squared, and this is the inmost loop.
        let scaled_run = run / self.along;
        let length = (scaled_run * scaled_run + rise * rise).sqrt();
        let turn = if length > 0.0 { scaled_run / length } else { 0.0 };
        let touch = |side: f64| {
            let y = (side * turn).clamp(from, to);
            let reach = side * self.along * (1.0 - y * y).max(0.0).sqrt();
            // A level edge has one y for both ends: take the end on this side.
            let share = if rise > 0.0 { (y - low) / rise } else { f64::from(side * run > 0.0) };
            edge.low_u + share * run + reach
        };
        let stretch = Interval::new(touch(-1.0), touch(1.0));
        (stretch.length() > 0.0).then_some(stretch)
    }

    /// What the edge forbids on the rows of a band: on every one, and outside which on none.
    ///
    /// The forbidden ground is convex, so what is forbidden on both rims is forbidden between.
    pub(super) fn forbidden_over(self, edge: &Edge, band: Interval) -> [Option<Interval>; 2] {
        let rims = [self.forbidden(edge, band.low), self.forbidden(edge, band.high)];
        let throughout = || rims[0]?.common(rims[1]?);
        let somewhere = || {
            // The rim itself is touched in one place only; a hair inside it the stretch is sure.
            let reach = self.across - self.grace - 1e-9;
            let rows = Interval::new(edge.low_v - reach, edge.high_v + reach).common(band)?;
            let farthest = |v: f64| match v {
                _ if v <= band.low && rows.low <= band.low => rims[0],
                _ if v >= band.high && rows.high >= band.high => rims[1],
                _ => self.forbidden(edge, v.clamp(rows.low, rows.high)),
            };
            let rising = edge.low_u < edge.high_u;
            let (left, right) =
                if rising { (edge.low_v, edge.high_v) } else { (edge.high_v, edge.low_v) };
            Some(Interval::new(farthest(left)?.low, farthest(right)?.high))
        };
        [throughout(), somewhere()]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::intervals;

    /// Whether any of many points of the edge is inside the ellipse at `(u, v)`.
    fn reached(ellipse: Ellipse, edge: &Edge, (u, v): (f64, f64)) -> bool {
        (0..=20_000).any(|step| {
            let share = f64::from(step) / 20_000.0;
            let along = edge.low_u + share * (edge.high_u - edge.low_u) - u;
            let across = edge.low_v + share * (edge.high_v - edge.low_v) - v;
            (along / ellipse.along).hypot(across / ellipse.across) < 1.0
        })
    }

    #[test]
    fn the_stretch_is_where_the_ellipse_is_reached() {
        let ellipse = Ellipse::new(Metres::new(9.0), Metres::new(2.5));
        let ends = [(-7.0, -3.0), (4.0, -0.4), (0.0, 0.0), (6.0, 1.9), (-3.0, 5.0), (2.0, -0.4)];
        for (one, other) in ends.iter().flat_map(|one| ends.iter().map(move |o| (*one, *o))) {
            let edge = Edge::between(one, other);
            match ellipse.forbidden(&edge, 0.0) {
                None => assert!(!reached(ellipse, &edge, (one.0, 0.0)), "{edge:?}"),
                Some(Interval { low, high }) => {
                    assert!(reached(ellipse, &edge, (low + 1e-3, 0.0)), "{edge:?} {low}");
                    assert!(reached(ellipse, &edge, (high - 1e-3, 0.0)), "{edge:?} {high}");
                    assert!(!reached(ellipse, &edge, (low - 1e-6, 0.0)), "{edge:?} {low}");
                    assert!(!reached(ellipse, &edge, (high + 1e-6, 0.0)), "{edge:?} {high}");
                }
            }
        }
    }

    #[test]
    fn straight_ahead_the_headland_is_clear_and_beside_the_side_margin() {
        let ellipse = Ellipse::new(Metres::new(9.0), Metres::new(2.5));
        let across = Edge::between((100.0, -50.0), (100.0, 50.0));
        assert_eq!(ellipse.forbidden(&across, 3.0), Some(Interval::new(91.0, 109.0)));
        let beside = Edge::between((0.0, 2.5), (100.0, 2.5));
        assert_eq!(ellipse.forbidden(&beside, 0.0), None);
        assert_eq!(ellipse.forbidden(&beside, GRACE_M / 2.0), None);
        assert!(ellipse.strict().forbidden(&beside, GRACE_M / 2.0).is_some());
        assert!(ellipse.forbidden(&beside, 1e-3).is_some());
    }

    #[test]
    fn an_end_on_the_row_crosses_once() {
        let bend = [Edge::between((0.0, -1.0), (1.0, 0.0)), Edge::between((1.0, 0.0), (2.0, 1.0))];
        let mut crossings: Vec<f64> = bend.iter().filter_map(|edge| edge.crossing(0.0)).collect();
        assert_eq!(crossings, [1.0]);
        assert!(intervals::inside(&mut crossings).is_empty());
        assert_eq!(Edge::between((0.0, 0.0), (5.0, 0.0)).crossing(0.0), None);
    }
}
