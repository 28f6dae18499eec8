//! A piece of row before it has a number: its own line and what stands along it.
//!
//! Every way to get rows (planned, surveyed, listed, given) ends here; numbers, panels and posts
//! are then the same for all. Distances along a strand are what its tape measures: level, or on the
//! ground.

use geo::{Coord, LineString};

use super::tape::Tape;
use crate::{frame::RowPoint, maths::intervals::Interval};

/// A piece of row, end post to end post.
#[derive(Debug, Clone)]
pub(super) struct Strand {
    /// End post to end post, metres along and across.
    pub(super) path: LineString<f64>,
    /// How distances along the path are measured.
    pub(super) tape: Tape,
    /// Vine places, metres along the path.
    pub(super) vines: Vec<f64>,
    /// Numbers of the vines where someone gave them; else they count on through the row.
    pub(super) numbers: Option<Vec<u32>>,
    /// Distance from vine to vine, metres.
    pub(super) step_m: f64,
    /// Where nothing stands though the row goes on, metres along the path.
    pub(super) gaps: Vec<Interval>,
    /// Tie-back anchors beyond the first and the last post.
    pub(super) anchors: Option<[RowPoint; 2]>,
    /// Least clear length beyond the first and the last anchor, metres.
    pub(super) clear_m: Option<[f64; 2]>,
}

impl Strand {
    /// A strand along a path, with nothing on it yet.
    pub(super) fn along(path: LineString<f64>, step_m: f64) -> Self {
        Self {
            path,
            tape: Tape::default(),
            vines: Vec::new(),
            numbers: None,
            step_m,
            gaps: Vec::new(),
            anchors: None,
            clear_m: None,
        }
    }

    /// Metres from end post to end post, as measured.
    pub(super) fn length_m(&self) -> f64 {
        self.tape.tape_m(self.level_length_m())
    }

    /// Level metres from end post to end post.
    pub(super) fn level_length_m(&self) -> f64 {
        self.path.lines().map(|line| length(line.start, line.end)).sum()
    }

    /// The place so many metres along the path.
    pub(super) fn at(&self, chainage_m: f64) -> RowPoint {
        let (mut left, mut place) = (self.tape.level_m(chainage_m), None);
        for line in self.path.lines() {
            let length = length(line.start, line.end);
            let share = if length > 0.0 { left / length } else { 0.0 };
            place = Some(line.start + (line.end - line.start) * share);
            if left <= length {
                break;
            }
            left -= length;
        }
        row_point(place.or_else(|| self.path.coords().next().copied()).unwrap_or_default())
    }

    /// The path from one chainage to another, its bends kept.
    pub(super) fn part(&self, part: Interval) -> LineString<f64> {
        let mut points = vec![coord(self.at(part.low))];
        let mut chainage = 0.0;
        for line in self.path.lines() {
            chainage += length(line.start, line.end);
            let measured = self.tape.tape_m(chainage);
            if measured > part.low && measured < part.high {
                points.push(line.end);
            }
        }
        points.push(coord(self.at(part.high)));
        LineString::new(points)
    }

    /// The same strand seen from its other end.
    #[must_use]
    pub(super) fn reversed(mut self) -> Self {
        let length = self.length_m();
        self.tape = self.tape.reversed(self.level_length_m());
        self.path.0.reverse();
        self.vines.reverse();
        self.vines.iter_mut().for_each(|chainage| *chainage = length - *chainage);
        if let Some(numbers) = &mut self.numbers {
            numbers.reverse();
        }
        self.gaps.reverse();
        for gap in &mut self.gaps {
            *gap = Interval::new(length - gap.high, length - gap.low);
        }
        if let Some(anchors) = &mut self.anchors {
            anchors.reverse();
        }
        if let Some(clear) = &mut self.clear_m {
            clear.reverse();
        }
        self
    }

    /// Sets anchors so far beyond the end posts, in line with the row's ends.
    #[must_use]
    pub(super) fn anchored(mut self, anchor_gap_m: f64) -> Self {
        let length = self.length_m();
        let anchors = [self.at(-anchor_gap_m), self.at(length + anchor_gap_m)];
        self.anchors = (anchor_gap_m > 0.0).then_some(anchors);
        self
    }
}

/// A place as a coordinate of a shape.
pub(super) const fn coord(at: RowPoint) -> Coord<f64> {
    Coord { x: at.along_m, y: at.across_m }
}

/// A coordinate of a shape as a place.
pub(super) const fn row_point(at: Coord<f64>) -> RowPoint {
    RowPoint { along_m: at.x, across_m: at.y }
}

/// Metres between two places.
pub(super) fn length(one: Coord<f64>, other: Coord<f64>) -> f64 {
    (one.x - other.x).hypot(one.y - other.y)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bent() -> Strand {
        let path = LineString::from(vec![(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]);
        Strand { vines: vec![1.0, 5.0], ..Strand::along(path, 4.0) }.anchored(2.0)
    }

    #[test]
    fn places_follow_the_bend() {
        assert_eq!(bent().at(5.0), RowPoint { along_m: 3.0, across_m: 2.0 });
        assert_eq!(bent().anchors.unwrap()[0], RowPoint { along_m: -2.0, across_m: 0.0 });
        assert_eq!(bent().anchors.unwrap()[1], RowPoint { along_m: 3.0, across_m: 6.0 });
        let part = bent().part(Interval::new(2.0, 4.0));
        assert_eq!(part, LineString::from(vec![(2.0, 0.0), (3.0, 0.0), (3.0, 1.0)]));
    }

    #[test]
    fn the_other_end_sees_the_same_places() {
        let (one, other) = (bent(), bent().reversed());
        assert_eq!(other.vines, [2.0, 6.0]);
        assert_eq!(other.at(2.0), one.at(5.0));
        assert_eq!(other.reversed().vines, one.vines);
    }
}
