//! Ways down along a line: stretches that fall at every step, whichever way the line is walked.

use crate::units::Metres;

/// A way downhill along a row.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Descent {
    /// Level length.
    pub length: Metres,
    /// How much lower its end lies.
    pub fall: Metres,
}

/// The ways down along some lines, in the making.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Descents {
    /// The longest; of several the first.
    pub(super) longest: Descent,
    /// Metres of height of the one that falls most, which may be a shorter one.
    pub(super) greatest_fall_m: f64,
    /// With the line and against it.
    under_way: [Way; 2],
}

#[derive(Debug, Clone, Copy, Default)]
struct Way {
    length_m: f64,
    fall_m: f64,
}

impl Descents {
    /// Begins another line.
    pub(super) fn begin(&mut self) {
        self.under_way = [Way::default(); 2];
    }

    /// Goes on by a level length over which the ground rises so much; what is level or not known
    /// ends a way down.
    pub(super) fn step(&mut self, length_m: f64, rise_m: Option<f64>) {
        for (side, falls) in [-1.0, 1.0].into_iter().enumerate() {
            let fall_m = rise_m.map(|rise| falls * rise).filter(|fall| *fall > 0.0);
            let Way { length_m: before_m, fall_m: fallen_m } = self.under_way[side];
            let way = fall_m.map_or_else(Way::default, |fall| Way {
                length_m: before_m + length_m,
                fall_m: fallen_m + fall,
            });
            self.under_way[side] = way;
            self.greatest_fall_m = self.greatest_fall_m.max(way.fall_m);
            if way.length_m > self.longest.length.metres() {
                let (length, fall) = (Metres::new(way.length_m), Metres::new(way.fall_m));
                self.longest = Descent { length, fall };
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(rises: &[Option<f64>], longest: (f64, f64), greatest_fall_m: f64) {
        for backwards in [false, true] {
            let mut descents = Descents::default();
            let walk = |rise: &Option<f64>| rise.map(|rise| if backwards { -rise } else { rise });
            let mut rises: Vec<_> = rises.iter().map(walk).collect();
            if backwards {
                rises.reverse();
            }
            for rise in rises {
                descents.step(5.0, rise);
            }
            let Descent { length, fall } = descents.longest;
            assert!((length.metres() - longest.0).abs() < 1e-12, "{descents:?}");
            assert!((fall.metres() - longest.1).abs() < 1e-12, "{descents:?}");
            assert!((descents.greatest_fall_m - greatest_fall_m).abs() < 1e-12, "{descents:?}");
        }
    }

    #[test]
    fn the_longest_way_down_is_not_always_the_one_that_falls_most() {
        // 15 m fall 0.3 m; the 10 m before, walked the other way, fall 4 m.
        check(&[Some(3.0), Some(1.0), Some(-0.1), Some(-0.1), Some(-0.1)], (15.0, 0.3), 4.0);
    }

    #[test]
    fn level_and_unknown_ground_end_a_way_down() {
        check(&[Some(-1.0), Some(0.0), Some(-1.0)], (5.0, 1.0), 1.0);
        check(&[Some(-1.0), Some(-1.0), None, Some(-1.0)], (10.0, 2.0), 2.0);
        check(&[Some(0.0), None], (0.0, 0.0), 0.0);
    }

    #[test]
    fn a_way_down_does_not_go_on_along_another_line() {
        let mut descents = Descents::default();
        descents.step(5.0, Some(-1.0));
        descents.begin();
        descents.step(5.0, Some(-1.0));
        assert_eq!(descents.longest, Descent { length: Metres::new(5.0), fall: Metres::new(1.0) });
    }
}
