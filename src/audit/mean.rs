//! The mean of some places weighted by canopy, with a t interval.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | x, w | value of a place; its canopy | shoots / m, m |
//! | h | stratum: those counted before, or those that were not | – |
//! | n, m | places of a stratum; Σ w·x / Σ w over them | –, shoots / m |
//! | e | w·(x − m) of a place | shoots |
//! | f | share of the stratum's canopy that was counted | – |
//! | W | canopy of a stratum, or a zone, over that of all | – |
//!
//! Σ W·m with Var = Σ W²·(1 − f)·n·s² / (Σ w)². The strata of a zone share one spread per metre, σ² =
//! Σ e² / w̄ over all places by Σ (n − 1), with w̄ the mean canopy of a place of the stratum, and s² = σ²·w̄:
//! they hold the same vines worked by the same crew, few places tell little of a spread, and the count of a
//! panel varies with its canopy. Of one stratum s² is Σ e² / (n − 1); with equal canopy that is the plain
//! mean and its error, of pairs the paired t. s² is never taken below 1/12, what rounding to whole shoots
//! makes: a few equal counts must not pass for certainty (our judgement). Of several zones: Σ W·m with
//! Σ W²·Var, and Satterthwaite's degrees of freedom.
//!
//! # Source
//! Ratio estimator and finite populations: Cochran 1977, Sampling Techniques, 3rd ed., 6.3 and 2.6;
//! strata 5.3 and 5.4 (degrees of freedom after Satterthwaite 1946), from memory.

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
    /// It is put together from the means of zones, by their canopy.
    pub by_zone: bool,
}

/// Places of one kind, and what they stand for.
#[derive(Debug, Clone, PartialEq)]
pub struct Stratum {
    /// Values with their canopy, metres.
    pub values: Vec<(f64, f64)>,
    /// Metres of canopy that they stand for.
    pub canopy_m: f64,
    /// The share of it that these places are, from 0 to 1.
    pub known: f64,
}

impl Stratum {
    fn places(&self) -> f64 {
        float(self.values.len())
    }

    /// Metres of canopy in these places.
    fn counted_m(&self) -> f64 {
        self.values.iter().map(|(_, canopy_m)| canopy_m).sum()
    }

    fn per_m(&self) -> f64 {
        self.values.iter().map(|(value, w)| value * w).sum::<f64>() / self.counted_m()
    }

    /// w̄
    fn canopy_a_place(&self) -> f64 {
        self.counted_m() / self.places()
    }

    /// Σ e² / w̄
    fn squares_per_m(&self) -> f64 {
        let per_m = self.per_m();
        let squares = self.values.iter().map(|(value, w)| (w * (value - per_m)).powi(2));
        squares.sum::<f64>() / self.canopy_a_place()
    }

    /// (1 − f)·n·s² / (Σ w)², given σ².
    fn variance(&self, spread_per_m: f64) -> f64 {
        let squared = (spread_per_m * self.canopy_a_place()).max(ROUNDING);
        (1.0 - self.known).clamp(0.0, 1.0) * self.places() * squared / self.counted_m().powi(2)
    }
}

impl Mean {
    /// The mean of values with their canopy; `known` is the share of what is asked about that these
    /// places are. `None` without a place.
    pub fn of(values: &[(f64, f64)], known: f64) -> Option<Self> {
        Self::of_strata(&[Stratum { values: values.to_vec(), canopy_m: 1.0, known }])
    }

    /// The mean of what the strata stand for; none of those without a place. `None` without a place.
    pub fn of_strata(strata: &[Stratum]) -> Option<Self> {
        let seen = || strata.iter().filter(|one| one.canopy_m > 0.0 && one.counted_m() > 0.0);
        let canopy_m: f64 = seen().map(|one| one.canopy_m).sum();
        let places: usize = seen().map(|one| one.values.len()).sum();
        if places == 0 {
            return None;
        }
        let degrees: f64 = seen().map(|one| one.places() - 1.0).sum();
        let spread = seen().map(Stratum::squares_per_m).sum::<f64>() / degrees;
        let variance = || -> f64 {
            seen().map(|one| (one.canopy_m / canopy_m).powi(2) * one.variance(spread)).sum()
        };
        Some(Self {
            per_m: seen().map(|one| one.canopy_m / canopy_m * one.per_m()).sum(),
            se: (degrees > 0.0).then(|| variance().sqrt()),
            degrees,
            places,
            by_zone: false,
        })
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
            by_zone: true,
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
        let mean = |per_m, se, degrees| {
            let se = Some(se);
            Mean { per_m, se, degrees, places: 5, by_zone: false }
        };
        let all = Mean::of_zones(&[(mean(3.0, 1.0, 4.0), 50.0), (mean(5.0, 2.0, 9.0), 50.0)]);
        let all = all.unwrap();
        near(all.per_m, 4.0);
        near(all.se.unwrap(), 1.25_f64.sqrt());
        near(all.degrees, 12.3288);
        let single = Mean { se: None, ..mean(1.0, 1.0, 1.0) };
        assert_eq!(Mean::of_zones(&[(single, 1.0)]), None);
    }

