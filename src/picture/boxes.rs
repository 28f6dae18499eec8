//! Rectangles, edges and grids on paper: what placing a label asks.

use geo::{Coord, MultiPolygon};

use crate::{
    picture::{
        PaperPoint,
        map::{Area, extent},
    },
    units::Degrees,
};

/// Steps of a search, each way.
const STEPS: i32 = 40;

/// An edge of a shape, on paper.
pub(super) type Edge = [Coord<f64>; 2];

/// A rectangle given by its middle and half its sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Boxed {
    /// Its middle.
    pub(super) middle: Coord<f64>,
    /// Half its width and height.
    pub(super) half: Coord<f64>,
    /// The way its width runs, of length 1.
    way: Coord<f64>,
}

impl Boxed {
    /// The rectangle around a middle.
    pub(super) fn new(middle: PaperPoint, width_mm: f64, height_mm: f64) -> Self {
        let middle = Coord { x: middle.x_mm, y: middle.y_mm };
        let half = Coord { x: width_mm / 2.0, y: height_mm / 2.0 };
        Self { middle, half, way: Coord { x: 1.0, y: 0.0 } }
    }

    /// The same, turned clockwise about its middle.
    pub(super) fn turned(self, turn: Degrees) -> Self {
        let (y, x) = turn.radians().sin_cos();
        Self { way: Coord { x, y }, ..self }
    }

    /// The rectangle with free paper around it.
    pub(super) fn with_margin(&self, margin_mm: f64) -> Self {
        let half = Coord { x: self.half.x + margin_mm, y: self.half.y + margin_mm };
        Self { half, ..*self }
    }

    /// True when two rectangles share paper: no side of either keeps them apart.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        let off = other.middle - self.middle;
        let mut sides = self.sides().into_iter().chain(other.sides());
        sides.all(|side| dot(off, side).abs() < self.reach(side) + other.reach(side))
    }

    /// True when it lies wholly in an area.
    pub(super) fn is_within(&self, area: &Area) -> bool {
        let middle = area.middle();
        let near = 1e-9;
        let [x, y] =
            [Coord { x: 1.0, y: 0.0 }, Coord { x: 0.0, y: 1.0 }].map(|side| self.reach(side));
        (self.middle.x - middle.x_mm).abs() + x <= area.width_mm / 2.0 + near
            && (self.middle.y - middle.y_mm).abs() + y <= area.height_mm / 2.0 + near
    }

    /// True when a segment has any part inside (Liang & Barsky 1984).
    pub(super) fn is_crossed(&self, from: Coord<f64>, to: Coord<f64>) -> bool {
        let (from, to) = (from - self.middle, to - self.middle);
        let [along, across] = self.sides().map(|side| (dot(from, side), dot(to, side)));
        let axes = [(along, self.half.x), (across, self.half.y)];
        let [(enter_x, leave_x), (enter_y, leave_y)] =
            axes.map(|((start, end), half)| within((start, end - start, half)));
        let (enter, leave) = (enter_x.max(enter_y).max(0.0), leave_x.min(leave_y).min(1.0));
        enter < leave
    }

    /// Its corners, one after the other.
    pub(super) fn corners(&self) -> [Coord<f64>; 4] {
        let [along, across] = self.sides();
        let (along, across) = (along * self.half.x, across * self.half.y);
        let middle = self.middle;
        [
            middle - along - across,
            middle + along - across,
            middle + along + across,
            middle - along + across,
        ]
    }

    /// The ways its width and its height run.
    fn sides(&self) -> [Coord<f64>; 2] {
        [self.way, Coord { x: -self.way.y, y: self.way.x }]
    }

    /// How far it reaches from its middle some way.
    fn reach(&self, way: Coord<f64>) -> f64 {
        let [along, across] = self.sides().map(|side| dot(side, way).abs());
        self.half.x * along + self.half.y * across
    }
}

fn dot(one: Coord<f64>, other: Coord<f64>) -> f64 {
    one.x * other.x + one.y * other.y
}

