//! `pruning.csv`: what to keep, by planting and class of size.

use super::{
    per_foot::in_units,
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS},
};
use crate::{
    plan::Evidence,
    prune::{
        BudAdvice, Keep, PlantingPruning, Pruning, SizeClass,
        crop_load::{LoadBand, load_words},
        size::Side,
        spurs::{Binds, Spurs},
    },
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Table,
    },
};

/// One line a planting and class of size; pounds and feet beside kilograms and metres for people who
/// read them.
pub fn pruning_table(evidence: Evidence<'_>, pruning: &Pruning, units: ReadingUnits) -> Table {
    let properties = classes();
    let block = evidence.site.name.as_str();
    let rows = pruning.classes.iter().filter_map(|class| {
        let planting = pruning.plantings.get(class.planting)?;
        Some(properties.values(&ClassFacts { block, planting, class }))
    });
    in_units(properties.table("pruning", rows.collect()), units)
}

pub(super) fn class_columns() -> Vec<Column> {
    classes().columns().to_vec()
}

struct ClassFacts<'a> {
    block: &'a str,
    planting: &'a PlantingPruning,
    class: &'a SizeClass,
}

impl ClassFacts<'_> {
    fn keep<V>(&self, of: impl Fn(&Keep) -> Option<V>) -> Option<V> {
        self.class.keep.as_ref().and_then(of)
    }

    fn spurs(&self) -> Option<&Spurs> {
        self.class.keep.as_ref()?.spurs.as_ref()
    }

    fn end<V>(&self, end: usize, of: impl Fn(&Keep) -> Option<V>) -> Option<V> {
        self.class.keep90.as_ref().and_then(|ends| of(&ends[end]))
    }

    fn dead90(&self, end: usize) -> Option<f64> {
        self.planting.buds.map(|buds| buds.share90()[end])
    }

    /// The band of the verdict, with the side of the load.
    fn load(&self) -> Option<&(LoadBand, Side)> {
        self.class.load.as_ref()?.bands.first()
    }
}

pub(super) const KILOGRAMS: &str = "kilograms per metre of canopy";
pub(super) const NODES: &str = "nodes a vine";
pub(super) const SHOOTS: &str = "shoots per metre of canopy";

fn classes<'a>() -> Properties<'a, ClassFacts<'a>> {
    loads(springs(rules(nodes(sized()))))
}

fn sized<'a>() -> Properties<'a, ClassFacts<'a>> {
    Properties::<'a, ClassFacts<'a>>::new()
        .column("block", Text, "", "the block's name")
        .is(|of| of.block)
        .column("cultivar", Text, "", "the cultivar; empty when the block names none")
        .is(|of| of.planting.cultivar.as_deref())
        .column("vine_size", Text, "", "weak, moderate, strong or excess, by its panels' means")
        .is(|of| of.class.size.word())
        .column("rows", Text, "", "its rows, such as 1-12,15")
        .is(|of| of.class.rows.as_str())
        .column("panels", Integer, "panels", "its panels; 0 where only weighed vines are known")
        .is(|of| of.class.panels.len())
        .column("vines", Integer, "vines", "its grown vines")
        .is(|of| of.class.vines.len())
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of its vines")
        .is(|of| of.class.canopy_m)
        .column("weighed_vines", Integer, "vines", "of these, weighed alone or with their panel")
        .is(|of| of.class.weighed)
        .column("pruning_kg_per_m", Number(DECIMALS), KILOGRAMS, "mean prunings of its vines")
        .is(|of| of.class.per_m.per_metre())
        .column(
            "pruning_kg_per_m_lo90",
            Number(DECIMALS),
            KILOGRAMS,
            "lower end of its 90 % interval",
        )
        .is(|of| of.class.per_m90.map(|ends| ends[0].per_metre()))
        .column(
            "pruning_kg_per_m_hi90",
            Number(DECIMALS),
            KILOGRAMS,
            "upper end of its 90 % interval",
        )
        .is(|of| of.class.per_m90.map(|ends| ends[1].per_metre()))
}

fn nodes<'a>(properties: Properties<'a, ClassFacts<'a>>) -> Properties<'a, ClassFacts<'a>> {
    properties
        .column("formula", Text, "", "nodes for the first pound + for each pound more")
        .is(|of| of.planting.rules.map(|rules| rules.formula.to_string()))
        .column("nodes_by_formula", Integer, NODES, "of mean weight, within floor and cap")
        .is(|of| of.keep(|keep| Some(keep.by_formula)))
        .column(
            "nodes",
            Integer,
            NODES,
            "to keep after the rule for dead buds, within the cap; empty where it says minimal pruning",
        )
        .is(|of| of.keep(|keep| keep.nodes))
        .column("nodes_lo90", Integer, NODES, "the same at the lower end of the prunings' interval")
        .is(|of| of.end(0, |keep| keep.nodes))
        .column("nodes_hi90", Integer, NODES, "the same at the upper end")
        .is(|of| of.end(1, |keep| keep.nodes))
}

