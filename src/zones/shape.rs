//! From panels to the ground of a zone: polygons that share their borders exactly.
//!
//! The ground of a panel reaches from post to post along the row and halfway to the next rows
//! across it (half a row spacing where there is none). All corners lie on one lattice of
//! 0.1 mm, and two rows share one border with the posts of both on it. So the sides that two panels
//! of a zone have in common cancel, what is left is the zone's outline, and neighbouring zones have
//! the same vertices: no overlay, no overlap, no sliver.

use std::collections::{BTreeMap, BTreeSet};

use geo::{Area, Contains, Coord, LineString, MultiPolygon, Polygon};

use crate::layout::Layout;

/// Lattice points in a metre.
const LATTICE_PER_M: f64 = 1e4;
/// Posts of different rows nearer than this along the rows share one corner: 2 mm on the lattice.
const SAME_POST: i64 = 20;
/// Rows farther apart than so many row spacings do not share a border.
const MOST_SPACINGS: f64 = 1.5;
/// Rows of a planting with as many rows of others between them still span one ground: each third row.
const MOST_SPACINGS_SPANNED: f64 = 3.5;

type Corner = (i64, i64);

/// The ground of groups of panels, metres along and across the rows.
pub(super) fn grounds(
    layout: &Layout,
    row_spacing_m: f64,
    groups: &[Vec<usize>],
) -> Vec<MultiPolygon<f64>> {
    let strips =
        Strips::new(layout, &|_| true, [0.5 * row_spacing_m, MOST_SPACINGS * row_spacing_m]);
    groups.iter().map(|panels| strips.ground(layout, panels)).collect()
}

/// The ground that groups of panels of one planting span, the rows of other plantings between them:
/// as [`grounds`] where the planting's rows stand side by side.
pub(super) fn spans(
    layout: &Layout,
    row_spacing_m: f64,
    of_planting: &dyn Fn(u32) -> bool,
    groups: &[&[usize]],
) -> Vec<MultiPolygon<f64>> {
    let reach = [0.5 * row_spacing_m, MOST_SPACINGS_SPANNED * row_spacing_m];
    let strips = Strips::new(layout, of_planting, reach);
    groups.iter().map(|panels| strips.ground(layout, panels)).collect()
}

#[expect(clippy::cast_possible_truncation, reason = "a block is under 10 km: 1e8 lattice steps")]
fn lattice(metres: f64) -> i64 {
    (metres * LATTICE_PER_M).round() as i64
}

#[expect(clippy::cast_precision_loss, reason = "a block is under 10 km: 1e8 lattice steps")]
fn metres(lattice: i64) -> f64 {
    lattice as f64 / LATTICE_PER_M
}

/// The rows as strips of ground, in the order across.
struct Strips {
    all: Vec<Strip>,
    by_number: BTreeMap<u32, usize>,
    /// Corners along the rows that posts snap to, rising.
    posts: Vec<i64>,
    /// Ground beside a row that has no row near.
    half_spacing_m: f64,
    /// Rows farther apart than this do not share a border.
    most_apart_m: f64,
}

struct Strip {
    /// The row's line, rising along it, metres along and across.
    line: Vec<Coord<f64>>,
    across_m: f64,
    /// Where its border has vertices, lattice steps along the rows.
    breaks: BTreeSet<i64>,
}

impl Strips {
    fn new(
        layout: &Layout,
        belongs: &dyn Fn(u32) -> bool,
        [half_spacing_m, most_apart_m]: [f64; 2],
    ) -> Self {
        let mut rows: Vec<_> = layout.rows.iter().filter(|row| belongs(row.number)).collect();
        rows.sort_by(|a, b| a.across_m.total_cmp(&b.across_m).then(a.number.cmp(&b.number)));
        let by_number = rows.iter().enumerate().map(|(i, row)| (row.number, i)).collect();
        let strips = rows.iter().map(|row| {
            let paths = layout.pieces[row.pieces.clone()].iter().map(|piece| &piece.path);
            Strip { line: line_of(paths), across_m: row.across_m, breaks: BTreeSet::new() }
        });
        let mut strips = Self {
            all: strips.collect(),
            by_number,
            posts: Vec::new(),
            half_spacing_m,
            most_apart_m,
        };
        strips.set_breaks(layout);
        strips
    }

