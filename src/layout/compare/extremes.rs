//! The candidates that stand out: not a ranking, one for each thing that a planter may look for.

use super::{Candidate, Comparison};
use crate::maths::float;

/// What a candidate stands out by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Extreme {
    /// It is the block's own bearing.
    Own,
    /// It is the bearing of the longest edge.
    LongestEdge,
    /// It has the most vines.
    MostVines,
    /// It has the fewest short pieces of row.
    FewestShortPieces,
    /// Its rows run across the least mean side slope.
    LeastSideSlope,
    /// The sun shines on both sides most nearly as long.
    EvenestSun,
}

impl Extreme {
    /// What it is, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Own => "own bearing",
            Self::LongestEdge => "longest edge",
            Self::MostVines => "most vines",
            Self::FewestShortPieces => "fewest short pieces",
            Self::LeastSideSlope => "least side slope",
            Self::EvenestSun => "evenest sun",
        }
    }
}

impl Comparison {
    /// The candidates that stand out, as far as what they stand out by is known; of those that tie
    /// the one with more vines, then the first.
    pub fn extremes(&self) -> Vec<(Extreme, &Candidate)> {
        let own = self.candidates.iter().find(|candidate| candidate.own);
        let edge = self.candidates.iter().find(|candidate| candidate.longest_edge);
        let found = [
            (Extreme::Own, own),
            (Extreme::LongestEdge, edge),
            (Extreme::MostVines, self.least(|_| Some(0.0))),
            (Extreme::FewestShortPieces, self.least(|c| Some(float(c.counted.short_pieces)))),
            (Extreme::LeastSideSlope, self.least(|c| c.slopes.map(|slopes| slopes.across[0]))),
            (
                Extreme::EvenestSun,
                self.least(|c| c.sun.map(|sun| (sun.right_h - sun.left_h).abs())),
            ),
        ];
        found.into_iter().filter_map(|(extreme, candidate)| Some((extreme, candidate?))).collect()
    }

    fn least(&self, value: impl Fn(&Candidate) -> Option<f64>) -> Option<&Candidate> {
        let planted = self.candidates.iter().filter(|candidate| candidate.counted.rows > 0);
        let valued = planted.filter_map(|candidate| Some((value(candidate)?, candidate)));
        let least = valued.min_by(|(one, a), (other, b)| {
            one.total_cmp(other).then(b.counted.vines.cmp(&a.counted.vines))
        });
        least.map(|(_, candidate)| candidate)
    }
}
