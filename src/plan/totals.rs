//! The excess of whole zones with their intervals.

use super::{
    Evidence, Interval, Verdict, VineTarget,
    removal::Excess,
    simulate::{Crowd, Known, Variation, totals as simulated},
    vines::left_per_m,
};
use crate::{estimate::VineSet, maths::float, settings::PlanSettings};

/// Panels drawn together over the whole block; in a block with more, some stand for the others.
const MOST_PANELS: usize = 600;
/// Panels that stand for a zone at least, where it has so many.
const LEAST_PANELS: usize = 25;
/// Panels that stand for a zone at most.
const MOST_PANELS_A_ZONE: usize = 300;

/// The excess of every zone and of those that are worked together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Totals {
    /// By zone, whatever its verdict; `None` without an estimate or a target.
    pub(super) zones: Vec<Option<Interval>>,
    /// Of all overcrowded zones together.
    pub(super) block: Interval,
}

/// The excess of every zone.
pub(super) fn totals(
    evidence: Evidence<'_>,
    (targets, excesses): (&[Option<VineTarget>], &[Excess]),
    verdicts: &[Verdict],
    settings: &PlanSettings,
) -> Totals {
    let gatherer = Gatherer { evidence, targets, excesses, settings };
    let zones = &evidence.zones.zones;
    let a_zone = (MOST_PANELS / zones.len().max(1)).clamp(LEAST_PANELS, MOST_PANELS_A_ZONE);
    let (mut crowds, mut sets) = (Vec::new(), Vec::new());
    let mut known = Vec::with_capacity(zones.len());
    for (zone, verdict) in verdicts.iter().enumerate() {
        let (zone_crowds, zone_sets): (Vec<Crowd>, Vec<VineSet>) =
            gatherer.crowds(zone, a_zone).into_iter().unzip();
        let worked = *verdict == Verdict::Overcrowded;
        known.push(Known { worked, ..gatherer.known(zone, !zone_crowds.is_empty()) });
        crowds.extend(zone_crowds);
        sets.extend(zone_sets);
    }
    let variation = gatherer.set_surfaces(&mut crowds, &sets);
    let draws = (settings.draws, settings.seed);
    let mut drawn = simulated(&crowds, &variation, &known, draws);
    let block = drawn.pop().unwrap_or_default();
    let said = |(zone, interval)| gatherer.can_say(zone).then_some(interval);
    Totals { zones: drawn.into_iter().enumerate().map(said).collect(), block }
}

struct Gatherer<'a> {
    evidence: Evidence<'a>,
    targets: &'a [Option<VineTarget>],
    excesses: &'a [Excess],
    settings: &'a PlanSettings,
}

impl Gatherer<'_> {
    fn can_say(&self, zone: usize) -> bool {
        let zone = &self.evidence.zones.zones[zone];
        zone.density.is_some() && zone.vines.iter().any(|&vine| self.targets[vine].is_some())
    }

    /// True for a vine whose excess is only believed.
    fn is_uncounted(&self, vine: usize) -> bool {
        self.targets[vine].is_some() && !self.evidence.joined.vines[vine].counted
    }

    fn known(&self, zone: usize, crowded: bool) -> Known {
        let vines = &self.evidence.zones.zones[zone].vines;
        let value = vines.iter().map(|&vine| self.excesses[vine].shoots).sum();
        // Without any crowd to draw, every vine keeps its own doubt.
        let apart = vines.iter().filter(|&&vine| !crowded || !self.is_uncounted(vine));
        Known {
            value,
            counted: apart.clone().map(|&vine| self.excesses[vine].shoots).sum(),
            counted_variance: apart.map(|&vine| self.excesses[vine].sd.powi(2)).sum(),
            worked: false,
        }
    }

    /// The panels that stand for the uncounted vines of a zone, with the vines whose surface they
    /// take.
    fn crowds(&self, zone: usize, most: usize) -> Vec<(Crowd, VineSet)> {
        let zone_vines = &self.evidence.zones.zones[zone];
        if zone_vines.density.is_none() {
            return Vec::new();
        }
        let panels: Vec<Vec<usize>> = zone_vines
            .panels
            .iter()
            .map(|&panel| self.evidence.layout.panels[panel].vines.clone())
            .map(|vines| vines.filter(|&vine| self.is_uncounted(vine)).collect())
            .filter(|vines: &Vec<usize>| !vines.is_empty())
            .collect();
        let step = panels.len().div_ceil(most).max(1);
        let standing = panels.iter().skip(step / 2).step_by(step);
        let all: usize = panels.iter().map(Vec::len).sum();
        let stood: usize = standing.clone().map(Vec::len).sum();
        let each = float(all) / float(stood.max(1));
        standing.map(|vines| self.crowd(zone, vines, each)).collect()
    }

    fn crowd(&self, zone: usize, vines: &[usize], each: f64) -> (Crowd, VineSet) {
        let canopy = |vine: usize| self.evidence.joined.vines[vine].canopy_m;
        let count = float(vines.len());
        let left = |vine: usize| {
            self.targets[vine].map_or(0.0, |t| left_per_m(&t, canopy(vine), self.settings))
        };
        let crowd = Crowd {
            zone,
            surface_per_m: 0.0,
            left_per_m: vines.iter().map(|&vine| left(vine)).sum::<f64>() / count,
            canopy_m: vines.iter().map(|&vine| canopy(vine)).sum::<f64>() / count,
            vines: count * each,
        };
        (crowd, vines.iter().map(|&vine| (vine, canopy(vine))).collect())
    }

    /// Asks for the surface of the crowds and how it varies together.
    fn set_surfaces(&self, crowds: &mut [Crowd], sets: &[VineSet]) -> Variation {
        let field = &self.evidence.estimate.shoots;
        if sets.is_empty() {
            return Variation {
                covariance: Vec::new(),
                nugget: 0.0,
                scale: 1.0,
                degrees_of_freedom: None,
            };
        }
        let surfaces = field.surface_of(sets);
        for ((crowd, set), mean) in crowds.iter_mut().zip(sets).zip(&surfaces.means) {
            let believed = set.first().and_then(|&(vine, _)| field.vines[vine]);
            crowd.surface_per_m = mean.or(believed.map(|b| b.surface_per_m)).unwrap_or(0.0);
        }
        Variation {
            covariance: surfaces.covariance,
            nugget: field.nugget(),
            scale: surfaces.scale,
            degrees_of_freedom: surfaces.degrees_of_freedom,
        }
    }
}
