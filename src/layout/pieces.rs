//! The usable pieces of a row: the inside of the outline, without what its boundary and the
//! keep-outs forbid.
//!
//! Every boundary is a table of edges sorted across the rows. Rows are visited in rising order with
//! the edges near them at hand, so a block costs its edges and its crossings, not their product.

use geo::MultiPolygon;

use super::{
    Plot,
    clearance::{Edge, Ellipse},
};
use crate::maths::intervals::{Interval, inside, merge, subtract};

/// Pieces nearer than this touch, metres: far below any tape and far above rounding.
const TOUCH_M: f64 = 1e-9;

/// A usable piece of a row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Usable {
    /// From anchor to anchor.
    pub(super) ends: Interval,
    /// Short gaps from keep-outs, where nothing stands though the row goes on.
    pub(super) gaps: Vec<Interval>,
}

/// What is usable on the rows of a band.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct UsableOver {
    /// Inside these stretches every row is usable.
    pub(super) throughout: Vec<Interval>,
    /// Outside these stretches no row is usable.
    pub(super) somewhere: Vec<Interval>,
}

/// What a boundary is to the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    /// Rows lie inside it.
    Outline,
    /// Rows lie outside it, end there, and machines turn.
    Turning,
    /// Rows lie outside it.
    KeepOut,
}

/// One boundary.
#[derive(Debug, Clone)]
struct Boundary {
    kind: Kind,
    ellipse: Ellipse,
    /// By rising lower end.
    edges: Vec<Edge>,
}

/// All boundaries of a block.
#[derive(Debug, Clone)]
pub(super) struct Ground {
    boundaries: Vec<Boundary>,
    half_swath_m: f64,
    short_gaps: ShortGaps,
}

/// Gaps from keep-outs that do not end a row.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ShortGaps {
    shorter_than_m: f64,
    /// The least part of a row beyond such a gap: anchor, end post and a vine.
    least_end_m: f64,
}

impl Ground {
    /// The boundaries of a block, with the clearances that its rules ask for.
    pub(super) fn of(plot: &Plot) -> Self {
        let rules = plot.rules;
        let ellipse = Ellipse::new(rules.headland, rules.side_margin);
        let mut boundaries = vec![Boundary::new(Kind::Outline, ellipse, plot.outline)];
        for keep_out in plot.keep_outs {
            let disc = Ellipse::new(keep_out.clearance, keep_out.clearance);
            let kind = if keep_out.turning { Kind::Turning } else { Kind::KeepOut };
            boundaries.push(Boundary::new(kind, disc, &keep_out.shape));
            if keep_out.turning {
                // It counts as outline, and keeps its own clearance where that reaches further.
                boundaries.push(Boundary::new(kind, ellipse, &keep_out.shape));
            }
        }
        let short_gaps = ShortGaps {
            shorter_than_m: rules.shortest_gap.metres(),
            least_end_m: rules.anchor_gap.metres() + rules.end_gap.metres(),
        };
        Self { boundaries, half_swath_m: rules.row_spacing.metres() / 2.0, short_gaps }
    }

    /// The same ground for settling where rows may lie: without keep-outs that only need
    /// clearance, and without grace.
    pub(super) fn strict(&self) -> Self {
        let counted = self.boundaries.iter().filter(|boundary| boundary.kind != Kind::KeepOut);
        let strict = |b: &Boundary| Boundary { ellipse: b.ellipse.strict(), ..b.clone() };
        Self { boundaries: counted.map(strict).collect(), half_swath_m: 0.0, ..*self }
    }

    /// The extent of the outline across the rows; `None` without any edge.
    pub(super) fn across(&self) -> Option<Interval> {
        let edges = || self.boundaries.iter().take(1).flat_map(|outline| &outline.edges);
        let low = edges().map(|edge| edge.low_v).min_by(f64::total_cmp)?;
        let high = edges().map(|edge| edge.high_v).max_by(f64::total_cmp)?;
        Some(Interval::new(low, high))
    }

    /// The edges that matter to the rows of a band.
    pub(super) fn near(&self, band: Interval) -> Near<'_> {
        let chosen = self.boundaries.iter().map(|boundary| {
            let reach = boundary.reach(self.half_swath_m);
            let below = boundary.edges.partition_point(|edge| edge.low_v <= band.high + reach);
            let near = boundary.edges[..below].iter().filter(|e| e.high_v >= band.low - reach);
            near.copied().collect()
        });
        Near { ground: self, edges: chosen.collect() }
    }

    /// Starts a visit of rows in rising order.
    pub(super) fn sweep(&self) -> Sweep<'_> {
        let none = vec![Vec::new(); self.boundaries.len()];
        let near = Near { ground: self, edges: none };
        Sweep { near, next: vec![0; self.boundaries.len()] }
    }
}

