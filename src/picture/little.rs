//! Where the measurements say little: there a map is hardly more than the mean.

use crate::estimate::Field;

/// The surface is known to less than a quarter of its variance (our judgement).
const LEAST_KNOWN: f64 = 0.25;

/// By vine place: true where the measurements say little. Only a fitted or given variation can tell.
pub(super) fn little_known(field: &Field) -> Vec<bool> {
    let limit = field.model.map(|model| model.nugget + (1.0 - LEAST_KNOWN) * model.psill);
    let is_little = |se_per_m: f64| limit.is_some_and(|limit| se_per_m * se_per_m > limit);
    let vines = field.vines.iter();
    vines.map(|vine| vine.and_then(|vine| vine.se_per_m).is_some_and(is_little)).collect()
}
