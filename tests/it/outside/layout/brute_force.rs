//! Every vine, post and row of random blocks against plain checks that share no code with the
//! layout: distances to all edges, and a search of all ground on a fine grid.

use catchwire::{
    block::{RowAnchor, VinePattern},
    frame::RowPoint,
    layout::Layout,
    units::Metres,
};
use geo::{LineString, MultiPolygon};

use crate::laws::plots::{Draws, Field, random_field, small_field};

/// How much nearer than the rule a boundary may come, metres.
const SHORT_M: f64 = 5e-4;
/// Spacing and row offset are held to this, metres.
const EVEN_M: f64 = 1e-3;

type Segment = [(f64, f64); 2];

/// A boundary with the clearance it asks for along and across.
struct Wall {
    segments: Vec<Segment>,
    /// Rows lie inside (the outline) or outside (keep-outs).
    inside: bool,
    turning: bool,
    clear: (f64, f64),
}

fn walls(field: &Field) -> Vec<Wall> {
    let least = |m: f64| m.max(1e-3);
    let clear = (least(field.rules.headland.metres()), least(field.rules.side_margin.metres()));
    let outline = Wall { segments: segments(&field.outline), inside: true, turning: true, clear };
    let keep_outs = field.keep_outs.iter().flat_map(|keep_out| {
        let own = least(keep_out.clearance.metres());
        let wall = |clear| Wall {
            segments: segments(&keep_out.shape),
            inside: false,
            turning: keep_out.turning,
            clear,
        };
        // One on which machines turn counts as outline, and keeps its own clearance too.
        std::iter::once(wall((own, own))).chain(keep_out.turning.then(|| wall(clear)))
    });
    std::iter::once(outline).chain(keep_outs).collect()
}

fn segments(shape: &MultiPolygon<f64>) -> Vec<Segment> {
    let rings = shape.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
    let pairs = |ring: &LineString<f64>| -> Vec<Segment> {
        ring.0.windows(2).map(|pair| [pair[0].x_y(), pair[1].x_y()]).collect()
    };
    rings.flat_map(pairs).collect()
}

/// The distance to a segment when the clearance is stretched to a unit circle.
fn scaled_distance(at: (f64, f64), segment: &Segment, clear: (f64, f64)) -> f64 {
    let scaled = |end: (f64, f64)| ((end.0 - at.0) / clear.0, (end.1 - at.1) / clear.1);
    let (a, b) = (scaled(segment[0]), scaled(segment[1]));
    let (run, rise) = (b.0 - a.0, b.1 - a.1);
    let square = run * run + rise * rise;
    let share = if square > 0.0 { -(a.0 * run + a.1 * rise) / square } else { 0.0 };
    let share = share.clamp(0.0, 1.0);
    (a.0 + share * run).hypot(a.1 + share * rise)
}

fn contains(segments: &[Segment], at: (f64, f64)) -> bool {
    let crossed = segments.iter().filter(|[a, b]| {
        (a.1 > at.1) != (b.1 > at.1) && at.0 < a.0 + (at.1 - a.1) / (b.1 - a.1) * (b.0 - a.0)
    });
    crossed.count() % 2 == 1
}

/// Whether a place keeps all clearances but for `short` metres.
fn clear(walls: &[Wall], at: (f64, f64), short: f64) -> bool {
    walls.iter().all(|wall| {
        let clear = (wall.clear.0 - short, wall.clear.1 - short);
        contains(&wall.segments, at) == wall.inside
            && wall.segments.iter().all(|segment| {
                (segment[0].1.min(segment[1].1) > at.1 + clear.1)
                    || (segment[0].1.max(segment[1].1) < at.1 - clear.1)
                    || scaled_distance(at, segment, clear) >= 1.0
            })
    })
}

fn pair(at: RowPoint) -> (f64, f64) {
    (at.along_m, at.across_m)
}

/// Random fields that hold a row, with their layouts.
fn laid_out(seed: u64, number: usize) -> Vec<(Field, Layout)> {
    let mut draws = Draws(seed);
    let fields = (0..number).map(|_| random_field(&mut draws));
    let laid: Vec<_> = fields
        .filter_map(|field| field.lay_out().ok().map(|(layout, _)| (field, layout)))
        .collect();
    assert!(laid.len() * 3 > number * 2, "only {} of {number} blocks hold a row", laid.len());
    laid
}

