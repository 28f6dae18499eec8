//! Where a ring crosses or touches itself.

use geo::{Coord, Line, LineIntersection, LineString, line_intersection::line_intersection};

/// The first place, from west to east, where two sides meet other than as neighbours in a corner.
///
/// Sides are swept from west to east, so an outline of a million corners takes seconds at most.
pub(super) fn first_crossing(ring: &LineString<f64>) -> Option<Coord<f64>> {
    let count = ring.lines().count();
    let mut sides: Vec<(usize, Line<f64>)> = ring.lines().enumerate().collect();
    sides.sort_by(|(_, a), (_, b)| west(a).total_cmp(&west(b)));
    for (rank, (index, side)) in sides.iter().enumerate() {
        let reach = side.start.x.max(side.end.x);
        let met = sides[rank + 1..].iter().take_while(|(_, other)| west(other) <= reach).find_map(
            |(other, line)| {
                let gap = index.abs_diff(*other);
                meeting(*side, *line, gap == 1 || gap + 1 == count)
            },
        );
        if met.is_some() {
            return met;
        }
    }
    None
}

fn west(side: &Line<f64>) -> f64 {
    side.start.x.min(side.end.x)
}

fn meeting(one: Line<f64>, other: Line<f64>, neighbours: bool) -> Option<Coord<f64>> {
    match line_intersection(one, other)? {
        LineIntersection::SinglePoint { intersection, .. } => (!neighbours).then_some(intersection),
        LineIntersection::Collinear { intersection } => Some(intersection.start),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bow_tie_crosses_in_its_middle() {
        let bow_tie =
            LineString::from(vec![(0.0, 0.0), (2.0, 2.0), (2.0, 0.0), (0.0, 2.0), (0.0, 0.0)]);
        assert_eq!(first_crossing(&bow_tie), Some(Coord { x: 1.0, y: 1.0 }));
    }

    #[test]
    fn a_square_does_not_meet_itself() {
        let square =
            LineString::from(vec![(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0), (0.0, 0.0)]);
        assert_eq!(first_crossing(&square), None);
    }
}
