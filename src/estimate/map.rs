//! One quantity over all vines: which method the counts allow, and the map that it gives.

use std::sync::Arc;

use super::{
    Field, LeaveOneOut, LeftOut, Method, VineEstimate,
    check_fit::errors_of_mean,
    count_noise::NoiseRules,
    design::{Ground, Used},
    in_line::in_line,
    kriging::{Kriging, Observed, Prediction},
    predict::Nearby,
    settle::Settled,
    shape::Shaped,
    short::Widening,
    solved::Solved,
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    maths::{covariance::CovarianceModel, float, normal},
    names::number_of,
    settings::EstimateSettings,
};

/// Counts of one quantity on the ground, and how to treat them.
#[derive(Debug)]
pub(super) struct Quantity<'a> {
    pub ground: &'a Ground,
    pub used: Vec<Used>,
    pub rules: NoiseRules,
    pub settings: &'a EstimateSettings,
    /// The block, for findings.
    pub place: Place,
    /// `shoots`, `pruning weight` …
    pub what: &'a str,
}

/// A map as it comes out of one method.
pub(super) struct Draft {
    pub method: Method,
    pub why: String,
    pub plants: Vec<usize>,
    pub predictions: Vec<Option<Prediction>>,
    pub model: Option<CovarianceModel>,
    pub check: Option<LeaveOneOut>,
    /// Error and variance of every count, foretold from the others.
    pub errors: Vec<(f64, f64)>,
    pub scale: f64,
}

/// Predictions of plants, and error and variance of every count left out.
type Foretold = (Vec<Option<Prediction>>, Vec<(f64, f64)>);

/// The map of one quantity.
pub(super) fn field(mut quantity: Quantity<'_>) -> Result<(Field, Findings), Error> {
    let mut findings = Findings::none();
    let with_mean = quantity.choose_kinds(&mut findings);
    let n = quantity.used.len();
    let fewest = quantity.settings.fewest_for_kriging;
    let field = if n == 0 {
        None
    } else if quantity.is_given() {
        Some(quantity.given(&with_mean)?)
    } else if with_mean.iter().all(|known| !known) {
        Some(quantity.too_few(&mut findings))
    } else if n < fewest {
        let why = format!("{}: fewer than {fewest} allow no fit", number_of(n, "count"));
        let shared = quantity.shared(&with_mean);
        shared.or_else(|| quantity.few(&with_mean, &why, true, None))
    } else {
        quantity.many(&with_mean, &mut findings)
    };
    if field.as_ref().is_some_and(|field| field.method.has_pattern()) {
        let doubt = in_line(quantity.ground, &quantity.used, quantity.what, &quantity.place);
        findings.extend(doubt.into_iter().collect());
    }
    let nothing = || quantity.nothing(format!("no count of {} could be used", quantity.what));
    Ok((field.unwrap_or_else(nothing), findings))
}

