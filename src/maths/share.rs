//! The exact interval around a share: so many of so many.
//!
//! | symbol | meaning |
//! | --- | --- |
//! | k, n | those that have it, all that were looked at |
//! | α | the chance left out at both ends together |
//!
//! The lower end p solves P(K ≥ k | n, p) = α/2, the upper one P(K ≤ k | n, p) = α/2; both tails of
//! the binomial are incomplete beta functions. It covers at least what it says, whatever the share.
//!
//! Of a share p put together from parts of known weight, n is how many of one lot would tell as much,
//! and k = n·p; neither is a whole number then.
//!
//! # Source
//! Clopper & Pearson 1934, Biometrika 26:404–413; with an effective n Korn & Graubard 1998, Survey
//! Methodology 24:193–201, without their correction for degrees of freedom, from memory.

use super::{float, normal::incomplete_beta};

/// The share k / n with the ends of its exact interval of confidence 1 − `alpha`; `None` without any.
pub fn exact_share(k: usize, n: usize, alpha: f64) -> Option<[f64; 3]> {
    (n > 0 && k <= n).then(|| ends(float(k), float(n), alpha))
}

/// The share of several lots, each with those that have it, all that were looked at, and its weight;
/// lots of which none was looked at say nothing. `None` without any.
pub fn share_of_lots(lots: &[(usize, usize, f64)], alpha: f64) -> Option<[f64; 3]> {
    let seen = || lots.iter().filter(|(_, n, weight)| *n > 0 && *weight > 0.0);
    let all: f64 = seen().map(|(.., weight)| weight).sum();
    let share: f64 = seen().map(|&(k, n, weight)| weight / all * float(k) / float(n)).sum();
    let variance: f64 = seen().map(|&(_, n, weight)| (weight / all).powi(2) / float(n)).sum();
    (all > 0.0).then(|| ends(share / variance, 1.0 / variance, alpha))
}

/// The share of `have` among `all` and its ends.
fn ends(have: f64, all: f64, alpha: f64) -> [f64; 3] {
    // What rounding leaves of none or of all is none or all.
    let (none, whole) = (have <= 1e-9, have >= all - 1e-9);
    let lack = all - have;
    let low = if none { 0.0 } else { beta_quantile(alpha / 2.0, have, lack.max(0.0) + 1.0) };
    let high = if whole { 1.0 } else { beta_quantile(1.0 - alpha / 2.0, have + 1.0, lack) };
    [(have / all).clamp(0.0, 1.0), low, high]
}

/// The x at which Iₓ(a, b) is p, by halving.
fn beta_quantile(p: f64, a: f64, b: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if incomplete_beta(a, b, middle) < p { low = middle } else { high = middle }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(k: usize, n: usize, alpha: f64, [low, high]: [f64; 2]) {
        let [_, found_low, found_high] = exact_share(k, n, alpha).unwrap();
        let near = |found: f64, wanted: f64| (found - wanted).abs() < 6e-5;
        assert!(near(found_low, low) && near(found_high, high), "{found_low} {found_high}");
    }

    // scipy.stats.binomtest(k, n).proportion_ci(1 − α, method='exact'); all of n and none of n are
    // closed: (α/2)^(1/n) and 1 − (α/2)^(1/n).
    #[test]
    fn ends_are_those_of_the_binomial_test() {
        check(7, 20, 0.05, [0.1539, 0.5922]);
        check(9, 13, 0.10, [0.427_38, 0.887_33]);
        check(5, 5, 0.10, [0.05_f64.powf(0.2), 1.0]);
        check(0, 8, 0.10, [0.0, 1.0 - 0.05_f64.powf(0.125)]);
        assert_eq!(exact_share(0, 0, 0.1), None);
    }

    // Of equal lots of one weight it is the plain share; a lot that stands for little says little: 3 of
    // 4 at a weight of 1 beside 4 of 8 at 9 is 0.525 with n = 1 / (0.01/4 + 0.81/8) = 9.6386.
    #[test]
    fn lots_weigh_by_what_they_stand_for() {
        assert_eq!(share_of_lots(&[(9, 13, 2.0)], 0.1), exact_share(9, 13, 0.1));
        let near = |found: f64, wanted: f64| assert!((found - wanted).abs() < 1e-4, "{found}");
        let halves = share_of_lots(&[(3, 5, 1.0), (4, 5, 1.0), (0, 0, 1.0)], 0.1).unwrap();
        halves.iter().zip(exact_share(7, 10, 0.1).unwrap()).for_each(|(a, b)| near(*a, b));
        let [share, low, high] = share_of_lots(&[(3, 4, 1.0), (4, 8, 9.0)], 0.1).unwrap();
        near(share, 0.525);
        // scipy.stats.beta.ppf(0.05, 5.06024, 5.57831) and (0.95, 6.06024, 4.57831).
        near(low, 0.236_946);
        near(high, 0.801_048);
        near(share_of_lots(&[(2, 2, 1.0), (3, 3, 0.5)], 0.1).unwrap()[2], 1.0);
        assert_eq!(share_of_lots(&[], 0.1), None);
    }

    /// The binomial's own tails at the ends, summed term by term.
    #[test]
    fn both_tails_hold_half_of_what_is_left_out() {
        let chance = |k: usize, n: usize, p: f64| -> f64 {
            let ways = (0..k).fold(1.0, |ways, i| ways * float(n - i) / float(i + 1));
            (0..k).fold(ways, |c, _| c * p) * (k..n).fold(1.0, |c, _| c * (1.0 - p))
        };
        let [_, low, high] = exact_share(9, 13, 0.1).unwrap();
        let above: f64 = (9..=13).map(|k| chance(k, 13, low)).sum();
        let below: f64 = (0..=9).map(|k| chance(k, 13, high)).sum();
        assert!((above - 0.05).abs() < 1e-9 && (below - 0.05).abs() < 1e-9, "{above} {below}");
    }
}
