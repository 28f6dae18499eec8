//! How much a mean changed between two years, with its interval.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | d | mean of the later year less that of the earlier | shoots per metre |
//! | v | (scale × standard error)² of one year's mean | per metre squared |
//! | f | its degrees of freedom | – |

use crate::{
    maths::normal::{quantile, student_quantile},
    zones::ZoneMean,
};

/// A change with its 90 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// The later mean less the earlier one, per metre.
    pub per_m: f64,
    /// Lower end of its 90 % interval.
    pub lo90: f64,
    /// Upper end.
    pub hi90: f64,
}

impl Change {
    /// True when the interval leaves 0 out.
    pub fn is_sure(&self) -> bool {
        self.lo90 > 0.0 || self.hi90 < 0.0
    }
}

/// The change from one year's mean to another's: d ± t(f) · √(v₁ + v₂), where
/// f = (v₁ + v₂)² / (v₁²/f₁ + v₂²/f₂). The years are estimated each from its own counts, so their
/// errors are taken as independent.
///
/// `None` where one of the means has no error.
///
/// # Source
/// Welch, B. L. (1947), *Biometrika* 34, 28–35; degrees of freedom by Satterthwaite, F. E. (1946),
/// *Biometrics Bulletin* 2, 110–114.
pub fn change(before: &ZoneMean, now: &ZoneMean) -> Option<Change> {
    let [v1, v2] = [before, now].map(|mean| (mean.scale * mean.se).powi(2));
    let variance = v1 + v2;
    (variance.is_finite() && variance > 0.0).then_some(())?;
    // A variation that is known rather than estimated has no end of degrees.
    let spent = |v: f64, mean: &ZoneMean| mean.degrees_of_freedom.map_or(0.0, |f| v * v / f);
    let spent = spent(v1, before) + spent(v2, now);
    let factor = if spent > 0.0 {
        student_quantile(0.95, variance * variance / spent)
    } else {
        quantile(0.95)
    };
    let per_m = now.per_m - before.per_m;
    let half = factor * variance.sqrt();
    Some(Change { per_m, lo90: per_m - half, hi90: per_m + half })
        .filter(|change| change.lo90.is_finite() && change.hi90.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::{float, random::Random};

    /// The mean of a sample with n − 1 degrees of freedom.
    fn sample(values: &[f64]) -> ZoneMean {
        let n = float(values.len());
        let per_m = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|value| (value - per_m).powi(2)).sum();
        let se = (squares / (n - 1.0) / n).sqrt();
        let degrees_of_freedom = Some(n - 1.0);
        ZoneMean { per_m, se, lo90: per_m, hi90: per_m, scale: 1.0, degrees_of_freedom }
    }

    #[test]
    fn the_interval_is_welchs() {
        // Student's sleep data (Biometrika 6, 1908), the data set `sleep` of R 4, by
        // t.test(extra ~ group, data = sleep, conf.level = 0.9): df = 17.776, means 0.75 and 2.33,
        // interval of the difference 0.1066185 to 3.0533815.
        let one = sample(&[0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0]);
        let two = sample(&[1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]);
        let found = change(&one, &two).unwrap();
        assert!((found.per_m - 1.58).abs() < 1e-9, "{found:?}");
        assert!((found.lo90 - 0.106_618_5).abs() < 1e-7, "{found:?}");
        assert!((found.hi90 - 3.053_381_5).abs() < 1e-7, "{found:?}");
        assert!(found.is_sure());
        let back = change(&two, &one).unwrap();
        assert!((back.lo90 + found.hi90).abs() < 1e-12 && back.is_sure());
    }

    #[test]
    fn the_interval_covers_the_change_as_often_as_it_says() {
        let mut random = Random::new(77);
        let mut drawn = |n: usize, mean: f64, spread: f64| {
            let values: Vec<f64> = (0..n).map(|_| mean + spread * random.normal()).collect();
            sample(&values)
        };
        let trials = 4000;
        let within = (0..trials)
            .filter(|_| {
                let (before, now) = (drawn(6, 19.0, 1.5), drawn(14, 23.5, 4.0));
                let found = change(&before, &now).unwrap();
                found.lo90 <= 4.5 && 4.5 <= found.hi90
            })
            .count();
        // 0.9 ± 0.0142 is three standard errors of 4000 trials.
        let share = float(within) / float(trials);
        assert!((share - 0.9).abs() < 0.0142, "{share}");
    }

    #[test]
    fn one_year_without_an_error_leaves_the_other_years_interval() {
        let now = sample(&[18.0, 20.0, 22.0, 24.0]);
        let known = ZoneMean { se: 0.0, ..now };
        let found = change(&known, &now).unwrap();
        let half = student_quantile(0.95, 3.0) * now.se;
        assert!((found.hi90 - half).abs() < 1e-9, "{found:?}");
        assert_eq!(change(&known, &known), None);
        let normal = ZoneMean { degrees_of_freedom: None, ..now };
        let found = change(&normal, &normal).unwrap();
        assert!((found.hi90 - quantile(0.95) * (2.0_f64).sqrt() * now.se).abs() < 1e-9);
    }

    #[test]
    fn the_scale_of_each_year_widens_its_own_share() {
        let one = sample(&[18.0, 20.0, 22.0, 24.0]);
        let scaled = ZoneMean { se: one.se / 2.0, scale: 2.0, ..one };
        assert_eq!(change(&one, &one), change(&scaled, &one));
    }
}
