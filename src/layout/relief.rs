//! How a piece of row lies on the ground.

use geo::LineString;

use super::{
    descents::Descents,
    strand::row_point,
    tape::{Step, Tape, steps},
};
use crate::frame::RowTerrain;

/// How a piece of row lies on the ground, slopes meant over the support of the terrain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relief {
    /// Metres of tape from end post to end post.
    pub length_m: f64,
    /// Mean rise per level metre in the direction in which vine numbers grow.
    pub along: f64,
    /// The steepest rise or fall along the row, per level metre, without its sign.
    pub along_most: f64,
    /// Mean rise per level metre towards rows of higher number.
    pub across: f64,
    /// The steepest rise or fall across the row, per level metre, without its sign.
    pub across_most: f64,
    /// Metres of height of the way down along the row that falls most: a stretch that falls at every
    /// step, in whichever direction.
    pub fall_m: f64,
}

/// The relief along a path; `None` where the model has no height somewhere on it.
pub(super) fn of(path: &LineString<f64>, terrain: RowTerrain<'_>) -> Option<Relief> {
    let mut sums = Sums::default();
    for step in steps(path) {
        sums.add(&step, terrain)?;
    }
    let level_m = sums.level_m;
    (level_m > 0.0).then(|| Relief {
        length_m: Tape::along(path, terrain).tape_m(level_m),
        along: sums.rise_m / level_m,
        along_most: sums.along_most,
        across: sums.across_m / level_m,
        across_most: sums.across_most,
        fall_m: sums.descents.greatest_fall_m,
    })
}

#[derive(Debug, Default)]
struct Sums {
    level_m: f64,
    rise_m: f64,
    across_m: f64,
    along_most: f64,
    across_most: f64,
    descents: Descents,
}

impl Sums {
    fn add(&mut self, step: &Step, terrain: RowTerrain<'_>) -> Option<()> {
        let rise_m =
            terrain.height_m(row_point(step.to))? - terrain.height_m(row_point(step.from))?;
        let along = step.rise(terrain, 0.5)?;
        let [_, across] = terrain.gradient(row_point(step.from + (step.to - step.from) * 0.5))?;
        self.level_m += step.length_m;
        self.rise_m += rise_m;
        self.across_m += across * step.length_m;
        self.along_most = self.along_most.max(along.abs());
        self.across_most = self.across_most.max(across.abs());
        self.descents.step(step.length_m, Some(rise_m));
        Some(())
    }
}
