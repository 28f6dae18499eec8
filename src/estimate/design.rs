//! Which counts are used, and which vines share a mean.
//!
//! Vines that grow alike (cultivar, kind, training, curtains, year) have one mean; plantings that
//! differ only in their target are one kind. A kind with fewer counts than a map needs has no
//! estimate of its own and lends none: another cultivar's density would be a guess.

use std::{collections::BTreeMap, sync::Arc};

use super::kriging::{Observed, Population};
use crate::{
    frame::Site,
    join::{Joined, Observation},
    layout::Layout,
    maths::{float, nearest::extent},
    settings::{EstimateSettings, Planting},
};

/// Vines on the ground: where they stand, which share a mean, and whether they are there at all.
#[derive(Debug, Clone)]
pub(super) struct Ground {
    pub population: Arc<Population>,
    /// By vine place: a vine stands there.
    pub stands: Vec<bool>,
    /// By vine place: too young to speak for others.
    pub young: Vec<bool>,
    /// By vine place: its kind.
    pub kind: Vec<usize>,
    /// By planting: its kind.
    pub kind_of_planting: Vec<usize>,
    /// By kind: its name for people.
    pub names: Vec<String>,
    /// What a raster says of the vines, where one was given that varies.
    pub raster: Option<RasterColumn>,
    /// Vine spacing and longest extent, metres.
    pub spacing_m: f64,
    pub extent_m: f64,
}

impl Ground {
    pub(super) fn new(
        site: &Site,
        layout: &Layout,
        joined: &Joined,
        settings: &EstimateSettings,
    ) -> Self {
        let plantings = site.plantings.all();
        let kinds = if settings.no_count_noise {
            vec![0; plantings.len().max(1)]
        } else {
            kinds_of(plantings)
        };
        let names = names_of(plantings, &kinds);
        let at: Vec<[f64; 2]> =
            layout.vines.iter().map(|vine| [vine.at.along_m, vine.at.across_m]).collect();
        let kind: Vec<usize> = joined
            .vines
            .iter()
            .map(|vine| kinds.get(vine.planting).copied().unwrap_or(0))
            .collect();
        let (least, most) = extent(&at);
        let own: Vec<Option<usize>> = kind.iter().map(|&kind| Some(kind)).collect();
        let stands: Vec<bool> = joined.vines.iter().map(|vine| !vine.status.is_missing()).collect();
        let raster = joined.raster.as_ref();
        Self {
            population: Arc::new(Population::with_means(at, &own, names.len())),
            raster: raster.and_then(|raster| RasterColumn::new(raster, &kind, &stands)),
            stands,
            young: joined.vines.iter().map(|vine| vine.status.is_young()).collect(),
            kind,
            kind_of_planting: kinds,
            names,
            spacing_m: site.rules.vine_spacing.metres(),
            extent_m: (most[0] - least[0]).max(most[1] - least[1]),
        }
    }

    /// True when a vine of the kind stands.
    pub(super) fn grows(&self, kind: usize) -> bool {
        self.stands.iter().zip(&self.kind).any(|(stands, own)| *stands && *own == kind)
    }

    /// The vines that stand and belong to a kind with a mean, by number.
    pub(super) fn known(&self, with_mean: &[bool]) -> Vec<usize> {
        let known = |&vine: &usize| self.stands[vine] && with_mean[self.kind[vine]];
        (0..self.stands.len()).filter(known).collect()
    }
}

/// A raster as a column of the mean.
#[derive(Debug, Clone)]
pub(super) struct RasterColumn {
    /// By vine place: the value less the mean of the vine's kind, in standard deviations; 0, that
    /// mean, where the raster has none.
    pub values: Vec<f64>,
    /// Vines that stand where the raster has no value.
    pub without: usize,
}

impl RasterColumn {
    /// Centred on the vines of each kind, so that the mean of a kind stays the mean of its vines.
    ///
    /// `None` when the raster does not vary under the vines.
    pub(super) fn new(raster: &[Option<f64>], kind: &[usize], stands: &[bool]) -> Option<Self> {
        let own = |vine: usize| {
            raster.get(vine).copied().flatten().filter(|value| stands[vine] && value.is_finite())
        };
        let mut sums = vec![(0.0, 0.0); kind.iter().max().map_or(0, |kind| kind + 1)];
        for (vine, &of) in kind.iter().enumerate() {
            if let Some(value) = own(vine) {
                sums[of].0 += value;
                sums[of].1 += 1.0;
            }
        }
        let centred =
            |vine: usize| own(vine).map_or(0.0, |v| v - sums[kind[vine]].0 / sums[kind[vine]].1);
        let mut values: Vec<f64> = (0..kind.len()).map(centred).collect();
        let known: f64 = sums.iter().map(|(_, number)| number).sum();
        let spread = (values.iter().map(|v| v * v).sum::<f64>() / known.max(1.0)).sqrt();
        let size = (0..kind.len()).filter_map(own).fold(0.0, |m: f64, v| m.max(v.abs()));
        if spread <= 1e-9 * size {
            return None;
        }
        for value in &mut values {
            *value /= spread;
        }
        let without = (0..kind.len()).filter(|&vine| stands[vine] && own(vine).is_none()).count();
        Some(Self { values, without })
    }
}

