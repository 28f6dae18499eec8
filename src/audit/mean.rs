//! The mean of some places weighted by canopy, with a t interval.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | x, w | value of a place; its canopy | shoots / m, m |
//! | n | places | – |
//! | m | Σ w·x / Σ w | shoots / m |
//! | e | w·(x − m) of a place | shoots |
//! | f | share of the canopy asked about that was counted | – |
//! | W | canopy of a zone over that of all | – |
//!
//! Var m = (1 − f)·n·s² / (Σ w)² with s² = Σ e² / (n − 1): with equal canopy the plain mean and its
//! error, of pairs the paired t. s² is never taken below 1/12, what rounding to whole shoots makes: a few
//! equal counts must not pass for certainty (our judgement). Of several zones: Σ W·m with Σ W²·Var, and Satterthwaite's degrees of
//! freedom.
//!
//! # Source
//! Ratio estimator and finite populations: Cochran 1977, Sampling Techniques, 3rd ed., 6.3 and 2.6;
//! strata 5.4 (degrees of freedom after Satterthwaite 1946), from memory.

use crate::{
    maths::{float, normal::student_quantile},
    plan::Interval,
    zones::ZoneMean,
};

/// Variance of a whole number around what it was rounded from, shoots squared.
pub(super) const ROUNDING: f64 = 1.0 / 12.0;

/// A mean per metre of canopy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mean {
    /// The mean, shoots per metre.
    pub per_m: f64,
    /// Its standard error; `None` of a single place.
    pub se: Option<f64>,
    /// Degrees of freedom of Student's t; 0 of a single place.
    pub degrees: f64,
    /// Places that it rests on.
    pub places: usize,
}

impl Mean {
    /// The mean of values with their canopy; `known` is the share of what is asked about that these
    /// places are. `None` without a place.
    pub fn of(values: &[(f64, f64)], known: f64) -> Option<Self> {
        let canopy_m: f64 = values.iter().map(|(_, canopy_m)| canopy_m).sum();
        let n = float(values.len());
        if values.is_empty() || canopy_m <= 0.0 {
            return None;
        }
        let per_m = values.iter().map(|(value, w)| value * w).sum::<f64>() / canopy_m;
        let squares = values.iter().map(|(value, w)| (w * (value - per_m)).powi(2)).sum::<f64>();
        let squares = squares.max((n - 1.0) * ROUNDING);
        let left = (1.0 - known).clamp(0.0, 1.0);
        let variance = || left * n * squares / (n - 1.0) / (canopy_m * canopy_m);
        let several = values.len() > 1;
        let se = several.then(|| variance().sqrt());
        Some(Self { per_m, se, degrees: n - 1.0, places: values.len() })
    }

    /// The mean of several zones with their canopy, metres; `None` where one has no interval.
    pub fn of_zones(zones: &[(Self, f64)]) -> Option<Self> {
        let canopy_m: f64 = zones.iter().map(|(_, canopy_m)| canopy_m).sum();
        let parts: Option<Vec<(f64, f64)>> = zones
            .iter()
            .map(|(mean, own)| Some(((own / canopy_m * mean.se?).powi(2), mean.degrees)))
            .collect();
        let parts = parts.filter(|_| canopy_m > 0.0)?;
        let variance: f64 = parts.iter().map(|(part, _)| part).sum();
        let spread: f64 = parts.iter().map(|(part, degrees)| part * part / degrees).sum();
        let all: f64 = parts.iter().map(|(_, degrees)| degrees).sum();
        Some(Self {
            per_m: zones.iter().map(|(mean, own)| mean.per_m * own / canopy_m).sum(),
            se: Some(variance.sqrt()),
            degrees: if spread > 0.0 { variance * variance / spread } else { all },
            places: zones.iter().map(|(mean, _)| mean.places).sum(),
        })
    }

    /// Half of its 90 % interval.
    pub fn half90(&self) -> Option<f64> {
        Some(student_quantile(0.95, self.degrees) * self.se?)
    }

    /// Both ends of its 90 % interval.
    pub fn ends90(&self) -> Option<[f64; 2]> {
        self.half90().map(|half| [self.per_m - half, self.per_m + half])
    }

    /// The same as the mean of a zone, for its verdict.
    pub fn zone_mean(&self) -> Option<ZoneMean> {
        let ([lo90, hi90], se) = (self.ends90()?, self.se?);
        let degrees_of_freedom = Some(self.degrees);
        Some(ZoneMean { per_m: self.per_m, se, lo90, hi90, scale: 1.0, degrees_of_freedom })
    }

