//! Totals of plants with their errors, by three ways of reckoning that share no step.

use std::{fs, path::Path, sync::Arc};

use catchwire::{
    estimate::kriging::{Kriging, Observed, Population},
    maths::covariance::{CovarianceModel, Family},
};
use serde_json::Value;

/// As in Ver Hoef 2008 and `tests/data/checks/sixty-plants.json`.
const MODEL: CovarianceModel =
    CovarianceModel { family: Family::Exponential, nugget: 6.0, psill: 9.0, range_m: 6.0 };
const PLANTS: usize = 60;

/// Sixty plants of which some were counted.
struct Plants {
    at: Vec<[f64; 2]>,
    counted: Vec<usize>,
    counts: Vec<f64>,
    check: Value,
}

impl Plants {
    fn read() -> Self {
        let path =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/checks/sixty-plants.json");
        let check: Value =
            serde_json::from_str(&fs::read_to_string(path).expect("a check")).expect("JSON");
        let list = |key: &str| -> Vec<f64> {
            let values = check[key].as_array().expect("a list").iter();
            values.map(|value| value.as_f64().expect("a number")).collect()
        };
        let at = list("x").into_iter().zip(list("y")).map(|(x, y)| [x, y]).collect();
        let counted = check["sampled"].as_array().expect("a list").iter();
        let place = |value: &Value| usize::try_from(value.as_u64().expect("a plant")).unwrap();
        let counted = counted.map(place).collect();
        let counts = list("counts");
        Self { at, counted, counts, check }
    }

    /// Covariance of two plants, nugget where a plant meets itself.
    fn covariance(&self, one: usize, other: usize) -> f64 {
        let [a, b] = [self.at[one], self.at[other]];
        let nugget = if one == other { MODEL.nugget } else { 0.0 };
        MODEL.at((a[0] - b[0]).hypot(a[1] - b[1])) + nugget
    }

    /// Σ⁻¹ of the counted plants times a column.
    fn solved(&self, column: Vec<f64>) -> Vec<f64> {
        let rows = self.counted.iter().map(|&one| {
            self.counted.iter().map(|&other| self.covariance(one, other)).collect::<Vec<f64>>()
        });
        eliminated(rows.collect(), column)
    }

    /// Covariances of a weighted sum of plants with the counted ones.
    fn with_counts(&self, weights: &[f64]) -> Vec<f64> {
        let one = |&plant: &usize| {
            let with = weights.iter().enumerate();
            with.map(|(other, weight)| weight * self.covariance(plant, other)).sum()
        };
        self.counted.iter().map(one).collect()
    }

    fn variance(&self, weights: &[f64]) -> f64 {
        let row = |(one, a): (usize, &f64)| {
            let with = weights.iter().enumerate();
            a * with.map(|(other, b)| b * self.covariance(one, other)).sum::<f64>()
        };
        weights.iter().enumerate().map(row).sum()
    }

    /// Ordinary kriging with a Lagrange multiplier for the unknown mean.
    fn by_multiplier(&self, weights: &[f64]) -> [f64; 2] {
        let n = self.counted.len();
        let mut rows: Vec<Vec<f64>> = self
            .counted
            .iter()
            .map(|&one| {
                let own = self.counted.iter().map(|&other| self.covariance(one, other));
                own.chain([1.0]).collect()
            })
            .collect();
        rows.push((0..=n).map(|k| f64::from(u8::from(k < n))).collect());
        let sum: f64 = weights.iter().sum();
        let g = self.with_counts(weights);
        let solution = eliminated(rows, [g.clone(), vec![sum]].concat());
        let (lambda, multiplier) = (&solution[..n], solution[n]);
        [
            product(lambda, &self.counts),
            self.variance(weights) - product(lambda, &g) - multiplier * sum,
        ]
    }

