//! The shoots of one vine in whole numbers: its density over its canopy.

use super::Field;
use crate::maths::{count_interval::count_interval, normal, whole};

/// Probability below and above a 90 % interval.
const TAIL: f64 = 0.05;

/// Whole shoots of a vine.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VineShoots {
    /// Expected.
    pub expected: usize,
    /// Lower and upper end of the 90 % interval; `None` where the counts allow none.
    pub between90: Option<[usize; 2]>,
}

impl Field {
    /// The shoots of a vine with so many metres of canopy; `None` where nothing can be said.
    ///
    /// The interval is that of whole numbers whose variance is the vine's, widened so that a normal
    /// of it would have the same spread as ± [`Field::interval_factor`] standard errors.
    ///
    /// # Units
    /// `canopy_m` in metres; densities of the field are shoots per metre.
    pub fn shoots_of(&self, vine: usize, canopy_m: f64) -> Option<VineShoots> {
        let at = self.vines.get(vine).copied().flatten()?;
        let mean = at.per_m.max(0.0) * canopy_m;
        let widened = self.interval_factor() / normal::quantile(1.0 - TAIL);
        let between90 = at.se_per_m.and_then(|se_per_m| {
            let spread = widened * se_per_m * canopy_m;
            count_interval(mean, spread * spread, TAIL)
        });
        Some(VineShoots {
            expected: whole(mean.round()),
            between90: between90.map(|(low, high)| [whole(low), whole(high)]),
        })
    }
}