impl Quantity<'_> {
    /// Kinds with enough counts for a mean of their own; counts of other kinds are set aside unless
    /// no kind has enough.
    pub(super) fn choose_kinds(&mut self, findings: &mut Findings) -> Vec<bool> {
        let kinds = self.ground.names.len();
        let mut numbers = vec![0; kinds];
        self.used.iter().for_each(|u| numbers[u.kind] += 1);
        let fewest = if self.is_given() { 1 } else { self.settings.fewest_for_map };
        let enough: Vec<bool> = numbers.iter().map(|&number| number >= fewest).collect();
        if enough.iter().any(|enough| *enough) {
            for kind in (0..kinds).filter(|&kind| !enough[kind] && self.ground.grows(kind)) {
                findings.push(self.left_out(kind, numbers[kind], fewest));
            }
            self.used.retain(|u| enough[u.kind]);
        }
        enough
    }

    fn left_out(&self, kind: usize, number: usize, fewest: usize) -> Finding {
        let name = &self.ground.names[kind];
        let what =
            format!("{} of {} on {name}: no map there", number_of(number, "count"), self.what);
        Finding::warning(self.place.clone(), what)
            .because(format!("a map needs {fewest}, and another planting's would be a guess"))
            .mend(format!("count at least {} more there", fewest - number))
    }

    const fn is_given(&self) -> bool {
        self.settings.pinned.is_some() || self.settings.no_count_noise
    }

    /// A pinned variation or exact counts: kriging, whatever the number of counts.
    fn given(&self, with_mean: &[bool]) -> Result<Field, Error> {
        let fitted = || self.reml()?.fit(&self.no_noise());
        let Some(model) = self.settings.pinned.or_else(fitted) else {
            let n = self.used.len();
            let what = format!("{n} counts of {} are too alike to fit a variation", self.what);
            return Err(Finding::fault(self.place.at_field("--no-count-noise"), what)
                .mend("give one with --variogram, or leave --no-count-noise away")
                .into());
        };
        let source = if self.settings.pinned.is_some() { "given" } else { "fitted" };
        let why = format!("{}, variation {source}", number_of(self.used.len(), "count"));
        let settled = self.settle(None, |_| Some(model));
        let field = settled.and_then(|settled| self.kriged(&settled, with_mean, &why));
        field.ok_or_else(|| {
            let what = format!("the variation `{model}` cannot be used with these counts");
            Finding::fault(self.place.at_field("--variogram"), what)
                .because("exact counts of the same vines contradict each other under it")
                .mend("give a larger nugget, or count each vine alone or in its panel, not both")
                .into()
        })
    }

    /// Fewer counts than a map needs: means of sets of vines, and no vine's own.
    fn too_few(&self, findings: &mut Findings) -> Field {
        let (n, fewest) = (self.used.len(), self.settings.fewest_for_map);
        let why = format!("{} of {}: a map needs {fewest}", number_of(n, "count"), self.what);
        findings.push(
            Finding::warning(self.place.clone(), why.clone())
                .because("means of zones are given where two counts allow them, and are rough")
                .mend(format!("count at least {} more", fewest.saturating_sub(n))),
        );
        let mut field = self.nothing(why);
        field.solved = self.settle_mean().and_then(|settled| self.solved(&settled, None, 1.0));
        field
    }

    /// Kriging with the variation that small blocks share, when leave-one-out says that it is of
    /// use here.
    fn shared(&self, with_mean: &[bool]) -> Option<Field> {
        let shared = self.settings.shared.filter(|_| self.rules.counting)?;
        let settled = self.settle(Some(shared.model.nugget), |_| Some(shared.model))?;
        let why = format!(
            "{}, variation shared by {} with {}",
            number_of(self.used.len(), "count"),
            number_of(shared.blocks, "small block"),
            number_of(shared.counts, "count")
        );
        let field = self.kriged(&settled, with_mean, &why)?;
        field.check.is_some_and(|check| check.skill() > 0.0).then_some(field)
    }

    /// Kriging with a fitted variation, when leave-one-out says that it is of use.
    fn many(&self, with_mean: &[bool], findings: &mut Findings) -> Option<Field> {
        let plain = self.settle_fit(&self.ground.population);
        let shaped = plain.and_then(|plain| self.shaped(plain));
        let trend = shaped.as_ref().is_some_and(|shaped| shaped.trend);
        let field = self.fitted(shaped, with_mean);
        let used = trend && field.as_ref().is_some_and(|field| field.method == Method::Kriging);
        findings.extend(self.told_of_raster(used).into_iter().collect());
        field
    }

    fn fitted(&self, shaped: Option<Shaped>, with_mean: &[bool]) -> Option<Field> {
        let n = self.used.len();
        let one_mean = |reason: &str, errors: Option<&Kriging>| {
            let why = format!("no spatial pattern at this number of counts ({n}): {reason}");
            self.few(with_mean, &why, false, errors)
        };
        let Some(Shaped { settled, words, trend }) = shaped else {
            return one_mean("no variation could be fitted", None);
        };
        let model = settled.kriging.model();
        let share = model.nugget / (model.nugget + model.psill);
        if share > self.settings.most_nugget_share && !trend {
            let reason = format!("{:.0} % of the variation is nugget", 100.0 * share);
            return one_mean(&reason, Some(&settled.kriging));
        }
        let why = format!("{n} counts, variation by restricted maximum likelihood{words}");
        match self.kriged(&settled, with_mean, &why) {
            Some(field) if field.check.is_some_and(|check| check.skill() > 0.0) => Some(field),
            Some(_) => {
                let reason = "leave-one-out does no better than the mean";
                one_mean(reason, Some(&settled.kriging))
            }
            None => one_mean("neighbouring counts contradict each other", None),
        }
    }

    fn kriged(&self, settled: &Settled, with_mean: &[bool], why: &str) -> Option<Field> {
        let plants = self.ground.known(with_mean);
        let kriging = &settled.kriging;
        let (predictions, errors) = self.predict(settled, &plants)?;
        let of_mean = errors_of_mean(&self.used, self.ground.names.len());
        let check = LeaveOneOut::new(&errors, &of_mean, self.student(kriging))
            .filter(|check| check.msdr.is_finite() && self.used.len() > kriging.fitted_means());
        let scaled = check.filter(|_| !self.settings.no_count_noise);
        let draft = Draft {
            method: Method::Kriging,
            why: format!("{why}{}", self.noise_words(settled)),
            plants,
            predictions,
            model: Some(kriging.model()),
            check,
            errors,
            scale: scaled.map_or(1.0, |check| check.msdr.max(1.0).sqrt()),
        };
        Some(self.finish(draft, settled, None))
    }

    /// Every plant, and every count left out: from all counts or from the nearest.
    fn predict(&self, settled: &Settled, plants: &[usize]) -> Option<Foretold> {
        let (kriging, settings) = (&settled.kriging, self.settings);
        let few = settings.all_at_once || self.used.len() <= settings.most_at_once;
        if few && self.at_once() {
            return Some((kriging.predict(plants), kriging.left_out()));
        }
        // A trend of a raster or a slope is fitted from all counts: the nearest are too few for it.
        let kinds: Vec<usize> = self.used.iter().map(|u| u.kind).collect();
        let population = Arc::new(kriging.population.without_trend());
        let observed = without_trend(kriging, &settled.observed);
        let nearby =
            Nearby::new(&population, &observed, &kinds, kriging.model(), settings.neighbours);
        let mut predictions = nearby.predict(plants, |plant| self.ground.kind[plant]).ok()?;
        for (&plant, prediction) in plants.iter().zip(&mut predictions) {
            let trend = kriging.trend_of(plant);
            if let Some(found) = prediction {
                found.value += trend;
                found.surface += trend;
            }
        }
        Some((predictions, nearby.left_out(&kinds).ok()?))
    }

    /// `errors` is the system from which errors of means of many vines come, when another.
    pub(super) fn finish(
        &self,
        draft: Draft,
        settled: &Settled,
        errors: Option<&Kriging>,
    ) -> Field {
        let mut field = self.nothing(draft.why);
        for (&plant, prediction) in draft.plants.iter().zip(&draft.predictions) {
            field.vines[plant] = prediction.map(|p| VineEstimate {
                per_m: p.value,
                se_per_m: Some(p.variance.sqrt()).filter(|se| se.is_finite()),
                surface_per_m: p.surface,
            });
        }
        let mean = |&kind: &usize| settled.kriging.mean(kind).map(|_| settled.means[kind]);
        field.planting_means = self.ground.kind_of_planting.iter().map(mean).collect();
        field.method = draft.method;
        field.model = draft.model;
        field.across_ratio = settled.across_ratio;
        field.check = draft.check;
        if draft.check.is_some() {
            field.left_out = LeftOut::all(&self.used, &draft.errors);
            field.count_noise = mean_noise(settled);
        }
        field.solved = self.solved(settled, errors, draft.scale);
        field
    }

    fn nothing(&self, why: String) -> Field {
        Field {
            vines: vec![None; self.ground.stands.len()],
            method: Method::None,
            why,
            model: None,
            across_ratio: 1.0,
            check: None,
            left_out: Vec::new(),
            count_noise: 0.0,
            observations: self.used.len(),
            planting_means: vec![None; self.ground.kind_of_planting.len()],
            planting_spreads: vec![None; self.ground.kind_of_planting.len()],
            solved: None,
        }
    }

    /// What intervals and means of many vines come from.
    fn solved(&self, settled: &Settled, errors: Option<&Kriging>, scale: f64) -> Option<Solved> {
        let values = Arc::new(settled.kriging.clone());
        let errors = match errors {
            Some(errors) => Arc::new(errors.clone()),
            None if settled.kriging.model().psill > 0.0 => Arc::clone(&values),
            None => Arc::new(self.assumed_pattern(&settled.kriging)?),
        };
        let exact = self.settings.no_count_noise;
        Some(Solved {
            widening: self.widening(),
            scale,
            student: self.student(&settled.kriging),
            degrees_of_freedom: (!exact).then_some(self.degrees(&settled.kriging)),
            stands: self.ground.stands.clone().into(),
            values,
            errors,
        })
    }

    /// How errors of means are widened: where counts are few and their variation is not given.
    fn widening(&self) -> Option<Widening> {
        let few = self.settings.fewest_for_map..self.settings.fewest_for_means;
        let few = few.contains(&self.used.len()) && !self.is_given();
        let pure = few.then(|| self.settle_mean()).flatten()?;
        let factor = self.settings.widening_of_means;
        Some(Widening { patternless: Arc::new(pure.kriging), factor })
    }

    fn degrees(&self, kriging: &Kriging) -> f64 {
        (float(self.used.len()) - float(kriging.fitted_means())).max(1.0)
    }

    /// Half a 90 % interval in standard errors.
    pub(super) fn student(&self, kriging: &Kriging) -> f64 {
        if self.settings.no_count_noise {
            return normal::quantile(0.95);
        }
        normal::student_quantile(0.95, self.degrees(kriging))
    }
}

/// The mean counting noise of a count, variance.
fn mean_noise(settled: &Settled) -> f64 {
    let noises = settled.observed.iter().map(|count| count.noise);
    noises.sum::<f64>() / float(settled.observed.len().max(1))
}

/// The counts less their trend.
fn without_trend(kriging: &Kriging, observed: &[Observed]) -> Vec<Observed> {
    let one = |count: &Observed| {
        let trend: f64 = count.plants.iter().map(|&(plant, w)| w * kriging.trend_of(plant)).sum();
        Observed { value: count.value - trend, ..count.clone() }
    };
    observed.iter().map(one).collect()
}