impl Boundary {
    fn new(kind: Kind, ellipse: Ellipse, shape: &MultiPolygon<f64>) -> Self {
        let rings = shape.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()));
        let mut edges: Vec<Edge> = rings
            .flat_map(geo::LineString::lines)
            .filter(|line| line.start != line.end)
            .map(|line| Edge::between(line.start.x_y(), line.end.x_y()))
            .collect();
        edges.sort_by(|a, b| {
            (a.low_v.total_cmp(&b.low_v))
                .then(a.low_u.total_cmp(&b.low_u))
                .then(a.high_v.total_cmp(&b.high_v))
                .then(a.high_u.total_cmp(&b.high_u))
        });
        Self { kind, ellipse, edges }
    }

    fn reach(&self, half_swath_m: f64) -> f64 {
        self.ellipse.across_m().max(half_swath_m)
    }
}

/// A visit of rows in rising order.
#[derive(Debug)]
pub(super) struct Sweep<'g> {
    near: Near<'g>,
    next: Vec<usize>,
}

impl<'g> Sweep<'g> {
    /// The edges near the row at `v`, which must not lie below the row before.
    pub(super) fn at(&mut self, v: f64) -> &Near<'g> {
        let ground = self.near.ground;
        for (at, boundary) in ground.boundaries.iter().enumerate() {
            let reach = boundary.reach(ground.half_swath_m);
            let active = &mut self.near.edges[at];
            active.retain(|edge| edge.high_v >= v - reach);
            let waiting = &boundary.edges[self.next[at]..];
            let starting = waiting.partition_point(|edge| edge.low_v <= v + reach);
            active.extend(waiting[..starting].iter().filter(|edge| edge.high_v >= v - reach));
            self.next[at] += starting;
        }
        &self.near
    }
}

/// The edges near a row or a band of rows, by boundary.
#[derive(Debug)]
pub(super) struct Near<'g> {
    ground: &'g Ground,
    edges: Vec<Vec<Edge>>,
}

impl<'g> Near<'g> {
    /// Only those that matter to a narrower band.
    pub(super) fn narrowed(&self, band: Interval) -> Near<'g> {
        let reach = |at: usize| self.ground.boundaries[at].reach(self.ground.half_swath_m);
        let chosen = self.edges.iter().enumerate().map(|(at, edges)| {
            let (low, high) = (band.low - reach(at), band.high + reach(at));
            edges.iter().filter(|e| e.high_v >= low && e.low_v <= high).copied().collect()
        });
        Near { ground: self.ground, edges: chosen.collect() }
    }

    /// The usable pieces of the row at `v`; a short gap from a keep-out does not end a piece.
    pub(super) fn usable(&self, v: f64) -> Vec<Usable> {
        let mut open = Vec::new();
        let mut shut = Vec::new();
        let mut kept_out = Vec::new();
        for (boundary, edges) in self.ground.boundaries.iter().zip(&self.edges) {
            let mut crossings: Vec<f64> = edges.iter().filter_map(|e| e.crossing(v)).collect();
            let within = inside(&mut crossings);
            let near = edges.iter().filter_map(|edge| boundary.ellipse.forbidden(edge, v));
            match boundary.kind {
                Kind::Outline => {
                    open = within;
                    shut.extend(near);
                }
                Kind::Turning => shut.extend(within.into_iter().chain(near)),
                Kind::KeepOut => kept_out.extend(within.into_iter().chain(near)),
            }
        }
        merge(&mut shut, 0.0);
        merge(&mut kept_out, 0.0);
        let whole = subtract(&open, &shut);
        whole.iter().flat_map(|piece| joined(*piece, &kept_out, self.ground.short_gaps)).collect()
    }

    /// True when no row of the band has any usable place.
    pub(super) fn shut_throughout(&self, band: Interval) -> bool {
        self.usable_over(band).somewhere.iter().all(|left| left.length() <= TOUCH_M)
    }

    /// What is usable on the rows of a band.
    pub(super) fn usable_over(&self, band: Interval) -> UsableOver {
        let (mut surely_open, mut perhaps_open) = (Vec::new(), Vec::new());
        let (mut surely_shut, mut perhaps_shut) = (Vec::new(), Vec::new());
        for (boundary, edges) in self.ground.boundaries.iter().zip(&self.edges) {
            let (within, doubtful) = sides(edges, band);
            for edge in edges {
                let [throughout, somewhere] = boundary.ellipse.forbidden_over(edge, band);
                surely_shut.extend(throughout);
                perhaps_shut.extend(somewhere);
            }
            if boundary.kind == Kind::Outline {
                perhaps_open = within.iter().chain(&doubtful).copied().collect();
                merge(&mut perhaps_open, 0.0);
                surely_open = within;
            } else {
                surely_shut.extend(subtract(&within, &doubtful));
                perhaps_shut.extend(within);
            }
            perhaps_shut.extend(doubtful);
        }
        merge(&mut surely_shut, TOUCH_M);
        merge(&mut perhaps_shut, 0.0);
        UsableOver {
            throughout: subtract(&surely_open, &perhaps_shut),
            somewhere: subtract(&perhaps_open, &surely_shut),
        }
    }

    /// True when a keep-out that does not turn machines has an edge near.
    pub(super) fn beside_keep_out(&self) -> bool {
        let boundaries = self.ground.boundaries.iter().zip(&self.edges);
        boundaries.into_iter().any(|(b, edges)| b.kind == Kind::KeepOut && !edges.is_empty())
    }

    /// The least length beyond the ends of a piece at `v` that is free of the outline and of
    /// turning keep-outs, over the row's whole swath: below `ends.low` and above `ends.high`.
    pub(super) fn clear_beyond(&self, v: f64, ends: Interval) -> [Option<f64>; 2] {
        let half = self.ground.half_swath_m;
        let swath = Interval::new(v - half, v + half);
        let counted = self.ground.boundaries.iter().zip(&self.edges);
        let counted = counted.filter(|(boundary, _)| boundary.kind != Kind::KeepOut);
        let extents = counted.flat_map(|(_, edges)| edges).filter_map(|e| e.extent_within(swath));
        let mut clear = [None, None];
        for extent in extents {
            if extent.low <= ends.low {
                shrink(&mut clear[0], ends.low - extent.high.min(ends.low));
            }
            if extent.high >= ends.high {
                shrink(&mut clear[1], extent.low.max(ends.high) - ends.high);
            }
        }
        clear
    }
}

