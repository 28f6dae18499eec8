//! Kriging of plants from noisy counts of single plants or of several together; knows no vineyard.
//!
//! Density of plant j: z(j) = xⱼβ + S(j) + e(j). S is a surface with a covariance C(h), e the plant's
//! own deviation (nugget); a count of plants with weights w is Σ wⱼ·z(j) plus counting noise v.
//!
//! | symbol | meaning                                            | unit       |
//! |--------|----------------------------------------------------|------------|
//! | Σ      | covariance of the counts, noise on its diagonal    | quantity²  |
//! | L      | Cholesky factor of Σ                               | quantity   |
//! | X, x   | columns of the mean, for counts and for one plant  | –          |
//! | F      | L⁻¹X                                               | 1/quantity |
//! | A      | XᵀΣ⁻¹X = FᵀF, inverse of the covariance V of β     | 1/quantity²|
//! | g      | covariance of what is asked with the counts        | quantity²  |
//! | d      | x − XᵀΣ⁻¹g                                         | –          |

use std::sync::Arc;

use rayon::prelude::*;

pub use super::population::{Observed, Population};
use super::{pair_sums, pairs::Pairs};
use crate::maths::{
    cholesky::{Cholesky, LANES, dot, subtract, sums_of_squares},
    covariance::CovarianceModel,
    nearest::square_distance,
};

/// Counts of more plants than this are not laid out pair by pair.
const MOST_IN_PAIRS: usize = 12;
/// So many plants are predicted by one thread in turn.
const AT_ONCE: usize = 64 * LANES;

/// What is believed about one plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// The plant's own value.
    pub value: f64,
    /// Its variance: nugget in, counting noise out; 0 at a plant counted without noise.
    pub variance: f64,
    /// The surface there: the same with the nugget filtered.
    pub surface: f64,
}

/// Why counts cannot be solved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum KrigingError {
    /// Two counts say the same, or the variance is 0.
    #[error("the covariance of the counts is singular: two exact counts are of the same vines")]
    Singular,
    /// A column of the mean cannot be told from the others.
    #[error("the counts cannot tell the columns of the mean apart")]
    Mean,
}

/// Solved counts, to be asked about any plant or set of plants.
#[derive(Debug, Clone)]
pub struct Kriging {
    pub(super) population: Arc<Population>,
    pub(super) observed: Vec<Observed>,
    pub(super) model: CovarianceModel,
    /// The columns of the design that some count has.
    columns: Vec<usize>,
    pub(super) factor: Cholesky,
    /// F, column by column.
    fixed: Vec<Vec<f64>>,
    mean_factor: Cholesky,
    means: Vec<f64>,
    /// Σ⁻¹(y − Xβ).
    dual: Vec<f64>,
    /// Plant, count that it is in, its weight there; by plant.
    counted_in: Vec<(usize, usize, f64)>,
}

impl Kriging {
    /// Solves the counts of a population under a covariance.
    ///
    /// # Errors
    /// When the covariance of the counts is singular or a mean cannot be told.
    ///
    /// # Source
    /// Cressie 1993, Statistics for Spatial Data, §3.4 (universal kriging); dual form: Goovaerts
    /// 1997, §5.2.
    ///
    /// # Example
    /// Halfway between two plants that were counted exactly lies their mean:
    /// ```
    /// use std::sync::Arc;
    /// use catchwire::estimate::kriging::{Kriging, Observed, Population};
    ///
    /// let metres = vec![[0.0, 0.0], [2.0, 0.0], [1.0, 0.0]];
    /// let population = Arc::new(Population::with_one_mean(metres));
    /// let counts = vec![Observed::plant(0, 14.0), Observed::plant(1, 18.0)];
    /// let model = "exponential nugget=1 psill=4 range=10".parse().unwrap();
    /// let kriging = Kriging::solve(population, counts, model).unwrap();
    /// let shoots_per_m = kriging.predict(&[2])[0].unwrap().value;
    /// assert!((shoots_per_m - 16.0).abs() < 1e-12);
    /// ```
    pub fn solve(
        population: Arc<Population>,
        observed: Vec<Observed>,
        model: CovarianceModel,
    ) -> Result<Self, KrigingError> {
        let observed = in_order(observed);
        let matrix = covariances(&population, &observed, &model);
        Self::of_covariances(population, observed, model, matrix)
    }