    /// What was counted and what is foretold of each other plant, with the covariance of the errors
    /// of these.
    fn by_the_rest(&self, weights: &[f64]) -> [f64; 2] {
        let ones = vec![1.0; self.counted.len()];
        let precision = self.solved(ones.clone());
        let mean_variance = 1.0 / product(&ones, &precision);
        let mean = mean_variance * product(&precision, &self.counts);
        let off: Vec<f64> = self.counts.iter().map(|count| count - mean).collect();
        let dual = self.solved(off);
        let rest: Vec<usize> = (0..PLANTS).filter(|plant| !self.counted.contains(plant)).collect();
        let unit = |plant: usize| (0..PLANTS).map(|k| f64::from(u8::from(k == plant))).collect();
        let columns: Vec<Vec<f64>> =
            rest.iter().map(|&plant| self.with_counts(&unit(plant) as &Vec<f64>)).collect();
        let solved: Vec<Vec<f64>> = columns.iter().map(|g| self.solved(g.clone())).collect();
        let lacks: Vec<f64> = solved.iter().map(|w| 1.0 - w.iter().sum::<f64>()).collect();
        let counted = self.counted.iter().zip(&self.counts);
        let mut total: f64 = counted.map(|(&plant, count)| weights[plant] * count).sum();
        let mut variance = 0.0;
        for (i, &one) in rest.iter().enumerate() {
            total += weights[one] * (mean + product(&columns[i], &dual));
            for (k, &other) in rest.iter().enumerate() {
                let error = self.covariance(one, other) - product(&columns[i], &solved[k])
                    + lacks[i] * lacks[k] * mean_variance;
                variance += weights[one] * weights[other] * error;
            }
        }
        [total, variance]
    }
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Gauss's elimination with the largest pivot of each column.
fn eliminated(mut rows: Vec<Vec<f64>>, mut column: Vec<f64>) -> Vec<f64> {
    let n = column.len();
    for k in 0..n {
        let size = |row: &usize| rows[*row][k].abs();
        let best = (k..n).max_by(|a, b| size(a).total_cmp(&size(b))).unwrap();
        rows.swap(k, best);
        column.swap(k, best);
        let pivot = rows[k].clone();
        for row in k + 1..n {
            let factor = rows[row][k] / pivot[k];
            rows[row].iter_mut().zip(&pivot).for_each(|(value, above)| *value -= factor * above);
            column[row] -= factor * column[k];
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|j| rows[k][j] * column[j]).sum();
        column[k] = (column[k] - known) / rows[k][k];
    }
    column
}

#[track_caller]
fn near(found: f64, expected: f64, what: &str) {
    let error = (found - expected).abs() / expected.abs().max(1.0);
    assert!(error <= 1e-9, "{what}: {found} is not {expected} ({error:e})");
}

#[test]
fn totals_zones_and_their_difference_agree_by_three_ways_of_reckoning() {
    // Ver Hoef 2008, Environ. Ecol. Stat. 15:3–13; the numbers of the total and the first zone by
    // numpy and sptotal 1.0.1.
    let plants = Plants::read();
    let population = Arc::new(Population::with_one_mean(plants.at.clone()));
    let counts = plants.counted.iter().zip(&plants.counts);
    let counts = counts.map(|(&plant, &value)| Observed::plant(plant, value)).collect();
    let kriging = Kriging::solve(population, counts, MODEL).unwrap();
    let set = |from: usize, to: usize| (from..to).map(|plant| (plant, 1.0)).collect();
    let means = kriging.means_of(&[set(0, 60), set(0, 30), set(30, 60)], true);
    let at = |one: usize, other: usize| means.covariance[3 * one + other];
    let weights = |first: f64, second: f64| [vec![first; 30], vec![second; 30]].concat();
    let apart = at(1, 1) + at(2, 2) - 2.0 * at(1, 2);
    let cases = [
        ("total", [means.values[0], at(0, 0)], weights(1.0, 1.0)),
        ("first zone", [means.values[1], at(1, 1)], weights(1.0, 0.0)),
        ("second zone", [means.values[2], at(2, 2)], weights(0.0, 1.0)),
        ("difference", [means.values[1] - means.values[2], apart], weights(1.0, -1.0)),
    ];
    for (what, ours, weights) in &cases {
        for (other, way) in [
            (plants.by_multiplier(weights), "multiplier"),
            (plants.by_the_rest(weights), "counted and the rest"),
        ] {
            near(ours[0], other[0], &format!("{what}, {way}"));
            near(ours[1], other[1], &format!("variance of the {what}, {way}"));
        }
    }
    let printed = |key: &str| plants.check[key].as_f64().unwrap();
    near(cases[0].1[0], printed("total"), "printed total");
    near(cases[0].1[1], printed("total_variance"), "its variance");
    near(cases[1].1[0], printed("zone_total"), "printed zone");
    near(cases[1].1[1], printed("zone_variance"), "its variance");
    near(means.values[1] + means.values[2], means.values[0], "sum of the zones");
    near(at(1, 1) + at(2, 2) + 2.0 * at(1, 2), at(0, 0), "variance of that sum");
}
