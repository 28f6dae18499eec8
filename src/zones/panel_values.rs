//! What drawing needs to know of panels: their density, what is wanted there, how well both are
//! known, and the counts in them.

use super::{
    Stage, centre, extent, merge::Unit, neighbours::PanelGround, wanted::aim_of_vine,
    without_fold::Point,
};
use crate::{
    estimate::{Method, VineSet},
    join::Observation,
    layout::Vine,
    maths::float,
    settings::ZoneSettings,
};

/// Parts whose surface is asked for at once: their covariances with each other are not needed.
const PARTS_AT_ONCE: usize = 32;
/// A panel is never believed more than so many times better known than the middling one.
const MOST_WEIGHT: f64 = 10.0;

/// Density and excess of each panel; where nothing is wanted the excess tells nothing.
pub(super) fn set_values(units: &mut [Unit], densities: &[f64], aims: Option<&[f64]>) {
    for (index, (unit, &density)) in units.iter_mut().zip(densities).enumerate() {
        let excess = aims.map_or(0.0, |aims| density - aims[index]);
        unit.values = [density, excess];
    }
}

/// The counts of a planting: the panel's place in `panels`, and the count.
pub(super) fn counts_of(
    stage: Stage<'_>,
    planting: usize,
    panels: &[usize],
) -> Vec<(usize, Point)> {
    let observations = stage.joined.shoots.iter().filter_map(|observation| {
        let &first = observation.vines.first()?;
        let panel = stage.layout.vines[first].panel;
        let place = panels.binary_search(&panel).ok()?;
        (stage.planting(panel) == planting).then(|| (place, point(stage, observation)))
    });
    observations.collect()
}

fn point(stage: Stage<'_>, observation: &Observation) -> Point {
    let vines = float(observation.vines.len());
    let mean = |of: fn(&Vine) -> f64| {
        observation.vines.iter().map(|&vine| of(&stage.layout.vines[vine])).sum::<f64>() / vines
    };
    let Observation { per_m, canopy_m, counted_m, .. } = *observation;
    let unseen = (1.0 - counted_m / canopy_m).max(0.0);
    let shoots = &stage.estimate.shoots;
    Point {
        at: shoots.stretched([mean(|vine| vine.at.along_m), mean(|vine| vine.at.across_m)]),
        per_m,
        trend_per_m: shoots.trend_per_m(&observation.vines),
        vines,
        unseen_per_m: if counted_m > 0.0 { unseen / counted_m } else { 0.0 },
    }
}

/// The mean of the surface over a panel's vines; `None` where one has no estimate.
pub(super) fn density(stage: Stage<'_>, vines: &[usize]) -> Option<f64> {
    mean_over(stage, vines, |vine| Some(stage.estimate.shoots.vines[vine]?.surface_per_m))
}

pub(super) fn aim(
    stage: Stage<'_>,
    planting: usize,
    vines: &[usize],
    settings: &ZoneSettings,
) -> Option<f64> {
    mean_over(stage, vines, |vine| {
        aim_of_vine(stage.site, stage.estimate, (vine, planting), &settings.targets)
    })
}

fn mean_over(
    stage: Stage<'_>,
    vines: &[usize],
    value: impl Fn(usize) -> Option<f64>,
) -> Option<f64> {
    let (mut sum, mut canopy) = (0.0, 0.0);
    for &vine in vines {
        let length = stage.joined.vines[vine].canopy_m;
        sum += length * value(vine)?;
        canopy += length;
    }
    (canopy > 0.0).then(|| sum / canopy)
}

/// 1 / variance of the mean surface of each part, at the middle vine of each of its panels; equal
/// where none is known.
pub(super) fn weights(stage: Stage<'_>, parts: &[Vec<usize>]) -> Vec<f64> {
    let field = &stage.estimate.shoots;
    if field.method != Method::Kriging {
        return vec![1.0; parts.len()];
    }
    let middle = |&panel: &usize| {
        let vines: Vec<usize> = stage.present(panel).collect();
        vines.get(vines.len() / 2).map(|&vine| (vine, 1.0))
    };
    let middles: Vec<VineSet> =
        parts.iter().map(|panels| panels.iter().filter_map(middle).collect()).collect();
    let variances = middles.chunks(PARTS_AT_ONCE).flat_map(|sets| {
        let means = field.surface_of(sets);
        (0..sets.len()).map(move |set| means.covariance_of(set, set)).collect::<Vec<_>>()
    });
    from_variances(&variances.collect::<Vec<_>>())
}

fn from_variances(variances: &[f64]) -> Vec<f64> {
    let mut sorted = variances.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middling = sorted.get(sorted.len() / 2).copied().unwrap_or(0.0);
    if middling > 0.0 {
        variances.iter().map(|v| 1.0 / v.max(middling / MOST_WEIGHT)).collect()
    } else {
        vec![1.0; variances.len()]
    }
}

pub(super) fn ground(stage: Stage<'_>, panel: usize) -> PanelGround {
    let panel = &stage.layout.panels[panel];
    let [[from, to], _] = extent(panel);
    PanelGround {
        row: panel.row,
        piece: panel.piece,
        along_m: [from, to],
        across_m: centre(panel).y,
    }
}
