//! How two measures go together on the ground, where neighbours are alike.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | x, y | two measures at the same places, less their plantings' means, in their standard deviations | – |
//! | r | their correlation: the mean of x·y | – |
//! | n, k | pairs, and plantings whose own means were taken off | – |
//! | A, B | autocorrelation of x and of y: mean of x·x′ and of y·y′ over places some way apart | – |
//! | M | pairs that are worth as much when none is like its neighbour | – |
//!
//! Two measures that vary in patches go together by chance where a patch of one happens to lie on a
//! patch of the other: n pairs then tell as much as M of places that know nothing of each other. The
//! variance of r is summed over classes of distance, and M is what it says:
//!
//! ```text
//! var r = 1 / (n − k) + (2 / n²) Σ m·A·B      over classes of m pairs of places
//! M     = 1 + 1 / var r                       never more than n − k + 1
//! ```

use std::collections::BTreeMap;

use super::{Joined, Observation};
use crate::{
    layout::{Layout, Vine},
    maths::{float, nearest::square_distance, normal, whole},
};

/// Fewer pairs than this are no check.
pub(super) const FEWEST_PAIRS: usize = 5;
/// Of more pairs than this, so many spread evenly tell how alike neighbours are.
const MOST_PAIRS: usize = 1000;
/// A correlation of 1 has no interval; this one has.
const MOST_R: f64 = 0.999_999;

/// How two measures go together within plantings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Correlation {
    /// The correlation.
    pub(super) r: f64,
    /// Pairs that it is of.
    pub(super) pairs: usize,
    /// Pairs of places unlike their neighbours that say as much.
    pub(super) effective: f64,
}

/// Both measures at one place.
#[derive(Debug, Clone, Copy)]
struct Pair {
    at: [f64; 2],
    xy: [f64; 2],
}

impl Correlation {
    /// Of values by vine with some observations of grown vines; `None` of too few, or of all alike.
    pub(super) fn within_plantings(
        (joined, layout): (&Joined, &Layout),
        values: &[Option<f64>],
        against: &[Observation],
    ) -> Option<Self> {
        let mut plantings: BTreeMap<usize, Vec<Pair>> = BTreeMap::new();
        for one in against {
            if let Some(value) = mean_of(joined, values, one) {
                let planting = joined.vines[one.vines[0]].planting;
                let pair = Pair { at: middle(layout, one), xy: [value, one.per_m] };
                plantings.entry(planting).or_default().push(pair);
            }
        }
        let groups: Vec<Vec<Pair>> = plantings.into_values().filter(|own| own.len() > 1).collect();
        Self::within(&groups)
    }

    fn within(groups: &[Vec<Pair>]) -> Option<Self> {
        let pairs: Vec<Pair> = groups.iter().flat_map(|own| around_their_mean(own)).collect();
        let room = float(pairs.len()) - float(groups.len());
        if pairs.len() < FEWEST_PAIRS || room < 3.0 {
            return None;
        }
        let pairs = in_deviations(pairs);
        let r = pairs.iter().map(|pair| pair.xy[0] * pair.xy[1]).sum::<f64>() / float(pairs.len());
        let effective = 1.0 + 1.0 / (1.0 / room + by_patches(&pairs).max(0.0));
        r.is_finite().then_some(Self { r, pairs: pairs.len(), effective })
    }

    /// Both ends of the interval that holds the correlation with this probability; −1 and 1 where the
    /// pairs are worth three or fewer.
    ///
    /// # Source
    /// Fisher 1921, Metron 1:3–32: atanh r is nearly normal with variance 1 / (M − 3); Fisher 1924,
    /// Metron 3:329–332 (means taken off count as lost pairs); M in the place of their number:
    /// Clifford, Richardson & Hémon 1989, Biometrics 45:123–134.
    pub(super) fn ends(self, probability: f64) -> [f64; 2] {
        let room = self.effective - 3.0;
        if room <= 0.0 {
            return [-1.0, 1.0];
        }
        let half = normal::quantile(0.5 + probability / 2.0) / room.sqrt();
        let z = self.r.clamp(-MOST_R, MOST_R).atanh();
        [(z - half).tanh(), (z + half).tanh()]
    }

    /// In words, beside what it is a correlation with.
    pub(super) fn words(self, what: &str) -> String {
        let Self { r, pairs, effective } = self;
        let [low, high] = self.ends(0.9);
        let worth = if effective < 0.95 * float(pairs) {
            format!(", worth {effective:.0} that are not alike")
        } else {
            String::new()
        };
        format!(
            "its correlation with {what} is {r:.2} (90 % interval {low:.2} to {high:.2}, {pairs} \
             counts{worth})"
        )
    }
}

