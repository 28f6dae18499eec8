//! Leave-one-out: how well each count is foretold from the others.

use super::design::Used;
use crate::maths::float;

/// How well each count is foretold from the others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeaveOneOut {
    /// Root mean square error, per metre.
    pub rmse_per_m: f64,
    /// The same when the planting's mean is foretold instead, per metre.
    pub rmse_of_mean_per_m: f64,
    /// Mean error, per metre.
    pub bias_per_m: f64,
    /// Mean squared deviation ratio: squared error over its variance; 1 when errors are honest.
    pub msdr: f64,
    /// Share of counts within their 90 % interval.
    pub coverage90: f64,
}

/// A count as the others foretell it.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut {
    /// The vines that it is about, as indices into the layout's vines.
    pub vines: Vec<usize>,
    /// What was counted, per metre.
    pub counted_per_m: f64,
    /// What the others foretell, per metre.
    pub foretold_per_m: f64,
    /// Raw standard error of that, counting noise in, per metre.
    pub se_per_m: f64,
}

impl LeftOut {
    /// From the error and the variance of every count, in the order of `used`.
    pub(super) fn all(used: &[Used], errors: &[(f64, f64)]) -> Vec<Self> {
        let one = |(u, &(error, variance)): (&Used, &(f64, f64))| Self {
            vines: u.observed.plants.iter().map(|(vine, _)| *vine).collect(),
            counted_per_m: u.observed.value,
            foretold_per_m: u.observed.value - error,
            se_per_m: variance.max(0.0).sqrt(),
        };
        used.iter().zip(errors).map(one).collect()
    }
}

impl LeaveOneOut {
    /// From the error and the variance of every count, and its error when the mean is foretold;
    /// `student` is the quantile of a 90 % interval.
    pub(super) fn new(errors: &[(f64, f64)], of_mean: &[f64], student: f64) -> Option<Self> {
        let n = float(errors.len());
        if errors.is_empty() {
            return None;
        }
        let mean = |values: &mut dyn Iterator<Item = f64>| values.sum::<f64>() / n;
        let msdr = mean(&mut errors.iter().map(|(e, v)| e * e / v.max(f64::MIN_POSITIVE)));
        let factor = student * msdr.max(1.0).sqrt();
        let within = |(e, v): &(f64, f64)| f64::from(e.abs() <= factor * v.sqrt());
        Some(Self {
            rmse_per_m: mean(&mut errors.iter().map(|(e, _)| e * e)).sqrt(),
            rmse_of_mean_per_m: mean(&mut of_mean.iter().map(|e| e * e)).sqrt(),
            bias_per_m: mean(&mut errors.iter().map(|(e, _)| *e)),
            msdr,
            coverage90: mean(&mut errors.iter().map(within)),
        })
    }

    /// Share of the squared error of the mean that the map takes away; above 0 it is of use.
    pub fn skill(&self) -> f64 {
        let of_mean = self.rmse_of_mean_per_m * self.rmse_of_mean_per_m;
        if of_mean > 0.0 { 1.0 - self.rmse_per_m * self.rmse_per_m / of_mean } else { 0.0 }
    }
}

/// The error of each count when the mean of the others of its kind is foretold.
pub(super) fn errors_of_mean(used: &[Used], kinds: usize) -> Vec<f64> {
    let mut sums = vec![(0.0, 0.0); kinds];
    for u in used {
        sums[u.kind].0 += u.observed.value;
        sums[u.kind].1 += 1.0;
    }
    let error = |u: &Used| {
        let (sum, count) = sums[u.kind];
        let others = if count > 1.0 { (sum - u.observed.value) / (count - 1.0) } else { 0.0 };
        u.observed.value - others
    };
    used.iter().map(error).collect()
}
