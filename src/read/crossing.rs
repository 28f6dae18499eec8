//! Where a ring crosses or touches itself.
//!
//! Boxes around ever longer runs of sides make a tree; only runs whose boxes meet are looked into,
//! so an outline of a million corners takes a second where testing every pair would take hours.

use geo::{
    BoundingRect, Coord, Intersects, Line, LineIntersection, LineString, Rect,
    line_intersection::line_intersection,
};

/// Pairs of boxes looked at before giving up: some ten seconds.
const MOST_PAIRS: u64 = 400_000_000;

/// Two sides of a ring that meet: their numbers and the place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Meeting {
    /// The earlier side.
    pub(super) first: usize,
    /// The later side.
    pub(super) second: usize,
    /// Where they meet.
    pub(super) at: Coord<f64>,
}

/// What the search found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Crossing {
    /// Sides meet only as neighbours, in their corner.
    Nowhere,
    /// Two sides meet otherwise.
    At(Meeting),
    /// The sides lie so close to each other that the search was given up.
    TooIntricate,
}

/// Looks for a place where two sides of a closed ring meet other than as neighbours in a corner.
pub(super) fn self_crossing(ring: &LineString<f64>) -> Crossing {
    let tree = BoxTree::of(ring);
    let mut pairs = 0_u64;
    let mut open = vec![(tree.levels.len() - 1, 0, 0)];
    while let Some((level, one, other)) = open.pop() {
        pairs += 1;
        if pairs > MOST_PAIRS {
            return Crossing::TooIntricate;
        }
        if one != other && !tree.levels[level][one].intersects(&tree.levels[level][other]) {
            continue;
        }
        if level > 0 {
            tree.open_pair(level - 1, one, other, &mut open);
        } else if let Some(at) = tree.meeting(one, other) {
            return Crossing::At(Meeting { first: one.min(other), second: one.max(other), at });
        }
    }
    Crossing::Nowhere
}

/// `levels[0]` are the boxes of the sides, a box of `levels[k + 1]` holds two of `levels[k]`.
struct BoxTree {
    sides: Vec<Line<f64>>,
    levels: Vec<Vec<Rect<f64>>>,
}

impl BoxTree {
    fn of(ring: &LineString<f64>) -> Self {
        let sides: Vec<Line<f64>> = ring.lines().collect();
        let mut levels = vec![sides.iter().map(Line::bounding_rect).collect::<Vec<_>>()];
        while let Some(last) = levels.last().filter(|boxes| boxes.len() > 1) {
            let pairs = last.chunks(2).map(around).collect();
            levels.push(pairs);
        }
        Self { sides, levels }
    }

    /// The pairs of halves of a pair of runs; of a run with itself, each half and both together.
    fn open_pair(
        &self,
        level: usize,
        one: usize,
        other: usize,
        open: &mut Vec<(usize, usize, usize)>,
    ) {
        let count = self.levels[level].len();
        let halves = |run: usize| (2 * run..2 * run + 2).filter(move |half| *half < count);
        for first in halves(one) {
            for second in halves(other).filter(|second| first <= *second) {
                open.push((level, first, second));
            }
        }
    }

    fn meeting(&self, one: usize, other: usize) -> Option<Coord<f64>> {
        if one == other {
            return None;
        }
        let gap = one.abs_diff(other);
        let neighbours = gap == 1 || gap + 1 == self.sides.len();
        match line_intersection(self.sides[one], self.sides[other])? {
            LineIntersection::SinglePoint { intersection, .. } => {
                (!neighbours).then_some(intersection)
            }
            LineIntersection::Collinear { intersection: shared } => {
                (!neighbours || shared.start != shared.end).then_some(shared.start)
            }
        }
    }
}

fn around(boxes: &[Rect<f64>]) -> Rect<f64> {
    let (first, last) = (boxes[0], boxes[boxes.len() - 1]);
    Rect::new(
        Coord { x: first.min().x.min(last.min().x), y: first.min().y.min(last.min().y) },
        Coord { x: first.max().x.max(last.max().x), y: first.max().y.max(last.max().y) },
    )
}

#[cfg(test)]
mod tests {
    use geo::{Polygon, Validation};
    use proptest::prelude::*;

    use super::*;

    fn closed(corners: &[(f64, f64)]) -> LineString<f64> {
        let mut corners = corners.to_vec();
        corners.push(corners[0]);
        LineString::from(corners)
    }

    fn met(first: usize, second: usize) -> Crossing {
        Crossing::At(Meeting { first, second, at: Coord { x: 1.0, y: 1.0 } })
    }

    #[test]
    fn a_bow_tie_crosses_in_its_middle() {
        let bow_tie = closed(&[(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0)]);
        assert_eq!(self_crossing(&bow_tie), met(0, 2));
    }

    #[test]
    fn a_square_does_not_meet_itself() {
        let square = closed(&[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]);
        assert_eq!(self_crossing(&square), Crossing::Nowhere);
    }

    #[test]
    fn a_ring_that_touches_itself_in_a_corner_is_told() {
        let eight =
            closed(&[(0.0, 0.0), (1.0, 1.0), (2.0, 0.0), (2.0, 2.0), (1.0, 1.0), (0.0, 2.0)]);
        assert!(
            matches!(self_crossing(&eight), Crossing::At(met) if met.at == Coord { x: 1.0, y: 1.0 })
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]

        /// The same verdict as the test of every pair in geo 0.33 (`Validation for Polygon`).
        #[test]
        fn the_verdict_is_that_of_every_pair(
            corners in prop::collection::vec((0..12_i8, 0..12_i8), 3..9),
        ) {
            let mut corners: Vec<(f64, f64)> =
                corners.into_iter().map(|(x, y)| (f64::from(x), f64::from(y))).collect();
            corners.dedup();
            prop_assume!(corners.len() > 2 && corners.first() != corners.last());
            let spike = |a: (f64, f64), b: (f64, f64), c: (f64, f64)| {
                let (u, v) = ((b.0 - a.0, b.1 - a.1), (c.0 - b.0, c.1 - b.1));
                u.0 * v.1 - u.1 * v.0 == 0.0 && u.0 * v.0 + u.1 * v.1 < 0.0
            };
            let count = corners.len();
            prop_assume!((0..count).all(|i| {
                !spike(corners[i], corners[(i + 1) % count], corners[(i + 2) % count])
            }));
            let ring = closed(&corners);
            let sound = Polygon::new(ring.clone(), Vec::new()).is_valid();
            prop_assert_eq!(self_crossing(&ring) == Crossing::Nowhere, sound, "{:?}", corners);
        }
    }
}
