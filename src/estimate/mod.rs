//! What is believed about every vine from the few that were counted.
//!
//! Takes a [`Joined`], gives an [`Estimate`]: a value that can be asked about a vine, a zone or the
//! block. Never changes what was joined, never draws a zone, never gives a number where the counts
//! allow none.
//!
//! Three quantities, three variances (`docs/methods.md`): the density of a vine (nugget in, counting
//! noise out), the surface (nugget filtered), the mean of a set of vines (finite-population block
//! kriging).

mod check_fit;
mod count_noise;
mod design;
mod few;
pub mod fit;
pub mod kriging;
mod map;
pub mod mean_of_many;
mod pair_sums;
mod pairs;
mod predict;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    frame::Site,
    join::{Joined, Observation, VigorMeasure},
    layout::Layout,
    maths::covariance::CovarianceModel,
    settings::EstimateSettings,
};

pub use check_fit::LeaveOneOut;
use count_noise::NoiseRules;
use design::{Ground, used_counts};
use kriging::Kriging;
use mean_of_many::Means;

/// What is believed about the shoots and the vigor of every vine.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// Shoots per metre of canopy.
    pub shoots: Field,
    /// The best measure of vigor that there is, per metre of canopy or a length.
    pub vigor: Option<(VigorMeasure, Field)>,
}

/// One quantity over all vines of a block.
#[derive(Debug, Clone)]
pub struct Field {
    /// By vine place, in the layout's order; `None` where no vine stands or nothing can be said.
    pub vines: Vec<Option<VineEstimate>>,
    /// How the map was made.
    pub method: Method,
    /// Why this method, in words for the report.
    pub why: String,
    /// The fitted or given variation, where there is one.
    pub model: Option<CovarianceModel>,
    /// How well counts are foretold from the others, where there were enough.
    pub check: Option<LeaveOneOut>,
    /// How many observations it rests on.
    pub observations: usize,
    /// The mean of each planting, in the site's order; `None` without enough observations.
    pub planting_means: Vec<Option<f64>>,
    solved: Option<Solved>,
}

/// The solved system behind a map, kept for questions about sets of vines: n² numbers for n counts
/// (0.7 MB at 300).
#[derive(Debug, Clone)]
struct Solved {
    kriging: Arc<Kriging>,
    /// √max(1, MSDR).
    scale: f64,
    /// Half a 90 % interval in standard errors, before scaling.
    student: f64,
    degrees_of_freedom: Option<f64>,
    stands: Arc<[bool]>,
}

/// How a map was made, from least to most counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Too few counts for a map.
    None,
    /// The planting's mean on every vine.
    Mean,
    /// Inverse distance, shrunk to the mean by leave-one-out.
    InverseDistance,
    /// Kriging with a fitted or given variation.
    Kriging,
}

/// What is believed about one vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VineEstimate {
    /// Density of the vine, per metre: nugget in, counting noise out.
    pub per_m: f64,
    /// Its raw standard error, per metre; intervals scale it by [`Field::interval_factor`]; NaN is
    /// never kept: where the counts allow no interval it is `None`.
    pub se_per_m: Option<f64>,
    /// The smooth surface there, per metre.
    pub surface_per_m: f64,
}

/// Vines with their weights (metres of canopy), whose weighted mean is asked for.
pub type VineSet = Vec<(usize, f64)>;

/// The means of several sets of vines and how they vary together.
#[derive(Debug, Clone)]
pub struct SetMeans {
    /// The weighted mean of each set, per metre; `None` where nothing can be said.
    pub means: Vec<Option<f64>>,
    /// Covariances between the means, row by row; rows of sets without a mean are 0.
    pub covariance: Vec<f64>,
    /// Multiplies a standard error into half a 90 % interval.
    pub factor90: f64,
    /// Multiplies a standard error before probabilities are taken from it (√max(1, MSDR)).
    pub scale: f64,
    /// Degrees of freedom of Student's t for probabilities; `None` for the normal.
    pub degrees_of_freedom: Option<f64>,
}

impl SetMeans {
    /// The raw standard error of one mean.
    pub fn se(&self, set: usize) -> f64 {
        self.covariance_of(set, set).max(0.0).sqrt()
    }

    /// The covariance of two means.
    pub fn covariance_of(&self, one: usize, other: usize) -> f64 {
        self.covariance[one * self.means.len() + other]
    }
}

/// Estimates every vine.
///
/// # Errors
/// When a pinned variation cannot be used with these counts.
pub fn estimate(
    site: &Site,
    layout: &Layout,
    joined: &Joined,
    settings: &EstimateSettings,
) -> Result<(Estimate, Findings), Error> {
    let ground = Ground::new(site, layout, joined, settings);
    let place = Place::default().in_feature(format!("block {}", site.name));
    let task = Task { ground: &ground, joined, settings, place };
    let (shoots, vigor) = rayon::join(
        || task.field(&joined.shoots, "shoots", true),
        || {
            joined.vigor.as_ref().map(|vigor| {
                let field = task.field(&vigor.observations, vigor.measure.words(), false);
                field.map(|(field, findings)| ((vigor.measure, field), findings))
            })
        },
    );
    let (shoots, mut findings) = shoots?;
    let vigor = match vigor.transpose()? {
        Some((vigor, more)) => {
            findings.extend(more);
            Some(vigor)
        }
        None => None,
    };
    Ok((Estimate { shoots, vigor }, findings))
}