/// Between which shares of its way a segment lies within ± half of an axis.
fn within((start, way, half): (f64, f64, f64)) -> (f64, f64) {
    if way.abs() > 1e-12 {
        let (one, other) = ((-half - start) / way, (half - start) / way);
        return (one.min(other), one.max(other));
    }
    if start.abs() < half { (f64::NEG_INFINITY, f64::INFINITY) } else { (1.0, 0.0) }
}

/// The edges of a shape.
pub(super) fn edges(shape: &MultiPolygon<f64>) -> Vec<Edge> {
    let rings =
        shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
    rings.flat_map(|ring| ring.0.windows(2).map(|pair| [pair[0], pair[1]])).collect()
}

/// True when a place is inside an odd number of rings.
pub(super) fn holds(edges: &[Edge], at: Coord<f64>) -> bool {
    let crossings = edges.iter().filter(|[from, to]| {
        (from.y > at.y) != (to.y > at.y)
            && at.x < from.x + (at.y - from.y) / (to.y - from.y) * (to.x - from.x)
    });
    crossings.count() % 2 == 1
}

/// Millimetres from a place to the nearest edge.
pub(super) fn distance_to_edges(edges: &[Edge], at: Coord<f64>) -> f64 {
    let squared = edges.iter().map(|[from, to]| {
        let way = *to - *from;
        let length = way.x * way.x + way.y * way.y;
        let share = if length > 0.0 {
            (((at.x - from.x) * way.x + (at.y - from.y) * way.y) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let off = Coord { x: at.x - from.x - share * way.x, y: at.y - from.y - share * way.y };
        off.x * off.x + off.y * off.y
    });
    squared.fold(f64::INFINITY, f64::min).sqrt()
}

/// Shares from 0 to 1 in even steps.
pub(super) fn steps() -> impl Iterator<Item = f64> + Clone {
    (0..=STEPS).map(|step| f64::from(step) / f64::from(STEPS))
}

/// A grid of places over the extent of a shape.
pub(super) fn grid(shape: &MultiPolygon<f64>) -> Vec<Coord<f64>> {
    let Some(extent) = extent(shape) else { return vec![] };
    let (low, width, height) = (extent.min(), extent.width(), extent.height());
    steps()
        .flat_map(|x| steps().map(move |y| Coord { x: low.x + x * width, y: low.y + y * height }))
        .collect()
}

/// The place of a grid that is deepest inside a shape.
pub(super) fn deepest(shape: &MultiPolygon<f64>, edges: &[Edge]) -> Option<Coord<f64>> {
    (grid(shape).into_iter().filter(|at| holds(edges, *at)))
        .map(|at| (distance_to_edges(edges, at), at))
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, at)| at)
        .or_else(|| Some(edges.first()?[0]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(x_mm: f64, y_mm: f64) -> Boxed {
        Boxed::new(PaperPoint::new(x_mm, y_mm), 20.0, 4.0)
    }

    #[test]
    fn turned_rectangles_share_paper_only_where_they_meet() {
        let upright = level(0.0, 0.0).turned(Degrees::new(90.0));
        // 2 mm to either side upright, 10 mm level: they touch at 12 mm.
        assert!(upright.overlaps(&level(11.9, 0.0)) && !upright.overlaps(&level(12.1, 0.0)));
        // Level extents overlap, yet the slanted one passes by the corner.
        let slanted = level(0.0, 0.0).turned(Degrees::new(45.0));
        assert!(!slanted.overlaps(&level(10.0, -5.0)) && slanted.overlaps(&level(10.0, 5.0)));
    }

    #[test]
    fn a_segment_is_told_from_one_beside_a_turned_rectangle() {
        let slanted = level(0.0, 0.0).turned(Degrees::new(45.0));
        let at = |x, y| Coord { x, y };
        assert!(slanted.is_crossed(at(5.0, -10.0), at(5.0, 10.0)));
        assert!(!slanted.is_crossed(at(5.0, -10.0), at(5.0, 1.0)));
        let area = Area { corner: PaperPoint::new(-8.5, -8.5), width_mm: 17.0, height_mm: 17.0 };
        assert!(slanted.is_within(&area) && !level(0.0, 0.0).is_within(&area));
    }
}
