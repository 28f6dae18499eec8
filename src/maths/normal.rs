//! The normal distribution and Student's t: densities, probabilities, quantiles.
//!
//! | symbol | meaning                                  | unit |
//! |--------|------------------------------------------|------|
//! | z, t   | standard normal or Student deviate       | 1    |
//! | p      | probability of a value at or below       | 1    |
//! | ν      | degrees of freedom                       | 1    |

use std::f64::consts::PI;

/// From here on the tail is computed by its continued fraction.
const TAIL: f64 = 3.0;
/// Terms after which a series or a continued fraction has long settled.
const MOST_TERMS: u32 = 300;

/// The standard normal density φ(z).
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The probability Φ(z) of a standard normal value at or below `z`, to about 1e-15.
///
/// # Source
/// Series: Marsaglia 2004, J. Stat. Software 11(4); tail: Laplace's continued fraction.
pub fn cumulative(z: f64) -> f64 {
    if z.is_nan() {
        return f64::NAN;
    }
    if z.abs() <= TAIL {
        return 0.5 + density(z) * odd_series(z);
    }
    let tail = upper_tail(z.abs());
    if z > 0.0 { 1.0 - tail } else { tail }
}

/// z + z³/3 + z⁵/(3·5) + …
fn odd_series(z: f64) -> f64 {
    let (mut sum, mut term) = (z, z);
    for k in 1..MOST_TERMS {
        term *= z * z / f64::from(2 * k + 1);
        sum += term;
        if term.abs() <= f64::EPSILON * sum.abs() {
            break;
        }
    }
    sum
}

/// φ(z) / (z + 1/(z + 2/(z + 3/(z + …)))), from the inside out.
fn upper_tail(z: f64) -> f64 {
    let fraction = (1..=MOST_TERMS).rev().fold(z, |inner, k| z + f64::from(k) / inner);
    density(z) / fraction
}

/// The standard normal value that is not exceeded with probability `p`; infinite at 0 and 1.
///
/// # Source
/// Start: Abramowitz & Stegun 1964, 26.2.23; then Halley's steps on [`cumulative`].
pub fn quantile(p: f64) -> f64 {
    if p.is_nan() || p <= 0.0 {
        return if p <= 0.0 { f64::NEG_INFINITY } else { f64::NAN };
    }
    if p >= 1.0 {
        return f64::INFINITY;
    }
    // The lower half keeps the digits of a small probability.
    if p > 0.5 {
        return -quantile(1.0 - p);
    }
    let t = (-2.0 * p.ln()).sqrt();
    let (a, b) = (
        2.515_517 + t * (0.802_853 + t * 0.010_328),
        1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)),
    );
    let mut z = a / b - t;
    for _ in 0..4 {
        let step = (cumulative(z) - p) / density(z);
        z -= step / (1.0 + 0.5 * z * step);
    }
    z
}

