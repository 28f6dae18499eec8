//! Plantings by class of size: whole panels by their mean, because a crew can find a panel.

use std::collections::{BTreeMap, BTreeSet};

use super::{
    PruneRules, field,
    keep::{Keep, keep},
    plantings::{CropLoad, PlantingPruning, load_of},
    size_of,
    weighed::{WeighedVine, nodes_per_spur},
};
use crate::{
    estimate::{Field, VineSet},
    maths::float,
    names::row_text,
    plan::{Evidence, VigorClass},
    units::{Kilograms, Metres, PerMetre},
};

/// The vines of one planting and one class of size.
#[derive(Debug, Clone, PartialEq)]
pub struct SizeClass {
    /// Its planting.
    pub planting: usize,
    /// Its size.
    pub size: VigorClass,
    /// Its panels, as indices into the layout's; empty where only weighed vines are known.
    pub panels: Vec<usize>,
    /// Its rows as text, such as `1-12,15`.
    pub rows: String,
    /// Its grown vines, as indices into the layout's; only weighed ones where no estimate could be
    /// made.
    pub vines: Vec<usize>,
    /// Metres of their canopy.
    pub canopy_m: f64,
    /// Of the vines, those that were weighed, alone or with their panel.
    pub weighed: usize,
    /// Their mean prunings per metre of canopy.
    pub per_m: PerMetre,
    /// Its 90 % interval; `None` where only weighed vines are known.
    pub per_m90: Option<[PerMetre; 2]>,
    /// Canopy of one of them, in the mean.
    pub canopy: Metres,
    /// What to keep on a vine of mean weight and canopy; `None` without a formula.
    pub keep: Option<Keep>,
    /// The same at both ends of the interval.
    pub keep90: Option<[Keep; 2]>,
    /// Crop load of those whose crop is known.
    pub load: Option<CropLoad>,
}

/// By planting and class of size, weak first.
pub(super) fn classes(
    evidence: Evidence<'_>,
    grown: &[bool],
    (plantings, weighed): (&[PlantingPruning], &[WeighedVine]),
    rules: &PruneRules<'_>,
) -> Vec<SizeClass> {
    let field = field(evidence);
    let groups = field.map_or_else(
        || groups_of_weighed(weighed),
        |field| groups_of_panels(evidence, grown, field, rules),
    );
    let sets: Vec<VineSet> =
        groups.values().map(|group| with_canopy(evidence, &group.vines)).collect();
    let means = means(field, &sets, (&groups, weighed));
    let maker = Maker { evidence, plantings, weighed, rules };
    groups.into_iter().zip(means).filter_map(|(group, mean)| maker.make(group, mean?)).collect()
}

type Groups = BTreeMap<(usize, VigorClass), Group>;

#[derive(Debug, Default)]
struct Group {
    panels: Vec<usize>,
    vines: Vec<usize>,
}

/// A mean with its interval.
type Mean = (f64, Option<[f64; 2]>);

fn groups_of_weighed(weighed: &[WeighedVine]) -> Groups {
    let mut groups = Groups::new();
    for one in weighed {
        groups.entry((one.planting, one.size)).or_default().vines.extend(&one.vines);
    }
    groups
}

fn groups_of_panels(
    evidence: Evidence<'_>,
    grown: &[bool],
    field: &Field,
    rules: &PruneRules<'_>,
) -> Groups {
    let known = |vine: &usize| grown[*vine] && field.vines[*vine].is_some();
    let panels = evidence.layout.panels.iter();
    let sets: Vec<VineSet> = panels
        .map(|panel| {
            let vines: Vec<usize> = panel.vines.clone().filter(known).collect();
            with_canopy(evidence, &vines)
        })
        .collect();
    let mut groups = Groups::new();
    for (panel, (set, mean)) in sets.iter().zip(field.each_mean_of(&sets)).enumerate() {
        let (Some((first, _)), Some((mean, _))) = (set.first(), mean) else { continue };
        let planting = evidence.joined.vines[*first].planting;
        let group = groups.entry((planting, size_of(mean, rules))).or_default();
        group.panels.push(panel);
        group.vines.extend(set.iter().map(|(vine, _)| vine));
    }
    groups
}

fn with_canopy(evidence: Evidence<'_>, vines: &[usize]) -> VineSet {
    vines.iter().map(|&vine| (vine, evidence.joined.vines[vine].canopy_m)).collect()
}

fn means(
    field: Option<&Field>,
    sets: &[VineSet],
    (groups, weighed): (&Groups, &[WeighedVine]),
) -> Vec<Option<Mean>> {
    let Some(field) = field else {
        return groups
            .keys()
            .map(|&(planting, size)| of_weighed(weighed, planting, size))
            .collect();
    };
    let means = field.means_of(sets);
    let one = |(set, mean): (usize, &Option<f64>)| {
        let mean = (*mean)?;
        let half = means.se(set) * means.factor90;
        Some((mean, Some([(mean - half).max(0.0), mean + half])))
    };
    means.means.iter().enumerate().map(one).collect()
}

/// The mean of the weighed vines of a class, by canopy.
fn of_weighed(weighed: &[WeighedVine], planting: usize, size: VigorClass) -> Option<Mean> {
    let own = weighed.iter().filter(|one| one.planting == planting && one.size == size);
    let (mut kilograms, mut metres) = (0.0, 0.0);
    for one in own {
        let canopy_m = one.canopy.metres() * float(one.vines.len());
        kilograms += one.per_m.per_metre() * canopy_m;
        metres += canopy_m;
    }
    (metres > 0.0).then(|| (kilograms / metres, None))
}

struct Maker<'a> {
    evidence: Evidence<'a>,
    plantings: &'a [PlantingPruning],
    weighed: &'a [WeighedVine],
    rules: &'a PruneRules<'a>,
}

impl Maker<'_> {
    fn make(
        &self,
        ((planting, size), group): ((usize, VigorClass), Group),
        (mean, interval): Mean,
    ) -> Option<SizeClass> {
        let Group { panels, vines } = group;
        let canopy_m: f64 =
            with_canopy(self.evidence, &vines).iter().map(|(_, metres)| metres).sum();
        let canopy = Metres::new(canopy_m / float(vines.len()));
        let inside: BTreeSet<usize> = vines.iter().copied().collect();
        let own = || self.weighed.iter().filter(|one| inside.contains(&one.vines[0]));
        let keep = |per_m: f64| {
            let prunings = Kilograms::new(per_m * canopy.metres());
            let how = (&self.rules.targets, nodes_per_spur(self.rules));
            keep((prunings, canopy), self.plantings.get(planting)?, how)
        };
        let ends = interval.and_then(|[low, high]| Some([keep(low)?, keep(high)?]));
        let grows = self.evidence.site.plantings.all().get(planting)?;
        Some(SizeClass {
            planting,
            size,
            rows: self.rows(&vines),
            weighed: own().map(|one| one.vines.len()).sum(),
            per_m: PerMetre::new(mean),
            per_m90: interval.map(|ends| ends.map(PerMetre::new)),
            keep: keep(mean),
            keep90: ends,
            load: load_of(own(), grows),
            panels,
            vines,
            canopy_m,
            canopy,
        })
    }

    fn rows(&self, vines: &[usize]) -> String {
        let rows: BTreeSet<u32> =
            vines.iter().map(|&vine| self.evidence.layout.vines[vine].row).collect();
        row_text(&rows.into_iter().collect::<Vec<u32>>())
    }
}
