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
//! # Source
//! Clopper & Pearson 1934, Biometrika 26:404–413.

use super::{float, normal::incomplete_beta};

/// The share k / n with the ends of its exact interval of confidence 1 − `alpha`; `None` without any.
pub fn exact_share(k: usize, n: usize, alpha: f64) -> Option<[f64; 3]> {
    if n == 0 || k > n {
        return None;
    }
    let (have, lack) = (float(k), float(n - k));
    let low = if k == 0 { 0.0 } else { beta_quantile(alpha / 2.0, have, lack + 1.0) };
    let high = if k == n { 1.0 } else { beta_quantile(1.0 - alpha / 2.0, have + 1.0, lack) };
    Some([have / float(n), low, high])
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
