//! Between which whole numbers a count lies, from its mean and variance alone.
//!
//! | symbol | meaning                                                      | unit |
//! |--------|--------------------------------------------------------------|------|
//! | μ, σ²  | mean and variance of the count                               | 1    |
//! | r      | μ²/(σ² − μ), size of the negative binomial of these          | 1    |
//! | n, p   | trials and probability of the binomial nearest to these      | 1    |
//!
//! Probabilities come from that of 0 by the ratio of neighbours, in units that grow with them: that of
//! 0 may be too small for a number.

use super::normal;

/// Relative difference of variances up to which a binomial stands for a count.
const NEAR_ENOUGH: f64 = 0.1;
/// Above this mean whole numbers are so fine that the normal says the same.
const MOST_SUMMED: f64 = 2000.0;
/// Probabilities that have grown by so much are reckoned in a new unit.
const LARGE: f64 = 1e100;

/// Whole numbers below and above which a count lies with probability `tail` at most, each.
///
/// More variance than mean is a negative binomial, less a binomial where one fits, else a rounded
/// normal; without variance the count is its mean. All match mean and variance. `None` when mean or
/// variance are no numbers, or either is below 0.
///
/// # Source
/// Moments and ratios: Johnson, Kemp & Kotz 2005, Univariate Discrete Distributions, ch. 3 and 5
/// (from memory).
pub fn count_interval(mean: f64, variance: f64, tail: f64) -> Option<(f64, f64)> {
    let sound = mean >= 0.0 && variance >= 0.0 && mean.is_finite() && variance.is_finite();
    if !sound {
        return None;
    }
    if variance <= 0.0 {
        return Some((mean.round(), mean.round()));
    }
    let summed = Summed::matched(mean, variance).filter(|_| mean <= MOST_SUMMED);
    Some(summed.map_or_else(
        || rounded_normal(mean, variance, tail),
        |summed| summed.quantiles(tail, 1.0 - tail),
    ))
}

fn rounded_normal(mean: f64, variance: f64, tail: f64) -> (f64, f64) {
    let half = normal::quantile(1.0 - tail) * variance.sqrt();
    ((mean - half).round().max(0.0), (mean + half).round())
}

/// A distribution of counts as the logarithm of P(0) and P(k + 1)/P(k) = (a + b·k)/(k + 1).
struct Summed {
    ln_none: f64,
    a: f64,
    b: f64,
    /// No count is greater.
    most: f64,
}

impl Summed {
    fn matched(mean: f64, variance: f64) -> Option<Self> {
        if mean <= 0.0 {
            return None;
        }
        let beyond = variance - mean;
        if beyond.abs() <= 1e-9 * mean {
            // Poisson.
            return Some(Self { ln_none: -mean, a: mean, b: 0.0, most: f64::INFINITY });
        }
        if beyond > 0.0 {
            let r = mean * mean / beyond;
            let b = mean / (r + mean);
            let ln_none = -r * (mean / r).ln_1p();
            return Some(Self { ln_none, a: b * r, b, most: f64::INFINITY });
        }
        let trials = (mean * mean / -beyond).round().max(mean.ceil());
        let p = mean / trials;
        let near = (mean * (1.0 - p) - variance).abs() <= NEAR_ENOUGH * variance;
        let odds = p / (1.0 - p);
        let ln_none = trials * (-p).ln_1p();
        (near && p < 1.0).then_some(Self { ln_none, a: odds * trials, b: -odds, most: trials })
    }