fn around_their_mean(own: &[Pair]) -> Vec<Pair> {
    let mean =
        [0, 1].map(|axis| own.iter().map(|pair| pair.xy[axis]).sum::<f64>() / float(own.len()));
    let less = |pair: &Pair| Pair { xy: [0, 1].map(|axis| pair.xy[axis] - mean[axis]), ..*pair };
    own.iter().map(less).collect()
}

/// Both measures over their standard deviation; not finite where one does not vary.
fn in_deviations(pairs: Vec<Pair>) -> Vec<Pair> {
    let n = float(pairs.len());
    let deviation =
        [0, 1].map(|axis| (pairs.iter().map(|pair| pair.xy[axis].powi(2)).sum::<f64>() / n).sqrt());
    let over = |pair: Pair| Pair { xy: [0, 1].map(|axis| pair.xy[axis] / deviation[axis]), ..pair };
    pairs.into_iter().map(over).collect()
}

/// What patches add to the variance of r: the sum over classes of distance.
fn by_patches(pairs: &[Pair]) -> f64 {
    let step = pairs.len().div_ceil(MOST_PAIRS).max(1);
    let some: Vec<Pair> = pairs.iter().step_by(step).copied().collect();
    let together = |class: &[[f64; 3]]| {
        let [a, b] = [1, 2].map(|axis| class.iter().map(|two| two[axis]).sum::<f64>());
        a * b / float(class.len())
    };
    let classes = two_by_two(&some);
    2.0 * classes.iter().map(|class| together(class)).sum::<f64>() / float(some.len()).powi(2)
}

/// Every two places as their distance, x·x′ and y·y′, in classes of equal number by distance, as many
/// as Sturges has for so many (1926, J. Amer. Stat. Assoc. 21:65–66).
fn two_by_two(pairs: &[Pair]) -> Vec<Vec<[f64; 3]>> {
    let two = |one: &Pair, other: &Pair| {
        let products = [0, 1].map(|axis| one.xy[axis] * other.xy[axis]);
        [square_distance(one.at, other.at), products[0], products[1]]
    };
    let behind = |at: usize| pairs[at + 1..].iter().map(move |other| two(&pairs[at], other));
    let mut all: Vec<[f64; 3]> = (0..pairs.len()).flat_map(behind).collect();
    // A total order, the products included: the sum of a class depends on no order of the counts.
    all.sort_by(|one, other| {
        let order = |axis: usize| one[axis].total_cmp(&other[axis]);
        order(0).then(order(1)).then(order(2))
    });
    let classes = whole((float(all.len().max(1)).log2() + 1.0).ceil()).max(1);
    all.chunks(all.len().div_ceil(classes).max(1)).map(<[_]>::to_vec).collect()
}

/// The middle of the vines of an observation, metres along and across.
fn middle(layout: &Layout, one: &Observation) -> [f64; 2] {
    let n = float(one.vines.len());
    let mean = |of: fn(&Vine) -> f64| {
        one.vines.iter().map(|&vine| of(&layout.vines[vine])).sum::<f64>() / n
    };
    [mean(|vine| vine.at.along_m), mean(|vine| vine.at.across_m)]
}