/// Small random fields that hold a row, with their layouts.
fn small_laid_out(seed: u64, number: usize) -> impl Iterator<Item = (Field, Layout)> {
    let mut draws = Draws(seed);
    let fields = std::iter::repeat_with(move || small_field(&mut draws));
    let laid = fields.filter_map(|field| field.lay_out().ok().map(|(layout, _)| (field, layout)));
    laid.take(number)
}

#[test]
fn nothing_stands_nearer_in_ten_thousand_small_blocks() {
    let mut checked = 0;
    for (field, layout) in small_laid_out(21, 10_000) {
        let walls = walls(&field);
        let vines = layout.vines.iter().map(|vine| pair(vine.at));
        for at in vines.chain(layout.posts.iter().map(|post| pair(post.at))) {
            assert!(clear(&walls, at, SHORT_M), "{at:?} under {:?}", field.rules);
            checked += 1;
        }
    }
    assert!(checked > 1_000_000, "{checked} places checked");
}

#[test]
fn nothing_stands_nearer_to_a_boundary_than_the_rule_allows() {
    let mut checked = 0;
    let mut skipped = 0;
    for (mut field, mut layout) in laid_out(11, 150) {
        if checked % 2 == 1 {
            // Gaps from keep-outs do not end a row: nothing may stand inside them all the same.
            let pieces = layout.pieces.len();
            field.rules.shortest_gap = Metres::new(15.0);
            layout = field.lay_out().unwrap().0;
            skipped += pieces - layout.pieces.len();
        }
        let walls = walls(&field);
        let vines = layout.vines.iter().map(|vine| pair(vine.at));
        for at in vines.chain(layout.posts.iter().map(|post| pair(post.at))) {
            assert!(clear(&walls, at, SHORT_M), "{at:?} under {:?}", field.rules);
            checked += 1;
        }
    }
    assert!(checked > 50_000, "{checked} places checked");
    assert!(skipped > 50, "{skipped} gaps only skip places");
}

#[test]
fn rows_and_vines_are_evenly_spaced() {
    for (field, layout) in laid_out(12, 150) {
        let rules = &field.rules;
        let (row, vine) = (rules.row_spacing.metres(), rules.vine_spacing.metres());
        let first = &layout.rows[0];
        for other in &layout.rows {
            let steps = f64::from(other.number - first.number);
            let off = other.across_m - first.across_m - steps * row;
            assert!(off.abs() < EVEN_M, "row {} is {off} m off", other.number);
        }
        for piece in &layout.pieces {
            let vines = &layout.vines[piece.vines.clone()];
            for pair in vines.windows(2) {
                let step = pair[1].at.along_m - pair[0].at.along_m;
                assert!((step - vine).abs() < EVEN_M, "{step} m apart, not {vine}");
            }
            let gap = vines[0].at.along_m - piece.path.0[0].x;
            let end = piece.path.0[1].x - vines[vines.len() - 1].at.along_m;
            let least = rules.end_gap.metres();
            assert!(gap > least - EVEN_M && end > least - EVEN_M, "{gap} {end} {least}");
            if rules.pattern == VinePattern::RowEnd {
                assert!((gap - least).abs() < EVEN_M && end < least + vine);
            }
        }
    }
}

/// Vines of a row without shift, then with: the lattice counts from the frame's origin.
fn lattice(field: &Field, from: f64, to: f64, shift: f64) -> usize {
    let spacing = field.rules.vine_spacing.metres();
    let (low, high) = ((from / spacing - shift).ceil(), (to / spacing - shift).floor());
    if high < low { 0 } else { count(high - low) }
}

fn count(steps: f64) -> usize {
    (0..100_000_usize).take_while(|n| f64::from(u32::try_from(*n).unwrap()) <= steps).count()
}

/// How far apart the search looks along a row, metres.
const STEP_M: f64 = 0.04;

