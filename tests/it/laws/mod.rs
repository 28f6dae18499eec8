//! Properties: rotate, mirror, shift, reorder; sums; same bytes.

use catchwire::{
    block::{RowsTo, VinePattern},
    frame::{AppliedBearing, Frame, GroundPoint},
    geodesy::LonLat,
    layout::Layout,
    units::{Degrees, Metres},
};
use geo::{LineString, MapCoords, MultiPolygon, Polygon};

#[path = "../support/plots.rs"]
pub(crate) mod plots;
use plots::{Draws, Field, random_field, rectangle, small_field};

mod keys;
mod standing_rows;

/// Rows agree within this, metres.
const SAME_M: f64 = 1e-4;

fn same(one: &Layout, other: &Layout, moved: (f64, f64)) {
    assert_eq!(one.rows.len(), other.rows.len());
    assert_eq!(one.vines.len(), other.vines.len());
    assert_eq!(one.posts.len(), other.posts.len());
    for (one, other) in one.vines.iter().zip(&other.vines) {
        assert_eq!(
            (one.row, one.vine, one.piece, one.panel),
            (other.row, other.vine, other.piece, other.panel)
        );
        let along = other.at.along_m - one.at.along_m - moved.0;
        let across = other.at.across_m - one.at.across_m - moved.1;
        assert!(along.hypot(across) < SAME_M, "{one:?} {other:?}");
    }
    for (one, other) in one.posts.iter().zip(&other.posts) {
        assert_eq!((one.kind, one.row, one.piece), (other.kind, other.row, other.piece));
        let along = other.at.along_m - one.at.along_m - moved.0;
        assert!(along.abs() < SAME_M, "{one:?} {other:?}");
    }
}

/// So many small random blocks are held to the law of the order of vertices.
const SMALL_BLOCKS: usize = 10_000;
/// So many to those of moved blocks.
const MOVED_BLOCKS: usize = 2_000;

/// So many small blocks, then those of [`for_some`].
fn for_all(small: usize, seed: u64, mut check: impl FnMut(&mut Draws, &Field)) {
    let mut draws = Draws(seed + 100);
    let (mut laid, mut tried) = (0, 0);
    while laid < small {
        let field = small_field(&mut draws);
        tried += 1;
        if field.lay_out().is_ok() {
            laid += 1;
            check(&mut draws, &field);
        }
    }
    assert!(tried < 2 * small, "only {laid} of {tried} small blocks hold a row");
    for_some(seed, check);
}

/// The field and what becomes of it, for some large random fields and one full of exact ties.
fn for_some(seed: u64, mut check: impl FnMut(&mut Draws, &Field)) {
    let mut draws = Draws(seed);
    let mut laid = 0;
    for _ in 0..60 {
        let field = random_field(&mut draws);
        if field.lay_out().is_ok() {
            laid += 1;
            check(&mut draws, &field);
        }
    }
    assert!(laid > 40, "only {laid} of the random blocks hold a row");
    // 60 m from post to post, 16 spacings from the first row to the last, exactly.
    for _ in 0..20 {
        check(&mut draws, &Field::new(rectangle(78.0, 45.0)));
    }
}

fn changed(field: &Field, change: impl Fn(&MultiPolygon<f64>) -> MultiPolygon<f64>) -> Field {
    let mut changed = Field { outline: change(&field.outline), ..field.clone() };
    for keep_out in &mut changed.keep_outs {
        keep_out.shape = change(&keep_out.shape);
    }
    changed
}

/// A shape on the plane as the rows of a frame see it. A field's own axes are those of rows that run
/// north and count to the east; `ground` says where on the ground such a place lies.
fn through(frame: &Frame, field: &Field, ground: impl Fn(geo::Coord<f64>) -> GroundPoint) -> Field {
    changed(field, |shape| {
        shape.map_coords(|c| {
            let at = frame.from_ground(ground(c));
            (at.along_m, at.across_m).into()
        })
    })
}

/// A frame whose rows run at a bearing and count to a side.
fn frame(bearing: f64, rows_to: RowsTo) -> Frame {
    let bearing = AppliedBearing::from_true_north(Degrees::new(bearing));
    Frame::new(LonLat::new(-5.77, 56.07).unwrap(), Metres::new(0.0), bearing, rows_to).unwrap()
}

#[test]
fn a_block_turned_with_its_bearing_has_the_same_rows() {
    let north = frame(0.0, RowsTo::Right);
    for_all(MOVED_BLOCKS, 1, |draws, field| {
        let bearing = draws.between(-720.0, 720.0);
        let (sin, cos) = Degrees::new(bearing).radians().sin_cos();
        let level = |c: geo::Coord<f64>| GroundPoint { east_m: c.y, north_m: c.x };
        // Turned clockwise on the ground, as bearings are counted.
        let clockwise = |c: geo::Coord<f64>| GroundPoint {
            east_m: c.y * cos + c.x * sin,
            north_m: c.x * cos - c.y * sin,
        };
        let laid = field.lay_out().unwrap().0;
        same(&laid, &through(&north, field, level).lay_out().unwrap().0, (0.0, 0.0));
        let turned = through(&frame(bearing, RowsTo::Right), field, clockwise);
        same(&laid, &turned.lay_out().unwrap().0, (0.0, 0.0));
    });
}