    /// The least numbers that are not exceeded with these probabilities, the lesser one first.
    fn quantiles(&self, low: f64, high: f64) -> (f64, f64) {
        // Probabilities in units of e^shift, which is that of 0 until they have grown.
        let (mut count, mut shift, mut one) = (0.0, self.ln_none, 1.0);
        let (mut unit, mut lower) = (shift.exp(), None);
        let mut sum = unit;
        // What rounding leaves of the last tail does not end the sum, the bound does.
        while sum < high && count < self.most && count < 20.0 * MOST_SUMMED {
            if sum >= low {
                lower = lower.or(Some(count));
            }
            one *= (self.a + self.b * count) / (count + 1.0);
            if one > LARGE {
                (one, shift) = (1.0, shift + one.ln());
                unit = shift.exp();
            }
            count += 1.0;
            sum += one * unit;
        }
        (lower.unwrap_or(count), count)
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::maths::random::Random;

    const TABLE_OVER: [(f64, f64, f64, f64); 7] = [
        (30.0, 66.0, 18.0, 44.0),
        (12.0, 12.5, 7.0, 18.0),
        (45.0, 400.0, 18.0, 82.0),
        (0.7, 2.5, 0.0, 4.0),
        (220.0, 300.0, 192.0, 249.0),
        (900.0, 2000.0, 827.0, 975.0),
        (3.0, 3.2, 0.0, 6.0),
    ];
    const TABLE_UNDER: [(f64, f64, f64, f64); 6] = [
        (30.0, 20.0, 23.0, 37.0),
        (12.0, 11.0, 7.0, 18.0),
        (45.0, 30.0, 36.0, 54.0),
        (5.0, 2.5, 2.0, 8.0),
        (40.0, 4.0, 37.0, 43.0),
        (220.0, 150.0, 200.0, 240.0),
    ];

    #[test]
    fn more_variance_than_mean_is_a_negative_binomial() {
        // scipy 1.17.1: nbinom(m²/(v − m), m/v).ppf([0.05, 0.95]).
        for (mean, variance, low, high) in TABLE_OVER {
            assert_eq!(
                count_interval(mean, variance, 0.05),
                Some((low, high)),
                "{mean} {variance}"
            );
        }
    }

    #[test]
    fn less_variance_than_mean_is_a_binomial() {
        // scipy 1.17.1: binom(n, m/n).ppf([0.05, 0.95]), n = round(m²/(m − v)).
        for (mean, variance, low, high) in TABLE_UNDER {
            assert_eq!(
                count_interval(mean, variance, 0.05),
                Some((low, high)),
                "{mean} {variance}"
            );
        }
    }

    #[test]
    fn no_variance_is_the_count_and_little_a_rounded_normal() {
        assert_eq!(count_interval(37.2, 0.0, 0.05), Some((37.0, 37.0)));
        // 40.5 ± 1.645 · 0.45; no binomial has a mean of 40.5 and so little variance.
        assert_eq!(count_interval(40.5, 0.2, 0.05), Some((40.0, 41.0)));
        assert_eq!(count_interval(0.0, 4.0, 0.05), Some((0.0, 3.0)));
        assert_eq!(count_interval(f64::NAN, 1.0, 0.05), None);
        assert_eq!(count_interval(-1.0, 1.0, 0.05), None);
    }

    #[test]
    fn the_interval_covers_counts_drawn_from_a_varying_mean() {
        // Poisson counts around a normal mean: 30 ± 6, so that the variance is 30 + 36. A count in
        // whole numbers covers a little more than 90 %.
        let (low, high) = count_interval(30.0, 66.0, 0.05).unwrap();
        let mut random = Random::new(5);
        let draws = 20_000;
        let inside = (0..draws).filter(|_| {
            let mean = 30.0 + 6.0 * random.normal();
            let count = poisson(mean.max(0.0), &mut random);
            (low..=high).contains(&count)
        });
        let share = f64::from(u32::try_from(inside.count()).unwrap()) / f64::from(draws);
        assert!((0.89..=0.93).contains(&share), "{share}");
    }

    /// Knuth's product of uniform draws.
    pub(crate) fn poisson(mean: f64, random: &mut Random) -> f64 {
        let (mut count, mut product) = (0.0, random.uniform());
        while product > (-mean).exp() {
            count += 1.0;
            product *= random.uniform();
        }
        count
    }
}
