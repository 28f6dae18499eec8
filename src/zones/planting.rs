//! A planting with all that drawing needs: its parts, what is known of them, the counts in them.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    Stage,
    assemble::means,
    border_length::border_lengths,
    centre,
    how_many::{Division, Fold, Panels, Seen, View, borders, divide},
    merge::Unit,
    neighbours::{PanelGround, neighbours},
    panel_values::{aim, counts_of, density, ground, set_values, weights},
    without_fold::{Point, surface},
};
use crate::{maths::float, settings::ZoneSettings};
use rayon::prelude::*;

/// Folds in which counts are held out.
const FOLDS: usize = 10;
/// Fewer counts in a planting draw no border.
const FEWEST_COUNTS: usize = 5;

/// A planting and what is known of its parts: single panels, or all panels of a row.
pub(super) struct Planting<'a> {
    stage: Stage<'a>,
    settings: &'a ZoneSettings,
    /// The panels of each part.
    parts: Vec<Vec<usize>>,
    vines: Vec<Vec<usize>>,
    units: Vec<Unit>,
    /// What is wanted on each part, shoots per metre; `None` where no target is set.
    aims: Option<Vec<f64>>,
    counts: Vec<(usize, Point)>,
    touching: Vec<BTreeSet<usize>>,
    border_lengths: BTreeMap<(usize, usize), f64>,
}

impl<'a> Planting<'a> {
    /// `None` where the counts of the planting allow no border.
    pub(super) fn new(
        stage: Stage<'a>,
        planting: usize,
        panels: &[usize],
        settings: &'a ZoneSettings,
    ) -> Option<Self> {
        let parts = parts(stage, panels, settings.whole_rows);
        let vines: Vec<Vec<usize>> = parts
            .iter()
            .map(|panels| panels.iter().flat_map(|&panel| stage.present(panel)).collect())
            .collect();
        let counts = counts_in(stage, planting, (panels, &parts));
        let densities: Option<Vec<f64>> = vines.iter().map(|vines| density(stage, vines)).collect();
        let densities = densities.filter(|_| counts.len() >= FEWEST_COUNTS)?;
        let aims: Option<Vec<f64>> =
            vines.iter().map(|vines| aim(stage, planting, vines, settings)).collect();
        let weights = weights(stage, &parts);
        let size = |vines: &Vec<usize>| float(vines.len());
        let mut units: Vec<Unit> = (0..parts.len())
            .map(|i| Unit { values: [0.0; 2], weight: weights[i], size: size(&vines[i]) })
            .collect();
        set_values(&mut units, &densities, aims.as_deref());
        let (touching, border_lengths) = borders_of(stage, (panels, &parts), counts.len());
        Some(Self { stage, settings, parts, vines, units, aims, counts, touching, border_lengths })
    }

    /// The planting's panels, zone by zone, in the order of their first part.
    pub(super) fn groups(&self, labels: &[usize]) -> Vec<Vec<usize>> {
        let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (panels, &label) in self.parts.iter().zip(labels) {
            groups.entry(label).or_default().extend(panels);
        }
        let mut groups: Vec<Vec<usize>> = groups.into_values().collect();
        for panels in &mut groups {
            panels.sort_unstable();
        }
        groups
    }

    /// By part the place in `groups` of the group that its first panel is in.
    pub(super) fn labels_of(&self, group_of_panel: impl Fn(usize) -> usize) -> Vec<usize> {
        self.parts.iter().map(|panels| panels.first().map_or(0, |&p| group_of_panel(p))).collect()
    }

    /// True where counts lie in each of these parts' groups, by label.
    pub(super) fn counted(&self, labels: &[usize]) -> BTreeSet<usize> {
        self.counts.iter().map(|(part, _)| labels[*part]).collect()
    }

    pub(super) fn divide(&self) -> Division {
        let whole = View { units: self.units.clone(), counts: self.seen(|_| true) };
        let folds = self.folds();
        divide(self.panels(), &whole, &folds, self.settings, |labels| self.differ(labels))
    }

