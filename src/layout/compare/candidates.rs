//! Which bearings are compared: even steps, the block's own, that of its longest edge.

use geo::{Coord, LineString};

use crate::{
    frame::{RowPoint, Site},
    maths::{float, whole},
    units::Degrees,
};

/// Half a turn: rows run both ways.
const HALF_TURN: f64 = 180.0;
/// Bearings nearer than this are one, degrees: 1 mm over 50 km.
const SAME: f64 = 1e-6;
/// Decimals of a degree that steps and edges are rounded to, so that a bearing that is printed is
/// the one that was laid.
const DECIMALS: f64 = 1e4;

/// A side of an outline that leaves its direction by less is straight.
const BEND: Degrees = Degrees::new(1.0);

/// Even steps of bearings from true north.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BearingRange {
    /// The first.
    pub from: Degrees,
    /// How far round they go from there, clockwise; at most half a turn.
    pub span: Degrees,
    /// From one to the next.
    pub step: Degrees,
}

impl BearingRange {
    /// All bearings, so many degrees apart.
    pub const fn all(step: Degrees) -> Self {
        Self { from: Degrees::new(0.0), span: Degrees::new(HALF_TURN), step }
    }

    /// From one bearing clockwise to another, as lines: 150° to 30° runs through 180°.
    pub fn between(from: Degrees, to: Degrees, step: Degrees) -> Self {
        let turn = to.degrees() - from.degrees();
        let whole_turns = turn.abs() >= HALF_TURN && turn.rem_euclid(HALF_TURN) <= SAME;
        let span = if whole_turns { HALF_TURN } else { turn.rem_euclid(HALF_TURN) };
        Self { from: axis(from), span: Degrees::new(span), step }
    }

    /// The axes, each once.
    fn axes(&self) -> impl Iterator<Item = Degrees> + '_ {
        let (from, span, step) = (self.from.degrees(), self.span.degrees(), self.step.degrees());
        let steps = whole((span + SAME) / step);
        // The end of half a turn is its beginning.
        let closed = span >= HALF_TURN - SAME && float(steps) * step >= HALF_TURN - SAME;
        let last = if closed { steps.saturating_sub(1) } else { steps };
        (0..=last).map(move |at| axis(rounded(from + float(at) * step)))
    }
}

/// A direction of rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    /// The bearing to lay out.
    pub(super) bearing: Degrees,
    /// It is the block's own.
    pub(super) own: bool,
    /// It is that of the longest edge.
    pub(super) longest_edge: bool,
    /// It is the one that the site is placed with.
    pub(super) as_placed: bool,
}

/// The candidates by rising axis.
pub(super) fn axes(site: &Site, own: bool, range: &BearingRange) -> Vec<Axis> {
    let plain = |bearing| Axis { bearing, own: false, longest_edge: false, as_placed: false };
    let mut axes: Vec<Axis> = range.axes().map(plain).collect();
    if let Some(bearing) = longest_edge(site) {
        merge(&mut axes, Axis { longest_edge: true, ..plain(bearing) });
    }
    if own {
        let bearing = site.frame.bearing().true_north;
        merge(&mut axes, Axis { own: true, as_placed: true, ..plain(bearing) });
    }
    axes.sort_by(|a, b| axis(a.bearing).degrees().total_cmp(&axis(b.bearing).degrees()));
    axes
}

/// Adds a candidate, or lets it stand for one of the same axis.
fn merge(axes: &mut Vec<Axis>, new: Axis) {
    let same = |known: &Axis| apart(known.bearing, new.bearing) <= SAME;
    let longest_edge =
        new.longest_edge || axes.iter().any(|known| same(known) && known.longest_edge);
    axes.retain(|known| !same(known));
    axes.push(Axis { longest_edge, ..new });
}

/// Degrees between two axes.
fn apart(one: Degrees, other: Degrees) -> f64 {
    let turn = (one.degrees() - other.degrees()).rem_euclid(HALF_TURN);
    turn.min(HALF_TURN - turn)
}

/// A bearing whichever way it is walked, 0 … 180°.
pub(super) fn axis(bearing: Degrees) -> Degrees {
    let turned = bearing.degrees().rem_euclid(HALF_TURN);
    Degrees::new(if turned >= HALF_TURN { 0.0 } else { turned })
}

