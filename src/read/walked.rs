//! Lines that somebody walked around a block -> its outline.
//!
//! Only where no polygon can be the block. A line closes when all its gaps together, between
//! segments and between its ends, are small beside the way walked; the gaps are told in metres.

use geo::Coord;
use geojson::{GeometryValue, JsonValue, Position};

use super::{
    block_features::is_polygon,
    features::{Feature, corners},
    loops::without_loops,
    role_features::Role,
    text_keys::put_role,
};
use crate::{
    finding::{Finding, Findings, Place},
    geodesy::{LonLat, distance},
};

/// The gaps of a boundary may be this part of the way walked.
const LARGEST_GAP_SHARE: f64 = 0.10;
/// Smaller gaps are none: receivers write centimetres.
const LEAST_GAP_M: f64 = 0.05;

/// A line as it was walked.
#[derive(Debug)]
struct Walk {
    /// All its points, segment after segment.
    points: Vec<Coord<f64>>,
    segments: usize,
    walked_m: f64,
    /// Between segments and between the ends, together.
    gaps_m: f64,
    /// The largest of them.
    widest_m: f64,
}

/// Makes outlines of walked lines: of those with the role of an outline, and where no polygon can be
/// the block of those without a role.
pub(super) fn close_boundaries(features: Vec<Feature>, findings: &mut Findings) -> Vec<Feature> {
    let has_block = features.iter().any(may_be_block);
    let walk = |feature: &Feature| walk_of(feature).filter(|_| is_outline(feature, has_block));
    let walks: Vec<Option<Walk>> = features.iter().map(walk).collect();
    let any_closes = walks.iter().flatten().any(Walk::closes);
    let mut kept = Vec::with_capacity(features.len());
    for (feature, walk) in features.into_iter().zip(walks) {
        match walk {
            None => kept.push(feature),
            Some(walk) if walk.closes() => kept.push(outline(feature, walk, findings)),
            Some(walk) => {
                let spare = any_closes && role(&feature).is_none();
                findings.push(walk.not_closed(&feature.place, spare));
            }
        }
    }
    kept
}

/// What is the block, or a polygon that could be it.
fn may_be_block(feature: &Feature) -> bool {
    match role(feature) {
        Some(word) => Role::from_word(word) == Some(Role::Block),
        None => is_polygon(&feature.geometry),
    }
}

fn role(feature: &Feature) -> Option<&str> {
    feature.properties.get("role").and_then(JsonValue::as_str)
}

/// True for a line that stands for the ground in it.
fn is_outline(feature: &Feature, has_block: bool) -> bool {
    match role(feature).map(Role::from_word) {
        None => !has_block,
        Some(role) => matches!(role, Some(Role::Block | Role::KeepOut | Role::Zone)),
    }
}

fn walk_of(feature: &Feature) -> Option<Walk> {
    if let GeometryValue::LineString { coordinates } = &feature.geometry {
        Some(Walk::of(&[corners(coordinates)]))
    } else if let GeometryValue::MultiLineString { coordinates } = &feature.geometry {
        Some(Walk::of(&coordinates.iter().map(|line| corners(line)).collect::<Vec<_>>()))
    } else {
        None
    }
}

fn outline(feature: Feature, walk: Walk, findings: &mut Findings) -> Feature {
    walk.tell_closed(&feature.place, findings);
    let mut points = walk.points;
    // A receiver that stands still, or came back to the very start, says the same place again.
    points.dedup();
    if points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    let mut ring: Vec<Position> = without_loops(points, &feature.place, findings)
        .into_iter()
        .map(|corner| Position::from([corner.x, corner.y]))
        .collect();
    ring.extend(ring.first().cloned());
    let mut outline =
        Feature { geometry: GeometryValue::Polygon { coordinates: vec![ring] }, ..feature };
    put_role(&mut outline.properties, Some(Role::Block));
    outline
}

impl Walk {
    fn of(segments: &[Vec<Coord<f64>>]) -> Self {
        let segments: Vec<&Vec<Coord<f64>>> =
            segments.iter().filter(|segment| !segment.is_empty()).collect();
        let steps = segments.iter().flat_map(|segment| segment.windows(2));
        let walked_m = steps.map(|step| metres(step[0], step[1])).sum();
        let ends = segments.iter().zip(segments.iter().cycle().skip(1));
        let gaps = ends.filter_map(|(one, next)| Some(metres(*one.last()?, *next.first()?)));
        let gaps: Vec<f64> = gaps.collect();
        Self {
            points: segments.iter().flat_map(|segment| segment.iter().copied()).collect(),
            segments: segments.len(),
            walked_m,
            gaps_m: gaps.iter().sum(),
            widest_m: gaps.iter().copied().fold(0.0, f64::max),
        }
    }

    fn closes(&self) -> bool {
        self.points.len() > 3 && self.gaps_m <= LARGEST_GAP_SHARE * self.walked_m
    }

    fn joined(&self) -> String {
        match self.segments {
            1 => String::new(),
            several => format!(" of {several} segments, joined in order,"),
        }
    }

    fn tell_closed(&self, place: &Place, findings: &mut Findings) {
        let line = format!("a line{} is read as an outline", self.joined());
        findings.push(if self.gaps_m < LEAST_GAP_M {
            Finding::note(place.clone(), line)
        } else {
            let gap = format!("{line}; {:.1} m of it were not walked", self.gaps_m);
            Finding::warning(place.clone(), gap)
                .because(format!(
                    "its ends are up to {:.1} m apart, on {:.0} m walked",
                    self.widest_m, self.walked_m
                ))
                .mend("look at it on a map")
        });
    }

    /// An open line that is `spare`, beside one that closes, is left out; else it stops the job.
    fn not_closed(&self, place: &Place, spare: bool) -> Finding {
        let what = format!(
            "a LineString{} that does not close: {:.1} m are missing on {:.0} m",
            self.joined(),
            self.gaps_m,
            self.walked_m
        );
        if spare {
            return Finding::warning(place.clone(), what)
                .because("it is left out")
                .mend("if it is a row, give it the role `row-line`");
        }
        Finding::fault(place.clone(), what)
            .because("an outline is needed, whose gaps are at most 10 % of the way")
            .mend("walk back to where you set out, or draw a polygon; a row is a `row-line`")
    }
}

fn metres(from: Coord<f64>, to: Coord<f64>) -> f64 {
    let at = |corner: Coord<f64>| LonLat::clamped(corner.x, corner.y);
    distance(at(from), at(to)).metres()
}
