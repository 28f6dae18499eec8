//! Means that rest on the draw alone: no pattern, no model, only the chances of the stops.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | N, n | units of a stratum that could be drawn; units counted | – |
//! | y, x | shoots of a unit; its canopy | shoots, m |
//! | R | the mean density: all shoots over all canopy | shoots / m |
//! | e | y − R·x of a unit | shoots |
//! | f | n/N where units were counted whole, else 0 | – |
//!
//! R = Σ N·ȳ / Σ N·x̄ over strata (the combined ratio), so that units with more canopy count for more;
//! with x = 1 it is the plain stratified mean. Var R = Σ N²·(1 − f)·s²/n / (Σ N·x̄)², with s² the
//! variance of e within a stratum:
//!
//! - of units by lot: Σ (e − ē)² / (n − 1);
//! - of units spread over the ground: Σ (e − e′)² / 2n, e′ of the nearest other unit, the mean over
//!   those that are as near.
//!
//! # Source
//! Combined ratio and stratified variance: Cochran 1977, Sampling Techniques, 3rd ed., 6.11 and 5.4,
//! from memory. Nearest neighbours: Grafström & Schelin 2014, Scand. J. Stat. 41:277–290, from
//! memory; theirs has no finite-population correction: the factor 1 − f, and the mean over ties, are
//! our judgement.

use crate::maths::{float, nearest::square_distance, normal};

/// A unit that was drawn and counted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnUnit {
    /// Where it is, metres.
    pub at: [f64; 2],
    /// Its shoots.
    pub shoots: f64,
    /// Its canopy, metres; 0 where nothing grows that is asked about.
    pub canopy_m: f64,
}

/// The counted units of one part that was drawn from, all with the same chance.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnStratum {
    /// The units.
    pub units: Vec<DrawnUnit>,
    /// Units that could be drawn.
    pub of: usize,
    /// True when no unit was counted in part only.
    pub whole: bool,
}

/// A mean that rests on the draw alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignMean {
    /// Shoots per metre of canopy of what could be drawn.
    pub per_m: f64,
    /// Its standard error for stops that are spread over the ground.
    pub se: f64,
    /// Its standard error if the stops had fallen by lot.
    pub se_by_lot: f64,
    /// Degrees of freedom of Student's t: units counted less strata.
    pub degrees_of_freedom: f64,
    /// Units counted.
    pub counted: usize,
    /// Units that could be drawn.
    pub of: usize,
}

impl DesignMean {
    /// The mean of some strata together; `None` with fewer than two units in one of them, more units
    /// than there are, or no canopy.
    pub fn of(strata: &[DrawnStratum]) -> Option<Self> {
        let sound = |stratum: &DrawnStratum| (2..=stratum.of).contains(&stratum.units.len());
        if strata.is_empty() || !strata.iter().all(sound) {
            return None;
        }
        let sum = |of: fn(&DrawnUnit) -> f64| -> f64 {
            strata.iter().map(|stratum| stratum.weight() * stratum.sum(of)).sum()
        };
        let canopy_m = sum(|unit| unit.canopy_m);
        let per_m = sum(|unit| unit.shoots) / canopy_m;
        if !(canopy_m > 0.0 && per_m.is_finite()) {
            return None;
        }
        let counted: usize = strata.iter().map(|stratum| stratum.units.len()).sum();
        let se = |of: fn(&DrawnStratum, &[f64]) -> f64| {
            let variance = strata.iter().map(|stratum| stratum.variance_of_total(per_m, of));
            variance.sum::<f64>().sqrt() / canopy_m
        };
        Some(Self {
            per_m,
            se: se(DrawnStratum::spread_of_neighbours),
            se_by_lot: se(DrawnStratum::spread_by_lot),
            degrees_of_freedom: float(counted - strata.len()),
            counted,
            of: strata.iter().map(|stratum| stratum.of).sum(),
        })
    }

    /// Half of its 90 % interval, shoots per metre.
    pub fn half90(&self) -> f64 {
        normal::student_quantile(0.95, self.degrees_of_freedom) * self.se
    }
}

impl DrawnStratum {
    /// Units that a counted one stands for.
    fn weight(&self) -> f64 {
        float(self.of) / float(self.units.len())
    }

    fn sum(&self, of: fn(&DrawnUnit) -> f64) -> f64 {
        self.units.iter().map(of).sum()
    }

    /// The variance of N·ē, given how the spread of e is reckoned.
    fn variance_of_total(&self, per_m: f64, spread: fn(&Self, &[f64]) -> f64) -> f64 {
        let left: Vec<f64> =
            self.units.iter().map(|unit| unit.shoots - per_m * unit.canopy_m).collect();
        // What was not counted of a unit that was counted in part is not known either.
        let known = if self.whole { 1.0 / self.weight() } else { 0.0 };
        float(self.of) * self.weight() * (1.0 - known) * spread(self, &left)
    }

