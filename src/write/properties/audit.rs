//! `audit.csv` and the `zones.geojson` of an audit: what was reached, zone by zone.

use super::{
    ground::{Ground, MAP_DECIMALS},
    per_foot::in_units,
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
};
use crate::{
    audit::{Audit, Facts, Mean, Share, ZoneAudit},
    join::Joined,
    plan::{Interval, VineTarget, ZonePlan},
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Flag, Integer, Number, Text},
        Layer, Table,
    },
    zones::Zone,
};

/// A block before and after the work, for its files.
#[derive(Debug, Clone, Copy)]
pub struct AuditedBlock<'a> {
    /// What was found out and planned before.
    pub thinned: &'a Thinned<'a>,
    /// The recount at its places.
    pub after: &'a Joined,
    /// What the work reached.
    pub audit: &'a Audit,
}

impl<'a> AuditedBlock<'a> {
    pub(super) fn ground(&self) -> Ground<'a> {
        Ground::new(self.thinned.evidence.site, self.thinned.evidence.layout)
    }

    fn zones(&self) -> impl Iterator<Item = ZoneRow<'a>> + use<'a> {
        let (ground, thinned) = (self.ground(), self.thinned);
        self.audit.zones.iter().map(move |audit| ZoneRow {
            ground: ground.clone(),
            zone: &thinned.evidence.zones.zones[audit.zone],
            plan: &thinned.plan.zones[audit.zone],
            audit,
        })
    }
}

/// What every property of a zone's audit is taken from.
struct ZoneRow<'a> {
    ground: Ground<'a>,
    zone: &'a Zone,
    plan: &'a ZonePlan,
    audit: &'a ZoneAudit,
}

/// The word for the last line of `audit.csv`.
const ALL: &str = "block";

/// Every zone on its ground, with what was reached.
pub fn audit_zones(block: &AuditedBlock<'_>) -> Layer {
    let ground = block.ground();
    let things = block.zones().map(|row| (ground.areas(&row.zone.shape), row));
    properties().layer("zones", MAP_DECIMALS, things)
}

/// A line a zone, and one for the block; with columns per foot where people read feet.
pub fn audit_table(block: &AuditedBlock<'_>, units: ReadingUnits) -> Table {
    let zones = audit_zones(block).table();
    let mut all = vec![crate::write::Value::Null; zones.heads.len()];
    let own = of_block().values(&BlockRow { ground: block.ground(), audit: block.audit });
    for (column, value) in of_block().columns().iter().zip(own) {
        if let Some(at) = zones.heads.iter().position(|head| head == column.name) {
            all[at] = value;
        }
    }
    let rows = zones.rows.into_iter().chain([all]).collect();
    in_units(Table { name: "audit", heads: zones.heads, rows }, units)
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

const PER_METRE: &str = "shoots per metre of canopy";

fn properties<'a>() -> Properties<'a, ZoneRow<'a>> {
    let facts = |row: &ZoneRow<'a>| row.audit.facts;
    left(shares(found(named(), facts), facts))
}

/// The line of the block.
struct BlockRow<'a> {
    ground: Ground<'a>,
    audit: &'a Audit,
}

fn of_block<'a>() -> Properties<'a, BlockRow<'a>> {
    let facts = |row: &BlockRow<'a>| row.audit.block;
    let named = Properties::<'a, BlockRow<'a>>::new()
        .column("zone", Text, "", "the word `block`")
        .is(|_| ALL)
        .column("block", Text, "", "the block's name")
        .is(|row| row.ground.block.clone());
    let off = |row: &BlockRow<'a>| row.audit.came_off.as_ref();
    shares(found(named, facts), facts)
        .column("planned", Number(DECIMALS), "shoots", "shoots that were to come off")
        .is(move |row| off(row).map(|both| both.planned.value))
        .ends90(["planned_lo90", "planned_hi90"], move |row| Some(off(row)?.planned.ends90()))
        .column("came_off", Number(DECIMALS), "shoots", "shoots that came off")
        .is(move |row| off(row).map(|both| both.off.value))
        .ends90(["came_off_lo90", "came_off_hi90"], move |row| Some(off(row)?.off.ends90()))
}

fn named<'a>() -> Properties<'a, ZoneRow<'a>> {
    let target =
        |end: fn(VineTarget) -> f64| move |row: &ZoneRow<'a>| row.plan.target_per_m.map(end);
    Properties::<'a, ZoneRow<'a>>::new()
        .column("zone", Text, "", "the zone's id; in audit.csv the last line is the block")
        .is(|row| row.zone.id.as_str())
        .column("name", Text, "", "the grower's own name for it; null for a zone that was drawn")
        .is(|row| row.zone.name.as_deref())
        .column("block", Text, "", "the block's name")
        .is(|row| row.ground.block.clone())
        .column("rows", Text, "", "its rows, such as 1-12,15")
        .is(|row| row.zone.rows.as_str())
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|row| row.ground.cultivar(row.zone.planting))
        .column("vines", Integer, "vines", "vines that stand in it")
        .is(|row| row.zone.vines.len())
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of its vines with a target")
        .is(|row| row.audit.canopy_m)
        .column("to_thin", Flag, "", "true where shoots were to come off")
        .is(|row| row.audit.planned)
        .column("verdict_before", Text, "", "what thin said of it by the counts before")
        .is(|row| row.plan.verdict.word())
        .column(
            "verdict",
            Text,
            "",
            "reached, go-back, over-thinned, left-alone, thinned-unasked or undecided",
        )
        .is(|row| row.audit.outcome.word())
        .column("go_back", Integer, "", "its place among those to go back to; null for others")
        .is(|row| row.audit.order)
        .column("target_low_per_m", Number(DECIMALS), PER_METRE, "mean low end of the target")
        .is(target(|target| target.low_per_m))
        .column("target_per_m", Number(DECIMALS), PER_METRE, "mean aim: shoots to leave")
        .is(target(|target| target.aim_per_m))
        .column("target_high_per_m", Number(DECIMALS), PER_METRE, "mean high end of the target")
        .is(target(|target| target.high_per_m))
        .column("shoots_before_per_m", Number(DECIMALS), PER_METRE, "density by the counts before")
        .is(|row| row.zone.density.map(|mean| mean.per_m))
}