    /// The same when the covariance of the counts is at hand: lower triangle of a full matrix, row by
    /// row. The plants of each count are in the order of their numbers.
    pub(super) fn of_covariances(
        population: Arc<Population>,
        observed: Vec<Observed>,
        model: CovarianceModel,
        matrix: Vec<f64>,
    ) -> Result<Self, KrigingError> {
        let factor = Cholesky::factor(matrix, observed.len()).ok_or(KrigingError::Singular)?;
        let values: Vec<f64> = observed.iter().map(|count| count.value).collect();
        let rows: Vec<Vec<f64>> = observed.iter().map(|c| population.row_of(&c.plants)).collect();
        let gls = Gls::solve(&rows, &values, &factor).ok_or(KrigingError::Mean)?;
        let mut dual = gls.whitened;
        factor.backward(&mut dual);
        let of_count = |(count, of): (usize, &Observed)| {
            of.plants.iter().map(move |&(plant, weight)| (plant, count, weight)).collect::<Vec<_>>()
        };
        let mut counted_in: Vec<_> = observed.iter().enumerate().flat_map(of_count).collect();
        counted_in.sort_by_key(|&(plant, count, _)| (plant, count));
        let Gls { columns, fixed, mean_factor, means, .. } = gls;
        Ok(Self {
            population,
            observed,
            model,
            columns,
            factor,
            fixed,
            mean_factor,
            means,
            dual,
            counted_in,
        })
    }

    /// The fitted mean of a column of the design; `None` when no count has it.
    pub fn mean(&self, column: usize) -> Option<f64> {
        self.columns.iter().position(|&c| c == column).map(|at| self.means[at])
    }

    /// The variance of that mean; 0 when no count has the column.
    pub fn mean_variance(&self, column: usize) -> f64 {
        let mut unit: Vec<f64> = self.columns.iter().map(|&c| f64::from(c == column)).collect();
        self.mean_factor.forward(&mut unit);
        dot(&unit, &unit)
    }

    /// By plant, how far its mean lies from that of its kind: the columns that were added.
    pub(super) fn trend_of(&self, plant: usize) -> f64 {
        let row = self.population.row(plant);
        let of = |column: usize| row[column] * self.mean(column).unwrap_or(0.0);
        self.population.trend_columns().map(of).sum()
    }

    /// Wald's statistic of the columns that were added: χ² with as many degrees of freedom where
    /// none of them matters; `None` when there are none or one was not fitted.
    pub(super) fn wald(&self) -> Option<f64> {
        let own = self.population.trend_columns();
        let at: Option<Vec<usize>> =
            own.map(|column| self.columns.iter().position(|&c| c == column)).collect();
        let at = at.filter(|at| !at.is_empty())?;
        let errors: Vec<Vec<f64>> = at.iter().map(|&k| self.error_of_mean(k)).collect();
        let products = errors.iter().flat_map(|a| errors.iter().map(move |b| dot(a, b)));
        let variance = Cholesky::factor(products.collect(), at.len())?;
        let mut deviates: Vec<f64> = at.iter().map(|&k| self.means[k]).collect();
        variance.forward(&mut deviates);
        Some(dot(&deviates, &deviates))
    }

    /// The whitened error of one fitted column.
    fn error_of_mean(&self, at: usize) -> Vec<f64> {
        let mut unit: Vec<f64> =
            (0..self.columns.len()).map(|k| f64::from(u8::from(k == at))).collect();
        self.mean_factor.forward(&mut unit);
        unit
    }

