//! The ground along and across rows of one bearing.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | g | rise of the ground along and across the rows | m per level m |
//! | step | between two places looked at along a piece of row | m |

use super::counted::Posts;
use crate::{
    frame::{RowPoint, RowTerrain},
    layout::descents::{Descent, Descents},
    maths::{float, intervals::Interval, whole},
};

/// Places along a row are looked at so far apart at most, metres; nearer where slope is meant over a
/// shorter support.
const STEP_M: f64 = 5.0;

/// The slope of the ground along and across rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowSlopes {
    /// Mean and steepest slope along the rows whichever way it falls, metres of rise per level metre.
    pub along: [f64; 2],
    /// The same across the rows: what a machine leans by.
    pub across: [f64; 2],
    /// The longest way down along a piece of row that falls at every step, whichever way it is
    /// walked; where no height is known none goes on.
    pub descent: Descent,
    /// The share of the row length whose height is known, 0 … 1.
    pub known_share: f64,
}

/// What the ground is along some pieces of row; `None` where no height is known on any.
pub(super) fn along_rows(terrain: RowTerrain<'_>, pieces: &[Posts]) -> Option<RowSlopes> {
    let support = terrain.terrain().facts().support.metres();
    let mut tally = Tally { step_m: STEP_M.min(support / 2.0).max(0.5), ..Tally::default() };
    for posts in pieces {
        tally.piece(terrain, posts);
    }
    tally.summed()
}

/// Sums over the steps of pieces.
#[derive(Debug, Default)]
struct Tally {
    step_m: f64,
    length_m: f64,
    known_m: f64,
    /// Along and across: slope times length.
    sums: [f64; 2],
    steepest: [f64; 2],
    descents: Descents,
}

impl Tally {
    fn piece(&mut self, terrain: RowTerrain<'_>, posts: &Posts) {
        let Interval { low, .. } = posts.ends;
        let steps = whole((posts.ends.length() / self.step_m).ceil()).max(1);
        let step_m = posts.ends.length() / float(steps);
        let at = |steps: f64| RowPoint { along_m: low + steps * step_m, across_m: posts.across_m };
        self.descents.begin();
        let mut before = terrain.height_m(at(0.0));
        for step in 0..steps {
            let next = terrain.height_m(at(float(step + 1)));
            let rise = before.zip(next).map(|(from, to)| to - from);
            self.descents.step(step_m, rise);
            self.slopes(step_m, terrain.gradient(at(float(step) + 0.5)));
            before = next;
        }
    }

    fn slopes(&mut self, step_m: f64, gradient: Option<[f64; 2]>) {
        self.length_m += step_m;
        let Some(gradient) = gradient else { return };
        self.known_m += step_m;
        for (side, slope) in gradient.map(f64::abs).into_iter().enumerate() {
            self.sums[side] += step_m * slope;
            self.steepest[side] = self.steepest[side].max(slope);
        }
    }

    fn summed(self) -> Option<RowSlopes> {
        let [along, across] =
            [0, 1].map(|side| [self.sums[side] / self.known_m, self.steepest[side]]);
        let known_share = self.known_m / self.length_m;
        let descent = self.descents.longest;
        (self.known_m > 0.0).then_some(RowSlopes { along, across, descent, known_share })
    }
}
