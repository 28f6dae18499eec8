//! Small loops that a receiver draws where somebody stood still or passed the start again.
//!
//! A ring that crosses itself falls into two at the crossing; the smaller of them goes while it is
//! short and takes next to no ground with it. A ring that cannot be mended so stays as it was, and
//! is refused with its crossing like any other.

use geo::{BoundingRect, Coord, GeodesicArea, LineString, Polygon};

use super::{
    crossing::{Crossing, Meeting, self_crossing},
    spikes::cleaned,
};
use crate::{
    finding::{Finding, Findings, Place},
    units::Degrees,
};

/// A receiver's loop is at most this part of the ring across.
const WIDEST_LOOP_SHARE: f64 = 0.10;
/// All of them together may take this part of the area.
const LARGEST_AREA_SHARE: f64 = 0.02;
/// A ring with more loops is no boundary.
const MOST_LOOPS: usize = 1000;
/// Corners looked at before giving up, all loops together: some seconds.
const MOST_CORNERS: usize = 10_000_000;

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
    let most = MOST_LOOPS.min(MOST_CORNERS / ring.len().max(1));
    for loops in 0..=most {
        if ring.len() < 3 {
            return None;
        }
        let meeting = match self_crossing(&closed(&ring)) {
            Crossing::Nowhere => return Some((ring, loops)),
            Crossing::At(meeting) => meeting,
            Crossing::TooIntricate => return None,
        };
        let (one, other) = halves(&ring, meeting);
        let (wide, small) =
            if across(&one) >= across(&other) { (one, other) } else { (other, one) };
        if across(&small) > WIDEST_LOOP_SHARE * across(&wide) || wide.len() > ring.len() {
            return None;
        }
        ring = cleaned(wide).0;
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

/// From corner to corner of the box around a ring, in degrees of latitude.
fn across(ring: &[Coord<f64>]) -> f64 {
    let line = LineString::new(ring.to_vec());
    line.bounding_rect().map_or(0.0, |area| {
        let narrow = Degrees::new(area.center().y).radians().cos();
        (area.width() * narrow).hypot(area.height())
    })
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
    fn a_long_rest_is_cut_off_however_far_the_receiver_wandered() {
        // Steps of a fixed walk within some four metres, five minutes of them.
        let step = |k: u32| (f64::from(k * 7919 % 101) - 50.0) * 1e-6;
        let rest: Vec<(f64, f64)> = (1..300).map(|k| (step(k), 44.001 + step(k * k))).collect();
        let square = [(0.0, 44.0), (SIDE, 44.0), (SIDE, 44.0 + SIDE), (0.0, 44.0 + SIDE)];
        let drawn: Vec<Coord<f64>> = square.iter().chain(&rest).map(|c| Coord::from(*c)).collect();
        let (ring, loops) = mended(drawn).expect("a ring without loops");
        assert!(loops > 0 && area_m2(&ring) > 0.99 * 222.0 * 160.0, "{loops} loops");
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