    fn ground(&self, layout: &Layout, panels: &[usize]) -> MultiPolygon<f64> {
        dissolve(panels.iter().filter_map(|&panel| {
            let panel = &layout.panels[panel];
            self.panel(panel.row, &panel.path)
        }))
    }

    fn set_breaks(&mut self, layout: &Layout) {
        let points = layout
            .panels
            .iter()
            .flat_map(|panel| panel.path.coords().map(move |at| (panel.row, lattice(at.x))));
        let points: Vec<(u32, i64)> = points.collect();
        self.posts = without_near_twins(points.iter().map(|(_, x)| *x).collect());
        for (row, x) in points {
            let x = self.snapped(x);
            if let Some(&strip) = self.by_number.get(&row) {
                self.all[strip].breaks.insert(x);
            }
        }
    }

    fn snapped(&self, x: i64) -> i64 {
        let after = self.posts.partition_point(|post| *post <= x);
        after.checked_sub(1).map_or(x, |at| self.posts[at])
    }

    /// The ring of a panel, counter-clockwise and open; `None` for one without any length.
    fn panel(&self, row: u32, path: &LineString<f64>) -> Option<Vec<Corner>> {
        let strip = *self.by_number.get(&row)?;
        let posts: BTreeSet<i64> = path.coords().map(|at| self.snapped(lattice(at.x))).collect();
        let (from, to) = (*posts.first()?, *posts.last()?);
        if from == to {
            return None;
        }
        let mut ring = self.side(strip, strip.checked_sub(1), (from, to));
        let mut far_side = self.side(strip, Some(strip + 1), (from, to));
        far_side.reverse();
        ring.append(&mut far_side);
        ring.dedup();
        Some(ring)
    }

    /// One side of a row's ground: halfway to the row beside it, or half a spacing off its line
    /// where no row is near.
    fn side(&self, own: usize, beside: Option<usize>, (from, to): (i64, i64)) -> Vec<Corner> {
        let strip = &self.all[own];
        let beside_is_before = beside.is_none_or(|beside| beside < own);
        let beside = beside
            .and_then(|at| self.all.get(at))
            .filter(|other| (other.across_m - strip.across_m).abs() <= self.most_apart_m);
        let mut along: BTreeSet<i64> = strip.breaks.range(from..=to).copied().collect();
        along.extend(beside.iter().flat_map(|other| other.breaks.range(from..=to)));
        let half = if beside_is_before { -self.half_spacing_m } else { self.half_spacing_m };
        let across = |x: f64| match beside {
            Some(other) => f64::midpoint(strip.across_at(x), other.across_at(x)),
            None => strip.across_at(x) + half,
        };
        along.into_iter().map(|x| (x, lattice(across(metres(x))))).collect()
    }
}

impl Strip {
    /// Metres across of the row's line, going on straight across gaps and level beyond its ends.
    fn across_at(&self, along_m: f64) -> f64 {
        let after = self.line.partition_point(|at| at.x < along_m);
        let before = after.checked_sub(1).and_then(|i| self.line.get(i));
        match (before, self.line.get(after)) {
            (Some(a), Some(b)) => a.y + (b.y - a.y) * (along_m - a.x) / (b.x - a.x),
            (Some(end), None) | (None, Some(end)) => end.y,
            (None, None) => self.across_m,
        }
    }
}

fn line_of<'a>(paths: impl Iterator<Item = &'a LineString<f64>>) -> Vec<Coord<f64>> {
    let mut line: Vec<Coord<f64>> = paths.flat_map(|path| path.coords().copied()).collect();
    line.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    line
}

/// The points without those that follow another within [`SAME_POST`].
fn without_near_twins(points: BTreeSet<i64>) -> Vec<i64> {
    let mut kept: Vec<i64> = Vec::with_capacity(points.len());
    for point in points {
        if kept.last().is_none_or(|last| point - last > SAME_POST) {
            kept.push(point);
        }
    }
    kept
}