#[test]
fn a_mirrored_block_with_its_rows_numbered_to_the_other_side_has_the_same_rows() {
    for_all(MOVED_BLOCKS, 2, |draws, field| {
        let bearing = draws.between(0.0, 360.0);
        let (sin, cos) = Degrees::new(bearing).radians().sin_cos();
        // Turned clockwise, then east and west changed: the bearing counts the other way round, and
        // what lay to the right of the rows lies to the left.
        let mirrored = |c: geo::Coord<f64>| GroundPoint {
            east_m: -(c.y * cos + c.x * sin),
            north_m: c.x * cos - c.y * sin,
        };
        let mirrored = through(&frame(-bearing, RowsTo::Left), field, mirrored);
        let laid = field.lay_out().unwrap().0;
        same(&laid, &mirrored.lay_out().unwrap().0, (0.0, 0.0));
    });
}

#[test]
fn a_shifted_block_has_shifted_rows() {
    for_all(MOVED_BLOCKS, 3, |draws, field| {
        let spacing = field.rules.vine_spacing.metres();
        // The patterns that are set abreast count from the origin: shift by whole spacings.
        let shift = (spacing * (draws.between(-1e3, 1e3)).round(), draws.between(-5e3, 5e3));
        let shifted =
            changed(field, |shape| shape.map_coords(|c| (c.x + shift.0, c.y + shift.1).into()));
        same(&field.lay_out().unwrap().0, &shifted.lay_out().unwrap().0, shift);
    });
}

#[test]
fn the_order_of_vertices_says_nothing() {
    for_all(SMALL_BLOCKS, 4, |draws, field| {
        let reverse = draws.chance(50);
        let start = draws.between(0.0, 1.0);
        let reordered = changed(field, |shape| {
            let parts = shape.0.iter().rev().map(|part| {
                let ring = |ring: &LineString<f64>| reordered(ring, start, reverse);
                let mut holes: Vec<_> = part.interiors().iter().map(ring).collect();
                holes.reverse();
                Polygon::new(ring(part.exterior()), holes)
            });
            MultiPolygon::new(parts.collect())
        });
        same(&field.lay_out().unwrap().0, &reordered.lay_out().unwrap().0, (0.0, 0.0));
    });
}

/// Another start, another direction, every third vertex twice, and a point on every fifth edge.
fn reordered(ring: &LineString<f64>, start: f64, reverse: bool) -> LineString<f64> {
    let mut points = ring.0[..ring.0.len() - 1].to_vec();
    if reverse {
        points.reverse();
    }
    let len = f64::from(u32::try_from(points.len()).unwrap());
    let middle = (0..points.len()).find(|at| f64::from(u32::try_from(*at).unwrap()) >= start * len);
    points.rotate_left(middle.unwrap_or(0));
    let mut changed = Vec::new();
    for (at, point) in points.iter().enumerate() {
        changed.push(*point);
        if at % 3 == 0 {
            changed.push(*point);
        }
        if at % 5 == 0 {
            let next = points[(at + 1) % points.len()];
            changed.push(*point + (next - *point) * 0.37);
        }
    }
    changed.push(changed[0]);
    LineString::new(changed)
}

#[test]
fn a_layout_keeps_what_it_promises_to_the_next_stage() {
    for_some(5, |_, field| {
        let layout = field.lay_out().unwrap().0;
        assert!(layout.rows.is_sorted_by_key(|row| row.number));
        assert!(layout.vines.is_sorted_by_key(|vine| (vine.row, vine.vine)));
        assert!(layout.panels.is_sorted_by_key(|panel| (panel.row, panel.panel)));
        let mut next = 0;
        for (at, panel) in layout.panels.iter().enumerate() {
            assert_eq!(panel.vines.start, next, "panels share out all vines in order");
            assert!(!panel.vines.is_empty());
            next = panel.vines.end;
            let vines = &layout.vines[panel.vines.clone()];
            assert!(vines.iter().all(|v| v.panel == at && v.piece == panel.piece));
        }
        assert_eq!(next, layout.vines.len());
        let q = &layout.quantities;
        assert_eq!(q.vines, layout.vines.len());
        assert_eq!(q.posts_end + q.posts_line + q.anchors, layout.posts.len());
        assert_eq!(q.posts_end, 2 * layout.pieces.len());
        assert_eq!(q.posts_line, layout.panels.len() - layout.pieces.len());
        let length: f64 = layout.pieces.iter().map(|piece| piece.length_m).sum();
        assert!((q.row_length_m - length).abs() < 1e-6);
        let again = field.lay_out().unwrap().0;
        assert_eq!(format!("{again:?}"), format!("{layout:?}"), "the same block, the same bytes");
    });
}

#[test]
fn vines_set_abreast_stand_on_one_lattice_through_gaps_and_pieces() {
    let mut draws = Draws(6);
    let mut rows = [0, 0];
    for _ in 0..2000 {
        let mut field = small_field(&mut draws);
        let staggered = draws.chance(50);
        field.rules.pattern = if staggered { VinePattern::Staggered } else { VinePattern::Square };
        if draws.chance(50) {
            field.rules.shortest_gap = Metres::new(15.0);
        }
        let Ok((layout, _)) = field.lay_out() else { continue };
        let (row_m, vine_m) = (field.rules.row_spacing.metres(), field.rules.vine_spacing.metres());
        let (v, u) = (layout.vines[0].at.across_m, layout.vines[0].at.along_m);
        rows[usize::from(staggered)] += layout.rows.len();
        for vine in &layout.vines {
            let odd = ((vine.at.across_m - v) / row_m).round().rem_euclid(2.0) > 0.5;
            let shift = if odd && staggered { 0.5 } else { 0.0 };
            let steps = (vine.at.along_m - u) / vine_m - shift;
            assert!((steps - steps.round()).abs() * vine_m < 1e-9, "{vine:?} {:?}", field.rules);
        }
    }
    assert!(rows.iter().all(|rows| *rows > 5000), "{rows:?}");
}
