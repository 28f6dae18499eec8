//! The axis of bearings: 0 to 180°, in degrees and in words.

use super::{letters, line};
use crate::{
    picture::{
        Anchor, Mark,
        colours::{INK, RULE, SOFT_INK},
        furniture::SMALL,
    },
    units::Degrees,
};

/// From N-S over E-W back to N-S.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    /// Where 0° lies.
    pub(super) left_mm: f64,
    /// Where 180° lies.
    pub(super) right_mm: f64,
}

impl Axis {
    /// Where a bearing lies.
    pub(super) fn at(self, degrees: f64) -> f64 {
        self.left_mm + degrees / 180.0 * (self.right_mm - self.left_mm)
    }

    /// Where lines help the eye.
    pub(super) fn ticks() -> impl Iterator<Item = f64> {
        (0..=6_u8).map(|at| 30.0 * f64::from(at))
    }

    /// Degrees and words below the last chart.
    pub(super) fn degrees(self, top: f64) -> Vec<Mark> {
        let mut marks = Vec::new();
        for step in 0..=12_u8 {
            let degrees = 15.0 * f64::from(step);
            let x = self.at(degrees);
            marks.push(line([x; 2], [top, top + 1.4], (RULE, 0.25, None)));
            if step % 2 == 0 {
                let number = format!("{degrees}°");
                marks.push(letters((x, top + 4.8), number, SMALL, (Anchor::Middle, INK)));
                let words = Degrees::new(degrees).line_words();
                marks.push(letters((x, top + 9.0), words, SMALL, (Anchor::Middle, SOFT_INK)));
            }
        }
        marks
    }
}