/// What is left of the rings when every side that two of them share is taken away.
fn dissolve(rings: impl Iterator<Item = Vec<Corner>>) -> MultiPolygon<f64> {
    let mut sides: BTreeSet<(Corner, Corner)> = BTreeSet::new();
    for ring in rings {
        let next = ring.iter().cycle().skip(1);
        for (&from, &to) in ring.iter().zip(next) {
            if !sides.remove(&(to, from)) {
                sides.insert((from, to));
            }
        }
    }
    let mut rings = Vec::new();
    while let Some(&(start, _)) = sides.first() {
        split_at_pinches(walk(start, &mut sides), &mut rings);
    }
    polygons(&rings)
}

/// Follows sides from a corner back to it, with the ground on the left, and takes them away.
fn walk(start: Corner, sides: &mut BTreeSet<(Corner, Corner)>) -> Vec<Corner> {
    let mut ring = vec![start];
    let mut at = start;
    while let Some(&side) = sides.range((at, (i64::MIN, i64::MIN))..).next() {
        if side.0 != at {
            break;
        }
        sides.remove(&side);
        at = side.1;
        if at == start {
            break;
        }
        ring.push(at);
    }
    ring
}

/// Cuts a ring that passes a corner twice into rings that pass each corner once.
fn split_at_pinches(ring: Vec<Corner>, rings: &mut Vec<Vec<Corner>>) {
    let mut path: Vec<Corner> = Vec::with_capacity(ring.len());
    let mut place: BTreeMap<Corner, usize> = BTreeMap::new();
    for corner in ring {
        if let Some(&seen) = place.get(&corner) {
            let loop_back = path.split_off(seen);
            for passed in &loop_back {
                place.remove(passed);
            }
            rings.push(loop_back);
        }
        place.insert(corner, path.len());
        path.push(corner);
    }
    rings.push(path);
}

/// Outer rings run counter-clockwise; the others are holes of the smallest ring around them.
fn polygons(rings: &[Vec<Corner>]) -> MultiPolygon<f64> {
    let rings = rings.iter().filter(|ring| ring.len() > 2).map(|ring| closed(ring));
    let (mut outer, mut holes) = (Vec::new(), Vec::new());
    for ring in rings {
        let polygon = Polygon::new(ring, Vec::new());
        if polygon.signed_area() > 0.0 { outer.push(polygon) } else { holes.push(polygon) }
    }
    for hole in holes {
        let around = outer
            .iter_mut()
            .filter(|polygon| inside(&hole, polygon))
            .min_by(|a, b| a.unsigned_area().total_cmp(&b.unsigned_area()));
        if let Some(around) = around {
            around.interiors_push(hole.into_inner().0);
        }
    }
    MultiPolygon::new(outer)
}

fn closed(ring: &[Corner]) -> LineString<f64> {
    let corners = ring.iter().chain(ring.first());
    corners.map(|&(x, y)| Coord { x: metres(x), y: metres(y) }).collect()
}

/// A hole may meet the ring around it at corners, so the middle of a side decides.
fn inside(hole: &Polygon<f64>, polygon: &Polygon<f64>) -> bool {
    let side = hole.exterior().lines().next();
    side.is_some_and(|side| {
        let middle = Coord {
            x: f64::midpoint(side.start.x, side.end.x),
            y: f64::midpoint(side.start.y, side.end.y),
        };
        Polygon::new(polygon.exterior().clone(), Vec::new()).contains(&middle)
    })
}

#[cfg(test)]
mod tests {
    use geo::{BooleanOps, Validation};

    use super::*;
    use crate::{
        layout::{Panel, Piece, Quantities, Row},
        maths::random::Random,
        names::IdDigits,
    };

    /// Rows with panels between the posts given, at `across(row, along)`.
    fn layout(posts: &[Vec<f64>], across: impl Fn(usize, f64) -> f64) -> Layout {
        let (mut rows, mut pieces, mut panels) = (Vec::new(), Vec::new(), Vec::new());
        for (index, posts) in posts.iter().enumerate() {
            let at = |x: f64| Coord { x, y: across(index, x) };
            let number = u32::try_from(index).unwrap() + 1;
            let first = panels.len();
            panels.extend(posts.windows(2).zip(1..).map(|(ends, panel)| Panel {
                row: number,
                panel,
                piece: index,
                vines: 0..0,
                path: LineString::new(vec![at(ends[0]), at(ends[1])]),
            }));
            pieces.push(Piece {
                row: number,
                letter: None,
                path: posts.iter().map(|&x| at(x)).collect(),
                length_m: posts[posts.len() - 1] - posts[0],
                relief: None,
                vines: 0..0,
                panels: first..panels.len(),
                clear_m: None,
            });
            let middle = at(f64::midpoint(posts[0], posts[posts.len() - 1])).y;
            rows.push(Row { number, across_m: middle, pieces: index..index + 1 });
        }
        Layout {
            rows,
            pieces,
            vines: Vec::new(),
            panels,
            posts: Vec::new(),
            digits: IdDigits::for_greatest(1, 1, 1),
            left_out: Vec::new(),
            quantities: Quantities::default(),
        }
    }

