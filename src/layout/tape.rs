//! How long a line is along the ground, and where on it a tape of some length ends.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | u | level distance along the line | m |
//! | g | rise of the ground along it, per level metre | 1 |
//! | s | tape: ∫ √(1 + g²) du | m |
//!
//! The integral is taken by Simpson's rule over steps of 0.25 m and is straight between them. The
//! slope is that of [`RowTerrain`], so the tape lies on the smoothed ground and not in furrows.

use geo::{Coord, LineString};

use super::{
    Plot,
    pieces::Usable,
    strand::{length, row_point},
};
use crate::{
    frame::RowTerrain,
    maths::{float, intervals::Interval, whole},
};

/// The longest step of an integral along the ground, metres.
const STEP_M: f64 = 0.25;

/// Level and tape distances along a line; without knots they are the same.
#[derive(Debug, Clone, Default)]
pub(super) struct Tape {
    /// By rising distance.
    knots: Vec<Knot>,
}

#[derive(Debug, Clone, Copy)]
struct Knot {
    level_m: f64,
    tape_m: f64,
}

/// A short straight step of a line, for sums over it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Step {
    /// Where it starts.
    pub(super) from: Coord<f64>,
    /// Where it ends.
    pub(super) to: Coord<f64>,
    /// Level metres.
    pub(super) length_m: f64,
}

impl Step {
    /// How much the ground rises along the step at a share of it, per level metre.
    pub(super) fn rise(&self, terrain: RowTerrain<'_>, share: f64) -> Option<f64> {
        let way = self.to - self.from;
        let [along, across] = terrain.gradient(row_point(self.from + way * share))?;
        Some((along * way.x + across * way.y) / self.length_m)
    }

    /// Its length along the ground; where the model has no height it is level.
    fn tape_m(&self, terrain: RowTerrain<'_>) -> f64 {
        let stretch = |share: f64| self.rise(terrain, share).unwrap_or(0.0).hypot(1.0);
        self.length_m * (stretch(0.0) + 4.0 * stretch(0.5) + stretch(1.0)) / 6.0
    }
}

/// The steps of a line, each at most so long as an integral allows.
pub(super) fn steps(path: &LineString<f64>) -> impl Iterator<Item = Step> + '_ {
    path.lines().flat_map(|line| {
        let way = line.end - line.start;
        let number = whole((length(line.start, line.end) / STEP_M).ceil());
        (0..number).map(move |at| {
            let place = |at: usize| line.start + way * (float(at) / float(number));
            let (from, to) = (place(at), place(at + 1));
            Step { from, to, length_m: length(from, to) }
        })
    })
}

impl Tape {
    /// Along a line over the ground, both distances 0 at its start.
    pub(super) fn along(path: &LineString<f64>, terrain: RowTerrain<'_>) -> Self {
        let mut last = Knot { level_m: 0.0, tape_m: 0.0 };
        let mut knots = vec![last];
        for step in steps(path) {
            last.level_m += step.length_m;
            last.tape_m += step.tape_m(terrain);
            knots.push(last);
        }
        Self { knots }
    }

    /// Along a line of a block as its rules measure it: level unless they say otherwise.
    pub(super) fn of(plot: &Plot, path: &LineString<f64>) -> Self {
        match plot.terrain {
            Some(terrain) if plot.rules.ground_spacing => Self::along(path, terrain),
            _ => Self::default(),
        }
    }

    /// Along a straight row at `v`, both distances being those along the rows (or against them,
    /// with `side` −1) where the stretch starts.
    pub(super) fn of_row(plot: &Plot, v: f64, side: f64, stretch: Interval) -> Self {
        let path = LineString::from(vec![(side * stretch.low, v), (side * stretch.high, v)]);
        Self::of(plot, &path).shifted(stretch.low, stretch.low)
    }

    /// The tape that ends at a level distance.
    pub(super) fn tape_m(&self, level_m: f64) -> f64 {
        self.between(level_m, |knot| knot.level_m, |knot| knot.tape_m)
    }

    /// The level distance at which a tape ends.
    pub(super) fn level_m(&self, tape_m: f64) -> f64 {
        self.between(tape_m, |knot| knot.tape_m, |knot| knot.level_m)
    }

    /// A usable piece in tape distances.
    pub(super) fn piece(&self, piece: &Usable) -> Usable {
        let taped = |i: &Interval| Interval::new(self.tape_m(i.low), self.tape_m(i.high));
        Usable { ends: taped(&piece.ends), gaps: piece.gaps.iter().map(taped).collect() }
    }

    /// The same tape, both distances 0 at this level distance.
    pub(super) fn starting_at(&self, level_m: f64) -> Self {
        let tape_m = self.tape_m(level_m);
        self.clone().shifted(-level_m, -tape_m)
    }

    /// The same tape laid from the other end of a line of this level length.
    pub(super) fn reversed(&self, length_m: f64) -> Self {
        let tape_m = self.tape_m(length_m);
        let turned =
            |knot: &Knot| Knot { level_m: length_m - knot.level_m, tape_m: tape_m - knot.tape_m };
        Self { knots: self.knots.iter().rev().map(turned).collect() }
    }

    fn shifted(mut self, level_m: f64, tape_m: f64) -> Self {
        for knot in &mut self.knots {
            knot.level_m += level_m;
            knot.tape_m += tape_m;
        }
        self
    }

    /// Straight between knots, and on beyond the outer ones.
    fn between(&self, at: f64, from: fn(&Knot) -> f64, to: fn(&Knot) -> f64) -> f64 {
        let above = self.knots.partition_point(|knot| from(knot) <= at);
        let above = above.clamp(1, self.knots.len().max(2) - 1);
        let (Some(one), Some(other)) = (self.knots.get(above - 1), self.knots.get(above)) else {
            return at;
        };
        let share = (at - from(one)) / (from(other) - from(one));
        to(one) + share * (to(other) - to(one))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tape() -> Tape {
        let knot = |level_m, tape_m| Knot { level_m, tape_m };
        Tape { knots: vec![knot(0.0, 0.0), knot(10.0, 12.5), knot(20.0, 22.5)] }
    }

    #[test]
    fn tape_and_level_lead_back_to_each_other_also_beyond_the_ends() {
        for level in [-4.0, 0.0, 3.0, 10.0, 17.0, 20.0, 26.0] {
            assert!((tape().level_m(tape().tape_m(level)) - level).abs() < 1e-12, "{level}");
        }
        assert!((tape().tape_m(-4.0) + 5.0).abs() < 1e-12);
        assert!((tape().tape_m(24.0) - 26.5).abs() < 1e-12);
        assert!((Tape::default().tape_m(7.0) - 7.0).abs() < 1e-12);
    }

    #[test]
    fn a_tape_from_elsewhere_measures_the_same() {
        let (later, turned) = (tape().starting_at(4.0), tape().reversed(20.0));
        assert!((later.tape_m(6.0) - 7.5).abs() < 1e-12);
        assert!((turned.tape_m(10.0) - 10.0).abs() < 1e-12);
        assert!((turned.tape_m(14.0) - 15.0).abs() < 1e-12);
    }
}