/// What both quantities are estimated from.
struct Task<'a> {
    ground: &'a Ground,
    joined: &'a Joined,
    settings: &'a EstimateSettings,
    place: Place,
}

impl Task<'_> {
    fn field(
        &self,
        counts: &[Observation],
        what: &str,
        counting: bool,
    ) -> Result<(Field, Findings), Error> {
        let canopy: Vec<f64> = self.joined.vines.iter().map(|vine| vine.canopy_m).collect();
        let none = self.settings.no_count_noise;
        let (used, young) = used_counts(self.ground, counts, &canopy, none);
        let rules = NoiseRules { counting, observer_share: self.settings.observer_share, none };
        let quantity = map::Quantity {
            ground: self.ground,
            used,
            rules,
            settings: self.settings,
            place: self.place.clone(),
            what,
        };
        let (field, mut findings) = map::field(quantity)?;
        if young > 0 {
            findings.push(
                Finding::note(
                    self.place.clone(),
                    format!("{young} counts of {what} on young vines are not used for others"),
                )
                .because("a young vine does not speak for its neighbours"),
            );
        }
        Ok((field, findings))
    }
}

impl Field {
    /// The means of sets of vines by finite-population block kriging (Ver Hoef 2008), with their
    /// covariances; mean ± t where the counts allow no more.
    ///
    /// A mean is that of the vines' own estimates; vines without one are passed over.
    pub fn means_of(&self, sets: &[VineSet]) -> SetMeans {
        self.set_means(sets, true)
    }

    /// The same for the surface: the nugget is filtered from means and covariances. For drawing
    /// whole blocks at random, the vine's own [`Field::nugget`] added independently.
    pub fn surface_of(&self, sets: &[VineSet]) -> SetMeans {
        self.set_means(sets, false)
    }

    /// Mean and raw standard error of each set for itself: for thousands of panels, whose
    /// covariances nobody needs.
    pub fn each_mean_of(&self, sets: &[VineSet]) -> Vec<Option<(f64, f64)>> {
        let Some(solved) = &self.solved else { return vec![None; sets.len()] };
        let shares: Vec<VineSet> = sets.iter().map(|set| self.shares(solved, set)).collect();
        let means = solved.kriging.each_mean_of(&shares, true);
        let one = |(share, (value, variance)): (&VineSet, (f64, f64))| {
            let value = self.mean_of_estimates(share, true).unwrap_or(value);
            (!share.is_empty()).then(|| (value, variance.max(0.0).sqrt()))
        };
        shares.iter().zip(means).map(one).collect()
    }

    /// The variance of a vine around the surface, per metre squared.
    pub fn nugget(&self) -> f64 {
        self.solved.as_ref().map_or(0.0, |solved| solved.kriging.model().nugget)
    }

    /// Multiplies a vine's raw standard error into half a 90 % interval: t × √max(1, MSDR).
    pub fn interval_factor(&self) -> f64 {
        self.solved.as_ref().map_or(1.0, |solved| solved.student * solved.scale)
    }

    fn set_means(&self, sets: &[VineSet], own: bool) -> SetMeans {
        let n = sets.len();
        let Some(solved) = &self.solved else {
            return SetMeans {
                means: vec![None; n],
                covariance: vec![0.0; n * n],
                factor90: 1.0,
                scale: 1.0,
                degrees_of_freedom: None,
            };
        };
        let shares: Vec<VineSet> = sets.iter().map(|set| self.shares(solved, set)).collect();
        let Means { values, mut covariance } = solved.kriging.means_of(&shares, own);
        let mean = |(share, value): (&VineSet, f64)| {
            let value = self.mean_of_estimates(share, own).unwrap_or(value);
            (!share.is_empty()).then_some(value)
        };
        let means: Vec<Option<f64>> = shares.iter().zip(values).map(mean).collect();
        for (at, value) in covariance.iter_mut().enumerate() {
            if means[at / n].is_none() || means[at % n].is_none() {
                *value = 0.0;
            }
        }
        SetMeans {
            means,
            covariance,
            factor90: self.interval_factor(),
            scale: solved.scale,
            degrees_of_freedom: solved.degrees_of_freedom,
        }
    }

    /// The vines of a set of which something is known, with weights that sum to 1.
    fn shares(&self, solved: &Solved, set: &VineSet) -> VineSet {
        let known = |&(vine, metres): &(usize, f64)| {
            let stands = solved.stands.get(vine).is_some_and(|stands| *stands);
            stands && metres > 0.0 && metres.is_finite() && solved.kriging.knows(vine)
        };
        let known: VineSet = set.iter().copied().filter(known).collect();
        let total: f64 = known.iter().map(|(_, metres)| metres).sum();
        known.into_iter().map(|(vine, metres)| (vine, metres / total)).collect()
    }

    /// The mean of the vines' own estimates, so that a zone and its vines agree.
    fn mean_of_estimates(&self, shares: &VineSet, own: bool) -> Option<f64> {
        let one = |&(vine, share): &(usize, f64)| {
            self.vines[vine].map(|v| share * if own { v.per_m } else { v.surface_per_m })
        };
        shares.iter().map(one).sum()
    }
}

impl VigorMeasure {
    const fn words(self) -> &'static str {
        match self {
            Self::PruningWeight => "pruning weight",
            Self::ShootLength => "shoot length",
        }
    }
}
