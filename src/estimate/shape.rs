//! What a fitted map takes beyond one mean a planting and one range: a raster, another range across.

use std::sync::Arc;

use super::{
    Field,
    check_fit::errors_of_mean,
    choose::{Choice, across_the_rows},
    design::RasterColumn,
    map::Quantity,
    settle::Settled,
};
use crate::{
    finding::Finding,
    maths::{covariance::CovarianceModel, float},
    names::number_of,
};

/// Wald's statistic above which a column differs from nothing: |t| > 2.
const LEAST_WALD: f64 = 4.0;

/// A settled fit, and in words what it takes beyond the plain one.
pub(super) struct Shaped {
    pub settled: Settled,
    pub words: String,
    /// A raster is used: there is a pattern even where the rest has none.
    pub trend: bool,
}

impl Quantity<'_> {
    /// The plain fit, or the one that earns its place beside it.
    pub(super) fn shaped(&self, plain: Settled) -> Option<Shaped> {
        let raster = self.raster();
        let allowed = self.used.len() >= self.settings.fewest_for_anisotropy;
        let as_it_is = |settled| Some(Shaped { settled, words: String::new(), trend: false });
        if raster.is_none() && !allowed {
            return as_it_is(plain);
        }
        let observed = &plain.observed;
        let with_raster = raster.and_then(|raster| self.with_raster(raster, &plain));
        let trend = with_raster.is_some();
        let (population, model) = with_raster.as_ref().map_or_else(
            || (&plain.kriging.population, plain.kriging.model()),
            |choice| (&choice.population, choice.model),
        );
        let stretched =
            allowed.then(|| across_the_rows(population, observed, model, self.fit_rules()));
        let stretched = stretched.flatten();
        let across = stretched.is_some();
        let Some(choice) = stretched.or(with_raster) else { return as_it_is(plain) };
        let mut settled = self.settle_fit(&choice.population)?;
        settled.across_ratio = choice.across_ratio;
        let words = [
            trend.then(|| "; follows the raster".to_owned()),
            across.then(|| ranges_in_words(&settled)),
        ];
        Some(Shaped { settled, words: words.into_iter().flatten().collect(), trend })
    }

    /// The raster as a column of the mean of shoots.
    fn raster(&self) -> Option<&RasterColumn> {
        self.ground.raster.as_ref().filter(|_| self.rules.counting)
    }

    fn with_raster(&self, raster: &RasterColumn, plain: &Settled) -> Option<Choice> {
        let (kriging, observed) = (&plain.kriging, &plain.observed);
        let plain = Choice::of(Arc::clone(&kriging.population), observed, kriging.model(), 1.0)?;
        let population = plain.population.with_columns(std::slice::from_ref(&raster.values));
        let choice = Choice::plain(&Arc::new(population), observed, self.fit_rules())?;
        let of_mean = errors_of_mean(&self.used, self.ground.names.len());
        let squares: f64 = of_mean.iter().map(|error| error * error).sum();
        let of_mean = (squares / float(of_mean.len())).sqrt();
        let most = (1.0 - self.settings.least_trend_gain) * plain.rmse.min(of_mean);
        (choice.wald > LEAST_WALD && choice.rmse < most).then_some(choice)
    }

    /// Whether the map of shoots follows the raster, where one was given.
    pub(super) fn told_of_raster(&self, used: bool) -> Option<Finding> {
        let raster = self.raster()?;
        let counts = number_of(self.used.len(), "count");
        let on = format!("{counts}, correlation {:.2}", self.correlation(raster));
        if !used {
            let what = format!("the map of {} does not follow the raster ({on})", self.what);
            return Some(
                Finding::note(self.place.clone(), what)
                    .because("with it counts are not foretold enough better from each other"),
            );
        }
        let without = match raster.without {
            0 => String::new(),
            n => format!("; {} without a value take their planting's mean", number_of(n, "vine")),
        };
        let what = format!("the map of {} follows the raster ({on}){without}", self.what);
        Some(Finding::note(self.place.clone(), what))
    }

    /// Of the counts with the raster, each around the mean of its kind.
    fn correlation(&self, raster: &RasterColumn) -> f64 {
        let x = |u: &super::design::Used| -> f64 {
            u.observed.plants.iter().map(|&(vine, w)| w * raster.values[vine]).sum()
        };
        let mut means = vec![[0.0; 3]; self.ground.names.len()];
        for u in &self.used {
            let [sum_x, sum_y, number] = &mut means[u.kind];
            *sum_x += x(u);
            *sum_y += u.observed.value;
            *number += 1.0;
        }
        let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
        for u in &self.used {
            let [sum_x, sum_y, number] = means[u.kind];
            let (dx, dy) = (x(u) - sum_x / number, u.observed.value - sum_y / number);
            xx += dx * dx;
            yy += dy * dy;
            xy += dx * dy;
        }
        if xx > 0.0 && yy > 0.0 { xy / (xx * yy).sqrt() } else { 0.0 }
    }
}

fn ranges_in_words(settled: &Settled) -> String {
    let along = settled.kriging.model().range_m;
    let across = along / settled.across_ratio;
    format!("; range {along:.0} m along the rows, {across:.0} m across them")
}

impl Field {
    /// A place in the metres of [`Field::model`].
    pub fn stretched(&self, at: [f64; 2]) -> [f64; 2] {
        [at[0], at[1] * self.across_ratio]
    }

    /// The variation with one range for all ways: between those along and across the rows, where they
    /// are two.
    pub(super) fn model_of_all_ways(&self) -> Option<CovarianceModel> {
        let model = self.model?;
        Some(CovarianceModel { range_m: model.range_m / self.across_ratio.sqrt(), ..model })
    }

    /// How far the mean of some vines lies from their planting's by what a raster says, per metre.
    pub fn trend_per_m(&self, vines: &[usize]) -> f64 {
        let Some(solved) = &self.solved else { return 0.0 };
        let sum: f64 = vines.iter().map(|&vine| solved.values.trend_of(vine)).sum();
        sum / float(vines.len().max(1))
    }
}
