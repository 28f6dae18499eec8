//! The axis of bearings, in degrees and in words.

use super::{letters, line};
use crate::{
    layout::compare::Candidate,
    picture::{
        Anchor, Mark,
        colours::{INK, RULE, SOFT_INK},
        furniture::SMALL,
    },
    units::Degrees,
};

/// Fewer degrees than this are drawn alone, not within the whole half circle.
const NARROW_DEG: f64 = 100.0;

/// From N-S over E-W back to N-S, or a part of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    /// Where it begins.
    pub(super) left_mm: f64,
    /// Where it ends.
    pub(super) right_mm: f64,
    /// The bearings at both ends.
    pub(super) span: [f64; 2],
}

impl Axis {
    /// The span that shows these candidates: those that stand out by their own may lie beside a
    /// narrow range that was asked for.
    pub(super) fn span_of(candidates: &[Candidate]) -> [f64; 2] {
        let asked = candidates.iter().filter(|one| !one.own && !one.longest_edge);
        let asked = asked.map(|one| one.axis().degrees());
        let low = asked.clone().fold(f64::INFINITY, f64::min);
        let high = asked.fold(f64::NEG_INFINITY, f64::max);
        if high > low && high - low < NARROW_DEG { [low, high] } else { [0.0, 180.0] }
    }

    /// True where a bearing is on it.
    pub(super) fn shows(self, degrees: f64) -> bool {
        (self.span[0]..=self.span[1]).contains(&degrees)
    }

    /// Where a bearing lies.
    pub(super) fn at(self, degrees: f64) -> f64 {
        let share = (degrees - self.span[0]) / (self.span[1] - self.span[0]);
        self.left_mm + share * (self.right_mm - self.left_mm)
    }

    /// Where lines help the eye.
    pub(super) fn ticks(self) -> impl Iterator<Item = f64> {
        let wide = self.span[1] - self.span[0];
        let step = [1.0, 2.0, 5.0, 10.0, 15.0].into_iter().find(|step| wide <= 8.0 * step);
        let step = step.unwrap_or(30.0);
        let first = (self.span[0] / step).ceil();
        let steps = (0..=12_u8).map(move |at| (first + f64::from(at)) * step);
        steps.filter(move |degrees| self.shows(*degrees))
    }

    /// Degrees and words below the last chart.
    pub(super) fn degrees(self, top: f64) -> Vec<Mark> {
        let mut marks = Vec::new();
        for degrees in self.ticks() {
            let x = self.at(degrees);
            marks.push(line([x; 2], [top, top + 1.4], (RULE, 0.25, None)));
            let number = format!("{degrees}°");
            marks.push(letters((x, top + 4.8), number, SMALL, (Anchor::Middle, INK)));
            let words = Degrees::new(degrees).line_words();
            marks.push(letters((x, top + 9.0), words, SMALL, (Anchor::Middle, SOFT_INK)));
        }
        marks
    }
}
