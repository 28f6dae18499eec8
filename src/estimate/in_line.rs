//! Counts that stand in line with each other flatter leave-one-out.
//!
//! On the wheat trial of 1911, sampled on a lattice, leave-one-out foretold an error of 0.33 where
//! the true one was 0.454.

use super::design::{Ground, Used};
use crate::{
    finding::{Finding, Place},
    maths::float,
};

/// Fewer counts than this are not looked at.
const FEWEST: usize = 10;
/// In line are counts that stand on fewer than this share of the rows (or places along them) that
/// as many counts by lot would stand on.
const LEAST_SHARE: f64 = 0.6;

/// What is said when counts stand on few rows, or at few places along the rows.
pub(super) fn in_line(
    ground: &Ground,
    used: &[Used],
    what: &str,
    place: &Place,
) -> Option<Finding> {
    if used.len() < FEWEST {
        return None;
    }
    let lines = [(1, "rows"), (0, "places along the rows")];
    let (on, by_lot, name) = lines.into_iter().find_map(|(axis, name)| {
        let (on, by_lot) = lines_used(ground, used, axis);
        (float(on) < LEAST_SHARE * by_lot).then_some((on, by_lot, name))
    })?;
    let n = used.len();
    let message = format!(
        "the {n} counts of {what} stand on {on} {name}; by lot they would stand on about {by_lot:.0}"
    );
    Some(
        Finding::warning(place.clone(), message)
            .because("counts in line make the map look surer of itself than it is")
            .mend("spread the next counts over all rows, each at another place along its row"),
    )
}

/// Lines that bear a count, and how many as many counts by lot would touch. Whole panels stand at
/// fewer places along the rows than vines do, by as many as a panel holds.
fn lines_used(ground: &Ground, used: &[Used], axis: usize) -> (usize, f64) {
    let places = ground.population.places();
    let of_count = |u: &Used| u.observed.middle(&ground.population)[axis];
    let all = lines(places.iter().map(|at| at[axis]).collect(), ground.spacing_m);
    let on = lines(used.iter().map(of_count).collect(), ground.spacing_m);
    let vines: usize = used.iter().map(|u| u.observed.plants.len()).sum();
    let along = if axis == 0 { float(vines.max(1)) / float(used.len().max(1)) } else { 1.0 };
    let lines = float(all) / along;
    // Each of n counts misses a line with probability 1 − 1/lines.
    (on, lines * (1.0 - (1.0 - 1.0 / lines.max(1.0)).powf(float(used.len()))))
}

/// Numbers more than half a spacing apart are on different lines.
fn lines(mut along: Vec<f64>, spacing_m: f64) -> usize {
    along.sort_unstable_by(f64::total_cmp);
    let mut last = f64::NEG_INFINITY;
    let mut lines = 0;
    for at in along {
        if at - last > 0.5 * spacing_m {
            lines += 1;
            last = at;
        }
    }
    lines
}