/// The probability of a Student's t value with `degrees` of freedom at or below `t`.
///
/// # Source
/// Abramowitz & Stegun 1964, 26.5.27, through the incomplete beta function.
pub fn student_cumulative(t: f64, degrees: f64) -> f64 {
    let tail = 0.5 * incomplete_beta(0.5 * degrees, 0.5, degrees / (degrees + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// The Student's t value with `degrees` of freedom that is not exceeded with probability `p`.
///
/// Infinite at 0 and 1, and with no degrees of freedom.
pub fn student_quantile(p: f64, degrees: f64) -> f64 {
    if p < 0.5 {
        return -student_quantile(1.0 - p, degrees);
    }
    if p >= 1.0 || degrees <= 0.0 {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, 1.0);
    while student_cumulative(high, degrees) < p && high < 1e300 {
        low = high;
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if student_cumulative(middle, degrees) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// The regularised incomplete beta function Iₓ(a, b).
///
/// # Source
/// Abramowitz & Stegun 1964, 26.5.8, the continued fraction by Lentz's method.
pub fn incomplete_beta(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 || x >= 1.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    // The fraction settles fast only on this side of the mean.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(b, a, 1.0 - x);
    }
    let front = a * x.ln() + b * (-x).ln_1p() + ln_gamma(a + b) - ln_gamma(a) - ln_gamma(b);
    front.exp() / a / beta_fraction(a, b, x)
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    let away_from_zero = |v: f64| if v.abs() < 1e-300 { 1e-300 } else { v };
    let (mut f, mut c, mut d) = (1.0, 1.0, 0.0);
    for k in 1..=MOST_TERMS {
        let m = f64::from(k / 2);
        let term = if k % 2 == 0 {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        };
        d = 1.0 / away_from_zero(1.0 + term * d);
        c = away_from_zero(1.0 + term / c);
        f *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    f
}

/// The logarithm of the gamma function, for `x` above 0.
///
/// # Source
/// Stirling's series (Abramowitz & Stegun 1964, 6.1.40) after raising `x` above 10.
pub fn ln_gamma(x: f64) -> f64 {
    let (mut x, mut product) = (x, 1.0);
    while x < 10.0 {
        product *= x;
        x += 1.0;
    }
    let y = 1.0 / (x * x);
    let series = (1.0 / 12.0
        + y * (-1.0 / 360.0
            + y * (1.0 / 1260.0
                + y * (-1.0 / 1680.0 + y * (1.0 / 1188.0 - y * 691.0 / 360_360.0)))))
        / x;
    (x - 0.5) * x.ln() - x + 0.5 * (2.0 * PI).ln() + series - product.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, tolerance: f64) {
        assert!((found - expected).abs() <= tolerance, "{found} is not {expected}");
    }

    #[test]
    fn normal_probabilities_match_the_table() {
        // Abramowitz & Stegun 1964, table 26.1: Q(z) = 1 - Φ(z), 15 decimals, from memory.
        near(cumulative(0.0), 0.5, 0.0);
        near(cumulative(1.0), 0.841_344_746_068_543, 1e-15);
        near(cumulative(2.0), 0.977_249_868_051_821, 1e-15);
        near(cumulative(3.0), 0.998_650_101_968_370, 1e-15);
        near(cumulative(-5.0) / 2.866_515_718_791_94e-7, 1.0, 1e-13);
    }

    #[test]
    fn both_ways_of_the_normal_agree_where_they_meet() {
        near(cumulative(-TAIL), upper_tail(TAIL), 1e-15);
        near(cumulative(-TAIL) / cumulative(-TAIL - 1e-12), 1.0, 1e-11);
    }

    #[test]
    fn normal_quantiles_match_the_table() {
        // Abramowitz & Stegun 1964, table 26.5, from memory.
        near(quantile(0.95), 1.644_853_626_951_472_7, 1e-13);
        near(quantile(0.975), 1.959_963_984_540_054, 1e-13);
        for p in [1e-12, 1e-4, 0.2, 0.5, 0.9] {
            near(cumulative(quantile(p)) / p, 1.0, 1e-12);
        }
    }

    #[test]
    fn student_quantiles_match_the_table() {
        // Fisher & Yates' table of t, upper 5 % and 2.5 % points, three decimals, from memory.
        let table = [
            (1.0, 6.314, 12.706),
            (5.0, 2.015, 2.571),
            (10.0, 1.812, 2.228),
            (30.0, 1.697, 2.042),
            (120.0, 1.658, 1.980),
        ];
        for (degrees, five, two_and_a_half) in table {
            near(student_quantile(0.95, degrees), five, 6e-4);
            near(student_quantile(0.975, degrees), two_and_a_half, 6e-4);
        }
        // One degree of freedom is Cauchy's: P(t ≤ 1) = 3/4.
        near(student_cumulative(1.0, 1.0), 0.75, 1e-14);
    }

    #[test]
    fn the_gamma_function_knows_its_factorials() {
        near(ln_gamma(5.0), 24_f64.ln(), 1e-13);
        near(ln_gamma(0.5), PI.sqrt().ln(), 1e-13);
    }
}
