//! Small loops that a receiver draws where somebody stood still or passed the start again.
//!
//! A ring that crosses itself falls into two at the crossing; the smaller of them goes while it is
//! short and takes next to no ground with it. A ring that cannot be mended so stays as it was, and
//! is refused with its crossing like any other.

use geo::{Coord, GeodesicArea, LineString, Polygon};

use super::{
    crossing::{Crossing, Meeting, self_crossing},
    spikes::cleaned,
};
use crate::{
    finding::{Finding, Findings, Place},
    units::Degrees,
};

/// A receiver's loop is at most this part of the way around.
const LONGEST_LOOP_SHARE: f64 = 0.05;
/// All of them together may take this part of the area.
const LARGEST_AREA_SHARE: f64 = 0.02;
/// A ring with more loops is no boundary.
const MOST_LOOPS: usize = 200;

/// The corners of a ring without its small loops, which are told with the change of the area.
pub(super) fn without_loops(
    corners: Vec<Coord<f64>>,
    place: &Place,
    findings: &mut Findings,
) -> Vec<Coord<f64>> {
    let Some((mended, loops)) = mended(corners.clone()) else { return corners };
    if loops == 0 {
        return corners;
    }
    let (before, after) = (area_m2(&corners), area_m2(&mended));
    if (after - before).abs() > LARGEST_AREA_SHARE * after {
        return corners;
    }
    let what = match loops {
        1 => "a small loop was cut off a walked boundary".to_owned(),
        several => format!("{several} small loops were cut off a walked boundary"),
    };
    findings.push(
        Finding::warning(place.clone(), what)
            .because(format!(
                "receivers draw them where somebody stands still; the area changed by {:.1} m²",
                after - before + 0.0
            ))
            .mend("look at it on a map"),
    );
    mended
}

/// The ring without loops and how many there were; `None` when they are too large or too many.
fn mended(corners: Vec<Coord<f64>>) -> Option<(Vec<Coord<f64>>, usize)> {
    let mut ring = cleaned(corners).0;
    for loops in 0..MOST_LOOPS {
        if ring.len() < 3 {
            return None;
        }
        let meeting = match self_crossing(&closed(&ring)) {
            Crossing::Nowhere => return Some((ring, loops)),
            Crossing::At(meeting) => meeting,
            Crossing::TooIntricate => return None,
        };
        let (one, other) = halves(&ring, meeting);
        let (long, short) =
            if length(&one) >= length(&other) { (one, other) } else { (other, one) };
        if length(&short) > LONGEST_LOOP_SHARE * length(&long) || long.len() > ring.len() {
            return None;
        }
        ring = cleaned(long).0;
    }
    None
}

/// The two rings into which one falls where its sides meet.
fn halves(ring: &[Coord<f64>], meeting: Meeting) -> (Vec<Coord<f64>>, Vec<Coord<f64>>) {
    let Meeting { first, second, at } = meeting;
    let between = std::iter::once(at).chain(ring[first + 1..=second].iter().copied());
    let around = ring[..=first].iter().copied().chain(std::iter::once(at));
    (between.collect(), around.chain(ring[second + 1..].iter().copied()).collect())
}

/// The way around in degrees, the longitudes shortened as at this latitude.
fn length(ring: &[Coord<f64>]) -> f64 {
    let narrow = ring.first().map_or(1.0, |corner| Degrees::new(corner.y).radians().cos());
    let next = ring.iter().cycle().skip(1);
    ring.iter().zip(next).map(|(a, b)| ((b.x - a.x) * narrow).hypot(b.y - a.y)).sum()
}

fn closed(ring: &[Coord<f64>]) -> LineString<f64> {
    LineString::new(ring.iter().chain(ring.first()).copied().collect())
}

fn area_m2(ring: &[Coord<f64>]) -> f64 {
    // A ring that crosses itself has parts that count against each other: small ones here.
    Polygon::new(closed(ring), Vec::new()).geodesic_area_signed().abs()
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIDE: f64 = 0.002;

    fn check(extra: &[(f64, f64)], expected: Option<usize>) {
        let square = [(0.0, 44.0), (SIDE, 44.0), (SIDE, 44.0 + SIDE), (0.0, 44.0 + SIDE)];
        let drawn = square.iter().chain(extra).map(|corner| Coord::from(*corner)).collect();
        let found = mended(drawn).map(|(_, loops)| loops);
        assert_eq!(found, expected, "{extra:?}");
    }

    #[test]
    fn a_sound_ring_has_no_loops() {
        check(&[], Some(0));
    }

    #[test]
    fn a_turn_where_somebody_stood_is_cut_off() {
        check(
            &[(0.00002, 44.001), (-0.00002, 44.001), (0.000_01, 44.00098), (0.000_02, 44.001_02)],
            Some(1),
        );
    }

    #[test]
    fn passing_the_start_again_is_cut_off() {
        check(&[(0.00001, 43.99999), (0.0001, 44.00001)], Some(1));
    }

    #[test]
    fn a_figure_of_eight_stays_for_the_grower_to_mend() {
        check(&[(0.0, 44.001), (SIDE * 2.0, 44.001), (SIDE * 2.0, 44.0005), (0.0, 44.0005)], None);
    }
}
