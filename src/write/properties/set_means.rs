//! Means over sets of vines with their intervals: panels, rows.

use crate::estimate::{Field, Method, VineSet};

/// Sets asked about at once: every ask makes a square matrix of this size.
const ASKED_AT_ONCE: usize = 32;

/// A mean with its raw standard error and half its 90 % interval; these are not a number where no
/// error is known.
#[derive(Debug, Clone, Copy)]
pub(in crate::write) struct SetMean {
    /// The mean, per metre.
    pub(in crate::write) per_m: f64,
    /// Its raw standard error.
    pub(in crate::write) se: f64,
    half90: f64,
}

impl SetMean {
    /// False where the values are given and no error is known.
    pub(in crate::write) const fn has_error(&self) -> bool {
        self.se.is_finite()
    }

    /// Both ends of the interval; no density is below 0.
    pub(in crate::write) fn ends90(self) -> [f64; 2] {
        [(self.per_m - self.half90).max(0.0), self.per_m + self.half90]
    }
}

/// The means of sets that have a vine, a few sets at a time: the covariances between far panels are
/// not wanted.
pub(in crate::write) fn means(field: &Field, sets: &[VineSet]) -> Vec<Option<SetMean>> {
    let mut means = vec![None; sets.len()];
    let asked: Vec<usize> = (0..sets.len()).filter(|&set| !sets[set].is_empty()).collect();
    for some in asked.chunks(ASKED_AT_ONCE) {
        let vines: Vec<_> = some.iter().map(|&set| sets[set].clone()).collect();
        let answer = field.means_of(&vines);
        for (at, &set) in some.iter().enumerate() {
            let given = field.method == Method::Given;
            let se = if given { f64::NAN } else { answer.se(at) };
            means[set] =
                answer.means[at].map(|per_m| SetMean { per_m, se, half90: se * answer.factor90 });
        }
    }
    means
}
