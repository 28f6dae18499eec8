//! Means of sets of vines where counts are few: their errors are made wider.
//!
//! With few counts a variation is guessed or badly fitted, and means of zones and blocks come out
//! surer than they are. Two things hold against it, both measured in `docs/simulation.md`:
//! - their errors are multiplied by a factor, for the variation itself is not known;
//! - no mean is surer than it would be without any pattern: one that is not there would make the mean
//!   of evenly spread counts look surer than their number allows.

use std::sync::Arc;

use super::{VineSet, kriging::Kriging};

/// How errors of means of sets of vines are widened.
#[derive(Debug, Clone)]
pub(super) struct Widening {
    /// The counts as if vines had no pattern.
    pub patternless: Arc<Kriging>,
    /// Multiplies standard errors that come from a pattern.
    pub factor: f64,
}

impl Widening {
    /// By set, what its standard error is multiplied by; `variances` are those of the map.
    pub(super) fn factors(&self, sets: &[VineSet], own: bool, variances: &[f64]) -> Vec<f64> {
        let least = self.patternless.each_mean_of(sets, own);
        let one = |((_, least), &variance): ((f64, f64), &f64)| {
            // A mean without an error is counted whole.
            let short = if variance > 0.0 { (least / variance).sqrt() } else { 1.0 };
            short.max(self.factor)
        };
        least.into_iter().zip(variances).map(one).collect()
    }
}
