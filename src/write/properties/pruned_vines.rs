//! `vines.geojson` of `prune`: a point for every place with its size, and with nodes where it was
//! weighed.

use std::rc::Rc;

use super::{
    ground::{Ground, STAKE_DECIMALS},
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
    vines::{PlaceFacts, places},
};
use crate::{
    estimate::VineEstimate,
    join::VigorMeasure,
    plan::VigorClass,
    prune::{Pruning, WeighedVine},
    write::{
        Column,
        Kind::{Flag, Integer, Number, Text},
        Layer,
    },
};

/// Every place for a vine with what the winter's weights say there.
pub fn pruned_vines(thinned: &Thinned<'_>, pruning: &Pruning) -> Layer {
    let evidence = thinned.evidence;
    let ground = Rc::new(Ground::new(evidence.site, evidence.layout));
    let mut weighed: Vec<Option<&WeighedVine>> = vec![None; evidence.layout.vines.len()];
    for one in &pruning.weighed {
        for &vine in &one.vines {
            weighed[vine] = Some(one);
        }
    }
    let vines = evidence.layout.vines.iter().enumerate();
    let things = vines.map(|(index, vine)| {
        let place = PlaceFacts { ground: Rc::clone(&ground), vine };
        let facts = PrunedFacts { place, thinned, pruning, index, weighed: weighed[index] };
        (ground.point(vine.at), facts)
    });
    properties().layer("vines", STAKE_DECIMALS, things)
}

struct PrunedFacts<'a> {
    place: PlaceFacts<'a>,
    thinned: &'a Thinned<'a>,
    pruning: &'a Pruning,
    index: usize,
    weighed: Option<&'a WeighedVine>,
}

impl PrunedFacts<'_> {
    fn size(&self) -> Option<VigorClass> {
        self.pruning.sizes.get(self.index).copied().flatten()
    }

    /// The estimate, where it is one of pruning weight and the vine has a size.
    fn estimate(&self) -> Option<VineEstimate> {
        self.size()?;
        let (measure, field) = self.thinned.evidence.estimate.vigor.as_ref()?;
        field.vines[self.index].filter(|_| *measure == VigorMeasure::PruningWeight)
    }

    /// The weight, where the vine was weighed for itself.
    fn alone(&self) -> Option<&WeighedVine> {
        self.weighed.filter(|one| one.vines.len() == 1)
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

const KILOGRAMS: &str = "kilograms per metre of canopy";

fn properties<'a>() -> Properties<'a, PrunedFacts<'a>> {
    places()
        .of(|vine: &PrunedFacts<'a>| &vine.place)
        .column("status", Text, "", "present, missing, young, replant or renewal")
        .is(|vine| vine.thinned.evidence.joined.vines[vine.index].status.word())
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy that it fills")
        .is(|vine| vine.thinned.canopy_m(vine.index))
        .column("weighed", Flag, "", "true when its prunings were weighed, alone or with its panel")
        .is(|vine| vine.weighed.is_some())
        .column("pruning_kg_per_m", Number(DECIMALS), KILOGRAMS, "expected prunings of this vine")
        .is(|vine| vine.estimate().map(|at| at.per_m))
        .column("pruning_kg_per_m_se", Number(DECIMALS), KILOGRAMS, "its raw standard error")
        .is(|vine| vine.estimate().and_then(|at| at.se_per_m))
        .column("vine_size", Text, "", "weak, moderate, strong or excess, by its panel's mean")
        .is(|vine| vine.size().map(VigorClass::word))
        .column(
            "pruning_weight_kg",
            Number(DECIMALS),
            "kilograms",
            "its prunings, where it was weighed for itself",
        )
        .is(|vine| vine.alone().map(|one| one.prunings.kilograms()))
        .column(
            "nodes",
            Integer,
            "nodes",
            "to keep, by formula, rule for dead buds and cap; only where it was weighed for itself",
        )
        .is(|vine| vine.alone().and_then(|one| one.keep?.nodes))
}
