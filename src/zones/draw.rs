//! Zones from the estimate, planting by planting.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::{
    Drawn, Stage,
    assemble::{Group, means},
    centre,
    how_many::{Division, Fold, Panels, borders, divide},
    merge::Unit,
    neighbours::{PanelGround, neighbours},
    panel_values::{aim, counts_of, density, ground, set_values, weights},
    without_fold::{Point, surface},
};
use crate::{
    estimate::{Field, Method},
    maths::float,
    settings::ZoneSettings,
};

/// Folds in which counts are held out.
const FOLDS: usize = 10;
/// Fewer counts in a planting draw no border.
const FEWEST_COUNTS: usize = 5;

/// Draws the zones of every planting.
pub(super) fn draw(stage: Stage<'_>, settings: &ZoneSettings) -> Drawn {
    let mut groups = Vec::new();
    let mut errors = [0.0; 2];
    let by_planting = stage.panels_by_planting();
    let plantings = by_planting.len();
    let flat = why_flat(&stage.estimate.shoots);
    for (planting, panels) in by_planting {
        let division = match flat {
            Some(_) => None,
            None => Planting::new(stage, planting, &panels, settings).map(|p| p.divide()),
        };
        if let Some([zoned, one]) = division.as_ref().and_then(|division| division.held_out) {
            errors = [errors[0] + zoned, errors[1] + one];
        }
        groups.extend(groups_of(planting, panels, division));
    }
    let reduction = (errors[1] > 0.0).then(|| 1.0 - errors[0] / errors[1]);
    let why = why(flat, groups.len(), plantings, reduction);
    Drawn { groups, why, held_out_reduction: reduction }
}

/// Why no border can be drawn at all, if so.
fn why_flat(field: &Field) -> Option<&'static str> {
    let skill = field.check.as_ref().is_some_and(|c| c.rmse_per_m < c.rmse_of_mean_per_m);
    match field.method {
        Method::None => Some("there are too few counts for a map"),
        Method::Mean => Some("the counts show no spatial pattern"),
        Method::InverseDistance if !skill => Some("the counts show no spatial pattern"),
        Method::InverseDistance | Method::Kriging => None,
    }
}

fn why(flat: Option<&str>, zones: usize, plantings: usize, reduction: Option<f64>) -> String {
    match (flat, reduction) {
        (Some(flat), _) => format!("one zone a planting: {flat}"),
        (None, Some(reduction)) if zones > plantings => format!(
            "{zones} zones of whole panels: neighbours differ, and they explain {:.0} % of the \
             variance of counts that were held out",
            100.0 * reduction
        ),
        _ => "one zone a planting: no border foretells held-out counts better than none".to_owned(),
    }
}

fn groups_of(planting: usize, panels: Vec<usize>, division: Option<Division>) -> Vec<Group> {
    let Some(division) = division else {
        return vec![Group { planting, name: None, panels }];
    };
    let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (panel, label) in panels.into_iter().zip(division.labels) {
        groups.entry(label).or_default().push(panel);
    }
    groups.into_values().map(|panels| Group { planting, name: None, panels }).collect()
}

/// A planting with all that drawing needs.
struct Planting<'a> {
    stage: Stage<'a>,
    settings: &'a ZoneSettings,
    panels: &'a [usize],
    vines: Vec<Vec<usize>>,
    units: Vec<Unit>,
    /// What is wanted on each panel, shoots per metre; `None` where no target is set.
    aims: Option<Vec<f64>>,
    counts: Vec<(usize, Point)>,
    touching: Vec<BTreeSet<usize>>,
}

