//! Plants on a plane, and what was counted on them.

/// Plants on a plane with the columns of their mean.
#[derive(Debug, Clone, PartialEq)]
pub struct Population {
    at: Vec<[f64; 2]>,
    columns: usize,
    design: Vec<f64>,
    /// How many of the last columns are a trend around the means.
    trend: usize,
}

impl Population {
    /// Plants at places in metres that share one mean: ordinary kriging.
    pub fn with_one_mean(at: Vec<[f64; 2]>) -> Self {
        let design = vec![1.0; at.len()];
        Self { at, columns: 1, design, trend: 0 }
    }

    /// Plants of several kinds, each kind with its own mean; `None` for a plant without one.
    pub fn with_means(at: Vec<[f64; 2]>, kind: &[Option<usize>], kinds: usize) -> Self {
        let row = |&own: &Option<usize>| (0..kinds).map(move |k| f64::from(own == Some(k)));
        let design = kind.iter().flat_map(row).collect();
        Self { at, columns: kinds, design, trend: 0 }
    }

    /// Plants whose mean is a sum of functions of the place, such as `|[x, y]| [1.0, x, y]`:
    /// universal kriging.
    pub fn with_trend<const P: usize>(
        at: Vec<[f64; 2]>,
        columns: impl Fn([f64; 2]) -> [f64; P],
    ) -> Self {
        let design = at.iter().flat_map(|&place| columns(place)).collect();
        Self { at, columns: P, design, trend: 0 }
    }

    /// The same plants with distances across the rows multiplied: covariances that reach further
    /// along the rows than across them have a ratio above 1.
    #[must_use]
    pub fn stretched(&self, across_ratio: f64) -> Self {
        let at = self.at.iter().map(|&[along, across]| [along, across * across_ratio]).collect();
        Self { at, ..self.clone() }
    }

    /// The same plants with further columns of their mean, each a value by plant.
    #[must_use]
    pub fn with_columns(&self, more: &[Vec<f64>]) -> Self {
        let row = |plant: usize| {
            self.row(plant).iter().copied().chain(more.iter().map(move |column| column[plant]))
        };
        let design = (0..self.at.len()).flat_map(row).collect();
        let (columns, trend) = (self.columns + more.len(), self.trend + more.len());
        Self { at: self.at.clone(), columns, design, trend }
    }

    /// The same plants without the columns that were added.
    #[must_use]
    pub(super) fn without_trend(&self) -> Self {
        let own = self.columns - self.trend;
        let design = (0..self.at.len()).flat_map(|plant| &self.row(plant)[..own]).copied();
        Self { at: self.at.clone(), columns: own, design: design.collect(), trend: 0 }
    }

    /// The numbers of the columns that were added.
    pub(super) const fn trend_columns(&self) -> std::ops::Range<usize> {
        self.columns - self.trend..self.columns
    }

    /// Where the plants stand, metres.
    pub fn places(&self) -> &[[f64; 2]] {
        &self.at
    }

    pub(super) fn row(&self, plant: usize) -> &[f64] {
        &self.design[plant * self.columns..(plant + 1) * self.columns]
    }

    /// The columns of a weighted sum of plants.
    pub(super) fn row_of(&self, plants: &[(usize, f64)]) -> Vec<f64> {
        let mut sum = vec![0.0; self.columns];
        for &(plant, weight) in plants {
            sum.iter_mut().zip(self.row(plant)).for_each(|(s, x)| *s += weight * x);
        }
        sum
    }
}

/// What was counted: the weighted mean of some plants, with counting noise.
#[derive(Debug, Clone, PartialEq)]
pub struct Observed {
    /// Plants and their weights, which sum to 1.
    pub plants: Vec<(usize, f64)>,
    /// The value.
    pub value: f64,
    /// Variance of the counting noise.
    pub noise: f64,
}

impl Observed {
    /// One plant, counted exactly.
    pub fn plant(plant: usize, value: f64) -> Self {
        Self { plants: vec![(plant, 1.0)], value, noise: 0.0 }
    }

    /// The weighted middle of its plants.
    pub fn middle(&self, population: &Population) -> [f64; 2] {
        let at = |k: usize| self.plants.iter().map(|&(plant, w)| w * population.at[plant][k]).sum();
        [at(0), at(1)]
    }
}
