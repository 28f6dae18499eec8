//! One quantity over all vines: which method the counts allow, and the map that it gives.

use std::sync::Arc;

use super::{
    Field, LeaveOneOut, Method, Solved, VineEstimate,
    check_fit::errors_of_mean,
    count_noise::{NoiseRules, dispersion, lowered, noise},
    design::{Ground, Used},
    few::{InverseDistance, variance_around_means},
    fit::{FitRules, Reml},
    kriging::{Kriging, Observed, Prediction},
    predict::{Nearby, put_together},
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    maths::{
        covariance::{CovarianceModel, Family},
        normal,
    },
    settings::EstimateSettings,
};

/// Most counts in the one system from which the errors of means of many vines come.
const MOST_FOR_MEANS: usize = 600;
/// Rounds in which the noise and the means that it depends on settle.
const MOST_ROUNDS: usize = 12;

/// Counts of one quantity on the ground, and how to treat them.
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

/// A solved system and what its noise rests on.
struct Settled {
    kriging: Kriging,
    /// The fitted mean of each kind; of kinds without a count 0.
    means: Vec<f64>,
    phi: Vec<f64>,
    /// φ before it was lowered.
    phi_before: f64,
}

/// The map of one quantity.
pub(super) fn field(mut quantity: Quantity<'_>) -> Result<(Field, Findings), Error> {
    let mut findings = Findings::none();
    let with_mean = quantity.choose_kinds(&mut findings);
    let n = quantity.used.len();
    let settings = quantity.settings;
    let given = settings.pinned.is_some() || settings.no_count_noise;
    let field = if n == 0 {
        quantity.nothing(format!("no count of {} could be used", quantity.what))
    } else if given {
        quantity.given(&with_mean)?
    } else if with_mean.iter().all(|known| !known) {
        quantity.too_few()
    } else if n < settings.fewest_for_kriging {
        let why = format!("{n} counts: fewer than {} allow no fit", settings.fewest_for_kriging);
        quantity.few(&with_mean, why, true)
    } else {
        quantity.many(&with_mean)
    };
    let field = field.or_else(|| {
        let why = format!("the {n} counts of {} contradict each other", quantity.what);
        quantity.nothing(why)
    });
    let field = field.ok_or_else(|| Error::Unexpected("no estimate could be made".to_owned()))?;
    Ok((field, findings))
}

