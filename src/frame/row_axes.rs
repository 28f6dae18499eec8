//! East and north of the ground turned to along and across the rows, and back.
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | e, n | east and north of the origin | m |
//! | β | bearing of the rows, clockwise from north | |
//! | u | along the rows: e sin β + n cos β | m |
//! | v | across them: ±(e cos β − n sin β), + where rows go to the right | m |

use super::{GroundPoint, RowPoint};
use crate::{block::RowsTo, units::Degrees};

/// The turn between the ground and the rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct RowAxes {
    sin: f64,
    cos: f64,
    /// 1 where row numbers grow to the right of the bearing, −1 where to the left.
    side: f64,
}

impl RowAxes {
    pub(super) fn new(bearing: Degrees, rows_to: RowsTo) -> Self {
        let (sin, cos) = bearing.radians().sin_cos();
        let side = match rows_to {
            RowsTo::Right => 1.0,
            RowsTo::Left => -1.0,
        };
        Self { sin, cos, side }
    }

    pub(super) fn to_row(self, GroundPoint { east_m: e, north_m: n }: GroundPoint) -> RowPoint {
        RowPoint {
            along_m: e * self.sin + n * self.cos,
            across_m: self.side * (e * self.cos - n * self.sin),
        }
    }

    pub(super) fn to_ground(self, RowPoint { along_m: u, across_m }: RowPoint) -> GroundPoint {
        let v = self.side * across_m;
        GroundPoint { east_m: u * self.sin + v * self.cos, north_m: u * self.cos - v * self.sin }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(bearing: f64, rows_to: RowsTo, ground: (f64, f64), row: (f64, f64)) {
        let axes = RowAxes::new(Degrees::new(bearing), rows_to);
        let there = axes.to_row(GroundPoint { east_m: ground.0, north_m: ground.1 });
        assert!((there.along_m - row.0).hypot(there.across_m - row.1) < 1e-12, "{there:?}");
        let back = axes.to_ground(there);
        assert!((back.east_m - ground.0).hypot(back.north_m - ground.1) < 1e-12, "{back:?}");
    }

    #[test]
    fn looking_along_the_row_the_next_row_is_on_the_side_that_was_said() {
        check(0.0, RowsTo::Right, (3.0, 5.0), (5.0, 3.0));
        check(90.0, RowsTo::Right, (3.0, 5.0), (3.0, -5.0));
        check(180.0, RowsTo::Right, (3.0, 5.0), (-5.0, -3.0));
        check(0.0, RowsTo::Left, (3.0, 5.0), (5.0, -3.0));
        check(270.0, RowsTo::Left, (3.0, 5.0), (-3.0, -5.0));
    }
}