    fn grid(rows: usize, panels: usize) -> Layout {
        let posts: Vec<f64> =
            (0..=u32::try_from(panels).unwrap()).map(|i| 8.0 * f64::from(i)).collect();
        layout(&vec![posts; rows], |row, _| 2.5 * f64::from(u32::try_from(row).unwrap()))
    }

    #[track_caller]
    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-6, "{found} m², not {expected} m²");
    }

    #[test]
    fn a_zone_reaches_half_a_spacing_to_each_side_and_from_post_to_post() {
        let shapes = grounds(&grid(2, 3), 2.5, &[vec![0, 1, 3], vec![2, 4, 5]]);
        near(shapes[0].unsigned_area(), 3.0 * 8.0 * 2.5);
        near(shapes[1].unsigned_area(), 3.0 * 8.0 * 2.5);
        let low = shapes[0].0[0].exterior().coords().map(|at| at.y).fold(f64::INFINITY, f64::min);
        near(low, -1.25);
        assert_eq!(shapes[0].0.len(), 1);
    }

    #[test]
    fn a_zone_around_another_has_a_hole_and_panels_that_meet_at_a_corner_are_two() {
        let shapes = grounds(&grid(3, 3), 2.5, &[vec![0, 1, 2, 3, 5, 6, 7, 8], vec![4]]);
        assert_eq!((shapes[0].0.len(), shapes[0].0[0].interiors().len()), (1, 1));
        near(shapes[0].unsigned_area(), 8.0 * 20.0);
        let corners = grounds(&grid(2, 2), 2.5, &[vec![0, 3], vec![1, 2]]);
        assert!(corners.iter().all(|shape| shape.0.len() == 2));
    }

    #[test]
    fn alternating_rows_make_stripes_that_fill_the_ground() {
        let shapes = grounds(&grid(4, 1), 2.5, &[vec![0, 2], vec![1, 3]]);
        assert_eq!(shapes[0].0.len(), 2);
        near(shapes[0].unsigned_area() + shapes[1].unsigned_area(), 4.0 * 20.0);
    }

    /// Random zones of rows that bend, start anywhere and stand unevenly apart.
    fn uneven(seed: u64) -> (Layout, Vec<Vec<usize>>) {
        let mut random = Random::new(seed);
        let posts: Vec<Vec<f64>> = (0..9)
            .map(|_| {
                let start = 20.0 * random.uniform();
                (0..12).map(|i| start + 7.3 * f64::from(i)).collect()
            })
            .collect();
        let off: Vec<f64> =
            (0..9).map(|row| 2.5 * f64::from(row) + 0.3 * random.uniform()).collect();
        let layout = layout(&posts, |row, x| off[row] + 1e-4 * (x - 40.0).powi(2));
        let mut zones = vec![Vec::new(); 4];
        for panel in 0..layout.panels.len() {
            zones[usize::try_from(random.below(4)).unwrap()].push(panel);
        }
        (layout, zones)
    }

    #[test]
    fn zones_are_valid_and_neither_overlap_nor_leave_slivers() {
        for seed in 0..20 {
            let (layout, zones) = uneven(seed);
            let shapes = grounds(&layout, 2.5, &zones);
            let all = grounds(&layout, 2.5, &[zones.concat()]);
            let total: f64 = shapes.iter().map(Area::unsigned_area).sum();
            near(total, all[0].unsigned_area());
            for (index, shape) in shapes.iter().enumerate() {
                assert!(shape.is_valid(), "seed {seed}: {:?}", shape.check_validation());
                let shared = |other| shape.intersection(other).unsigned_area();
                near(shapes[index + 1..].iter().map(shared).sum(), 0.0);
            }
        }
    }
}