    // By hand: means 4 and 8, squares 2 + 8 over 1 + 1 degrees, so s² = 5; a tenth of the canopy and nine
    // tenths weigh 0.1·4 + 0.9·8 = 7.6; Var = 0.01·2·5/4 + 0.81·2·5/4 = 2.05.
    #[test]
    fn strata_weigh_by_the_canopy_they_stand_for() {
        let stratum = |values: [f64; 2], canopy_m| Stratum {
            values: values.map(|value| (value, 1.0)).to_vec(),
            canopy_m,
            known: 0.0,
        };
        let both = [stratum([3.0, 5.0], 10.0), stratum([6.0, 10.0], 90.0)];
        let mean = Mean::of_strata(&both).unwrap();
        near(mean.per_m, 7.6);
        near(mean.se.unwrap(), 2.05_f64.sqrt());
        near(mean.degrees, 2.0);
        let nobody = Stratum { values: vec![], canopy_m: 300.0, known: 0.0 };
        near(Mean::of_strata(&[both[1].clone(), nobody.clone()]).unwrap().per_m, 8.0);
        assert_eq!(Mean::of_strata(&[nobody]), None);
    }

    // Panels of four vines beside single vines: σ² = (4/1 + 16/4)/2 = 4 by hand, so that s² is 4 for vines
    // and 16 for panels of 4 m. Means 5 and 6; Var = 0.25·2·4/4 + 0.25·2·16/64 = 0.625.
    #[test]
    fn a_panel_varies_more_than_a_vine() {
        let vines = Stratum {
            values: vec![(5.0 - 2.0_f64.sqrt(), 1.0), (5.0 + 2.0_f64.sqrt(), 1.0)],
            canopy_m: 50.0,
            known: 0.0,
        };
        let off = 8.0_f64.sqrt() / 4.0;
        let panels = Stratum {
            values: vec![(6.0 - off, 4.0), (6.0 + off, 4.0)],
            canopy_m: 50.0,
            known: 0.0,
        };
        let mean = Mean::of_strata(&[vines, panels]).unwrap();
        near(mean.per_m, 5.5);
        near(mean.se.unwrap(), 0.625_f64.sqrt());
    }

    // 600 zones in which 12 of 60 vines had been counted and were thinned with more care; 6 of them and
    // 6 others are recounted. Nine in ten intervals must hold what truly stands; all places as one lot
    // would hold it far more seldom.
    #[test]
    fn care_where_vines_were_counted_does_not_mislead() {
        let mut random = Random::new(5);
        let (zones, mut held, mut held_as_one) = (600, 0, 0);
        for _ in 0..zones {
            let mut stratum = |aim: f64, vines: usize| -> Vec<(f64, f64)> {
                let mut one = || (1.2 * (aim + 1.5 * random.normal())).round() / 1.2;
                (0..vines).map(|_| (one(), 1.2)).collect()
            };
            let (marked, others) = (stratum(13.0, 12), stratum(16.0, 48));
            let truth = marked.iter().chain(&others).map(|(x, _)| x).sum::<f64>() / 60.0;
            let drawn = |all: &[(f64, f64)]| Stratum {
                values: all[..6].to_vec(),
                canopy_m: 1.2 * float(all.len()),
                known: 6.0 / float(all.len()),
            };
            let strata = [drawn(&marked), drawn(&others)];
            let as_one = Mean::of(&[&marked[..6], &others[..6]].concat(), 0.2).unwrap();
            let holds = |mean: Mean| {
                let [low, high] = mean.ends90().unwrap();
                usize::from(low <= truth && truth <= high)
            };
            held += holds(Mean::of_strata(&strata).unwrap());
            held_as_one += holds(as_one);
        }
        let [share, as_one] = [held, held_as_one].map(|held| float(held) / float(zones));
        assert!((0.875..0.925).contains(&share), "{share}");
        assert!(as_one < 0.8, "{as_one}");
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
