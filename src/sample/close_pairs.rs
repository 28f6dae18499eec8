//! Close pairs: neighbours of some stops, counted too, so that the model learns how alike
//! neighbours are. They are no part of a mean.

use super::{Purpose, Stop, drawable::Drawable};
use crate::{layout::Layout, maths::random::Random, settings::SampleSettings};

/// Adds the neighbour along the row of every so-manieth stop.
pub(super) fn add(
    stops: &mut Vec<Stop>,
    (drawable, layout): (&Drawable, &Layout),
    settings: &SampleSettings,
    random: &mut Random,
) {
    let every = settings.close_pair_every;
    let Some(first) = (every > 0).then(|| random.below(every as u64)) else { return };
    let first = usize::try_from(first).unwrap_or(0);
    let mut pairs: Vec<Stop> = Vec::new();
    for stop in stops.iter().skip(first).step_by(every) {
        let taken = |unit: usize| {
            let found = &drawable.units[unit];
            let same = |stop: &Stop| stop.panel == found.panel && stop.vine == found.vine;
            stops.iter().chain(&pairs).any(same)
        };
        if let Some(unit) = neighbour(stop, drawable, layout).into_iter().find(|&unit| !taken(unit))
        {
            pairs.push(drawable.stop(unit, stop.stratum, Purpose::ClosePair));
        }
    }
    stops.extend(pairs);
}

/// The units before and after a stop, those of another row or beyond a cut not among them.
fn neighbour(stop: &Stop, drawable: &Drawable, layout: &Layout) -> Vec<usize> {
    let same =
        |unit: &super::drawable::Candidate| unit.panel == stop.panel && unit.vine == stop.vine;
    let Some(own) = drawable.units.iter().position(same) else { return Vec::new() };
    let beside = [own.checked_add(1), own.checked_sub(1)];
    let piece = |panel: usize| layout.panels[panel].piece;
    let touches = |unit: &usize| {
        let Some(found) = drawable.units.get(*unit) else { return false };
        let next = match (found.vine, stop.vine) {
            (Some(one), Some(other)) => one.abs_diff(other) == 1,
            _ => found.panel.abs_diff(stop.panel) == 1,
        };
        next && piece(found.panel) == piece(stop.panel)
    };
    beside.into_iter().flatten().filter(touches).collect()
}