fn rounded(degrees: f64) -> Degrees {
    Degrees::new((degrees * DECIMALS).round() / DECIMALS)
}

/// The axis of the longest side of the outline; the first of those that tie.
fn longest_edge(site: &Site) -> Option<Degrees> {
    let mut longest: Option<(f64, Coord<f64>)> = None;
    for side in site.outline.iter().flat_map(|part| sides(part.exterior())) {
        let length = side.x.hypot(side.y);
        // Equal sides differ by rounding only, whichever way the block lies: the first one stands.
        if longest.is_none_or(|(known, _)| length > known * (1.0 + 1e-6)) {
            longest = Some((length, side));
        }
    }
    let (_, side) = longest?;
    let side = site.frame.to_ground(RowPoint { along_m: side.x, across_m: side.y });
    let bearing = Degrees::from_radians(side.east_m.atan2(side.north_m));
    Some(axis(rounded(axis(bearing).degrees())))
}

/// From every corner of a ring as far as it runs straight: corners that a side was walked with, and
/// at which no edge leaves the direction of the first one by [`BEND`], do not end it.
fn sides(ring: &LineString<f64>) -> Vec<Coord<f64>> {
    let edges: Vec<Coord<f64>> = ring.lines().map(|line| line.delta()).collect();
    let edges: Vec<Coord<f64>> =
        edges.into_iter().filter(|edge| edge.x.hypot(edge.y) > 0.0).collect();
    let straight = BEND.radians().tan();
    let side = |from: usize| {
        let first = edges[from];
        let on = edges.iter().cycle().skip(from).take(edges.len()).take_while(|edge| {
            let along = first.x * edge.x + first.y * edge.y;
            let aside = first.x * edge.y - first.y * edge.x;
            along > 0.0 && aside.abs() <= straight * along
        });
        on.fold(Coord { x: 0.0, y: 0.0 }, |sum, edge| sum + *edge)
    };
    (0..edges.len()).map(side).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn degrees(range: &BearingRange) -> Vec<f64> {
        range.axes().map(Degrees::degrees).collect()
    }

    #[test]
    fn steps_go_round_half_a_turn_once() {
        let of = |from: f64, to: f64, step: f64| {
            degrees(&BearingRange::between(
                Degrees::new(from),
                Degrees::new(to),
                Degrees::new(step),
            ))
        };
        assert_eq!(degrees(&BearingRange::all(Degrees::new(45.0))), [0.0, 45.0, 90.0, 135.0]);
        assert_eq!(degrees(&BearingRange::all(Degrees::new(50.0))), [0.0, 50.0, 100.0, 150.0]);
        assert_eq!(degrees(&BearingRange::all(Degrees::new(1.0))).len(), 180);
        let tenths = degrees(&BearingRange::all(Degrees::new(0.1)));
        assert_eq!((tenths.len(), tenths[3], tenths[1799]), (1800, 0.3, 179.9));
        assert_eq!(of(150.0, 30.0, 15.0), [150.0, 165.0, 0.0, 15.0, 30.0]);
        assert_eq!(of(350.0, 10.0, 10.0), [170.0, 0.0, 10.0]);
        assert_eq!(of(-10.0, 10.0, 10.0), [170.0, 0.0, 10.0]);
        assert_eq!(of(20.0, 20.0, 10.0), [20.0]);
        assert_eq!(of(0.0, 180.0, 60.0), [0.0, 60.0, 120.0]);
        assert_eq!(of(90.0, 270.0, 60.0), [90.0, 150.0, 30.0]);
    }

    #[test]
    fn a_side_goes_on_through_corners_at_which_it_does_not_bend() {
        let ring = LineString::from(vec![
            (0.0, 0.0),
            (40.0, 0.2),
            (80.0, 0.0),
            (80.0, 50.0),
            (20.0, 50.0),
            (0.0, 0.0),
        ]);
        let longest =
            sides(&ring).into_iter().max_by(|a, b| a.x.hypot(a.y).total_cmp(&b.x.hypot(b.y)));
        assert_eq!(longest, Some(Coord { x: 80.0, y: 0.0 }));
    }
}