#[test]
fn no_vine_is_left_out_that_would_fit() {
    let mut runs = 0;
    for (field, layout) in laid_out(13, 90).into_iter().chain(small_laid_out(22, 600)) {
        let walls = walls(&field);
        let row = field.rules.row_spacing.metres();
        let ends = || walls[0].segments.iter().flatten();
        let (low, high) = extent(ends().map(|end| end.1));
        let sides = extent(ends().map(|end| end.0));
        let first = layout.rows[0].across_m;
        let below = count((first - low) / row);
        for line in 0..below + count((high - first) / row) {
            let steps =
                f64::from(u32::try_from(line).unwrap()) - f64::from(u32::try_from(below).unwrap());
            let v = first + steps * row;
            let odd = steps.rem_euclid(2.0) > 0.5;
            let shift = if odd == phase_of(&field, &layout) { 0.0 } else { 0.5 };
            for run in usable_runs(&near_row(&walls, v), v, sides, STEP_M) {
                runs += 1;
                holds_what_fits(&field, &layout, (v, run), shift);
            }
        }
    }
    assert!(runs > 3000, "{runs} pieces of row searched");
}

/// Whether as many vines stand on a run of usable places as fit there.
fn holds_what_fits(field: &Field, layout: &Layout, (v, run): (f64, (f64, f64)), shift: f64) {
    let rules = &field.rules;
    if grazed(layout, (v, run), rules.anchor_gap.metres()) {
        return;
    }
    let inset = rules.anchor_gap.metres() + rules.end_gap.metres();
    let (from, to) = (run.0 + inset, run.1 - inset);
    let fits = match rules.pattern {
        _ if to < from => 0,
        VinePattern::RowEnd => count((to - from) / rules.vine_spacing.metres()),
        VinePattern::Square => lattice(field, from, to, 0.0),
        VinePattern::Staggered => lattice(field, from, to, shift),
    };
    let there =
        layout.vines.iter().map(|vine| pair(vine.at)).filter(|at| {
            (at.1 - v).abs() < EVEN_M && at.0 > run.0 - STEP_M && at.0 < run.1 + STEP_M
        });
    let planted = there.count();
    // Fewer than three are not planted: shortest_row.
    assert!(fits < 3 || planted >= fits, "{planted} of {fits} vines on {run:?} at {v}: {rules:?}");
}

/// Whether a boundary touches the row in less than a step of the search, and so cuts it unseen.
fn grazed(layout: &Layout, (v, run): (f64, (f64, f64)), anchor_gap: f64) -> bool {
    let on_row = layout.pieces.iter().filter(|piece| {
        let at = piece.path.0[0];
        (at.y - v).abs() < EVEN_M && at.x > run.0 - STEP_M && at.x < run.1 + STEP_M
    });
    let mut ends: Vec<(f64, f64)> = on_row
        .map(|piece| extent(piece.path.0.iter().map(|corner| corner.x)))
        .map(|(low, high)| (low - anchor_gap, high + anchor_gap))
        .collect();
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    ends.windows(2).any(|pair| pair[1].0 - pair[0].1 < STEP_M)
}

/// Whether the first row is one of those that stand on the lattice of the staggered pattern.
fn phase_of(field: &Field, layout: &Layout) -> bool {
    let spacing = field.rules.vine_spacing.metres();
    let share = (layout.vines[0].at.along_m / spacing).rem_euclid(1.0);
    (share - 0.5).abs() < 0.25
}

fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::MAX, f64::MIN), |(low, high), value| (low.min(value), high.max(value)))
}

/// The walls with only the segments that matter to a row.
fn near_row(walls: &[Wall], v: f64) -> Vec<Wall> {
    let near = walls.iter().map(|wall| {
        let matters = |s: &&Segment| {
            s[0].1.min(s[1].1) <= v + wall.clear.1 && s[0].1.max(s[1].1) >= v - wall.clear.1
        };
        let segments = wall.segments.iter().filter(matters).copied().collect();
        Wall { segments, ..*wall }
    });
    near.collect()
}

/// From the first to the last place of every run of usable places on a row.
fn usable_runs(walls: &[Wall], v: f64, ends: (f64, f64), step: f64) -> Vec<(f64, f64)> {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut open = false;
    let mut u = ends.0;
    while u <= ends.1 {
        let usable = clear(walls, (u, v), 0.0);
        // A wall thinner than the step would be stepped over.
        let walled = walls.iter().flat_map(|wall| &wall.segments).any(|[a, b]| {
            let at = || a.0 + (v - a.1) / (b.1 - a.1) * (b.0 - a.0);
            (a.1 > v) != (b.1 > v) && (u - step..u).contains(&at())
        });
        match runs.last_mut() {
            Some(last) if usable && open && !walled => last.1 = u,
            _ if usable => runs.push((u, u)),
            _ => {}
        }
        open = usable;
        u += step;
    }
    runs
}

