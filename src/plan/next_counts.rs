//! Where the next counts would help the decision most.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | w | canopy of a zone that is still open | m |
//! | C | covariances between the means of zones and of panels not counted | (shoots/m)² |
//! | z, c | a zone, a candidate panel | – |
//!
//! Counting panel c takes Σ w²·C(z,c)²/C(c,c) from the variance Σ w²·C(z,z) of the zones' shoots,
//! and leaves C(i,j) − C(i,c)·C(c,j)/C(c,c). The best is taken, then the best after it.
//!
//! # Source
//! The conditional covariance of jointly normal quantities; choosing one by one is the usual greedy
//! design, for example Krause, Singh & Guestrin 2008, J. Mach. Learn. Res. 9:235–284.

use super::{Evidence, Plan, Verdict};
use crate::{
    estimate::{SetMeans, VineSet},
    maths::{float, random::Random},
    sample::{Stop, in_walking_order, local_pivotal},
    zones::Zone,
};

/// Most panels that compete: spread over all that could.
const MOST_CANDIDATES: usize = 200;
/// Seed of that spread and of the choice where no pattern tells one panel from another.
const SEED: u64 = 1;

/// Panels to count next, in walking order.
#[derive(Debug, Clone, PartialEq)]
pub struct NextCounts {
    /// Where to count; without chances, since nothing was drawn.
    pub stops: Vec<Stop>,
    /// By stop, the zone that it is about, as an index into the plan's zones.
    pub zones: Vec<usize>,
    /// Share by which the variance of these zones' shoots falls; `None` where no pattern tells.
    pub fall: Option<f64>,
}

/// The panels whose counts would help most: in undecided zones, else in those to be worked, else in
/// all that have an estimate.
pub fn next_counts(evidence: Evidence<'_>, plan: &Plan, number: usize) -> NextCounts {
    let open = open_zones(evidence, plan);
    let candidates = candidates(evidence, &open);
    let with_pattern = evidence.estimate.shoots.method.has_pattern();
    let (chosen, fall) = if with_pattern && !candidates.is_empty() {
        let (chosen, fall) = greedy(evidence, &open, &candidates, number);
        (chosen, Some(fall))
    } else {
        (spread(evidence, &candidates, number), None)
    };
    let stops = chosen.iter().map(|&panel| stop(evidence, panel)).collect();
    let stops = in_walking_order(stops, evidence.layout);
    let zone_of = |stop: &Stop| evidence.zones.of_panel[stop.panel].unwrap_or(0);
    NextCounts { zones: stops.iter().map(zone_of).collect(), stops, fall }
}

/// Zones that more counts would help, as indices.
fn open_zones(evidence: Evidence<'_>, plan: &Plan) -> Vec<usize> {
    let of = |wanted: &dyn Fn(usize) -> bool| -> Vec<usize> {
        (0..plan.zones.len())
            .filter(|&zone| plan.zones[zone].target_per_m.is_some() && wanted(zone))
            .collect()
    };
    let verdict = |wanted: Verdict| of(&|zone| plan.zones[zone].verdict == wanted);
    let known = |zone: usize| evidence.zones.zones[zone].density.is_some();
    let ways = [verdict(Verdict::Undecided), verdict(Verdict::Overcrowded), of(&known)];
    ways.into_iter().find(|zones| !zones.is_empty()).unwrap_or_default()
}

/// Panels of these zones with no counted vine, spread over them where they are many.
fn candidates(evidence: Evidence<'_>, open: &[usize]) -> Vec<usize> {
    let vines = &evidence.joined.vines;
    let zones = open.iter().map(|&zone| &evidence.zones.zones[zone]);
    let free = |panel: &&usize| {
        let own = evidence.layout.panels[**panel].vines.clone();
        own.clone().all(|vine| !vines[vine].counted)
            && own.clone().any(|vine| vines[vine].canopy_m > 0.0)
    };
    let mut all: Vec<usize> =
        zones.flat_map(|zone| zone.panels.iter().filter(free).copied()).collect();
    all.sort_unstable();
    if all.len() > MOST_CANDIDATES { spread(evidence, &all, MOST_CANDIDATES) } else { all }
}

/// So many of some panels, spread over the ground.
fn spread(evidence: Evidence<'_>, panels: &[usize], number: usize) -> Vec<usize> {
    let at: Vec<[f64; 2]> = panels
        .iter()
        .map(|&panel| {
            let at = stop(evidence, panel).at;
            [at.along_m, at.across_m]
        })
        .collect();
    let chance = float(number.min(panels.len())) / float(panels.len().max(1));
    let chosen = local_pivotal(&at, &vec![chance; panels.len()], &mut Random::new(SEED));
    chosen.into_iter().map(|at| panels[at]).collect()
}