    pub(super) fn panels(&self) -> Panels<'_> {
        let present = self.stage.joined.vines.iter().filter(|vine| !vine.status.is_missing());
        Panels {
            touching: &self.touching,
            border_lengths: &self.border_lengths,
            least_size: self.settings.smallest_share * float(present.count()),
        }
    }

    /// The folds, as the planting looks without each of them.
    pub(super) fn folds(&self) -> Vec<Fold> {
        let folds = FOLDS.min(self.counts.len());
        (0..folds).into_par_iter().map(|fold| self.fold(fold, folds)).collect()
    }

    /// Every `folds`th count is held out, so that each fold lies over the whole planting.
    fn fold(&self, fold: usize, folds: usize) -> Fold {
        let held_out = self.counts.iter().skip(fold).step_by(folds);
        let is_kept = |index: usize| index % folds != fold;
        let kept = self.counts.iter().enumerate().filter(|(index, _)| is_kept(*index));
        let kept: Vec<Point> = kept.map(|(_, (_, point))| *point).collect();
        let mut units = self.units.clone();
        set_values(&mut units, &self.densities_from(&kept), self.aims.as_deref());
        Fold {
            kept: View { units, counts: self.seen(is_kept) },
            held_out: held_out.map(|(part, point)| (*part, point.per_m)).collect(),
        }
    }

    /// The mean surface of each part from these counts, by its panels' middles.
    fn densities_from(&self, counts: &[Point]) -> Vec<f64> {
        let shoots = &self.stage.estimate.shoots;
        let panels = self.parts.iter().flatten();
        let places: Vec<[f64; 2]> = panels
            .map(|&panel| centre(&self.stage.layout.panels[panel]))
            .map(|at| shoots.stretched([at.x, at.y]))
            .collect();
        let surface = surface(&places, counts, shoots.model.as_ref());
        let mut surface = surface.into_iter();
        let part = |(panels, vines): (&Vec<usize>, &Vec<usize>)| {
            let around: f64 = surface.by_ref().take(panels.len()).sum();
            around / float(panels.len().max(1)) + shoots.trend_per_m(vines)
        };
        self.parts.iter().zip(&self.vines).map(part).collect()
    }

    /// Some of the counts with their variance around the mean of a zone: the nugget over its vines
    /// and what counting a part adds; the former alone where no variation was fitted.
    fn seen(&self, keep: impl Fn(usize) -> bool) -> Vec<Seen> {
        let sum: f64 = self.counts.iter().map(|(_, point)| point.per_m).sum();
        let mean = sum / float(self.counts.len().max(1));
        let model = self.stage.estimate.shoots.model.as_ref();
        let nugget = model.map(|model| model.nugget).filter(|nugget| *nugget > 0.0);
        let variance = |point: &Point| match nugget {
            Some(nugget) => nugget / point.vines + mean * point.unseen_per_m,
            None => 1.0 / point.vines,
        };
        let kept = self.counts.iter().enumerate().filter(|(index, _)| keep(*index));
        kept.map(|(_, (part, point))| Seen {
            part: *part,
            per_m: point.per_m,
            variance: variance(point),
        })
        .collect()
    }

    /// True when the means of every two zones that touch differ by enough standard errors.
    fn differ(&self, labels: &[usize]) -> bool {
        let names: Vec<usize> =
            labels.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
        let index = |label: usize| names.partition_point(|name| *name < label);
        let mut vines = vec![Vec::new(); names.len()];
        for (part, &label) in self.vines.iter().zip(labels) {
            vines[index(label)].extend_from_slice(part);
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

/// Each panel alone, or the panels of each row together, in the order of rows.
fn parts(stage: Stage<'_>, panels: &[usize], whole_rows: bool) -> Vec<Vec<usize>> {
    if !whole_rows {
        return panels.iter().map(|&panel| vec![panel]).collect();
    }
    let mut rows: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for &panel in panels {
        rows.entry(stage.layout.panels[panel].row).or_default().push(panel);
    }
    rows.into_values().collect()
}

/// By panel the part that it is in.
fn part_of_panels(parts: &[Vec<usize>]) -> BTreeMap<usize, usize> {
    let of =
        |(part, panels): (usize, &Vec<usize>)| panels.iter().map(move |&p| (p, part)).collect();
    parts.iter().enumerate().flat_map(|part| -> Vec<(usize, usize)> { of(part) }).collect()
}

fn counts_in(
    stage: Stage<'_>,
    planting: usize,
    (panels, parts): (&[usize], &[Vec<usize>]),
) -> Vec<(usize, Point)> {
    let part = part_of_panels(parts);
    let counts = counts_of(stage, planting, panels).into_iter();
    counts.filter_map(|(place, point)| Some((*part.get(&panels[place])?, point))).collect()
}

type Borders = (Vec<BTreeSet<usize>>, BTreeMap<(usize, usize), f64>);

/// Which parts touch, and how long their borders are in typical distances between counts.
fn borders_of(
    stage: Stage<'_>,
    (panels, parts): (&[usize], &[Vec<usize>]),
    counts: usize,
) -> Borders {
    let grounds: Vec<PanelGround> = panels.iter().map(|&panel| ground(stage, panel)).collect();
    let of_panels = neighbours(&grounds);
    let spacing_m = stage.site.rules.row_spacing.metres();
    let row_m: f64 = grounds.iter().map(|ground| ground.along_m[1] - ground.along_m[0]).sum();
    let between_m = (row_m * spacing_m / float(counts.max(1))).sqrt();
    let part = part_of_panels(parts);
    let part_of = |panel: usize| part[&panels[panel]];
    let mut touching = vec![BTreeSet::new(); parts.len()];
    for (panel, others) in of_panels.iter().enumerate() {
        let others = others.iter().map(|&other| part_of(other));
        let own = part_of(panel);
        touching[own].extend(others.filter(|&other| other != own));
    }
    let mut lengths = BTreeMap::new();
    for ((one, other), metres) in border_lengths(&grounds, spacing_m) {
        let (one, other) = (part_of(one), part_of(other));
        if one != other {
            *lengths.entry((one.min(other), one.max(other))).or_insert(0.0) += metres / between_m;
        }
    }
    (touching, lengths)
}