fn rules<'a>(properties: Properties<'a, ClassFacts<'a>>) -> Properties<'a, ClassFacts<'a>> {
    properties
        .column("buds", Integer, "buds", "dormant buds looked at in its planting")
        .is(|of| of.planting.buds.map(|buds| buds.buds))
        .column("buds_dead", Integer, "buds", "of these, dead")
        .is(|of| of.planting.buds.map(|buds| buds.dead))
        .column("dead_share_lo90", Number(DECIMALS), "", "lower end of the share's 90 % interval")
        .is(|of| of.dead90(0))
        .column("dead_share_hi90", Number(DECIMALS), "", "upper end of it")
        .is(|of| of.dead90(1))
        .column("bud_rule", Text, "", "the rule for dead buds that nodes follow")
        .is(|of| of.planting.rule.word())
        .column("bud_rule_says", Text, "", "what it says; empty where nobody looked at buds")
        .is(|of| of.planting.advice(of.planting.rule).map(BudAdvice::words))
        .column("nodes_cornell", Integer, NODES, "by Cornell's rule, without the cap")
        .is(|of| of.keep(|keep| keep.by_rule[0]))
        .column("nodes_purdue", Integer, NODES, "by Purdue's rule, without the cap")
        .is(|of| of.keep(|keep| keep.by_rule[1]))
        .column("nodes_michigan", Integer, NODES, "by the Michigan guide's rule, without the cap")
        .is(|of| of.keep(|keep| keep.by_rule[2]))
        .column(
            "nodes_survival",
            Integer,
            NODES,
            "wanted over the share that lives, without the cap",
        )
        .is(|of| of.keep(|keep| keep.by_rule[3]))
}

/// What is left by what binds, of things that have spurs or none.
pub(super) fn left<'a, T: 'a>(
    properties: Properties<'a, T>,
    spurs: fn(&T) -> Option<&Spurs>,
) -> Properties<'a, T> {
    properties
        .column(
            "binds",
            Text,
            "",
            "formula, cap or target, whichever keeps fewest nodes; both where formula and target agree",
        )
        .is(move |of| spurs(of).and_then(|spurs| spurs.binds).map(Binds::word))
        .column("leave", Integer, NODES, "by what binds")
        .is(move |of| spurs(of).map(|spurs| spurs.leave))
        .column("spurs", Integer, "spur positions a vine", "for the nodes to leave")
        .is(move |of| spurs(of).map(|spurs| spurs.positions))
}

fn springs<'a>(properties: Properties<'a, ClassFacts<'a>>) -> Properties<'a, ClassFacts<'a>> {
    let target = properties
        .column(
            "shoots_per_m",
            Number(DECIMALS),
            SHOOTS,
            "that these nodes bring if live buds burst",
        )
        .is(|of| of.spurs().map(|spurs| spurs.shoots.per_metre()))
        .column("target_low_per_m", Number(DECIMALS), SHOOTS, "low end of spring's target")
        .is(|of| of.planting.target.map(|target| target.low().per_metre()))
        .column("target_high_per_m", Number(DECIMALS), SHOOTS, "high end of it")
        .is(|of| of.planting.target.map(|target| target.high().per_metre()))
        .column("nodes_for_aim", Integer, NODES, "that would bring the aim inside spring's target")
        .is(|of| of.spurs().and_then(|spurs| spurs.nodes_for_aim));
    left(target, ClassFacts::spurs)
        .column("spurs_per_m", Number(DECIMALS), "spur positions per metre of canopy", "the same")
        .is(|of| of.spurs().map(|spurs| spurs.density.per_metre()))
}

fn loads<'a>(properties: Properties<'a, ClassFacts<'a>>) -> Properties<'a, ClassFacts<'a>> {
    properties
        .column(
            "crop_load",
            Number(3),
            "kilograms per kilogram",
            "yield over prunings, where known",
        )
        .is(|of| of.class.load.as_ref().map(|load| load.load))
        .column(
            "crop_load_known",
            Integer,
            "",
            "vines or panels whose yield and prunings are known",
        )
        .is(|of| of.class.load.as_ref().map_or(0, |load| load.number))
        .column("crop_load_says", Text, "", "under-cropped, balanced or over-cropped")
        .is(|of| of.load().map(|(_, side)| load_words(*side)))
        .column(
            "crop_load_low",
            Number(3),
            "kilograms per kilogram",
            "low end of the band that says so",
        )
        .is(|of| of.load().map(|(band, _)| band.low))
        .column("crop_load_high", Number(3), "kilograms per kilogram", "high end of it")
        .is(|of| of.load().map(|(band, _)| band.high))
        .column("crop_load_source", Text, "", "whose band it is, for this kind of vine")
        .is(|of| of.load().map(|(band, _)| band.source))
}
