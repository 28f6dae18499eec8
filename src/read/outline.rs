//! A ring people drew -> a valid outline, or the exact fault and where it is.
//!
//! Every shape that leaves here is closed, finite, free of self-crossings, repeated corners, spikes
//! and empty rings, outer rings counter-clockwise.

use geo::{Coord, GeodesicArea, LineString, MultiPolygon, Orient, Polygon, orient::Direction};

use super::{shape_faults::shape_faults, spikes::cleaned};
use crate::finding::{Finding, Findings, Place};

/// The rings of one polygon as drawn: the outer one first.
pub(super) type Rings = Vec<Vec<Coord<f64>>>;

/// A valid shape from the rings that were drawn.
///
/// Gives `None` when there is a fault, which is in the findings then.
pub(super) fn shape_of(
    polygons: Vec<Rings>,
    place: &Place,
    findings: &mut Findings,
) -> Option<MultiPolygon<f64>> {
    let mut mender = Mender { place, findings, faulty: false };
    let parts: Vec<Polygon<f64>> =
        polygons.into_iter().filter_map(|rings| mender.polygon(rings)).collect();
    if parts.is_empty() && !mender.faulty {
        mender.fault("the polygon is empty", "", "draw its outline");
    }
    if mender.faulty {
        return None;
    }
    let shape = MultiPolygon::new(parts);
    let faults = shape_faults(&shape, place);
    if faults.is_empty() {
        return Some(shape.orient(Direction::Default));
    }
    findings.extend(faults.into_iter().collect());
    None
}

/// Square metres of ground on the ellipsoid.
pub(super) fn area_m2(shape: &MultiPolygon<f64>) -> f64 {
    shape.geodesic_area_unsigned()
}

struct Mender<'a> {
    place: &'a Place,
    findings: &'a mut Findings,
    faulty: bool,
}

impl Mender<'_> {
    fn fault(&mut self, what: &str, why: &str, mend: &str) {
        self.faulty = true;
        self.findings.push(Finding::fault(self.place.clone(), what).because(why).mend(mend));
    }

    fn polygon(&mut self, rings: Rings) -> Option<Polygon<f64>> {
        let mut rings = rings.into_iter();
        let outer = rings.next().filter(|ring| !ring.is_empty())?;
        let outer = self.ring(outer)?;
        let mut holes = Vec::new();
        for hole in rings {
            if hole.is_empty() {
                let what = "an empty inner ring is left out";
                self.findings.push(Finding::note(self.place.clone(), what));
            } else if let Some(hole) = self.ring(hole) {
                holes.push(hole);
            }
        }
        Some(Polygon::new(outer, holes))
    }

    fn ring(&mut self, drawn: Vec<Coord<f64>>) -> Option<LineString<f64>> {
        let mut corners = drawn;
        if corners.first() == corners.last() && corners.len() > 1 {
            corners.pop();
        } else if corners.len() > 2 {
            let what = "a ring was not closed; its first corner was added at the end";
            self.findings.push(Finding::warning(self.place.clone(), what));
        }
        if !self.fits_the_globe(&corners) {
            return None;
        }
        let before = closed(corners.clone());
        let drawn = corners.len();
        let (corners, repeated, spikes) = cleaned(corners);
        if corners.len() < 3 {
            let what =
                format!("a ring of {} different corners where three are the least", corners.len());
            self.fault(&what, &format!("{drawn} were drawn"), "draw the outline again");
            return None;
        }
        let ring = closed(corners);
        if repeated + spikes > 0 {
            self.tell_cleaning(&before, &ring, repeated, spikes);
        }
        Some(ring)
    }

    fn tell_cleaning(
        &mut self,
        before: &LineString<f64>,
        after: &LineString<f64>,
        repeated: usize,
        spikes: usize,
    ) {
        let area = |ring: &LineString<f64>| {
            Polygon::new(ring.clone(), Vec::new()).geodesic_area_unsigned()
        };
        let change = area(after) - area(before);
        let mut parts = Vec::new();
        if repeated > 0 {
            parts.push(format!("{repeated} repeated corners"));
        }
        if spikes > 0 {
            parts.push(format!("{spikes} spikes"));
        }
        let what = format!("{} were taken out of a ring", parts.join(" and "));
        self.findings.push(
            Finding::warning(self.place.clone(), what)
                .because(format!("the area changed by {:.2} m²", change + 0.0)),
        );
    }

    fn fits_the_globe(&mut self, corners: &[Coord<f64>]) -> bool {
        let lons = || corners.iter().map(|corner| corner.x);
        let (west, east) =
            (lons().fold(f64::INFINITY, f64::min), lons().fold(f64::NEG_INFINITY, f64::max));
        let crosses = east - west > 180.0;
        if crosses {
            self.fault(
                "the outline crosses longitude 180°",
                &format!("it reaches from {west}° to {east}°"),
                "split it there into two blocks, as RFC 7946 §3.1.9 asks",
            );
        }
        !crosses
    }
}

fn closed(mut corners: Vec<Coord<f64>>) -> LineString<f64> {
    if let Some(first) = corners.first().copied() {
        corners.push(first);
    }
    LineString::new(corners)
}
