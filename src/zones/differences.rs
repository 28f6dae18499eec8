//! How much more one zone carries than another, with the interval of the difference.
//!
//! Var(a − b) = Var a + Var b − 2 Cov(a, b), from the one solve that all zones share. The interval
//! is scaled as that of the zone whose own is the wider beside its error.
//!
//! The map knows no borders and draws zones towards each other at a sharp one; the counts of each
//! zone alone do not, but say nothing about where in the zone they stand. The interval reaches as far
//! as either.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    Stage, Zone, ZoneMean,
    counts_alone::CountsAlone,
    neighbours::{PanelGround, neighbours},
    panel_values::ground,
};

/// The difference of two zones' means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The zone with the lower number, as an index.
    pub one: usize,
    /// The other.
    pub other: usize,
    /// They touch and are of one planting.
    pub touching: bool,
    /// Mean of the first less that of the second, shoots per metre.
    pub per_m: f64,
    /// Lower end of its 90 % interval.
    pub lo90: f64,
    /// Upper end of its 90 % interval.
    pub hi90: f64,
}

impl Difference {
    /// True when the interval leaves 0 out.
    pub fn is_clear(&self) -> bool {
        self.lo90 > 0.0 || self.hi90 < 0.0
    }
}

/// The differences of every two zones with a mean and an error, in the order of their ids.
pub(super) fn differences(stage: Stage<'_>, zones: &[Zone], covariance: &[f64]) -> Vec<Difference> {
    let zone_of = zone_of_panels(zones);
    let touching = touching_zones(stage, &zone_of);
    let alone = CountsAlone::new(stage, &zone_of, zones.len());
    let n = zones.len();
    let pairs = (0..n).flat_map(|one| (one + 1..n).map(move |other| (one, other)));
    let difference = |(one, other): (usize, usize)| {
        let (a, b) = (zones[one].density?, zones[other].density?);
        let cell = |row: usize, column: usize| covariance[row * n + column];
        let variance = cell(one, one) + cell(other, other) - 2.0 * cell(one, other);
        let half = factor90(a).max(factor90(b)) * variance.max(0.0).sqrt();
        let per_m = a.per_m - b.per_m;
        let [low, high] = alone.difference90(one, other).unwrap_or([per_m; 2]);
        Some(Difference {
            one,
            other,
            touching: touching.contains(&(one, other)),
            per_m,
            lo90: low.min(per_m - half),
            hi90: high.max(per_m + half),
        })
        .filter(|difference| difference.lo90.is_finite() && difference.hi90.is_finite())
    };
    pairs.filter_map(difference).collect()
}

/// Half the 90 % interval over the standard error; 0 for a mean without an error.
fn factor90(mean: ZoneMean) -> f64 {
    if mean.se > 0.0 { (mean.hi90 - mean.per_m) / mean.se } else { 0.0 }
}

/// By panel the zone that it is in.
fn zone_of_panels(zones: &[Zone]) -> BTreeMap<usize, usize> {
    let of = |(index, zone): (usize, &Zone)| {
        zone.panels.iter().map(move |&panel| (panel, index)).collect::<Vec<_>>()
    };
    zones.iter().enumerate().flat_map(of).collect()
}

/// Pairs of zones of one planting with panels that touch.
fn touching_zones(stage: Stage<'_>, zone_of: &BTreeMap<usize, usize>) -> BTreeSet<(usize, usize)> {
    let mut pairs = BTreeSet::new();
    for panels in stage.panels_by_planting().into_values() {
        let grounds: Vec<PanelGround> = panels.iter().map(|&panel| ground(stage, panel)).collect();
        for (one, others) in neighbours(&grounds).iter().enumerate() {
            for &other in others.range(one + 1..) {
                let (a, b) = (zone_of.get(&panels[one]), zone_of.get(&panels[other]));
                if let (Some(&a), Some(&b)) = (a, b)
                    && a != b
                {
                    pairs.insert((a.min(b), a.max(b)));
                }
            }
        }
    }
    pairs
}