    fn spread_by_lot(_: &Self, left: &[f64]) -> f64 {
        let n = float(left.len());
        let mean = left.iter().sum::<f64>() / n;
        left.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / (n - 1.0)
    }

    fn spread_of_neighbours(&self, left: &[f64]) -> f64 {
        let squares = (0..left.len()).map(|unit| {
            let nearest = self.nearest(unit);
            let apart = nearest.iter().map(|&other| (left[unit] - left[other]).powi(2));
            apart.sum::<f64>() / float(nearest.len())
        });
        squares.sum::<f64>() / (2.0 * float(left.len()))
    }

    /// The other units that are nearest: several where they are as near, as on a lattice.
    fn nearest(&self, unit: usize) -> Vec<usize> {
        let away = |other: usize| square_distance(self.units[unit].at, self.units[other].at);
        let others = || (0..self.units.len()).filter(|&other| other != unit);
        let least = others().map(away).fold(f64::INFINITY, f64::min);
        others().filter(|&other| away(other) <= least * (1.0 + SAME) + SAME).collect()
    }
}

/// Squares of distances that differ by less than this share, or metres², are the same.
const SAME: f64 = 1e-9;

#[cfg(test)]
mod tests {
    use super::*;

    fn stratum(values: &[(f64, f64, f64)], of: usize) -> DrawnStratum {
        let unit = |&(along, shoots, canopy_m): &(f64, f64, f64)| DrawnUnit {
            at: [along, 0.0],
            shoots,
            canopy_m,
        };
        DrawnStratum { units: values.iter().map(unit).collect(), of, whole: true }
    }

    // Worked by hand: at 0, 1, 3 and 4 m 10, 12, 20 and 24 shoots on a metre each, of 8: the mean is
    // 16.5; squares to the nearest 4, 4, 16, 16, so s² = 40/8 = 5, and Var = (1 − 1/2)·5/4. By lot s²
    // is (42.25 + 20.25 + 12.25 + 56.25)/3.
    #[test]
    fn neighbours_tell_the_error_of_a_spread_sample() {
        let line = [(0.0, 10.0, 1.0), (1.0, 12.0, 1.0), (3.0, 20.0, 1.0), (4.0, 24.0, 1.0)];
        let mean = DesignMean::of(&[stratum(&line, 8)]).unwrap();
        assert!((mean.per_m - 16.5).abs() < 1e-12);
        assert!((mean.se - 0.625_f64.sqrt()).abs() < 1e-12, "{mean:?}");
        assert!((mean.se_by_lot - (131.0_f64 / 3.0 / 8.0).sqrt()).abs() < 1e-12, "{mean:?}");
        assert_eq!((mean.counted, mean.of), (4, 8));
        let in_part = DrawnStratum { whole: false, ..stratum(&line, 8) };
        let in_part = DesignMean::of(&[in_part]).unwrap();
        assert!((in_part.se - 1.25_f64.sqrt()).abs() < 1e-12, "{in_part:?}");
    }

    // Worked by hand: 2, 4 and 9 at 0, 1 and 2 m: the middle one is as near to both: squares 4,
    // (4 + 25)/2 and 25, over 6.
    #[test]
    fn neighbours_as_near_share_the_square() {
        let line = [(0.0, 2.0, 1.0), (1.0, 4.0, 1.0), (2.0, 9.0, 1.0)];
        let mean = DesignMean::of(&[stratum(&line, 1000)]).unwrap();
        let expected: f64 = 0.997 * (43.5 / 6.0) / 3.0;
        assert!((mean.se - expected.sqrt()).abs() < 1e-12, "{mean:?}");
    }

    // Worked by hand: 30 shoots on 1 m and 10 on 3 m are 10 a metre, not 16.7; a unit where nothing
    // grows changes no mean.
    #[test]
    fn canopy_weighs_and_an_empty_unit_is_no_zero() {
        let two = [(0.0, 30.0, 1.0), (1.0, 10.0, 3.0)];
        let of = |units: &[(f64, f64, f64)]| DesignMean::of(&[stratum(units, 10)]).unwrap();
        assert!((of(&two).per_m - 10.0).abs() < 1e-12);
        let with_gap = [two[0], two[1], (2.0, 0.0, 0.0)];
        assert!((of(&with_gap).per_m - 10.0).abs() < 1e-12);
    }

    #[test]
    fn one_unit_more_than_there_are_or_no_canopy_say_nothing() {
        assert_eq!(DesignMean::of(&[]), None);
        assert_eq!(DesignMean::of(&[stratum(&[(0.0, 3.0, 1.0)], 9)]), None);
        let two = [(0.0, 3.0, 1.0), (1.0, 4.0, 1.0)];
        assert_eq!(DesignMean::of(&[stratum(&two, 1)]), None);
        assert_eq!(DesignMean::of(&[stratum(&[(0.0, 0.0, 0.0); 3], 9)]), None);
        let all = DesignMean::of(&[stratum(&two, 2)]).unwrap();
        assert!(all.se.abs() < 1e-12, "all are counted");
    }
}
