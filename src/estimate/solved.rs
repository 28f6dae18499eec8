//! What a map can be asked after it was made: means of vines, panels and zones, with their errors.

use std::sync::Arc;

use super::{Field, SetMeans, VineSet, kriging::Kriging, mean_of_many::Means, short::Widening};

/// The solved systems behind a map, kept for questions about sets of vines: n² numbers for n counts
/// (0.7 MB at 300).
#[derive(Debug, Clone)]
pub(super) struct Solved {
    /// From this come values, where vines have none of their own.
    pub values: Arc<Kriging>,
    /// From this come errors.
    pub errors: Arc<Kriging>,
    /// How errors of means are widened where counts are few.
    pub widening: Option<Widening>,
    /// √max(1, MSDR).
    pub scale: f64,
    /// Half a 90 % interval in standard errors, before scaling.
    pub student: f64,
    /// For probabilities; none when the variation is given and counts are exact.
    pub degrees_of_freedom: Option<f64>,
    /// By vine place: a vine stands there.
    pub stands: Arc<[bool]>,
}

impl Solved {
    /// The vines of a set of which something is known, with weights that sum to 1.
    fn shares(&self, set: &VineSet) -> VineSet {
        let known = |&(vine, metres): &(usize, f64)| {
            let stands = self.stands.get(vine).is_some_and(|stands| *stands);
            stands && metres > 0.0 && metres.is_finite() && self.values.knows(vine)
        };
        let known: VineSet = set.iter().copied().filter(known).collect();
        let total: f64 = known.iter().map(|(_, metres)| metres).sum();
        known.into_iter().map(|(vine, metres)| (vine, metres / total)).collect()
    }

    /// Values and covariances.
    fn means_of(&self, shares: &[VineSet], own: bool) -> (Vec<f64>, Vec<f64>) {
        let Means { values, mut covariance } = self.errors.means_of(shares, own);
        if let Some(widening) = &self.widening {
            let n = shares.len();
            let variances: Vec<f64> = (0..n).map(|set| covariance[set * n + set]).collect();
            let factors = widening.factors(shares, own, &variances);
            for (at, value) in covariance.iter_mut().enumerate() {
                *value *= factors[at / n] * factors[at % n];
            }
        }
        if Arc::ptr_eq(&self.values, &self.errors) {
            return (values, covariance);
        }
        let values = self.values.each_value_of(shares, own);
        (values, covariance)
    }

    fn each_mean_of(&self, shares: &[VineSet], own: bool) -> Vec<(f64, f64)> {
        let mut means = self.errors.each_mean_of(shares, own);
        if let Some(widening) = &self.widening {
            let variances: Vec<f64> = means.iter().map(|(_, variance)| *variance).collect();
            let factors = widening.factors(shares, own, &variances);
            means.iter_mut().zip(factors).for_each(|((_, variance), f)| *variance *= f * f);
        }
        if Arc::ptr_eq(&self.values, &self.errors) {
            return means;
        }
        let values = self.values.each_value_of(shares, own);
        values.into_iter().zip(means).map(|(value, (_, variance))| (value, variance)).collect()
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
        self.each_mean(sets, true)
    }

    /// The same for the surface.
    pub fn each_surface_of(&self, sets: &[VineSet]) -> Vec<Option<(f64, f64)>> {
        self.each_mean(sets, false)
    }

    fn each_mean(&self, sets: &[VineSet], own: bool) -> Vec<Option<(f64, f64)>> {
        let Some(solved) = &self.solved else {
            return sets.iter().map(|set| Some((self.mean_of_given(set)?, 0.0))).collect();
        };
        let shares: Vec<VineSet> = sets.iter().map(|set| solved.shares(set)).collect();
        let means = solved.each_mean_of(&shares, own);
        let one = |(share, (value, variance)): (&VineSet, (f64, f64))| {
            let value = self.mean_of_estimates(share, own).unwrap_or(value);
            (!share.is_empty()).then(|| (value, variance.max(0.0).sqrt()))
        };
        shares.iter().zip(means).map(one).collect()
    }

    /// The variance of a vine around the surface, per metre squared.
    pub fn nugget(&self) -> f64 {
        self.solved.as_ref().map_or(0.0, |solved| solved.errors.model().nugget)
    }

    /// Multiplies a vine's raw standard error into half a 90 % interval: t × √max(1, MSDR).
    pub fn interval_factor(&self) -> f64 {
        self.solved.as_ref().map_or(1.0, |solved| solved.student * solved.scale)
    }

    fn set_means(&self, sets: &[VineSet], own: bool) -> SetMeans {
        let n = sets.len();
        let Some(solved) = &self.solved else {
            return SetMeans {
                means: sets.iter().map(|set| self.mean_of_given(set)).collect(),
                covariance: vec![0.0; n * n],
                factor90: 1.0,
                scale: 1.0,
                degrees_of_freedom: None,
            };
        };
        let shares: Vec<VineSet> = sets.iter().map(|set| solved.shares(set)).collect();
        let (values, mut covariance) = solved.means_of(&shares, own);
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

    /// The mean of the vines' own estimates, so that a zone and its vines agree.
    fn mean_of_estimates(&self, shares: &VineSet, own: bool) -> Option<f64> {
        let one = |&(vine, share): &(usize, f64)| {
            self.vines[vine].map(|v| share * if own { v.per_m } else { v.surface_per_m })
        };
        shares.iter().map(one).sum()
    }
}
