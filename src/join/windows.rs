//! The records of one place and visit made into one density.

use std::collections::BTreeMap;

use super::{Ground, Target, told::Told};
use crate::finding::Finding;

/// What was measured at one place on one visit.
pub(super) struct Pooled {
    /// Per metre of canopy.
    pub(super) per_m: f64,
    /// Metres counted, at most the canopy.
    pub(super) counted_m: f64,
    /// Estimates from single windows: per metre, metres.
    pub(super) windows: Vec<(f64, f64)>,
    /// True when the whole place was counted.
    pub(super) whole: bool,
}

/// One record's measure.
#[derive(Clone, Copy)]
pub(super) struct Measured {
    /// Which record, as an index into the placed ones.
    pub(super) record: usize,
    /// What was counted or weighed.
    pub(super) amount: f64,
    /// Over how many metres of canopy.
    pub(super) over_m: f64,
}

/// Lengths this near to the canopy are the whole of it.
const WHOLE: f64 = 1.0 - 1e-6;

/// Pools the measures of one place: windows by their length, the same window twice by its mean. A
/// place counted whole needs no window.
///
/// `measured` is not empty, its lengths are above 0.
pub(super) fn pool(
    ground: &Ground<'_>,
    target: Target,
    canopy_m: f64,
    measured: &[Measured],
    told: &mut Told,
) -> Pooled {
    let mut windows: BTreeMap<String, Vec<Measured>> = BTreeMap::new();
    for one in measured {
        windows.entry(window(ground, one.record)).or_default().push(*one);
    }
    let estimates: Vec<(f64, f64)> =
        windows.values().map(|same| one_window(ground, target, same, told)).collect();
    let is_whole = |&&(_, over_m): &&(f64, f64)| over_m >= canopy_m * WHOLE;
    let whole: Vec<(f64, f64)> = estimates.iter().filter(is_whole).copied().collect();
    let used = if whole.is_empty() { estimates } else { whole.clone() };
    let length_m: f64 = used.iter().map(|(_, over_m)| over_m).sum();
    let amount: f64 = used.iter().map(|(per_m, over_m)| per_m * over_m).sum();
    Pooled {
        per_m: amount / length_m,
        counted_m: length_m.min(canopy_m),
        windows: used,
        whole: !whole.is_empty(),
    }
}

/// The window that a record counted, by its label and its start.
fn window(ground: &Ground<'_>, record: usize) -> String {
    let count = ground.placed[record].count;
    let label = count.window.as_deref().unwrap_or_default().trim().to_lowercase();
    match count.window_start {
        Some(start) => format!("{label} {:.3}", start.metres()),
        None => label,
    }
}

/// The density of one window: records that agree are one, others are told and their mean used.
fn one_window(
    ground: &Ground<'_>,
    target: Target,
    same: &[Measured],
    told: &mut Told,
) -> (f64, f64) {
    let densities: Vec<f64> = same.iter().map(|one| one.amount / one.over_m).collect();
    let lowest = densities.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = densities.iter().copied().fold(0.0, f64::max);
    let (Some(first), Some(last)) = (same.first(), same.last()) else { return (0.0, 0.0) };
    if same.len() > 1 {
        let place = ground.placed[last.record].count.place.clone();
        let name = ground.name(target);
        let times = same.len();
        if highest - lowest <= 1e-9 * highest {
            let what = format!("{name} is there {times} times with the same count: taken once");
            told.push("repeat a count that is there already", Finding::note(place, what));
        } else {
            let amounts: Vec<String> = same.iter().map(|one| one.amount.to_string()).collect();
            let what = format!(
                "{name} has {times} different counts of one visit and window: {}",
                amounts.join(", ")
            );
            let warning = Finding::warning(place, what)
                .because("all are kept, and their mean is used")
                .mend("remove the wrong one, or tell windows and visits apart");
            told.push("are in conflict with another count of the same vine", warning);
        }
    }
    if same.len() == 1 || highest - lowest <= 1e-9 * highest {
        return (first.amount / first.over_m, first.over_m);
    }
    let lengths = same.iter().map(|one| one.over_m);
    (mean(&densities), mean(&lengths.collect::<Vec<_>>()))
}

#[expect(clippy::cast_precision_loss, reason = "a few records")]
pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}
