//! A ring people drew -> a valid outline, or the exact fault and where it is.
//!
//! Every shape that leaves here is closed, finite, free of self-crossings, repeated corners, spikes
//! and empty rings, outer rings counter-clockwise.

use geo::{
    Coord, GeodesicArea, LineString, MultiPolygon, Orient, Polygon, Validation,
    algorithm::validation::{InvalidMultiPolygon, InvalidPolygon, RingRole},
    orient::Direction,
};

use super::crossing::first_crossing;
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
    mender.validate(&shape);
    (!mender.faulty).then(|| shape.orient(Direction::Default))
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

    fn validate(&mut self, shape: &MultiPolygon<f64>) {
        for error in shape.validation_errors() {
            match error {
                InvalidMultiPolygon::InvalidPolygon(index, error) => {
                    self.tell_invalid(&shape.0[index.0], &error);
                }
                InvalidMultiPolygon::ElementsOverlaps(one, other) => {
                    let what = format!("part {} and part {} overlap", one.0 + 1, other.0 + 1);
                    self.fault(&what, "each ground belongs to one part", "merge the two parts");
                }
                InvalidMultiPolygon::ElementsTouchOnALine(one, other) => {
                    let what = format!("part {} and part {} share an edge", one.0 + 1, other.0 + 1);
                    self.fault(&what, "parts may touch in corners only", "merge the two parts");
                }
            }
        }
    }

    fn tell_invalid(&mut self, polygon: &Polygon<f64>, error: &InvalidPolygon) {
        match error {
            InvalidPolygon::SelfIntersection(role) => {
                let place = first_crossing(ring_of(polygon, *role)).map_or_else(String::new, at);
                let what = format!("{} crosses or touches itself{place}", named(*role));
                self.fault(&what, "inside and outside are unclear", "move the corners there apart");
            }
            InvalidPolygon::TooFewPointsInRing(role) => {
                let what = format!("{} has fewer than three corners", named(*role));
                self.fault(&what, "it encloses nothing", "draw it again");
            }
            InvalidPolygon::NonFiniteCoord(role, index) => {
                let what = format!("corner {} of {} is no number", index.0 + 1, named(*role));
                self.fault(&what, "", "export the file again");
            }
            InvalidPolygon::InteriorRingNotContainedInExteriorRing(role) => {
                let place = ring_of(polygon, *role).0.first().copied().map_or_else(String::new, at);
                let what = format!("{} lies outside the outline{place}", named(*role));
                self.fault(&what, "a hole is cut out of its outline", "move or delete the hole");
            }
            InvalidPolygon::IntersectingRingsOnALine(one, other)
            | InvalidPolygon::IntersectingRingsOnAnArea(one, other) => {
                let what =
                    format!("{} and {} overlap or share an edge", named(*one), named(*other));
                self.fault(
                    &what,
                    "rings may touch in corners only",
                    "draw the two apart or as one",
                );
            }
        }
    }
}

fn named(role: RingRole) -> String {
    match role {
        RingRole::Exterior => "the outline".to_owned(),
        RingRole::Interior(index) => format!("hole {}", index + 1),
    }
}

fn ring_of(polygon: &Polygon<f64>, role: RingRole) -> &LineString<f64> {
    match role {
        RingRole::Exterior => polygon.exterior(),
        RingRole::Interior(index) => {
            polygon.interiors().get(index).unwrap_or_else(|| polygon.exterior())
        }
    }
}

fn at(point: Coord<f64>) -> String {
    format!(" at longitude {:.7}, latitude {:.7}", point.x, point.y)
}

fn closed(mut corners: Vec<Coord<f64>>) -> LineString<f64> {
    if let Some(first) = corners.first().copied() {
        corners.push(first);
    }
    LineString::new(corners)
}

/// The corners of an open ring without repeated ones and spikes, and how many of each there were.
fn cleaned(corners: Vec<Coord<f64>>) -> (Vec<Coord<f64>>, usize, usize) {
    let (mut repeated, mut spikes) = (0, 0);
    let mut kept: Vec<Coord<f64>> = Vec::with_capacity(corners.len());
    for corner in corners {
        push_clean(&mut kept, corner, &mut repeated, &mut spikes);
    }
    // The seam: the last corner may repeat the first, or be the tip of a spike across it.
    loop {
        let count = kept.len();
        if count > 1 && kept[0] == kept[count - 1] {
            repeated += 1;
            kept.pop();
        } else if count > 2 && is_spike(kept[count - 2], kept[count - 1], kept[0]) {
            spikes += 1;
            kept.pop();
        } else if count > 2 && is_spike(kept[count - 1], kept[0], kept[1]) {
            spikes += 1;
            kept.remove(0);
        } else {
            return (kept, repeated, spikes);
        }
    }
}

fn push_clean(
    kept: &mut Vec<Coord<f64>>,
    corner: Coord<f64>,
    repeated: &mut usize,
    spikes: &mut usize,
) {
    loop {
        match kept.as_slice() {
            [.., last] if *last == corner => {
                *repeated += 1;
                return;
            }
            [.., before, tip] if is_spike(*before, *tip, corner) => {
                *spikes += 1;
                kept.pop();
            }
            _ => break,
        }
    }
    kept.push(corner);
}

/// The way from `before` to `tip` turns straight back.
fn is_spike(before: Coord<f64>, tip: Coord<f64>, after: Coord<f64>) -> bool {
    let (out, back) = (tip - before, after - tip);
    let (cross, dot) = (out.x * back.y - out.y * back.x, out.x * back.x + out.y * back.y);
    let lengths = out.x.hypot(out.y) * back.x.hypot(back.y);
    dot < 0.0 && cross.abs() <= 1e-9 * lengths
}