/// The inside of a boundary on the middle row of a band, and where the band's edges make it
/// doubtful on other rows: there the sides change.
fn sides(edges: &[Edge], band: Interval) -> (Vec<Interval>, Vec<Interval>) {
    let crossings = edges.iter().filter_map(|edge| edge.crossing(band.middle()));
    let mut crossings: Vec<f64> = crossings.collect();
    let mut doubtful: Vec<Interval> =
        edges.iter().filter_map(|edge| edge.extent_within(band)).collect();
    merge(&mut doubtful, 0.0);
    (inside(&mut crossings), doubtful)
}

fn shrink(least: &mut Option<f64>, length: f64) {
    *least = Some(least.map_or(length, |known| known.min(length)));
}

/// A piece without what the keep-outs forbid; parts beside short gaps are joined again.
fn joined(piece: Interval, kept_out: &[Interval], gaps: ShortGaps) -> Vec<Usable> {
    let parts = subtract(&[piece], kept_out);
    let near = |one: &Interval, next: &Interval| next.low - one.high < gaps.shorter_than_m;
    parts.chunk_by(near).flat_map(|parts| across_gaps(parts, gaps.least_end_m)).collect()
}

/// One piece over the gaps between parts. Parts at its ends that are too short for posts and a vine
/// stay alone: the end post would stand in a gap.
fn across_gaps(parts: &[Interval], least_end_m: f64) -> Vec<Usable> {
    let long = |part: &Interval| part.length() >= least_end_m;
    let alone = |part: &Interval| Usable { ends: *part, gaps: Vec::new() };
    let (Some(first), Some(last)) = (parts.iter().position(long), parts.iter().rposition(long))
    else {
        return parts.iter().map(alone).collect();
    };
    let gap = |pair: &[Interval]| Interval::new(pair[0].high, pair[1].low);
    let gaps = parts[first..=last].windows(2).map(gap).collect();
    let whole = Usable { ends: Interval::new(parts[first].low, parts[last].high), gaps };
    let (before, after) = (parts[..first].iter().map(alone), parts[last + 1..].iter().map(alone));
    before.chain([whole]).chain(after).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_gaps_are_bridged_unless_an_end_is_too_short_for_its_post() {
        let of = |low: f64, high: f64| Interval::new(low, high);
        let gaps = ShortGaps { shorter_than_m: 3.0, least_end_m: 2.5 };
        let kept_out =
            [of(1.0, 2.0), of(9.0, 11.0), of(20.0, 25.0), of(30.0, 31.0), of(32.0, 33.0)];
        let pieces = joined(of(0.0, 34.0), &kept_out, gaps);
        let expected: Vec<(Interval, Vec<Interval>)> = vec![
            (of(0.0, 1.0), vec![]),
            (of(2.0, 20.0), vec![of(9.0, 11.0)]),
            (of(25.0, 30.0), vec![]),
            (of(31.0, 32.0), vec![]),
            (of(33.0, 34.0), vec![]),
        ];
        let found: Vec<_> = pieces.into_iter().map(|piece| (piece.ends, piece.gaps)).collect();
        assert_eq!(found, expected);
    }
}
