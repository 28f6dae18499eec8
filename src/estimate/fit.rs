//! The variation that the counts themselves speak for: restricted maximum likelihood.
//!
//! | symbol | meaning                                      | unit      |
//! |--------|----------------------------------------------|-----------|
//! | Σ, A   | as in `kriging`                              |           |
//! | r      | L⁻¹(y − Xβ), whitened residuals              | 1         |
//! | σ²     | partial sill                                 | quantity² |
//! | η      | nugget / partial sill, when σ² is profiled   | 1         |
//!
//! −ln likelihood = ½ (ln|Σ| + ln|A| + rᵀr), less a constant (Patterson & Thompson 1971).

use rayon::prelude::*;

use super::{
    kriging::{Gls, Observed, Population},
    pairs::Pairs,
};
use crate::maths::{
    cholesky::{Cholesky, dot},
    covariance::{CovarianceModel, Family},
    float,
    minimise::{Minimum, Search, minimise},
    nearest::halved,
};

/// More counts than this are fitted in groups of neighbours, whose likelihoods are added …
const MOST_TOGETHER: usize = 200;
/// … of so many at most …
const MOST_IN_GROUP: usize = 150;
/// … from so many groups, spread evenly over all: the variation needs no more counts.
const MOST_GROUPS: usize = 8;
/// Nugget and sill are sought from this share of the variance of the counts …
const LEAST_SHARE: f64 = 1e-4;
/// … to this multiple of it.
const MOST_SHARE: f64 = 10.0;
/// Distances across the rows are multiplied by so much at most, or divided.
const MOST_ACROSS: f64 = 4.0;
/// The search for that ratio starts from the likeliest of these.
const STARTS_ACROSS: [f64; 3] = [0.5, 1.0, 2.0];

/// What is sought, and within which bounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FitRules {
    /// The shape of the covariance.
    pub family: Family,
    /// Least and greatest range, metres.
    pub range_m: (f64, f64),
}

impl FitRules {
    /// The range is at least one vine spacing and at most half the longest extent, metres.
    pub(super) fn on_ground(family: Family, spacing_m: f64, extent_m: f64) -> Self {
        let least = spacing_m.max(1e-3);
        Self { family, range_m: (least, (0.5 * extent_m).max(1.5 * least)) }
    }
}

/// A model, and how likely the counts are under it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likely {
    /// The model; its range holds along the rows.
    pub model: CovarianceModel,
    /// Multiplies distances across the rows.
    pub across_ratio: f64,
    /// −ln likelihood, less a constant; of other columns of the mean it is another constant.
    pub minus_ln_likelihood: f64,
}

/// Which coordinates are sought: the range; η, or nugget and sill; the ratio across the rows.
#[derive(Debug, Clone, Copy)]
struct Form {
    /// No count has noise: the sill is profiled out.
    exact: bool,
    across: bool,
}

/// Counts laid out for fitting.
#[derive(Debug)]
pub struct Reml {
    rules: FitRules,
    groups: Vec<Group>,
    /// Variance of the counts around their means.
    variance: f64,
}

#[derive(Debug)]
struct Group {
    /// Which counts.
    counts: Vec<usize>,
    rows: Vec<Vec<f64>>,
    values: Vec<f64>,
    pairs: Pairs,
}

/// ln|Σ| + ln|A|, rᵀr and the degrees of freedom of one group.
struct Parts {
    ln_determinants: f64,
    squares: f64,
    degrees: f64,
}

impl Reml {
    /// Lays out counts; `None` when they do not vary or are fewer than their means.
    pub fn new(population: &Population, observed: &[Observed], rules: FitRules) -> Option<Self> {
        Self::over(&[(population, observed)], rules)
    }

    /// The same for the counts of several populations, numbered on from one to the next; each has
    /// means of its own.
    pub fn over(blocks: &[(&Population, &[Observed])], rules: FitRules) -> Option<Self> {
        let (mut groups, mut first) = (Vec::new(), 0);
        for (population, observed) in blocks {
            for counts in neighbours_together(population, observed) {
                groups.push(Group::new(population, observed, (counts, first)));
            }
            first += observed.len();
        }
        let mut reml = Self { rules, groups, variance: 1.0 };
        reml.variance = reml.plain_variance()?;
        Some(reml)
    }

    /// Residual variance when counts are taken as independent.
    fn plain_variance(&self) -> Option<f64> {
        let parts: Option<Vec<Parts>> =
            self.groups.iter().map(|group| group.parts_of(None, &[])).collect();
        let (squares, degrees) = totals(&parts?);
        let size = self.groups.iter().flat_map(|g| &g.values).fold(0.0, |m: f64, v| m.max(v.abs()));
        let varies = squares > 1e-20 * size * size * degrees;
        (degrees >= 1.0 && varies).then(|| squares / degrees)
    }

