//! `pruning-vines.csv`: what to keep on each vine that was weighed.

use super::{
    per_foot::in_units,
    property::Properties,
    pruning_tables::{KILOGRAMS, NODES, SHOOTS, left},
    thinned::{DECIMALS, LENGTH_DECIMALS},
};
use crate::{
    layout::Layout,
    plan::{Evidence, VigorClass},
    prune::{PlantingPruning, Pruning, WeighedVine, spurs::Spurs},
    units::{Kilograms, ReadingUnits},
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Table,
    },
};

/// One line a vine or panel that was weighed.
pub fn weighed_table(evidence: Evidence<'_>, pruning: &Pruning, units: ReadingUnits) -> Table {
    let properties = weighed();
    let (block, layout) = (evidence.site.name.as_str(), evidence.layout);
    let rows = pruning.weighed.iter().filter_map(|vine| {
        let planting = pruning.plantings.get(vine.planting)?;
        Some(properties.values(&WeighedFacts { block, layout, planting, vine }))
    });
    in_units(properties.table("pruning-vines", rows.collect()), units)
}

pub(super) fn columns() -> Vec<Column> {
    weighed().columns().to_vec()
}

struct WeighedFacts<'a> {
    block: &'a str,
    layout: &'a Layout,
    planting: &'a PlantingPruning,
    vine: &'a WeighedVine,
}

impl WeighedFacts<'_> {
    /// The id of the vine, or of the panel where several were weighed together.
    fn id(&self) -> Option<String> {
        let vine = self.layout.vines.get(*self.vine.vines.first()?)?;
        let digits = self.layout.digits;
        let panel = self.layout.panels.get(vine.panel)?.panel;
        let alone = self.vine.vines.len() == 1;
        Some(if alone { digits.vine(vine.row, vine.vine) } else { digits.panel(vine.row, panel) })
    }

    fn spurs(&self) -> Option<&Spurs> {
        self.vine.keep.as_ref()?.spurs.as_ref()
    }
}

fn weighed<'a>() -> Properties<'a, WeighedFacts<'a>> {
    kept(
        Properties::<'a, WeighedFacts<'a>>::new()
            .column("block", Text, "", "the block's name")
            .is(|of| of.block)
            .column("id", Text, "", "id of the vine, or of the panel that was weighed whole")
            .is(WeighedFacts::id)
            .column("vines", Integer, "vines", "weighed together; 1 for a vine weighed for itself")
            .is(|of| of.vine.vines.len())
            .column("cultivar", Text, "", "the cultivar; empty when the block names none")
            .is(|of| of.planting.cultivar.as_deref())
            .column("pruning_weight_kg", Number(DECIMALS), "kilograms a vine", "its prunings")
            .is(|of| of.vine.prunings.kilograms())
            .column("canopy_m", Number(LENGTH_DECIMALS), "metres a vine", "canopy that it fills")
            .is(|of| of.vine.canopy.metres())
            .column("pruning_kg_per_m", Number(DECIMALS), KILOGRAMS, "its prunings")
            .is(|of| of.vine.per_m.per_metre())
            .column("vine_size", Text, "", "weak, moderate, strong or excess, by its own weight")
            .is(|of| VigorClass::word(of.vine.size)),
    )
}

fn kept<'a>(properties: Properties<'a, WeighedFacts<'a>>) -> Properties<'a, WeighedFacts<'a>> {
    let kept = properties
        .column("nodes_by_formula", Integer, NODES, "within floor and cap")
        .is(|of| of.vine.keep.map(|keep| keep.by_formula))
        .column(
            "nodes",
            Integer,
            NODES,
            "to keep after the rule for dead buds, within the cap; empty where it says minimal pruning",
        )
        .is(|of| of.vine.keep.and_then(|keep| keep.nodes))
        .column("nodes_beyond_cap", Integer, NODES, "by the rule alone, where the cap holds fewer")
        .is(|of| of.vine.keep.and_then(|keep| keep.beyond_cap))
        .column("shoots_per_m", Number(DECIMALS), SHOOTS, "that these nodes bring if live buds burst")
        .is(|of| of.spurs().map(|spurs| spurs.shoots.per_metre()));
    left(kept, WeighedFacts::spurs)
        .column("yield_kg", Number(DECIMALS), "kilograms a vine", "crop of the harvest before")
        .is(|of| of.vine.crop.map(Kilograms::kilograms))
        .column("crop_load", Number(3), "kilograms per kilogram", "yield over prunings")
        .is(|of| of.vine.load)
}