    /// The amount over so many metres of canopy, none below `least`; without an interval `None`.
    pub fn over(&self, canopy_m: f64, least: f64) -> Option<Interval> {
        let ends = self.ends90()?;
        let [value, lo90, hi90] =
            [self.per_m, ends[0], ends[1]].map(|per_m| (per_m * canopy_m).max(least));
        Some(Interval { value, lo90, hi90 })
    }

    /// The same with the sign turned.
    #[must_use]
    pub const fn turned(self) -> Self {
        Self { per_m: -self.per_m, ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::maths::random::Random;

    #[track_caller]
    fn near(found: f64, wanted: f64) {
        assert!((found - wanted).abs() < 1e-4, "{found}, not {wanted}");
    }

    // Ten differences of "Student" 1908, Biometrika 6:20 (R's data set `sleep`): mean 1.58, standard
    // error 0.38896; 90 % by t with 9 degrees of freedom (scipy 1.833113) 0.86700 to 2.29300.
    #[test]
    fn of_equal_canopy_it_is_the_paired_t() {
        let differences = [1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4];
        let mean = Mean::of(&differences.map(|d| (d, 1.2)), 0.0).unwrap();
        near(mean.per_m, 1.58);
        near(mean.se.unwrap(), 0.38896);
        let [low, high] = mean.ends90().unwrap();
        near(low, 0.86700);
        near(high, 2.29300);
        let all = Mean::of(&differences.map(|d| (d, 1.2)), 1.0).unwrap();
        near(all.se.unwrap(), 0.0);
    }

    // By hand: (2·1 + 6·3)/4 = 5; e = 1·(2 − 5) and 3·(6 − 5); s² = 18; Var = 2·18/16 = 2.25.
    #[test]
    fn more_canopy_weighs_more() {
        let mean = Mean::of(&[(2.0, 1.0), (6.0, 3.0)], 0.0).unwrap();
        near(mean.per_m, 5.0);
        near(mean.se.unwrap(), 1.5);
        // Equal counts: √(1/12 / 4) shoots on a metre.
        let equal = Mean::of(&[(4.0, 1.0); 4], 0.0).unwrap();
        near(equal.se.unwrap(), 0.144_338);
        let one = Mean::of(&[(4.0, 1.0)], 0.0).unwrap();
        assert_eq!((one.se, one.ends90(), one.zone_mean()), (None, None, None));
        assert_eq!(Mean::of(&[], 0.0), None);
    }

    // Welch 1947 by hand: two halves with errors 1 and 2 and 4 and 9 degrees: variance
    // (0.25 + 1), degrees 1.5625 / (0.0625/4 + 1/9) = 12.33.
    #[test]
    fn zones_add_up_by_their_canopy() {
        let mean = |per_m, se, degrees| Mean { per_m, se: Some(se), degrees, places: 5 };
        let all = Mean::of_zones(&[(mean(3.0, 1.0, 4.0), 50.0), (mean(5.0, 2.0, 9.0), 50.0)]);
        let all = all.unwrap();
        near(all.per_m, 4.0);
        near(all.se.unwrap(), 1.25_f64.sqrt());
        near(all.degrees, 12.3288);
        let single = Mean { se: None, ..mean(1.0, 1.0, 1.0) };
        assert_eq!(Mean::of_zones(&[(single, 1.0)]), None);
    }

    // 600 zones of 60 vines whose every count before and after is known; 8 of them are recounted.
    // Nine in ten intervals must hold what truly came off; with 600 of them give or take 2.5 in 100.
    #[test]
    fn intervals_hold_the_true_change_as_often_as_they_say() {
        let mut random = Random::new(11);
        let (zones, mut held) = (600, 0);
        for _ in 0..zones {
            let mut vines: Vec<(f64, f64)> = (0..60)
                .map(|vine| {
                    let canopy_m = if vine % 10 == 0 { 2.0 } else { 1.2 };
                    let before = (canopy_m * (21.0 + 3.0 * random.normal())).round();
                    let after = (canopy_m * (16.0 + random.normal())).round().min(before);
                    ((after - before) / canopy_m, canopy_m)
                })
                .collect();
            let all: f64 = vines.iter().map(|(_, w)| w).sum();
            let truth = vines.iter().map(|(x, w)| x * w).sum::<f64>() / all;
            random.shuffle(&mut vines);
            let drawn = &vines[..8];
            let known = drawn.iter().map(|(_, w)| w).sum::<f64>() / all;
            let [low, high] = Mean::of(drawn, known).unwrap().ends90().unwrap();
            held += usize::from(low <= truth && truth <= high);
        }
        let share = float(held) / float(zones);
        assert!((0.875..0.925).contains(&share), "{share}");
    }
}