/// Plantings that grow alike get one number.
fn kinds_of(plantings: &[Planting]) -> Vec<usize> {
    let alike = |a: &Planting, b: &Planting| {
        (&a.cultivar, a.vine_type, &a.training, a.curtains, a.planted)
            == (&b.cultivar, b.vine_type, &b.training, b.curtains, b.planted)
    };
    let mut firsts: Vec<&Planting> = Vec::new();
    let mut kinds = Vec::new();
    for planting in plantings {
        let kind = firsts.iter().position(|first| alike(first, planting)).unwrap_or_else(|| {
            firsts.push(planting);
            firsts.len() - 1
        });
        kinds.push(kind);
    }
    if kinds.is_empty() { vec![0] } else { kinds }
}

fn names_of(plantings: &[Planting], kinds: &[usize]) -> Vec<String> {
    let mut names = BTreeMap::new();
    for (number, &kind) in kinds.iter().enumerate() {
        let cultivar = plantings.get(number).and_then(|planting| planting.cultivar.clone());
        let plain = || format!("planting {}", kind + 1);
        names.entry(kind).or_insert_with(|| cultivar.unwrap_or_else(plain));
    }
    names.into_values().collect()
}

/// A count that the estimate rests on.
#[derive(Debug, Clone)]
pub(super) struct Used {
    /// Its vines with weights that sum to 1, its value; its noise is still 0.
    pub observed: Observed,
    /// Its kind.
    pub kind: usize,
    /// (1 − ℓ/L)/ℓ, per metre: 0 when all was counted.
    pub uncounted: f64,
    /// From repeated windows: Σ ℓ·(d − d̄)² and its degrees of freedom.
    pub repeats: (f64, f64),
}

/// The counts that speak for others, in the order of their vines, and how many of young vines do
/// not. `canopy` is the metres of canopy of each vine.
pub(super) fn used_counts(
    ground: &Ground,
    counts: &[Observation],
    canopy: &[f64],
    all: bool,
) -> (Vec<Used>, usize) {
    let mut used = Vec::new();
    let mut left_out = 0;
    for count in counts {
        let young = count.vines.iter().all(|&vine| ground.young[vine]);
        if count.vines.is_empty() || !count.per_m.is_finite() {
            continue;
        }
        if young && !all {
            left_out += 1;
            continue;
        }
        used.push(Used::new(ground, count, canopy));
    }
    // Their order must not matter, not even for rounding.
    used.sort_by(|a, b| {
        let vines = |u: &Used| u.observed.plants.iter().map(|(vine, _)| *vine).collect::<Vec<_>>();
        vines(a).cmp(&vines(b)).then(a.observed.value.total_cmp(&b.observed.value))
    });
    (merged(used), left_out)
}

impl Used {
    fn new(ground: &Ground, count: &Observation, canopy: &[f64]) -> Self {
        let mut vines = count.vines.clone();
        vines.sort_unstable();
        vines.dedup();
        let total: f64 = vines.iter().map(|&vine| canopy[vine]).sum();
        let even = 1.0 / float(vines.len());
        let weight = |vine: usize| if total > 0.0 { canopy[vine] / total } else { even };
        let plants = vines.iter().map(|&vine| (vine, weight(vine))).collect();
        let whole = count.canopy_m > 0.0 && count.counted_m > 0.0;
        let uncounted = if whole {
            (1.0 - count.counted_m / count.canopy_m).max(0.0) / count.counted_m
        } else {
            0.0
        };
        Self {
            observed: Observed { plants, value: count.per_m, noise: 0.0 },
            kind: ground.kind[vines[0]],
            uncounted,
            repeats: repeats(&count.windows),
        }
    }
}

/// Two counts of the same vines are one: their mean.
fn merged(used: Vec<Used>) -> Vec<Used> {
    let mut kept: Vec<(Used, f64)> = Vec::new();
    for next in used {
        let same = |last: &Used| {
            last.observed.plants.len() == next.observed.plants.len()
                && last.observed.plants.iter().zip(&next.observed.plants).all(|(a, b)| a.0 == b.0)
        };
        match kept.last_mut() {
            Some((last, times)) if same(last) => {
                *times += 1.0;
                last.observed.value += (next.observed.value - last.observed.value) / *times;
                last.uncounted = last.uncounted.min(next.uncounted);
            }
            _ => kept.push((next, 1.0)),
        }
    }
    kept.into_iter().map(|(used, _)| used).collect()
}

/// Σ ℓ·(d − d̄)² over the windows of a vine, and its degrees of freedom.
fn repeats(windows: &[(f64, f64)]) -> (f64, f64) {
    let metres: f64 = windows.iter().map(|(_, counted_m)| counted_m).sum();
    if windows.len() < 2 || metres <= 0.0 {
        return (0.0, 0.0);
    }
    let mean = windows.iter().map(|(per_m, counted_m)| per_m * counted_m).sum::<f64>() / metres;
    let squares =
        windows.iter().map(|(per_m, counted_m)| counted_m * (per_m - mean) * (per_m - mean)).sum();
    (squares, float(windows.len() - 1))
}
