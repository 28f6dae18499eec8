//! How much counts differ by the distance between them: drawn for people, never a judge of anything.
//!
//! | symbol | meaning                                              | unit      |
//! |--------|------------------------------------------------------|-----------|
//! | h      | distance of two counts                               | m         |
//! | d      | deviation of a count from its planting's mean        | quantity  |
//! | γ      | half the mean square of d − d′ over the pairs of a bin | quantity² |

use crate::maths::{
    covariance::{CovarianceModel, Family},
    float,
    nearest::{extent, square_distance},
    whole,
};

/// The farthest pairs lie this share of the counts' diagonal apart, as in the gstat program …
const CUTOFF_SHARE: f64 = 1.0 / 3.0;
/// … in so many bins.
const BINS: f64 = 15.0;
/// From so many counts on pairs along and across the rows are told apart (our judgement).
const FEWEST_BY_DIRECTION: usize = 100;
/// Of more counts so many are taken, evenly through their list: two million pairs tell enough.
const MOST_COUNTS: usize = 2000;
/// An exponential has fallen to a twentieth at so many ranges: −ln 0.05.
const EXPONENTIAL_REACH: f64 = 2.995_732_273_553_991;

/// Pairs of counts about as far apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// How many pairs.
    pub pairs: usize,
    /// Their mean distance, metres.
    pub distance_m: f64,
    /// Half their mean square difference.
    pub gamma: f64,
}

/// Which pairs are put together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BinRules {
    /// Pairs farther apart are left out, metres.
    pub cutoff_m: f64,
    /// Bins are (0, width], (width, 2·width] …, metres.
    pub width_m: f64,
}

/// Which way pairs lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// Any.
    All,
    /// At most 45° off the rows.
    Along,
    /// The others.
    Across,
}

/// The empirical variogram of the counts and the fitted curve.
#[derive(Debug, Clone, PartialEq)]
pub struct Variogram {
    /// All pairs.
    pub all: Vec<Bin>,
    /// Pairs along and across the rows; `None` with fewer than 100 counts.
    pub by_way: Option<[Vec<Bin>; 2]>,
    /// The fitted or given variation.
    pub model: CovarianceModel,
    /// The step of the curve at distance 0: nugget and counting noise, as a count has them.
    pub step: f64,
    /// How it was binned.
    pub rules: BinRules,
}

impl BinRules {
    /// A third of the diagonal of the counts' extent in 15 bins; `None` for counts in one place.
    pub fn of(places: &[[f64; 2]]) -> Option<Self> {
        let (least, most) = extent(places);
        let cutoff_m = CUTOFF_SHARE * square_distance(least, most).sqrt();
        let sound = cutoff_m.is_finite() && cutoff_m > 0.0;
        sound.then_some(Self { cutoff_m, width_m: cutoff_m / BINS })
    }
}

/// The bins of some counts that hold a pair; `counts` are places along and across the rows and
/// deviations.
///
/// # Source
/// Matheron 1962, Traité de géostatistique appliquée; bins closed above as in the gstat program.
///
/// # Example
/// ```
/// use catchwire::estimate::variogram::{BinRules, Way, bins};
///
/// let counts = [([0.0, 0.0], 1.0), ([1.0, 0.0], 3.0), ([2.0, 0.0], 2.0)];
/// let found = bins(&counts, BinRules { cutoff_m: 2.0, width_m: 1.0 }, Way::All);
/// // Two pairs one metre apart: (2² + 1²) / 4; one pair two metres apart: 1² / 2.
/// assert_eq!((found[0].pairs, found[0].gamma), (2, 1.25));
/// assert_eq!((found[1].pairs, found[1].gamma), (1, 0.5));
/// ```
pub fn bins(counts: &[([f64; 2], f64)], rules: BinRules, way: Way) -> Vec<Bin> {
    let number = whole((rules.cutoff_m / rules.width_m - 1e-9).ceil());
    let mut sums = vec![(0_usize, 0.0, 0.0); number];
    for (at, (one, own)) in counts.iter().enumerate() {
        for (other, its) in &counts[at + 1..] {
            let distance_m = square_distance(*one, *other).sqrt();
            let inside = distance_m > 0.0 && distance_m <= rules.cutoff_m;
            if inside && way.holds(*one, *other) {
                let bin = whole((distance_m / rules.width_m - 1e-12).ceil()).max(1) - 1;
                let sum = &mut sums[bin.min(number - 1)];
                *sum = (sum.0 + 1, sum.1 + distance_m, sum.2 + (own - its) * (own - its));
            }
        }
    }
    let held = sums.into_iter().filter(|(pairs, ..)| *pairs > 0);
    held.map(|(pairs, metres, squares)| Bin {
        pairs,
        distance_m: metres / float(pairs),
        gamma: 0.5 * squares / float(pairs),
    })
    .collect()
}