impl Quantity<'_> {
    /// Kinds with enough counts for a mean of their own; counts of other kinds are set aside unless
    /// no kind has enough.
    fn choose_kinds(&mut self, findings: &mut Findings) -> Vec<bool> {
        let kinds = self.ground.names.len();
        let mut numbers = vec![0; kinds];
        self.used.iter().for_each(|u| numbers[u.kind] += 1);
        let given = self.settings.pinned.is_some() || self.settings.no_count_noise;
        let fewest = if given { 1 } else { self.settings.fewest_for_map };
        let enough: Vec<bool> = numbers.iter().map(|&number| number >= fewest).collect();
        for kind in (0..kinds).filter(|&kind| !enough[kind] && self.grows(kind)) {
            let (name, number) = (&self.ground.names[kind], numbers[kind]);
            findings.push(
                Finding::warning(
                    self.place.clone(),
                    format!("{number} counts of {} on {name}: no map there", self.what),
                )
                .because(format!("a map needs {fewest}, and another planting's would be a guess"))
                .mend(format!("count at least {} more", fewest - number)),
            );
        }
        if enough.iter().any(|enough| *enough) {
            self.used.retain(|u| enough[u.kind]);
        }
        enough
    }

    fn grows(&self, kind: usize) -> bool {
        (0..self.ground.stands.len()).any(|v| self.ground.stands[v] && self.ground.kind[v] == kind)
    }

    /// A pinned variation or exact counts: kriging, whatever the number of counts.
    fn given(&self, with_mean: &[bool]) -> Result<Option<Field>, Error> {
        let model = self.settings.pinned.or_else(|| self.reml()?.fit(&self.no_noise(), None));
        let Some(model) = model else {
            return Err(Finding::fault(
                self.place.at_field("--no-count-noise"),
                format!(
                    "{} counts of {} do not vary enough to fit a variation",
                    self.used.len(),
                    self.what
                ),
            )
            .mend("give one with --variogram, or leave --no-count-noise away")
            .into());
        };
        let Some(settled) = self.settle(None, |_| Some(model)) else {
            return Err(Finding::fault(self.place.at_field("--variogram"), format!(
                "the variation `{model}` cannot be used with these counts"
            ))
            .because("two exact counts lie on the same vines, or its nugget is too small for counts so near each other")
            .mend("give a larger nugget")
            .into());
        };
        let source = if self.settings.pinned.is_some() { "given" } else { "fitted" };
        let why = format!("{} counts, variation {source}: {model}", self.used.len());
        Ok(self.kriged(&settled, with_mean, why))
    }

    /// Fewer counts than a map needs: a mean for sets of vines, and no vine's own.
    fn too_few(&self) -> Option<Field> {
        let why = format!(
            "{} counts of {}: a map needs {}",
            self.used.len(),
            self.what,
            self.settings.fewest_for_map
        );
        let settled = self.settle_mean();
        let mut field = self.nothing(why)?;
        if let Some(settled) = settled {
            field.solved = self.solved(&settled, 1.0);
        }
        Some(field)
    }

    /// A map by inverse distance, shrunk to the mean; only the mean without `with_map`.
    fn few(&self, with_mean: &[bool], why: String, with_map: bool) -> Option<Field> {
        let mut settled = self.settle_mean()?;
        let of_mean = errors_of_mean(&self.used, self.ground.names.len());
        let map = InverseDistance::new(self.ground, &self.used, &settled.means, &of_mean);
        let useful = with_map && map.kept > 0.0;
        let variances = settled.kriging.left_out().into_iter().map(|(_, v)| v);
        let errors = if useful { &map.errors } else { &of_mean };
        let errors: Vec<(f64, f64)> = errors.iter().copied().zip(variances).collect();
        if useful {
            settled.kriging = self.without_map(&settled.kriging, &map)?;
        }
        let deviation = |at: [f64; 2]| if useful { map.deviation(at) } else { 0.0 };
        let plants = self.ground.known(with_mean);
        let predictions = settled.kriging.predict(&plants);
        let shifted = plants.iter().zip(predictions).map(|(&plant, prediction)| {
            let shift = deviation(self.ground.population.places()[plant]);
            prediction.map(|p| Prediction {
                value: p.value + shift,
                surface: p.surface + shift,
                ..p
            })
        });
        let shifted: Vec<Option<Prediction>> = shifted.collect();
        let why = if useful {
            format!(
                "{why}; inverse distance, {:.0} % of it kept by leave-one-out",
                100.0 * map.kept
            )
        } else {
            format!("{why}; one mean a planting")
        };
        let mut field = self.nothing(why + &self.noise_words(&settled))?;
        field.method = if useful { Method::InverseDistance } else { Method::Mean };
        self.fill(&mut field, &plants, &shifted);
        field.solved = self.solved(&settled, 1.0);
        field.check = LeaveOneOut::new(&errors, &of_mean, self.student(&settled.kriging));
        self.fill_means(&mut field, &settled);
        Some(field)
    }

    /// The same system for what the map leaves over.
    fn without_map(&self, kriging: &Kriging, map: &InverseDistance) -> Option<Kriging> {
        let population = &self.ground.population;
        let observed = kriging.observed().iter().map(|count| Observed {
            value: count.value - map.deviation(count.middle(population)),
            ..count.clone()
        });
        Kriging::solve(Arc::clone(population), observed.collect(), kriging.model()).ok()
    }

    /// Kriging with a fitted variation, when leave-one-out says that it is of use.
    fn many(&self, with_mean: &[bool]) -> Option<Field> {
        let n = self.used.len();
        let mean_only = |reason: &str| {
            self.few(
                with_mean,
                format!("no spatial pattern at this number of counts ({n}: {reason})"),
                false,
            )
        };
        let Some(reml) = self.reml() else { return mean_only("they do not vary") };
        let Some(raw) = reml.fit(&self.no_noise(), None) else {
            return mean_only("no variation could be fitted");
        };
        let (mut last, mut fitted_with) = (raw, self.no_noise());
        let settled = self.settle(Some(raw.nugget), |noise| {
            // Noise that hardly moved moves no variation.
            let moved = |(new, old): (&f64, &f64)| (new - old).abs() > 1e-4 * new;
            if noise.iter().zip(&fitted_with).any(moved) {
                last = reml.fit(noise, Some(last))?;
                fitted_with = noise.to_vec();
            }
            Some(last)
        });
        let Some(settled) = settled else { return mean_only("no variation could be fitted") };
        let model = settled.kriging.model();
        let share = model.nugget / (model.nugget + model.psill);
        if share > self.settings.most_nugget_share {
            return mean_only(&format!("{:.0} % of the variation is nugget", 100.0 * share));
        }
        let why = format!("{n} counts, variation by restricted maximum likelihood");
        let field = self.kriged(&settled, with_mean, why)?;
        match field.check {
            Some(check) if check.skill() > 0.0 => Some(field),
            _ => mean_only("leave-one-out does no better than the mean"),
        }
    }

    fn kriged(&self, settled: &Settled, with_mean: &[bool], why: String) -> Option<Field> {
        let plants = self.ground.known(with_mean);
        let kriging = &settled.kriging;
        let exact = self.settings.no_count_noise;
        let all = self.settings.all_at_once || self.used.len() <= self.settings.most_at_once;
        let (predictions, errors) = if all {
            (kriging.predict(&plants), kriging.left_out())
        } else {
            let kinds: Vec<usize> = self.used.iter().map(|u| u.kind).collect();
            let nearby = Nearby::new(
                &self.ground.population,
                kriging.observed(),
                &kinds,
                kriging.model(),
                self.settings.neighbours,
            );
            let kind_of = |plant: usize| self.ground.kind[plant];
            (nearby.predict(&plants, kind_of).ok()?, nearby.left_out(&kinds).ok()?)
        };
        let of_mean = errors_of_mean(&self.used, self.ground.names.len());
        let check = LeaveOneOut::new(&errors, &of_mean, self.student(kriging));
        let scale = if exact { 1.0 } else { check.map_or(1.0, |c| c.msdr.max(1.0).sqrt()) };
        let mut field = self.nothing(why + &self.noise_words(settled))?;
        field.method = Method::Kriging;
        field.model = Some(kriging.model());
        field.check = check.filter(|_| self.used.len() > kriging.fitted_means());
        self.fill(&mut field, &plants, &predictions);
        field.solved = self.solved(settled, scale);
        self.fill_means(&mut field, settled);
        Some(field)
    }

    fn reml(&self) -> Option<Reml> {
        let least = self.ground.spacing_m.max(1e-3);
        let most = (0.5 * self.ground.extent_m).max(1.5 * least);
        let rules = FitRules { family: self.settings.family, range_m: (least, most) };
        let observed: Vec<Observed> = self.used.iter().map(|u| u.observed.clone()).collect();
        Reml::new(&self.ground.population, &observed, rules)
    }

    fn no_noise(&self) -> Vec<f64> {
        vec![0.0; self.used.len()]
    }

    /// One mean a kind and a variance around it.
    fn settle_mean(&self) -> Option<Settled> {
        let kinds = self.ground.names.len();
        let pure = |nugget: f64| CovarianceModel {
            family: Family::Exponential,
            nugget,
            psill: 0.0,
            range_m: 1.0,
        };
        let raw = variance_around_means(&self.used, &self.no_noise(), kinds);
        let settled = self.settle(Some(raw), |noise| {
            Some(pure(variance_around_means(&self.used, noise, kinds)))
        })?;
        let degrees = self.used.len().checked_sub(settled.kriging.fitted_means());
        (degrees > Some(0)).then_some(settled)
    }

    /// Solves with noise that depends on the means and means that depend on the noise, until both
    /// settle. φ is lowered where noise exceeds `raw_nugget`.
    fn settle(
        &self,
        raw_nugget: Option<f64>,
        mut model_of: impl FnMut(&[f64]) -> Option<CovarianceModel>,
    ) -> Option<Settled> {
        let mut means = plain_means(&self.used, self.ground.names.len());
        let mut rounds = 0;
        loop {
            let (phi_before, _) = dispersion(&self.used, &means);
            let phi = match raw_nugget {
                Some(nugget) => lowered(&self.used, &means, phi_before, nugget),
                None => vec![phi_before; means.len()],
            };
            let noise = noise(&self.used, &means, &phi, &self.rules);
            let kriging = self.solve(&noise, model_of(&noise)?)?;
            let next: Vec<f64> =
                (0..means.len()).map(|kind| kriging.mean(kind).unwrap_or(0.0)).collect();
            let moved = means.iter().zip(&next).any(|(a, b)| (a - b).abs() > 1e-9 * b.abs());
            means = next;
            rounds += 1;
            if self.rules.none || !moved || rounds == MOST_ROUNDS {
                return Some(Settled { kriging, means, phi, phi_before });
            }
        }
    }

    fn solve(&self, noise: &[f64], model: CovarianceModel) -> Option<Kriging> {
        let observed = self
            .used
            .iter()
            .zip(noise)
            .map(|(u, &noise)| Observed { noise, ..u.observed.clone() })
            .collect();
        Kriging::solve(Arc::clone(&self.ground.population), observed, model).ok()
    }

    /// What intervals and means of many vines come from.
    fn solved(&self, settled: &Settled, scale: f64) -> Option<Solved> {
        let kinds: Vec<usize> = self.used.iter().map(|u| u.kind).collect();
        let kriging = &settled.kriging;
        let all = self.settings.all_at_once || kriging.observed().len() <= MOST_FOR_MEANS;
        let kriging = if all {
            kriging.clone()
        } else {
            let population = &self.ground.population;
            let few = put_together(population, kriging.observed(), &kinds, MOST_FOR_MEANS);
            Kriging::solve(Arc::clone(population), few, kriging.model()).ok()?
        };
        let exact = self.settings.no_count_noise;
        let degrees = float(self.used.len()) - float(kriging.fitted_means());
        Some(Solved {
            scale,
            student: self.student(&settled.kriging),
            degrees_of_freedom: (!exact).then_some(degrees.max(1.0)),
            stands: self.ground.stands.clone().into(),
            kriging: Arc::new(kriging),
        })
    }

    /// Half a 90 % interval in standard errors.
    fn student(&self, kriging: &Kriging) -> f64 {
        if self.settings.no_count_noise {
            return normal::quantile(0.95);
        }
        let degrees = float(self.used.len()) - float(kriging.fitted_means());
        normal::student_quantile(0.95, degrees.max(1.0))
    }

    fn nothing(&self, why: String) -> Option<Field> {
        Some(Field {
            vines: vec![None; self.ground.stands.len()],
            method: Method::None,
            why,
            model: None,
            check: None,
            observations: self.used.len(),
            planting_means: vec![None; self.ground.kind_of_planting.len()],
            solved: None,
        })
    }

    fn fill(&self, field: &mut Field, plants: &[usize], predictions: &[Option<Prediction>]) {
        for (&plant, prediction) in plants.iter().zip(predictions) {
            field.vines[plant] = prediction.map(|p| VineEstimate {
                per_m: p.value,
                se_per_m: Some(p.variance.sqrt()).filter(|se| se.is_finite()),
                surface_per_m: p.surface,
            });
        }
    }

    fn fill_means(&self, field: &mut Field, settled: &Settled) {
        let of = |&kind: &usize| settled.kriging.mean(kind).map(|_| settled.means[kind]);
        field.planting_means = self.ground.kind_of_planting.iter().map(of).collect();
    }

    /// What is said about counting noise.
    fn noise_words(&self, settled: &Settled) -> String {
        let counted_in_part = self.used.iter().any(|u| u.uncounted > 0.0);
        if self.rules.none || !self.rules.counting || !counted_in_part {
            return String::new();
        }
        let before = settled.phi_before;
        let (_, repeated) = dispersion(&self.used, &settled.means);
        let source = if repeated { "from repeated windows" } else { "as Poisson" };
        let mut words = format!("; counting noise {source}, dispersion {before:.2}");
        for (kind, &phi) in settled.phi.iter().enumerate() {
            if phi < before && settled.kriging.mean(kind).is_some() {
                let name = &self.ground.names[kind];
                words += &format!(
                    ", lowered to {phi:.2} on {name} because noise would exceed all variation between neighbours"
                );
            }
        }
        words
    }
}

fn plain_means(used: &[Used], kinds: usize) -> Vec<f64> {
    let mean = |kind: usize| {
        let own: Vec<f64> =
            used.iter().filter(|u| u.kind == kind).map(|u| u.observed.value).collect();
        own.iter().sum::<f64>() / float(own.len().max(1))
    };
    (0..kinds).map(mean).collect()
}

#[expect(clippy::cast_precision_loss, reason = "numbers of counts are far below 2⁵³")]
const fn float(count: usize) -> f64 {
    count as f64
}