impl<'a> Planting<'a> {
    /// `None` where the counts of the planting allow no border.
    fn new(
        stage: Stage<'a>,
        planting: usize,
        panels: &'a [usize],
        settings: &'a ZoneSettings,
    ) -> Option<Self> {
        let vines: Vec<Vec<usize>> =
            panels.iter().map(|&panel| stage.present(panel).collect()).collect();
        let counts = counts_of(stage, planting, panels);
        let densities: Option<Vec<f64>> = vines.iter().map(|vines| density(stage, vines)).collect();
        let densities = densities.filter(|_| counts.len() >= FEWEST_COUNTS)?;
        let aims: Option<Vec<f64>> =
            vines.iter().map(|vines| aim(stage, planting, vines, settings)).collect();
        let weights = weights(stage, &vines);
        let size = |vines: &Vec<usize>| float(vines.len());
        let mut units: Vec<Unit> = (0..panels.len())
            .map(|i| Unit { values: [0.0; 2], weight: weights[i], size: size(&vines[i]) })
            .collect();
        set_values(&mut units, &densities, aims.as_deref());
        let grounds: Vec<PanelGround> = panels.iter().map(|&p| ground(stage, p)).collect();
        let touching = neighbours(&grounds);
        Some(Self { stage, settings, panels, vines, units, aims, counts, touching })
    }

    fn divide(&self) -> Division {
        let present = self.stage.joined.vines.iter().filter(|vine| !vine.status.is_missing());
        let panels = Panels {
            touching: &self.touching,
            least_size: self.settings.smallest_share * float(present.count()),
        };
        let folds = FOLDS.min(self.counts.len());
        let folds: Vec<Fold> =
            (0..folds).into_par_iter().map(|fold| self.fold(fold, folds)).collect();
        divide(panels, &self.units, &folds, self.settings, |labels| self.differ(labels))
    }

    /// Every `folds`th count is held out, so that each fold lies over the whole planting.
    fn fold(&self, fold: usize, folds: usize) -> Fold {
        let held_out = self.counts.iter().skip(fold).step_by(folds);
        let shoots = &self.stage.estimate.shoots;
        let trends: Vec<f64> = self.vines.iter().map(|vines| shoots.trend_per_m(vines)).collect();
        let without = |panel: usize, point: Point| Point {
            at: shoots.stretched(point.at),
            per_m: point.per_m - trends[panel],
            ..point
        };
        let kept: Vec<Point> = self
            .counts
            .iter()
            .enumerate()
            .filter(|(index, _)| index % folds != fold)
            .map(|(_, &(panel, point))| without(panel, point))
            .collect();
        let places: Vec<[f64; 2]> = self
            .panels
            .iter()
            .map(|&panel| centre(&self.stage.layout.panels[panel]))
            .map(|at| shoots.stretched([at.x, at.y]))
            .collect();
        let around = surface(&places, &kept, shoots.model.as_ref());
        let densities: Vec<f64> = around.iter().zip(&trends).map(|(a, b)| a + b).collect();
        let mut units = self.units.clone();
        set_values(&mut units, &densities, self.aims.as_deref());
        Fold { units, held_out: held_out.map(|(panel, point)| (*panel, point.per_m)).collect() }
    }

    /// True when the means of every two zones that touch differ by enough standard errors.
    fn differ(&self, labels: &[usize]) -> bool {
        let names: Vec<usize> =
            labels.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
        let index = |label: usize| names.partition_point(|name| *name < label);
        let mut vines = vec![Vec::new(); names.len()];
        for (panel, &label) in self.vines.iter().zip(labels) {
            vines[index(label)].extend_from_slice(panel);
        }
        let means = means(self.stage, &self.stage.estimate.shoots, &vines);
        borders(&self.touching, labels).into_iter().all(|(one, other)| {
            let (a, b) = (index(one), index(other));
            let (Some(mean_a), Some(mean_b)) = (means.means[a], means.means[b]) else {
                return false;
            };
            let variance = means.covariance_of(a, a) + means.covariance_of(b, b)
                - 2.0 * means.covariance_of(a, b);
            let error = variance.max(0.0).sqrt() * means.scale;
            (mean_a - mean_b).abs() > self.settings.standard_errors * error
        })
    }
}
