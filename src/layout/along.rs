//! Posts and vines along a piece of row, by pattern.
//!
//! Anchors stand at the ends of the piece, end posts the anchor gap inside them, the first vine the
//! end gap inside its post, the others one spacing apart while the last still leaves the end gap
//! before the far post.

use super::{clearance::GRACE_M, pieces::Usable};
use crate::{
    block::{ShortestRow, VinePattern},
    maths::{float, intervals::Interval, whole},
    settings::RowRules,
};

/// The rules of a row along itself, metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Setting {
    pub(super) spacing_m: f64,
    pub(super) anchor_gap_m: f64,
    pub(super) end_gap_m: f64,
    pub(super) pattern: VinePattern,
    pub(super) shortest: ShortestRow,
}

impl Setting {
    /// As the rules of the block say.
    pub(super) fn of(rules: &RowRules) -> Self {
        Self {
            spacing_m: rules.vine_spacing.metres(),
            anchor_gap_m: rules.anchor_gap.metres(),
            end_gap_m: rules.end_gap.metres(),
            pattern: rules.pattern,
            shortest: rules.shortest_row,
        }
    }

    /// From end post to end post; `None` where the anchors leave no room between them.
    pub(super) fn posts(self, anchors: Interval) -> Option<Interval> {
        let posts =
            Interval::new(anchors.low + self.anchor_gap_m, anchors.high - self.anchor_gap_m);
        (posts.low < posts.high).then_some(posts)
    }

    /// The first vine place between two end posts and how many follow it, one spacing apart.
    ///
    /// `shifted` rows of the staggered pattern stand half a spacing on.
    pub(super) fn places(self, posts: Interval, shifted: bool) -> Option<(f64, usize)> {
        let (from, to) = (posts.low + self.end_gap_m, posts.high - self.end_gap_m + GRACE_M);
        let first = match self.pattern {
            VinePattern::RowEnd => from,
            VinePattern::Square => self.first_abreast(from, 0.0),
            VinePattern::Staggered => self.first_abreast(from, if shifted { 0.5 } else { 0.0 }),
        };
        (first <= to).then(|| (first, 1 + whole((to - first) / self.spacing_m)))
    }

    /// From where to where vine places lie between two end posts, counted in spacings: there is one
    /// at every whole number between both.
    pub(super) fn lattice(self, posts: Interval, shifted: bool) -> [f64; 2] {
        let (from, to) = (posts.low + self.end_gap_m, posts.high - self.end_gap_m + GRACE_M);
        let share = match self.pattern {
            VinePattern::RowEnd => return [0.0, (to - from) / self.spacing_m],
            VinePattern::Staggered if shifted => 0.5,
            VinePattern::Square | VinePattern::Staggered => 0.0,
        };
        [(from - GRACE_M) / self.spacing_m - share, to / self.spacing_m - share]
    }

    /// The first place of the block's lattice from `from` on.
    fn first_abreast(self, from: f64, share: f64) -> f64 {
        let steps = ((from - GRACE_M) / self.spacing_m - share).ceil();
        (steps + share) * self.spacing_m
    }

    /// Vine places on a piece, or 0 where it is too short to plant.
    pub(super) fn count(self, piece: &Usable, shifted: bool) -> usize {
        let Some(posts) = self.posts(piece.ends) else { return 0 };
        let Some((first, number)) = self.places(posts, shifted) else { return 0 };
        let skipped = piece.gaps.iter().map(|gap| self.inside_gap(first, number, *gap));
        let number = number - skipped.sum::<usize>().min(number);
        let planted = match self.shortest {
            ShortestRow::Vines(least) => number >= usize::try_from(least).unwrap_or(usize::MAX),
            ShortestRow::Length(least) => posts.length() >= least.metres(),
        };
        if planted { number } else { 0 }
    }

    /// How many of the places fall inside a gap.
    fn inside_gap(self, first: f64, number: usize, gap: Interval) -> usize {
        let up_to = |u: f64| whole(((u - first) / self.spacing_m).max(-1.0) + 1.0).min(number);
        // The rims of a gap are usable: strictly inside only.
        up_to(gap.high - GRACE_M).saturating_sub(up_to(gap.low + GRACE_M))
    }

    /// The vine places of a piece, metres along the row.
    pub(super) fn vines(self, piece: &Usable, shifted: bool) -> Vec<f64> {
        let posts = self.posts(piece.ends);
        let Some((first, number)) = posts.and_then(|posts| self.places(posts, shifted)) else {
            return Vec::new();
        };
        let clear = |u: &f64| !piece.gaps.iter().any(|gap| within(*gap, *u));
        (0..number).map(|at| first + float(at) * self.spacing_m).filter(clear).collect()
    }
}

/// Inside a gap by more than the grace.
pub(super) fn within(gap: Interval, u: f64) -> bool {
    u > gap.low + GRACE_M && u < gap.high - GRACE_M
}

#[cfg(test)]
mod tests {
    use super::*;

    fn setting(pattern: VinePattern) -> Setting {
        let shortest = ShortestRow::Vines(3);
        Setting { spacing_m: 1.2, anchor_gap_m: 2.0, end_gap_m: 0.6, pattern, shortest }
    }

    fn piece(low: f64, high: f64, gaps: &[(f64, f64)]) -> Usable {
        let gaps = gaps.iter().map(|&(low, high)| Interval::new(low, high)).collect();
        Usable { ends: Interval::new(low, high), gaps }
    }

    fn near(vines: &[f64], expected: &[f64]) {
        assert_eq!(vines.len(), expected.len(), "{vines:?}");
        for (one, other) in vines.iter().zip(expected) {
            assert!((one - other).abs() < 1e-9, "{vines:?}");
        }
    }

    #[test]
    fn vines_are_set_from_the_start_and_the_leftover_stays_at_the_far_end() {
        let setting = setting(VinePattern::RowEnd);
        // Post to post 6.0 m: 0.6, then 1.2 apart, the last 0.6 before the post.
        near(&setting.vines(&piece(10.0, 20.0, &[]), false), &[12.6, 13.8, 15.0, 16.2, 17.4]);
        near(&setting.vines(&piece(10.0, 19.9, &[]), false), &[12.6, 13.8, 15.0, 16.2]);
        assert_eq!(setting.count(&piece(10.0, 19.9, &[]), false), 4);
        assert_eq!(setting.count(&piece(10.0, 17.0, &[]), false), 0);
    }

    #[test]
    fn square_is_abreast_and_staggered_half_a_spacing_on() {
        let piece = piece(10.0, 20.0, &[]);
        near(&setting(VinePattern::Square).vines(&piece, true), &[13.2, 14.4, 15.6, 16.8]);
        let staggered = setting(VinePattern::Staggered);
        near(&staggered.vines(&piece, false), &[13.2, 14.4, 15.6, 16.8]);
        near(&staggered.vines(&piece, true), &[12.6, 13.8, 15.0, 16.2, 17.4]);
    }

    #[test]
    fn a_short_gap_only_skips_places() {
        let setting = setting(VinePattern::RowEnd);
        // 13.8 is on the rim of the gap and stays.
        let piece = piece(10.0, 20.0, &[(13.8, 15.5)]);
        near(&setting.vines(&piece, false), &[12.6, 13.8, 16.2, 17.4]);
        assert_eq!(setting.count(&piece, false), 4);
    }
}