/// One panel after another that takes most from the variance of the open zones' shoots; and the
/// share of it that all take together.
fn greedy(
    evidence: Evidence<'_>,
    open: &[usize],
    panels: &[usize],
    number: usize,
) -> (Vec<usize>, f64) {
    let zones: Vec<&Zone> = open.iter().map(|&zone| &evidence.zones.zones[zone]).collect();
    let of_zone = |zone: &&Zone| canopy(evidence, zone.vines.iter().copied());
    let of_panel = |&panel: &usize| canopy(evidence, evidence.layout.panels[panel].vines.clone());
    let sets: Vec<VineSet> = zones.iter().map(of_zone).chain(panels.iter().map(of_panel)).collect();
    let means = evidence.estimate.shoots.means_of(&sets);
    let weights: Vec<f64> = zones.iter().map(|zone| zone.canopy_m.powi(2)).collect();
    let mut left = Left::new(&means, weights);
    let before = left.variance();
    let mut chosen = Vec::new();
    while chosen.len() < number.min(panels.len()) {
        let Some(best) = left.best() else { break };
        left.count(best);
        chosen.push(panels[best - zones.len()]);
    }
    let fall = if before > 0.0 { 1.0 - left.variance() / before } else { 0.0 };
    (chosen, fall)
}

/// Vines with their share of the canopy.
fn canopy(evidence: Evidence<'_>, vines: impl Iterator<Item = usize> + Clone) -> VineSet {
    let of = |vine: usize| evidence.joined.vines[vine].canopy_m;
    let all: f64 = vines.clone().map(of).sum();
    vines.map(|vine| (vine, of(vine) / all)).filter(|(_, share)| *share > 0.0).collect()
}

/// What is not known yet of zones (first) and panels (behind them).
struct Left {
    covariance: Vec<Vec<f64>>,
    /// Squares of the zones' canopy.
    weights: Vec<f64>,
}

/// A panel with less of its variance left than this is known.
const KNOWN: f64 = 1e-9;

impl Left {
    fn new(means: &SetMeans, weights: Vec<f64>) -> Self {
        let n = means.means.len();
        let row = |one: usize| (0..n).map(|other| means.covariance_of(one, other)).collect();
        Self { covariance: (0..n).map(row).collect(), weights }
    }

    fn variance(&self) -> f64 {
        self.weights.iter().enumerate().map(|(zone, w)| w * self.covariance[zone][zone]).sum()
    }

    /// The panel that takes most, the lowest of equals.
    fn best(&self) -> Option<usize> {
        let gain = |panel: &usize| {
            let own = self.covariance[*panel][*panel];
            let shared = self.weights.iter().enumerate();
            shared.map(|(zone, w)| w * self.covariance[zone][*panel].powi(2) / own).sum::<f64>()
        };
        (self.weights.len()..self.covariance.len())
            .filter(|&panel| self.covariance[panel][panel] > KNOWN)
            .max_by(|a, b| gain(a).total_cmp(&gain(b)).then(b.cmp(a)))
    }

    /// What is left when a panel is counted whole.
    fn count(&mut self, panel: usize) {
        let with = self.covariance[panel].clone();
        let own = with[panel];
        for (row, one) in self.covariance.iter_mut().zip(&with) {
            for (left, other) in row.iter_mut().zip(&with) {
                *left -= one * other / own;
            }
        }
    }
}

fn stop(evidence: Evidence<'_>, panel: usize) -> Stop {
    Stop::chosen(evidence.layout, panel, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn left(covariance: &[&[f64]], weights: &[f64]) -> Left {
        Left {
            covariance: covariance.iter().map(|row| row.to_vec()).collect(),
            weights: weights.to_vec(),
        }
    }

    // Worked by hand: one zone of variance 4 and two panels of variance 2 with covariances 2 and 1.
    // The first takes 2²/2 = 2; then the second has 2 − 1²/2 = 1.5 left and shares 1 − 2·1/2 = 0 with
    // the zone.
    #[test]
    fn the_best_panel_takes_its_squared_covariance_over_its_variance() {
        let mut left = left(&[&[4.0, 2.0, 1.0], &[2.0, 2.0, 1.0], &[1.0, 1.0, 2.0]], &[1.0]);
        assert_eq!(left.best(), Some(1));
        left.count(1);
        assert!((left.variance() - 2.0).abs() < 1e-12);
        assert!((left.covariance[2][2] - 1.5).abs() < 1e-12);
        assert!(left.covariance[0][2].abs() < 1e-12);
        assert_eq!(left.best(), Some(2), "what is counted is not counted again");
    }

    #[test]
    fn a_zone_with_more_canopy_weighs_more() {
        let covariance: [&[f64]; 4] = [
            &[1.0, 0.0, 0.5, 0.0],
            &[0.0, 1.0, 0.0, 0.6],
            &[0.5, 0.0, 1.0, 0.0],
            &[0.0, 0.6, 0.0, 1.0],
        ];
        assert_eq!(left(&covariance, &[1.0, 1.0]).best(), Some(3));
        assert_eq!(left(&covariance, &[4.0, 1.0]).best(), Some(2));
    }
}