    /// How many columns of the mean were fitted.
    pub fn fitted_means(&self) -> usize {
        self.columns.len()
    }

    /// The covariance.
    pub const fn model(&self) -> CovarianceModel {
        self.model
    }

    /// The counts.
    pub fn observed(&self) -> &[Observed] {
        &self.observed
    }

    /// True when every column of the plant's mean was fitted.
    pub fn knows(&self, plant: usize) -> bool {
        let row = self.population.row(plant);
        let (mut some, mut all) = (false, true);
        for (column, x) in row.iter().enumerate() {
            some |= *x != 0.0;
            all &= *x == 0.0 || self.columns.contains(&column);
        }
        some && all
    }

    /// What is believed about plants; `None` where a column of the mean was not fitted.
    pub fn predict(&self, plants: &[usize]) -> Vec<Option<Prediction>> {
        let some = |plants: &[usize]| {
            let mut g = vec![[0.0; LANES]; self.observed.len()];
            let lanes = plants.chunks(LANES);
            lanes.flat_map(|lanes| self.predict_lanes(lanes, &mut g)).collect::<Vec<_>>()
        };
        if plants.len() <= AT_ONCE {
            return some(plants);
        }
        plants.par_chunks(AT_ONCE).flat_map_iter(some).collect()
    }

    /// `g` is room for the covariances of the plants with the counts, side by side.
    fn predict_lanes(&self, plants: &[usize], g: &mut [[f64; LANES]]) -> Vec<Option<Prediction>> {
        self.surface_covariances(plants, g);
        let mut surfaces = [0.0; LANES];
        for (covariances, dual) in g.iter().zip(&self.dual) {
            subtract(&mut surfaces, -dual, covariances);
        }
        let mut own = [0.0; LANES];
        for (lane, &plant) in plants.iter().enumerate() {
            for (count, weight) in self.counts_of(plant) {
                let nugget = self.model.nugget * weight;
                g[count][lane] += nugget;
                own[lane] += nugget * self.dual[count];
            }
        }
        self.factor.forward_lanes(g);
        let explained = sums_of_squares(g);
        let mean_errors = sums_of_squares(&self.mean_error_lanes(plants, g));
        let sill = self.model.psill + self.model.nugget;
        let one = |(lane, &plant): (usize, &usize)| {
            self.knows(plant).then(|| {
                let mean = self.mean_at(self.population.row(plant));
                let variance = sill - explained[lane] + mean_errors[lane];
                Prediction {
                    value: mean + surfaces[lane] + own[lane],
                    variance: at_least_zero(variance, sill),
                    surface: mean + surfaces[lane],
                }
            })
        };
        plants.iter().enumerate().map(one).collect()
    }

    /// Covariances of the surface at up to [`LANES`] plants with every count.
    fn surface_covariances(&self, plants: &[usize], g: &mut [[f64; LANES]]) {
        let places = self.population.places();
        let mut at = [[0.0; 2]; LANES];
        at.iter_mut().zip(plants).for_each(|(at, &plant)| *at = places[plant]);
        for (covariances, count) in g.iter_mut().zip(&self.observed) {
            *covariances = [0.0; LANES];
            for &(plant, weight) in &count.plants {
                let there = places[plant];
                for (covariance, at) in covariances.iter_mut().zip(&at) {
                    *covariance += weight * self.model.at(square_distance(*at, there).sqrt());
                }
            }
        }
    }

    /// [`Kriging::mean_error`] of plants side by side, whose whitened covariances are `g`.
    fn mean_error_lanes(&self, plants: &[usize], g: &[[f64; LANES]]) -> Vec<[f64; LANES]> {
        let of_column = |(&column, fixed): (&usize, &Vec<f64>)| {
            let mut d = [0.0; LANES];
            for (lane, &plant) in plants.iter().enumerate() {
                d[lane] = self.population.row(plant)[column];
            }
            for (values, factor) in g.iter().zip(fixed) {
                subtract(&mut d, *factor, values);
            }
            d
        };
        let mut errors: Vec<_> = self.columns.iter().zip(&self.fixed).map(of_column).collect();
        self.mean_factor.forward_lanes(&mut errors);
        errors
    }

