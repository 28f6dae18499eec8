//! `vines.geojson`: a point for every place, with what is believed and planned there.

use std::rc::Rc;

use super::{
    ground::{Ground, STAKE_DECIMALS, letter},
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
};
use crate::{
    estimate::{VineEstimate, VineShoots},
    frame::Site,
    join::VineRecord,
    layout::{Layout, Vine},
    plan::VinePlan,
    write::{
        Column,
        Kind::{Flag, Integer, Number, Text},
        Layer,
    },
};

/// Every place for a vine, before anything was counted.
pub fn planted_vines(site: &Site, layout: &Layout) -> Layer {
    let ground = Rc::new(Ground::new(site, layout));
    let things = layout
        .vines
        .iter()
        .map(|vine| (ground.point(vine.at), PlaceFacts { ground: Rc::clone(&ground), vine }));
    places().layer("vines", STAKE_DECIMALS, things)
}

/// Every place for a vine, with its estimate and plan.
pub fn vines(thinned: &Thinned<'_>) -> Layer {
    let evidence = thinned.evidence;
    let ground = Rc::new(Ground::new(evidence.site, evidence.layout));
    let things = evidence.layout.vines.iter().enumerate().map(|(index, vine)| {
        let place = PlaceFacts { ground: Rc::clone(&ground), vine };
        let canopy_m = evidence.joined.vines[index].canopy_m;
        let whole = evidence.estimate.shoots.shoots_of(index, canopy_m);
        (ground.point(vine.at), VineFacts { place, thinned, index, whole })
    });
    thinned_places().layer("vines", STAKE_DECIMALS, things)
}

pub(super) struct PlaceFacts<'a> {
    pub(super) ground: Rc<Ground<'a>>,
    pub(super) vine: &'a Vine,
}

pub(super) struct VineFacts<'a> {
    place: PlaceFacts<'a>,
    thinned: &'a Thinned<'a>,
    index: usize,
    /// Whole shoots.
    whole: Option<VineShoots>,
}

impl VineFacts<'_> {
    fn record(&self) -> &VineRecord {
        &self.thinned.evidence.joined.vines[self.index]
    }

    fn stands(&self) -> bool {
        !self.record().status.is_missing()
    }

    fn shoots(&self) -> Option<VineEstimate> {
        self.thinned.evidence.estimate.shoots.vines[self.index].filter(|_| self.stands())
    }

    fn whole_shoots(&self) -> Option<VineShoots> {
        self.whole.filter(|_| self.stands())
    }

    fn shoots_between(&self) -> Option<[usize; 2]> {
        self.whole_shoots()?.between90
    }

    fn vigor(&self) -> Option<VineEstimate> {
        let (_, field) = self.thinned.evidence.estimate.vigor.as_ref()?;
        field.vines[self.index].filter(|_| self.stands())
    }

    fn plan(&self) -> Option<&VinePlan> {
        self.stands().then(|| &self.thinned.plan.vines[self.index])
    }
}

pub(super) fn columns() -> Vec<Column> {
    thinned_places().columns().to_vec()
}

pub(super) fn places<'a>() -> Properties<'a, PlaceFacts<'a>> {
    Properties::<'a, PlaceFacts<'a>>::new()
        .column("id", Text, "", "the vine's id, such as R012V034")
        .is(|place| place.ground.layout.digits.vine(place.vine.row, place.vine.vine))
        .column("block", Text, "", "the block's name")
        .is(|place| place.ground.block.clone())
        .column("row", Integer, "", "the row's number")
        .is(|place| place.vine.row)
        .column("piece", Text, "", "the letter of the piece of row; null for a row in one piece")
        .is(|place| letter(place.ground.piece_of(place.vine)))
        .column("vine", Integer, "", "the vine's number in the row, from 1")
        .is(|place| place.vine.vine)
        .column("panel", Integer, "", "the panel's number in the row, from 1")
        .is(|place| place.ground.layout.panels[place.vine.panel].panel)
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|place| place.ground.cultivar_of_row(place.vine.row))
        .column("chainage_m", Number(3), "metres", "from the first post of the row, along it")
        .is(|place| place.vine.chainage_m)
}

const PER_METRE: &str = "shoots per metre of canopy";

fn thinned_places<'a>() -> Properties<'a, VineFacts<'a>> {
    planned(believed(places().of(|vine: &VineFacts<'a>| &vine.place)))
}

fn believed<'a>(properties: Properties<'a, VineFacts<'a>>) -> Properties<'a, VineFacts<'a>> {
    properties
        .column("status", Text, "", "present, missing, young, replant or renewal")
        .is(|vine| vine.record().status.word())
        .column("counted", Flag, "", "true when its shoots were counted, alone or in a whole panel")
        .is(|vine| vine.record().counted)
        .column("shoots_per_m", Number(DECIMALS), PER_METRE, "expected density of this vine")
        .is(|vine| vine.shoots().map(|at| at.per_m))
        .column("shoots_per_m_se", Number(DECIMALS), PER_METRE, "its raw standard error")
        .is(|vine| vine.shoots().and_then(|at| at.se_per_m))
        .column("shoots", Integer, "shoots", "expected on this vine")
        .is(|vine| vine.whole_shoots().map(|at| at.expected))
        .column("shoots_lo90", Integer, "shoots", "at least as many, nineteen times in twenty")
        .is(|vine| vine.shoots_between().map(|[low, _]| low))
        .column("shoots_hi90", Integer, "shoots", "at most as many, nineteen times in twenty")
        .is(|vine| vine.shoots_between().map(|[_, high]| high))
        .column("surface_per_m", Number(DECIMALS), PER_METRE, "the smooth surface the map shows")
        .is(|vine| vine.shoots().map(|at| at.surface_per_m))
        .column("vigor", Number(DECIMALS), "see vigor_measure", "expected measure of vigor")
        .is(|vine| vine.vigor().map(|at| at.per_m))
        .column("vigor_se", Number(DECIMALS), "see vigor_measure", "its raw standard error")
        .is(|vine| vine.vigor().and_then(|at| at.se_per_m))
        .column("vigor_class", Text, "", "weak, moderate, strong, excess; or below, near, above")
        .is(|vine| vine.plan().and_then(|plan| plan.vigor).map(crate::plan::VigorClass::word))
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy that it fills")
        .is(|vine| vine.thinned.canopy_m(vine.index))
}

fn planned<'a>(properties: Properties<'a, VineFacts<'a>>) -> Properties<'a, VineFacts<'a>> {
    properties
        .column("target_per_m", Number(DECIMALS), PER_METRE, "the aim: shoots to leave")
        .is(|vine| vine.plan().and_then(|plan| plan.target).map(|target| target.aim_per_m))
        .column("target_low_per_m", Number(DECIMALS), PER_METRE, "low end of the target")
        .is(|vine| vine.plan().and_then(|plan| plan.target).map(|target| target.low_per_m))
        .column("target_high_per_m", Number(DECIMALS), PER_METRE, "high end of the target")
        .is(|vine| vine.plan().and_then(|plan| plan.target).map(|target| target.high_per_m))
        .column(
            "remove",
            Number(DECIMALS),
            "shoots",
            "expected shoots to take off; 0 where no work is planned",
        )
        .is(|vine| vine.thinned.remove(vine.index))
        .column("remove_se", Number(DECIMALS), "shoots", "standard error of remove")
        .is(|vine| vine.plan().and_then(|plan| plan.remove_se))
        .column("zone", Text, "", "the zone's id, such as Z1")
        .is(|vine| vine.thinned.zone_of_vine(vine.index))
}