/// What recounts say: counts of places, and means with their intervals.
fn found<'a, T: 'a>(
    properties: Properties<'a, T>,
    facts: impl Fn(&T) -> Facts + Copy + 'a,
) -> Properties<'a, T> {
    let mean = move |of: fn(Facts) -> Option<Mean>| move |row: &T| of(facts(row)).map(|m| m.per_m);
    let ends = move |of: fn(Facts) -> Option<Mean>| move |row: &T| of(facts(row))?.ends90();
    properties
        .column("pairs", Integer, "places", "vines or panels counted before and after")
        .is(move |row| facts(row).pairs)
        .column("fresh", Integer, "places", "recounted, with no vine that was counted before")
        .is(move |row| facts(row).fresh)
        .column("part", Integer, "places", "recounted, counted before in part or with others")
        .is(move |row| facts(row).part)
        .column("change_per_m", Number(DECIMALS), PER_METRE, "mean of after less before, of pairs")
        .is(mean(|facts| facts.change))
        .ends90(["change_per_m_lo90", "change_per_m_hi90"], ends(|facts| facts.change))
        .column(
            "beside_expected_per_m",
            Number(DECIMALS),
            PER_METRE,
            "mean of found less expected before the work, of fresh places",
        )
        .is(mean(|facts| facts.beside_expected))
        .ends90(
            ["beside_expected_per_m_lo90", "beside_expected_per_m_hi90"],
            ends(|facts| facts.beside_expected),
        )
        .column("shoots_per_m", Number(DECIMALS), PER_METRE, "mean density that stands now")
        .is(mean(|facts| facts.after))
        .ends90(["shoots_per_m_lo90", "shoots_per_m_hi90"], ends(|facts| facts.after))
}

/// Places against the target.
fn shares<'a, T: 'a>(
    properties: Properties<'a, T>,
    facts: impl Fn(&T) -> Facts + Copy + 'a,
) -> Properties<'a, T> {
    let places = move |of: fn(Share) -> usize| move |row: &T| facts(row).band.map(of);
    properties
        .column("below", Integer, "places", "recounted places below the low end of the target")
        .is(places(|band| band.below))
        .column("inside", Integer, "places", "inside it, renewal shoots not counted")
        .is(places(|band| band.inside))
        .column("above", Integer, "places", "above its high end")
        .is(places(|band| band.above))
        .column("in_band", Number(DECIMALS), "", "share inside, of the canopy they stand for")
        .is(move |row| facts(row).band.map(|band| band.share.value))
        .ends90(["in_band_lo90", "in_band_hi90"], move |row| Some(facts(row).band?.share.ends90()))
}

/// What came off and what is left to do.
fn left<'a>(properties: Properties<'a, ZoneRow<'a>>) -> Properties<'a, ZoneRow<'a>> {
    properties
        .column("planned", Number(DECIMALS), "shoots", "shoots that were to come off")
        .is(|row| row.audit.planned.then_some(row.plan.remove.value))
        .ends90(["planned_lo90", "planned_hi90"], |row| {
            row.audit.planned.then(|| row.plan.remove.ends90())
        })
        .column("came_off", Number(DECIMALS), "shoots", "shoots that came off, by the pairs")
        .is(|row| row.audit.came_off.map(|one| one.value))
        .ends90(["came_off_lo90", "came_off_hi90"], |row| row.audit.came_off.map(Interval::ends90))
        .column("still_above", Number(DECIMALS), "shoots", "shoots that stand above the aim")
        .is(|row| row.audit.above.map(|one| one.value))
        .ends90(["still_above_lo90", "still_above_hi90"], |row| {
            row.audit.above.map(Interval::ends90)
        })
        .column("hours", Number(DECIMALS), "person-hours", "to take them off; null but for go-back")
        .is(|row| row.audit.hours.map(|one| one.value))
        .ends90(["hours_lo90", "hours_hi90"], |row| row.audit.hours.map(Interval::ends90))
        .column("recounts_to_settle", Integer, "places", "more recounts that would settle it")
        .is(|row| row.audit.recounts_to_settle)
        .column("advice", Text, "", "what to do or mind there")
        .is(|row| (!row.audit.advice.is_empty()).then(|| row.audit.advice.join("; ")))
}