    /// The weight of every count in the prediction of a plant.
    pub fn weights(&self, plant: usize) -> Vec<f64> {
        let at = self.population.places()[plant];
        let mut w: Vec<f64> =
            self.observed.iter().map(|count| self.surface_covariance(at, count)).collect();
        for (count, weight) in self.counts_of(plant) {
            w[count] += self.model.nugget * weight;
        }
        self.factor.forward(&mut w);
        let mut error = self.mean_error(self.population.row(plant), &w);
        self.mean_factor.backward(&mut error);
        for (column, e) in self.fixed.iter().zip(&error) {
            w.iter_mut().zip(column).for_each(|(value, f)| *value += f * e);
        }
        self.factor.backward(&mut w);
        w
    }

    /// Leave-one-out: error and variance of each count foretold from the others.
    ///
    /// # Source
    /// Dubrule 1983, Math. Geol. 15:687–699: all of them from one inverse.
    pub fn left_out(&self) -> Vec<(f64, f64)> {
        let n = self.observed.len();
        let inverse = self.inverse_diagonal();
        let mut solved = self.fixed.clone();
        for column in &mut solved {
            self.factor.backward(column);
        }
        let one = |i: usize| {
            let mut row: Vec<f64> = solved.iter().map(|column| column[i]).collect();
            self.mean_factor.forward(&mut row);
            let q = inverse[i] - dot(&row, &row);
            (self.dual[i] / q, 1.0 / q)
        };
        (0..n).map(one).collect()
    }

    fn inverse_diagonal(&self) -> Vec<f64> {
        let n = self.observed.len();
        let firsts: Vec<usize> = (0..n).step_by(LANES).collect();
        let columns = firsts.par_iter().flat_map_iter(|&first| {
            let mut unit = vec![[0.0; LANES]; n];
            (first..n.min(first + LANES)).for_each(|i| unit[i][i - first] = 1.0);
            self.factor.forward_lanes(&mut unit);
            let sums = (first..n.min(first + LANES))
                .map(|i| unit.iter().map(|lanes| lanes[i - first] * lanes[i - first]).sum::<f64>());
            sums.collect::<Vec<f64>>()
        });
        columns.collect()
    }

    /// rᵀΣ⁻¹r of the residuals.
    pub(super) fn squares(&self) -> f64 {
        // Σ⁻¹r is orthogonal to the fitted mean, so that y stands for r.
        self.observed.iter().zip(&self.dual).map(|(count, dual)| count.value * dual).sum()
    }

    /// The counts that a plant is in, each with its weight there.
    fn counts_of(&self, plant: usize) -> impl Iterator<Item = (usize, f64)> {
        let first = self.counted_in.partition_point(|&(other, ..)| other < plant);
        let own = self.counted_in[first..].iter().take_while(move |&&(other, ..)| other == plant);
        own.map(|&(_, count, weight)| (count, weight))
    }

    fn surface_covariance(&self, at: [f64; 2], count: &Observed) -> f64 {
        let of = |&(plant, weight): &(usize, f64)| {
            weight * self.model.at(square_distance(at, self.population.places()[plant]).sqrt())
        };
        count.plants.iter().map(of).sum()
    }

    /// xβ.
    fn mean_at(&self, row: &[f64]) -> f64 {
        self.columns.iter().zip(&self.means).map(|(&column, mean)| row[column] * mean).sum()
    }