    /// The likeliest model when `noise` is known of each count.
    pub fn fit(&self, noise: &[f64]) -> Option<CovarianceModel> {
        let form = Form { exact: is_exact(noise), across: false };
        let start = self.best_of_grid(form, noise)?;
        self.search(&start, 0.15, form, noise).map(|likely| likely.model)
    }

    /// The same from a model that was likeliest when the noise was less or more by `moved`, a share
    /// of it.
    pub fn fit_on(
        &self,
        noise: &[f64],
        last: CovarianceModel,
        moved: f64,
    ) -> Option<CovarianceModel> {
        let form = Form { exact: is_exact(noise), across: false };
        let start = self.coordinates(&last, 1.0, form);
        // Nugget and sill move about as much; a first step is a share of their bounds.
        let first_step = (moved / (MOST_SHARE / LEAST_SHARE).ln()).clamp(1e-4, 0.03);
        self.search(&start, first_step, form, noise).map(|likely| likely.model)
    }

    /// How likely a model is, its sill as it is or profiled as [`Reml::fit`] does.
    pub fn likelihood(&self, model: CovarianceModel, noise: &[f64]) -> Option<Likely> {
        let form = Form { exact: is_exact(noise), across: false };
        let at = self.coordinates(&model, 1.0, form);
        let minus_ln_likelihood = self.minus_ln_likelihood(&at, form, noise)?;
        Some(Likely { model, across_ratio: 1.0, minus_ln_likelihood })
    }

    /// The likeliest model when distances across the rows may be multiplied; from `start`.
    pub fn fit_across(&self, noise: &[f64], start: CovarianceModel) -> Option<Likely> {
        let form = Form { exact: is_exact(noise), across: true };
        // As far on average over both ways.
        let start = |across: f64| {
            let model = CovarianceModel { range_m: start.range_m * across.sqrt(), ..start };
            self.coordinates(&model, across, form)
        };
        let starts = STARTS_ACROSS.map(start);
        let value = |x: &Vec<f64>| self.minus_ln_likelihood(x, form, noise).unwrap_or(f64::MAX);
        let best = starts.iter().min_by(|a, b| value(a).total_cmp(&value(b)))?;
        self.search(best, 0.15, form, noise)
    }

    fn search(&self, start: &[f64], first_step: f64, form: Form, noise: &[f64]) -> Option<Likely> {
        let value = |x: &[f64]| self.minus_ln_likelihood(x, form, noise).unwrap_or(f64::MAX);
        // A ratio is only sought to be judged; the range that goes with it is fitted again.
        let smallest_fall = if form.across { 1e-4 } else { 1e-9 };
        let search =
            Search { first_step, smallest_step: 1e-7, smallest_fall, most_evaluations: 250 };
        let Minimum { at, value, .. } = minimise(value, start, &self.bounds(form), &search);
        if value >= f64::MAX {
            return None;
        }
        let (model, across_ratio) = self.model_at(&at, form, noise)?;
        Some(Likely { model, across_ratio, minus_ln_likelihood: value })
    }

    fn bounds(&self, form: Form) -> Vec<(f64, f64)> {
        let (least, most) = self.rules.range_m;
        let range = (least.ln(), most.max(least * 1.01).ln());
        // η from 1e-4 to 1e4.
        let eta = (LEAST_SHARE.ln(), -LEAST_SHARE.ln());
        let share = ((LEAST_SHARE * self.variance).ln(), (MOST_SHARE * self.variance).ln());
        let mut bounds = if form.exact { vec![range, eta] } else { vec![range, share, share] };
        bounds.extend(form.across.then_some((-MOST_ACROSS.ln(), MOST_ACROSS.ln())));
        bounds
    }

    fn coordinates(&self, model: &CovarianceModel, across_ratio: f64, form: Form) -> Vec<f64> {
        let range = model.range_m.ln();
        let floor = LEAST_SHARE * self.variance;
        let (nugget, psill) = (model.nugget.max(floor), model.psill.max(floor));
        let mut at = if form.exact {
            vec![range, (nugget / psill).ln()]
        } else {
            vec![range, nugget.ln(), psill.ln()]
        };
        at.extend(form.across.then_some(across_ratio.ln()));
        at
    }

    /// The best of a coarse lattice of ranges and nugget shares: the likelihood may have two tops.
    fn best_of_grid(&self, form: Form, noise: &[f64]) -> Option<Vec<f64>> {
        let (least, most) = self.bounds(form)[0];
        let mut starts = Vec::new();
        for step in 0..6 {
            let range_m = (least + (most - least) * (f64::from(step) + 0.5) / 6.0).exp();
            for share in [0.2, 0.5, 0.8] {
                let (nugget, psill) = (share * self.variance, (1.0 - share) * self.variance);
                let model = CovarianceModel { family: self.rules.family, nugget, psill, range_m };
                starts.push(self.coordinates(&model, 1.0, form));
            }
        }
        let values: Vec<f64> = starts
            .par_iter()
            .map(|x| self.minus_ln_likelihood(x, form, noise).unwrap_or(f64::MAX))
            .collect();
        let best = (0..values.len()).min_by(|&a, &b| values[a].total_cmp(&values[b]))?;
        Some(starts.swap_remove(best))
    }

