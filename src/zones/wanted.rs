//! How many shoots are wanted on a vine: a range by its kind, an aim inside the range by its vigor.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | low, high | ends of the target range | shoots per m of canopy |
//! | w | pruning weight | kg per m of canopy |
//! | x / x̄ | a relative measure over its planting's mean | – |

use crate::{
    block::VineType,
    estimate::Estimate,
    frame::Site,
    join::VigorMeasure,
    settings::{Planting, TargetSettings},
    units::TargetRange,
};

/// What is known of the vigor of a vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Vigor {
    /// Pruning weight, kilograms per metre of canopy.
    PruningWeight(f64),
    /// A measure that only compares: its value over the planting's mean.
    Relative(f64),
    /// A measure whose zero means nothing: standard deviations above the planting's mean.
    Standardised(f64),
}

/// The target range of a planting: its own, else that of its kind; `None` for natives without one.
///
/// # Source
/// 3–5 shoots a foot for vinifera, 4–6 for hybrids: Purdue Extension, Facts for Fancy Fruit. For
/// natives the sources give an upper limit only, so a grower has to say.
pub fn range_of(planting: &Planting, settings: &TargetSettings) -> Option<TargetRange> {
    planting.target.or(match planting.vine_type {
        Some(VineType::Vinifera) => Some(settings.vinifera),
        Some(VineType::Hybrid) => Some(settings.hybrid),
        Some(VineType::Native) => None,
        None => Some(settings.unsaid),
    })
}

/// Where to aim inside a range, shoots per metre: weak vines carry fewer, strong ones more, never
/// outside the range; the middle where nothing is known of the vigor.
///
/// # Units
/// Shoots per metre of canopy.
pub fn aim(range: TargetRange, vigor: Option<Vigor>, settings: &TargetSettings) -> f64 {
    let (low, high) = (range.low().per_metre(), range.high().per_metre());
    let middle = range.middle().per_metre();
    let aim = match vigor {
        None => middle,
        Some(Vigor::PruningWeight(kg_per_m)) => {
            let weak = settings.weak_kg_per_m.per_metre();
            let excess = settings.excess_kg_per_m.per_metre();
            let share = if excess > weak { (kg_per_m - weak) / (excess - weak) } else { 0.5 };
            low + share.clamp(0.0, 1.0) * (high - low)
        }
        Some(Vigor::Relative(ratio)) => {
            let off = (ratio - 1.0) / settings.vigor_band_share;
            middle + settings.most_vigor_shift.per_metre() * off.clamp(-1.0, 1.0)
        }
        Some(Vigor::Standardised(off)) => {
            middle + settings.most_vigor_shift.per_metre() * off.clamp(-1.0, 1.0)
        }
    };
    aim.clamp(low, high)
}

/// What is known of the vigor of a vine, by its place in the layout and its planting.
pub fn vigor_of(estimate: &Estimate, vine: usize, planting: usize) -> Option<Vigor> {
    let (_, field) = estimate.vigor.as_ref()?;
    let value = field.vines.get(vine).copied().flatten()?.per_m;
    vigor_at(estimate, value, planting)
}

/// What a value of the measure of vigor says in a planting: that of a vine, or a mean of many.
pub fn vigor_at(estimate: &Estimate, value: f64, planting: usize) -> Option<Vigor> {
    let (measure, field) = estimate.vigor.as_ref()?;
    let of = |by_planting: &[Option<f64>]| by_planting.get(planting).copied().flatten();
    match measure {
        VigorMeasure::PruningWeight => Some(Vigor::PruningWeight(value)),
        VigorMeasure::ShootLength => {
            let mean = of(&field.planting_means)?;
            (mean > 0.0).then(|| Vigor::Relative(value / mean))
        }
        VigorMeasure::Raster => {
            let (mean, spread) = (of(&field.planting_means)?, of(&field.planting_spreads)?);
            (spread > 0.0).then(|| Vigor::Standardised((value - mean) / spread))
        }
    }
}

/// The aim of one vine, shoots per metre; `None` where its planting has no target.
pub(super) fn aim_of_vine(
    site: &Site,
    estimate: &Estimate,
    (vine, planting): (usize, usize),
    settings: &TargetSettings,
) -> Option<f64> {
    let range = range_of(site.plantings.all().get(planting)?, settings)?;
    Some(aim(range, vigor_of(estimate, vine, planting), settings))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    fn aim_per_foot(text: &str, vigor: Option<Vigor>) -> f64 {
        let settings = Settings::default().zones().targets;
        aim(text.parse().unwrap(), vigor, &settings) * crate::units::METRES_PER_FOOT
    }

    #[track_caller]
    fn near(found: f64, expected: f64) {
        assert!((found - expected).abs() < 1e-9, "{found}, not {expected}");
    }

    #[test]
    fn pruning_weight_moves_the_aim_from_low_to_high_and_no_further() {
        let aim = |kg| aim_per_foot("3-5 per ft", Some(Vigor::PruningWeight(kg)));
        near(aim(0.05), 3.0);
        near(aim(0.30), 3.0);
        near(aim(0.45), 4.0);
        near(aim(0.60), 5.0);
        near(aim(2.00), 5.0);
    }

    #[test]
    fn a_relative_measure_moves_the_aim_by_half_a_shoot_a_foot_at_most() {
        let aim = |ratio| aim_per_foot("3-5 per ft", Some(Vigor::Relative(ratio)));
        near(aim(1.0), 4.0);
        near(aim(0.2), 3.5);
        near(aim(1.15), 4.5);
        near(aim(9.0), 4.5);
        near(aim_per_foot("3.8-4.2 per ft", Some(Vigor::Relative(9.0))), 4.2);
        near(aim_per_foot("3-5 per ft", None), 4.0);
    }
}