impl Way {
    fn holds(self, one: [f64; 2], other: [f64; 2]) -> bool {
        let along = (one[0] - other[0]).abs() >= (one[1] - other[1]).abs();
        match self {
            Self::All => true,
            Self::Along => along,
            Self::Across => !along,
        }
    }
}

impl Variogram {
    /// The variogram of counts with a variation; `step` is nugget and counting noise of a count.
    pub(super) fn new(
        counts: &[([f64; 2], f64)],
        model: CovarianceModel,
        step: f64,
    ) -> Option<Self> {
        let every = counts.len().div_ceil(MOST_COUNTS).max(1);
        let some: Vec<([f64; 2], f64)> = counts.iter().copied().step_by(every).collect();
        let places: Vec<[f64; 2]> = some.iter().map(|(at, _)| *at).collect();
        let rules = BinRules::of(&places)?;
        let all = bins(&some, rules, Way::All);
        let by_way = (counts.len() >= FEWEST_BY_DIRECTION)
            .then(|| [Way::Along, Way::Across].map(|way| bins(&some, rules, way)));
        (!all.is_empty()).then_some(Self { all, by_way, model, step, rules })
    }

    /// The curve at a distance above 0, in the square of the quantity's unit.
    pub fn curve(&self, distance_m: f64) -> f64 {
        self.step + self.model.psill - self.model.at(distance_m)
    }

    /// The diagonal of the counts' extent, metres.
    pub fn diagonal_m(&self) -> f64 {
        self.rules.cutoff_m / CUTOFF_SHARE
    }

    /// True when resemblance ends beyond all counts, so that its end is not known.
    pub fn is_everywhere(&self) -> bool {
        self.reach_m() > self.diagonal_m()
    }

    /// How far vines resemble each other: see [`reach_m`].
    pub fn reach_m(&self) -> f64 {
        reach_m(&self.model)
    }
}

/// The distance at which 95 % of the resemblance is gone, metres: the practical range. For a
/// spherical variation all of it.
pub fn reach_m(model: &CovarianceModel) -> f64 {
    match model.family {
        Family::Exponential => EXPONENTIAL_REACH * model.range_m,
        Family::Spherical => model.range_m,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULES: BinRules = BinRules { cutoff_m: 4.0, width_m: 1.0 };

    #[test]
    fn a_pair_on_the_border_of_two_bins_is_in_the_lower_and_one_in_place_in_none() {
        let at = |x: f64, value: f64| ([x, 0.0], value);
        let found = bins(&[at(0.0, 0.0), at(0.0, 9.0), at(2.0, 2.0)], RULES, Way::All);
        // Two pairs 2 m apart in (1, 2]: (4 + 49) / 4.
        assert_eq!(found, [Bin { pairs: 2, distance_m: 2.0, gamma: 13.25 }]);
        let far = bins(&[at(0.0, 0.0), at(4.0, 1.0), at(9.0, 5.0)], RULES, Way::All);
        assert_eq!(far, [Bin { pairs: 1, distance_m: 4.0, gamma: 0.5 }]);
    }

    #[test]
    fn every_pair_is_along_or_across() {
        let counts: Vec<([f64; 2], f64)> = (0..36_u16)
            .map(|k| ([f64::from(k % 6), f64::from(k / 6)], f64::from(k * k % 7)))
            .collect();
        let pairs = |way| bins(&counts, RULES, way).iter().map(|bin| bin.pairs).sum::<usize>();
        assert_eq!(pairs(Way::All), pairs(Way::Along) + pairs(Way::Across));
        assert!(pairs(Way::Along) > pairs(Way::Across), "pairs at 45° are along");
    }

    #[test]
    fn the_curve_starts_with_its_step_and_has_lost_nineteen_twentieths_at_its_reach() {
        let model = "exponential nugget=2 psill=6 range=10".parse().unwrap();
        let counts: Vec<_> = (0..9_u8).map(|k| ([f64::from(k), 0.0], f64::from(k % 3))).collect();
        let drawn = Variogram::new(&counts, model, 3.0).unwrap();
        assert!((drawn.curve(0.0) - 3.0).abs() < 1e-12);
        assert!((drawn.curve(drawn.reach_m()) - (3.0 + 0.95 * 6.0)).abs() < 1e-12);
        assert!(drawn.by_way.is_none() && (drawn.rules.cutoff_m - 8.0 / 3.0).abs() < 1e-12);
        assert!(Variogram::new(&counts[..1], model, 3.0).is_none());
    }
}
