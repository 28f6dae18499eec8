//! `panels.geojson`: the ground of every panel, with means over its vines and their intervals.

use std::{collections::BTreeMap, rc::Rc};

use super::{
    ground::{Ground, MAP_DECIMALS, letter},
    property::Properties,
    set_means::{SetMean as Mean, means},
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
};
use crate::{
    layout::Panel,
    plan::{VigorClass, VineTarget},
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Layer,
    },
};

/// Every panel, half a row spacing to each side of its row.
pub fn panels(thinned: &Thinned<'_>) -> Layer {
    let evidence = thinned.evidence;
    let ground = Rc::new(Ground::new(evidence.site, evidence.layout));
    let width_m = evidence.site.rules.row_spacing.metres();
    let sets: Vec<Vec<(usize, f64)>> =
        (0..evidence.layout.panels.len()).map(|panel| canopy_of_present(thinned, panel)).collect();
    let shoots = means(&evidence.estimate.shoots, &sets);
    let vigor = match &evidence.estimate.vigor {
        Some((_, field)) => means(field, &sets),
        None => vec![None; sets.len()],
    };
    let things = evidence.layout.panels.iter().enumerate().map(|(index, panel)| {
        let facts = PanelFacts {
            ground: Rc::clone(&ground),
            thinned,
            panel,
            index,
            vines: sets[index].iter().map(|&(vine, _)| vine).collect(),
            shoots: shoots[index],
            vigor: vigor[index],
        };
        (ground.strip(&panel.path, width_m), facts)
    });
    properties().layer("panels", MAP_DECIMALS, things)
}

pub(super) struct PanelFacts<'a> {
    ground: Rc<Ground<'a>>,
    thinned: &'a Thinned<'a>,
    panel: &'a Panel,
    index: usize,
    /// The vines that stand in it.
    vines: Vec<usize>,
    shoots: Option<Mean>,
    vigor: Option<Mean>,
}

fn canopy_of_present(thinned: &Thinned<'_>, panel: usize) -> Vec<(usize, f64)> {
    thinned.present(thinned.evidence.layout.panels[panel].vines.clone())
}

impl PanelFacts<'_> {
    /// The surface, weighted by canopy.
    fn surface_per_m(&self) -> Option<f64> {
        let vines = &self.thinned.evidence.estimate.shoots.vines;
        self.mean(|vine| vines[vine].map(|at| at.surface_per_m))
    }

    fn target(&self, end: impl Fn(VineTarget) -> f64) -> Option<f64> {
        self.mean(|vine| self.thinned.plan.vines[vine].target.map(&end))
    }

    /// A mean over the vines that have the value, weighted by canopy.
    fn mean(&self, value: impl Fn(usize) -> Option<f64>) -> Option<f64> {
        let (mut sum, mut canopy) = (0.0, 0.0);
        for &vine in &self.vines {
            let weight = self.thinned.canopy_m(vine).unwrap_or(0.0);
            if let Some(value) = value(vine) {
                sum += value * weight;
                canopy += weight;
            }
        }
        (canopy > 0.0).then(|| sum / canopy)
    }

    /// The class that most of its vines have; the weaker of two that are as frequent.
    fn vigor_class(&self) -> Option<VigorClass> {
        let mut classes = BTreeMap::new();
        for class in self.vines.iter().filter_map(|&vine| self.thinned.plan.vines[vine].vigor) {
            *classes.entry(class).or_insert(0_usize) += 1;
        }
        classes.into_iter().rev().max_by_key(|&(_, vines)| vines).map(|(class, _)| class)
    }

    fn counted(&self) -> usize {
        let records = &self.thinned.evidence.joined.vines;
        self.vines.iter().filter(|&&vine| records[vine].counted).count()
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

const PER_METRE: &str = "shoots per metre of canopy";
const OF_VIGOR: &str = "see vigor_measure";

fn properties<'a>() -> Properties<'a, PanelFacts<'a>> {
    planned(believed(placed()))
}

fn placed<'a>() -> Properties<'a, PanelFacts<'a>> {
    Properties::<'a, PanelFacts<'a>>::new()
        .column("id", Text, "", "the panel's id, such as R012P07")
        .is(|panel| panel.ground.layout.digits.panel(panel.panel.row, panel.panel.panel))
        .column("block", Text, "", "the block's name")
        .is(|panel| panel.ground.block.clone())
        .column("row", Integer, "", "the row's number")
        .is(|panel| panel.panel.row)
        .column("piece", Text, "", "the letter of the piece of row; null for a row in one piece")
        .is(|panel| letter(&panel.ground.layout.pieces[panel.panel.piece]))
        .column("panel", Integer, "", "the panel's number in the row, from 1")
        .is(|panel| panel.panel.panel)
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|panel| panel.ground.cultivar_of_row(panel.panel.row))
        .column("vines", Integer, "vines", "vines that stand in it")
        .is(|panel| panel.vines.len())
        .column("counted_vines", Integer, "vines", "of those, counted")
        .is(PanelFacts::counted)
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of its vines")
        .is(|panel| panel.thinned.canopy_of(panel.vines.iter().copied()))
}

fn believed<'a>(properties: Properties<'a, PanelFacts<'a>>) -> Properties<'a, PanelFacts<'a>> {
    properties
        .column("shoots_per_m", Number(DECIMALS), PER_METRE, "expected mean density of its vines")
        .is(|panel| panel.shoots.map(|mean| mean.per_m))
        .column("shoots_per_m_se", Number(DECIMALS), PER_METRE, "its raw standard error")
        .is(|panel| panel.shoots.map(|mean| mean.se))
        .ends90(["shoots_per_m_lo90", "shoots_per_m_hi90"], |panel| panel.shoots.map(Mean::ends90))
        .column("surface_per_m", Number(DECIMALS), PER_METRE, "mean of the surface the map shows")
        .is(PanelFacts::surface_per_m)
        .column("vigor", Number(DECIMALS), OF_VIGOR, "expected mean measure of vigor")
        .is(|panel| panel.vigor.map(|mean| mean.per_m))
        .column("vigor_se", Number(DECIMALS), OF_VIGOR, "its raw standard error")
        .is(|panel| panel.vigor.filter(Mean::has_error).map(|mean| mean.se))
        .ends90(["vigor_lo90", "vigor_hi90"], |panel| {
            panel.vigor.filter(Mean::has_error).map(Mean::ends90)
        })
        .column("vigor_class", Text, "", "the class of most of its vines; the weaker on a tie")
        .is(|panel| panel.vigor_class().map(VigorClass::word))
}

fn planned<'a>(properties: Properties<'a, PanelFacts<'a>>) -> Properties<'a, PanelFacts<'a>> {
    properties
        .column("target_per_m", Number(DECIMALS), PER_METRE, "mean aim: shoots to leave")
        .is(|panel| panel.target(|target| target.aim_per_m))
        .column("target_low_per_m", Number(DECIMALS), PER_METRE, "mean low end of the target")
        .is(|panel| panel.target(|target| target.low_per_m))
        .column("target_high_per_m", Number(DECIMALS), PER_METRE, "mean high end of the target")
        .is(|panel| panel.target(|target| target.high_per_m))
        .column("remove", Number(DECIMALS), "shoots", "shoots to take off: the sum of its vines")
        .is(|panel| panel.thinned.remove_of(panel.vines.iter().copied()))
        .column("zone", Text, "", "the zone's id, such as Z1; null where no vine stands")
        .is(|panel| panel.thinned.zone_of_panel(panel.index))
}