#[test]
fn the_first_row_lies_at_the_least_usable_place() {
    let mut checked = 0;
    for (mut field, _) in laid_out(14, 40) {
        field.rules.anchor = RowAnchor::Edge;
        let Ok((layout, _)) = field.lay_out() else { continue };
        let walls: Vec<Wall> = walls(&field).into_iter().filter(|wall| wall.turning).collect();
        let least = least_usable(&walls);
        let rows = (layout.rows[0].across_m - least) / field.rules.row_spacing.metres();
        let off = (rows - rows.round()) * field.rules.row_spacing.metres();
        // The search finds usable places only, so it never lies below the true least one; a sharp
        // corner narrower than its grid it sees a little late.
        assert!(
            (-4e-3..1e-5).contains(&off),
            "{off} m from the least usable row: {:?}",
            field.rules
        );
        checked += 1;
    }
    assert!(checked > 25);
}

/// The least v with a usable place: on a coarse grid first, then ever finer below it.
fn least_usable(walls: &[Wall]) -> f64 {
    let ends = || walls[0].segments.iter().flatten();
    let (left, right) = extent(ends().map(|end| end.0));
    let (mut v, _) = extent(ends().map(|end| end.1));
    let mut found = None;
    while found.is_none() {
        v += 0.05;
        let near = near_row(walls, v);
        found = usable_runs(&near, v, (left, right), 0.05).first().copied();
    }
    let (mut u, mut drop) = (found.map_or(0.0, |(from, to)| from.midpoint(to)), 0.05);
    while drop > 1e-6 {
        let near = near_row(walls, v - drop);
        let around = (u - 400.0 * drop.min(0.01), u + 400.0 * drop.min(0.01));
        match usable_runs(&near, v - drop, around, drop.min(0.01)).first() {
            Some((from, to)) => (u, v) = (from.midpoint(*to), v - drop),
            None => drop /= 2.0,
        }
    }
    v
}

#[test]
fn no_offset_on_a_fine_grid_gives_more_vines_than_most_vines() {
    let mut draws = Draws(15);
    let mut checked = 0;
    while checked < 16 {
        let mut field = random_field(&mut draws);
        if checked % 3 == 2 {
            field.rules.shortest_gap = Metres::new(15.0);
        }
        checked += usize::from(no_offset_gives_more(field, 400));
    }
    for (mut field, _) in small_laid_out(23, 50) {
        field.rules.shortest_gap = Metres::new(if draws.chance(30) { 8.0 } else { 0.0 });
        checked += usize::from(no_offset_gives_more(field, 1000));
    }
    assert!(checked > 60, "{checked} blocks searched");
}

/// False when the block holds no row.
fn no_offset_gives_more(mut field: Field, steps: u32) -> bool {
    field.rules.anchor = RowAnchor::Edge;
    let Ok((edge, _)) = field.lay_out() else { return false };
    field.rules.anchor = RowAnchor::MostVines;
    let Ok((most, _)) = field.lay_out() else { return false };
    let row = field.rules.row_spacing.metres();
    let base = edge.rows[0].across_m;
    let chosen = (most.rows[0].across_m - base + 1e-7).rem_euclid(row);
    field.rules.anchor = RowAnchor::RowLine;
    for step in 0..steps {
        let offset = f64::from(step) / f64::from(steps) * row;
        field.row_line = Some(LineString::from(vec![(0.0, base + offset), (10.0, base + offset)]));
        let vines = field.lay_out().map_or(0, |(layout, _)| layout.vines.len());
        assert!(
            vines <= most.vines.len(),
            "{vines} vines at {offset}, {} at {chosen}: {:?}",
            most.vines.len(),
            field.rules
        );
        // Beside gaps a change is settled to a millimetre.
        let earlier =
            offset < chosen - if field.rules.shortest_gap.metres() > 0.0 { 2e-3 } else { 1e-5 };
        assert!(
            !earlier || vines < most.vines.len(),
            "a tie at {offset} before {chosen}: {:?}",
            field.rules
        );
    }
    let there = most.rows[0].across_m;
    field.row_line = Some(LineString::from(vec![(0.0, there), (10.0, there)]));
    let (again, _) = field.lay_out().unwrap();
    assert_eq!(again.vines.len(), most.vines.len(), "counted again: {:?}", field.rules);
    true
}