    /// The whitened error of the mean: its square is dᵀVd.
    pub(super) fn mean_error(&self, row: &[f64], whitened: &[f64]) -> Vec<f64> {
        let mut d: Vec<f64> = self
            .columns
            .iter()
            .zip(&self.fixed)
            .map(|(&column, fixed)| row[column] - dot(fixed, whitened))
            .collect();
        self.mean_factor.forward(&mut d);
        d
    }

    /// The columns of a weighted sum of plants.
    pub(super) fn row_of(&self, plants: &[(usize, f64)]) -> Vec<f64> {
        self.population.row_of(plants)
    }

    /// The prediction of a weighted sum whose columns are `row` and whose covariances are `g`.
    pub(super) fn value_of(&self, row: &[f64], g: &[f64]) -> f64 {
        self.mean_at(row) + dot(g, &self.dual)
    }

    /// The counts in which plants are: their nugget is shared.
    pub(super) fn shared_weights(&self, plants: &[(usize, f64)]) -> Vec<f64> {
        let mut shared = vec![0.0; self.observed.len()];
        for &(plant, weight) in plants {
            for (count, own) in self.counts_of(plant) {
                shared[count] += weight * own;
            }
        }
        shared
    }
}

/// Counts with their plants in the order of their numbers.
pub(super) fn in_order(mut observed: Vec<Observed>) -> Vec<Observed> {
    for count in &mut observed {
        count.plants.sort_by_key(|(plant, _)| *plant);
    }
    observed
}

/// The covariance of the counts: lower triangle of a full matrix, row by row.
pub(super) fn covariances(
    population: &Population,
    observed: &[Observed],
    model: &CovarianceModel,
) -> Vec<f64> {
    let most = observed.iter().map(|count| count.plants.len()).max().unwrap_or(0);
    if most > MOST_IN_PAIRS {
        return pair_sums::matrix(population, observed, model);
    }
    let noise: Vec<f64> = observed.iter().map(|count| count.noise).collect();
    Pairs::new(population, observed).matrix(model, 1.0, &noise)
}

/// Rounding is no variance: a plant counted exactly has none.
fn at_least_zero(variance: f64, sill: f64) -> f64 {
    if variance > 1e-12 * sill { variance } else { 0.0 }
}

/// Generalised least squares of the mean.
pub(super) struct Gls {
    /// The columns that some count has.
    pub columns: Vec<usize>,
    /// F, column by column.
    pub fixed: Vec<Vec<f64>>,
    /// The factor of A.
    pub mean_factor: Cholesky,
    /// β.
    pub means: Vec<f64>,
    /// L⁻¹(y − Xβ).
    pub whitened: Vec<f64>,
}

impl Gls {
    /// `rows` are the columns of each count; `None` when they cannot be told apart.
    pub(super) fn solve(rows: &[Vec<f64>], values: &[f64], factor: &Cholesky) -> Option<Self> {
        let has = |column: &usize| rows.iter().any(|row| row[*column] != 0.0);
        let all = rows.first().map_or(0, Vec::len);
        let columns: Vec<usize> = (0..all).filter(has).collect();
        let mut whitened = values.to_vec();
        factor.forward(&mut whitened);
        let whiten = |column: &usize| {
            let mut x: Vec<f64> = rows.iter().map(|row| row[*column]).collect();
            factor.forward(&mut x);
            x
        };
        let fixed: Vec<Vec<f64>> = columns.iter().map(whiten).collect();
        let products = fixed.iter().flat_map(|a| fixed.iter().map(move |b| dot(a, b)));
        let mean_factor = Cholesky::factor(products.collect(), columns.len())?;
        let mut means: Vec<f64> = fixed.iter().map(|column| dot(column, &whitened)).collect();
        mean_factor.solve(&mut means);
        for (column, mean) in fixed.iter().zip(&means) {
            whitened.iter_mut().zip(column).for_each(|(w, f)| *w -= f * mean);
        }
        Some(Self { columns, fixed, mean_factor, means, whitened })
    }
}