/// The values over the vines of an observation, weighted by canopy; `None` where one is young or has
/// no value.
fn mean_of(joined: &Joined, values: &[Option<f64>], one: &Observation) -> Option<f64> {
    let mut sum = 0.0;
    for &vine in &one.vines {
        let record = &joined.vines[vine];
        sum += values[vine].filter(|_| !record.status.is_young())? * record.canopy_m;
    }
    (one.canopy_m > 0.0).then(|| sum / one.canopy_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::{
        cholesky::Cholesky,
        covariance::{CovarianceModel, Family},
        random::Random,
    };

    fn pairs(at: &[[f64; 2]], x: &[f64], y: &[f64]) -> Vec<Pair> {
        let one = |((at, x), y): ((&[f64; 2], &f64), &f64)| Pair { at: *at, xy: [*x, *y] };
        at.iter().zip(x).zip(y).map(one).collect()
    }

    /// Places by lot on 100 by 60 m, and the factor of a covariance among them.
    fn ground(n: usize, range_m: f64, random: &mut Random) -> (Vec<[f64; 2]>, Cholesky) {
        let place = |_| [100.0 * random.uniform(), 60.0 * random.uniform()];
        let at: Vec<[f64; 2]> = (0..n).map(place).collect();
        let model =
            CovarianceModel { family: Family::Exponential, nugget: 0.2, psill: 0.8, range_m };
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                matrix[i * n + j] = model.at(square_distance(at[i], at[j]).sqrt());
            }
            matrix[i * n + i] += model.nugget;
        }
        (at, Cholesky::factor(matrix, n).unwrap())
    }

    fn draw(factor: &Cholesky, random: &mut Random) -> Vec<f64> {
        let lots: Vec<f64> = (0..factor.size()).map(|_| random.normal()).collect();
        factor.times(&lots)
    }

    /// Of 1000 pairs of fields that know nothing of each other the shares whose 95 % interval holds
    /// 0: with the pairs that they are worth, and with as many as there are.
    fn held(n: usize, range_m: f64, seed: u64) -> [f64; 2] {
        let mut random = Random::new(seed);
        let mut held = [0.0; 2];
        for _ in 0..50 {
            let (at, factor) = ground(n, range_m, &mut random);
            for _ in 0..20 {
                let [x, y] = [0, 1].map(|_| draw(&factor, &mut random));
                let found = Correlation::within(&[pairs(&at, &x, &y)]).unwrap();
                let plain = Correlation { effective: float(n), ..found };
                for (held, one) in held.iter_mut().zip([found, plain]) {
                    let [low, high] = one.ends(0.95);
                    *held += f64::from(low <= 0.0 && 0.0 <= high) / 1000.0;
                }
            }
        }
        held
    }

    // 1000 fields: a share of 0.95 has a standard error of 0.007. Clifford, Richardson & Hémon found
    // their test a little off 5 %, either way, too.
    #[test]
    fn intervals_of_patterned_fields_hold_nought_as_often_as_they_say() {
        for (n, range_m, most_plain) in [(20, 25.0, 0.92), (40, 15.0, 0.89), (100, 25.0, 0.80)] {
            let [held, plain] = held(n, range_m, 70 + 1);
            assert!((0.925..=0.98).contains(&held), "{n}, {range_m} m: {held}");
            assert!(plain < most_plain, "{n}, {range_m} m: {plain} by their mere number");
        }
        // Vines that know nothing of each other lose next to nothing.
        let [held, plain] = held(60, 0.01, 72);
        assert!((0.93..=0.97).contains(&held) && (held - plain).abs() < 0.02, "{held} {plain}");
    }

    /// Worked by hand. Places 0, 1, 2, 3 m on a line and both measures 1, 1, −1, −1. Sturges has
    /// ⌈1 + log₂ 6⌉ = 4 classes, two pairs each fill three: (1 m, −1), (1 m, 1); (1 m, 1), (2 m, −1);
    /// (2 m, −1), (3 m, −1). Their sums are 0, 0 and −2: (2 / 16) · (−2)² / 2 = 1/4 is added.
    #[test]
    fn patches_add_to_the_variance_of_the_correlation() {
        let at = [0.0, 1.0, 2.0, 3.0].map(|along| [along, 0.0]);
        let x = [1.0, 1.0, -1.0, -1.0];
        let added = by_patches(&pairs(&at, &x, &x));
        assert!((added - 0.25).abs() < 1e-12, "{added}");
    }

    /// x = 1…5, y = 2, 1, 4, 3, 5 gives r = 0.8; atanh 0.8 = 1.098612, half 1.644854 / √2 =
    /// 1.163087 with all five pairs, so −0.0644 to 0.9785.
    #[test]
    fn the_interval_is_fishers() {
        let far = [0.0, 1e3, 3e3, 7e3, 15e3].map(|along| [along, 0.0]);
        let five = pairs(&far, &[1.0, 2.0, 3.0, 4.0, 5.0], &[2.0, 1.0, 4.0, 3.0, 5.0]);
        let found = Correlation { effective: 5.0, ..Correlation::within(&[five]).unwrap() };
        let [low, high] = found.ends(0.9);
        assert!((found.r - 0.8).abs() < 1e-12 && found.pairs == 5, "{found:?}");
        assert!((low + 0.064_4).abs() < 1e-4 && (high - 0.978_5).abs() < 1e-4, "{low} {high}");
        let worthless = Correlation { effective: 2.5, ..found };
        assert!(worthless.ends(0.9)[0] <= -1.0 && worthless.ends(0.9)[1] >= 1.0);
    }

    #[test]
    fn differences_between_plantings_go_with_nothing() {
        let mut random = Random::new(73);
        let mut group = |level: f64| {
            let at: Vec<[f64; 2]> = (0..12).map(|k| [float(k), level]).collect();
            let value = |_| level + random.normal();
            let x: Vec<f64> = (0..12).map(value).collect();
            let y: Vec<f64> = x.iter().map(|_| level - random.normal()).collect();
            pairs(&at, &x, &y)
        };
        let groups = [group(0.0), group(100.0)];
        let found = Correlation::within(&groups).unwrap();
        assert!(found.r.abs() < 0.6 && found.effective <= 23.0, "{found:?}");
        let flat = pairs(&[[0.0; 2]; 6], &[1.0; 6], &[2.0; 6]);
        assert_eq!(Correlation::within(&[flat]), None);
    }
}