    fn minus_ln_likelihood(&self, x: &[f64], form: Form, noise: &[f64]) -> Option<f64> {
        let (model, across_ratio) = self.shape_at(x, form);
        let parts = self.parts(&model, across_ratio, noise)?;
        let (squares, degrees) = totals(&parts);
        let determinants: f64 = parts.iter().map(|p| p.ln_determinants).sum();
        let fit = if form.exact { degrees * (squares / degrees).ln() } else { squares };
        Some(0.5 * (determinants + fit))
    }

    fn parts(
        &self,
        model: &CovarianceModel,
        across_ratio: f64,
        noise: &[f64],
    ) -> Option<Vec<Parts>> {
        let one = |group: &Group| {
            let noise: Vec<f64> = group.counts.iter().map(|&count| noise[count]).collect();
            group.parts_of(Some((model, across_ratio)), &noise)
        };
        match self.groups.as_slice() {
            [only] => Some(vec![one(only)?]),
            groups => groups.par_iter().map(one).collect(),
        }
    }

    /// The model at some coordinates; of exact counts the sill is 1 until it is profiled.
    fn shape_at(&self, x: &[f64], form: Form) -> (CovarianceModel, f64) {
        let (nugget, psill) = if form.exact { (x[1].exp(), 1.0) } else { (x[1].exp(), x[2].exp()) };
        let across_ratio = if form.across { x[x.len() - 1].exp() } else { 1.0 };
        let model =
            CovarianceModel { family: self.rules.family, nugget, psill, range_m: x[0].exp() };
        (model, across_ratio)
    }

    fn model_at(&self, x: &[f64], form: Form, noise: &[f64]) -> Option<(CovarianceModel, f64)> {
        let (shape, across_ratio) = self.shape_at(x, form);
        if !form.exact {
            return Some((shape, across_ratio));
        }
        let (squares, degrees) = totals(&self.parts(&shape, across_ratio, noise)?);
        let sill = squares / degrees;
        let model = CovarianceModel { nugget: shape.nugget * sill, psill: sill, ..shape };
        Some((model, across_ratio))
    }
}

impl Group {
    /// `counts` are some of all; outside they are numbered from `first`.
    fn new(
        population: &Population,
        all: &[Observed],
        (counts, first): (Vec<usize>, usize),
    ) -> Self {
        let observed: Vec<Observed> = counts.iter().map(|&count| all[count].clone()).collect();
        let counts = counts.into_iter().map(|count| count + first).collect();
        let values = observed.iter().map(|count| count.value).collect();
        let pairs = Pairs::new(population, &observed);
        let rows = observed.iter().map(|count| population.row_of(&count.plants)).collect();
        Self { counts, rows, values, pairs }
    }

    /// With a model its covariance, without one independent counts.
    fn parts_of(&self, model: Option<(&CovarianceModel, f64)>, noise: &[f64]) -> Option<Parts> {
        let n = self.values.len();
        let matrix = model.map_or_else(
            || (0..n * n).map(|k| f64::from(u8::from(k % (n + 1) == 0))).collect(),
            |(model, across_ratio)| self.pairs.matrix(model, across_ratio, noise),
        );
        let factor = Cholesky::factor(matrix, n)?;
        let gls = Gls::solve(&self.rows, &self.values, &factor)?;
        Some(Parts {
            ln_determinants: factor.ln_determinant() + gls.mean_factor.ln_determinant(),
            squares: dot(&gls.whitened, &gls.whitened),
            degrees: float(n) - float(gls.columns.len()),
        })
    }
}

fn is_exact(noise: &[f64]) -> bool {
    noise.iter().all(|v| *v <= 0.0)
}

fn totals(parts: &[Parts]) -> (f64, f64) {
    (parts.iter().map(|p| p.squares).sum(), parts.iter().map(|p| p.degrees).sum())
}

/// All counts, or groups of neighbours by halving the longer side.
fn neighbours_together(population: &Population, observed: &[Observed]) -> Vec<Vec<usize>> {
    let all: Vec<usize> = (0..observed.len()).collect();
    if all.len() <= MOST_TOGETHER {
        return vec![all];
    }
    let middles: Vec<[f64; 2]> = observed.iter().map(|count| count.middle(population)).collect();
    let groups = halved(all, &middles, MOST_IN_GROUP);
    let chosen = groups.len().min(MOST_GROUPS);
    (0..chosen).map(|k| groups[k * groups.len() / chosen].clone()).collect()
}
