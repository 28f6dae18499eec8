//! `zones.geojson` and `zones.csv`: what is said and planned zone by zone.

use jiff::civil::Date;

use super::{
    ground::{Ground, MAP_DECIMALS},
    per_foot::in_units,
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
};
use crate::{
    plan::{Interval, VineTarget, ZonePlan},
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Layer, Table,
        layers::rounded,
    },
    zones::Zone,
};

/// Every zone with its verdict and plan.
pub fn zones(thinned: &Thinned<'_>) -> Layer {
    let evidence = thinned.evidence;
    let ground = Ground::new(evidence.site, evidence.layout);
    let things = evidence.zones.zones.iter().zip(&thinned.plan.zones).map(|(zone, plan)| {
        let facts = ZoneFacts { ground: ground.clone(), thinned, zone, plan };
        (ground.areas(&zone.shape), facts)
    });
    properties().layer("zones", MAP_DECIMALS, things)
}

/// The zones as a table for people: with columns per foot beside those per metre where they read
/// feet.
pub fn zones_table(zones: &Layer, units: ReadingUnits) -> Table {
    in_units(zones.table(), units)
}

pub(super) struct ZoneFacts<'a> {
    ground: Ground<'a>,
    thinned: &'a Thinned<'a>,
    zone: &'a Zone,
    plan: &'a ZonePlan,
}

impl ZoneFacts<'_> {
    fn target(&self, end: impl Fn(VineTarget) -> f64) -> Option<f64> {
        self.plan.target_per_m.map(end)
    }

    fn remove(&self) -> f64 {
        self.thinned.remove_of(self.zone.vines.iter().copied())
    }

    /// Both ends of the interval of `remove`, which holds the value as written: rounding vines
    /// first can move it beyond an end by less than a thousandth of a shoot.
    fn remove90(&self) -> [f64; 2] {
        let Interval { lo90, hi90, .. } = self.plan.remove;
        let value = self.remove();
        [lo90.min(value), hi90.max(value)]
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

const PER_METRE: &str = "shoots per metre of canopy";

fn properties<'a>() -> Properties<'a, ZoneFacts<'a>> {
    advised(timed(planned(believed(named()))))
}

fn named<'a>() -> Properties<'a, ZoneFacts<'a>> {
    Properties::<'a, ZoneFacts<'a>>::new()
        .column("zone", Text, "", "the zone's id, such as Z1")
        .is(|zone| zone.zone.id.as_str())
        .column("name", Text, "", "the grower's own name for it; null for a zone that was drawn")
        .is(|zone| zone.zone.name.as_deref())
        .column("block", Text, "", "the block's name")
        .is(|zone| zone.ground.block.clone())
        .column("rows", Text, "", "its rows, such as 1-12,15")
        .is(|zone| zone.zone.rows.as_str())
        .column("panels", Integer, "panels", "its panels")
        .is(|zone| zone.zone.panels.len())
        .column("vines", Integer, "vines", "vines that stand in it")
        .is(|zone| zone.zone.vines.len())
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of its vines")
        .is(|zone| zone.thinned.canopy_of(zone.zone.vines.iter().copied()))
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|zone| zone.ground.cultivar(zone.zone.planting))
        .column("counted_vines", Integer, "vines", "vines counted, alone or in a whole panel")
        .is(|zone| zone.zone.counted_vines)
}

fn believed<'a>(properties: Properties<'a, ZoneFacts<'a>>) -> Properties<'a, ZoneFacts<'a>> {
    properties
        .column("shoots_per_m", Number(DECIMALS), PER_METRE, "expected mean density of its vines")
        .is(|zone| zone.zone.density.map(|mean| mean.per_m))
        .ends90(["shoots_per_m_lo90", "shoots_per_m_hi90"], |zone| {
            zone.zone.density.map(|mean| [mean.lo90, mean.hi90])
        })
        .column("vigor", Number(DECIMALS), "see vigor_measure", "expected mean measure of vigor")
        .is(|zone| zone.zone.vigor.map(|mean| mean.per_m))
        .column("target_per_m", Number(DECIMALS), PER_METRE, "mean aim: shoots to leave")
        .is(|zone| zone.target(|target| target.aim_per_m))
        .column("target_low_per_m", Number(DECIMALS), PER_METRE, "mean low end of the target")
        .is(|zone| zone.target(|target| target.low_per_m))
        .column("target_high_per_m", Number(DECIMALS), PER_METRE, "mean high end of the target")
        .is(|zone| zone.target(|target| target.high_per_m))
}

fn planned<'a>(properties: Properties<'a, ZoneFacts<'a>>) -> Properties<'a, ZoneFacts<'a>> {
    properties
        .column("remove", Number(DECIMALS), "shoots", "shoots to take off: the sum of its vines")
        .is(ZoneFacts::remove)
        .ends90(["remove_lo90", "remove_hi90"], |zone| Some(zone.remove90()))
        .column("hours", Number(DECIMALS), "person-hours", "work; 0 where none is planned")
        .is(|zone| zone.plan.hours.value)
        .ends90(["hours_lo90", "hours_hi90"], |zone| Some(zone.plan.hours.ends90()))
        .column("verdict", Text, "", "overcrowded, on-target, under-target or undecided")
        .is(|zone| zone.plan.verdict.word())
}

fn timed<'a>(properties: Properties<'a, ZoneFacts<'a>>) -> Properties<'a, ZoneFacts<'a>> {
    properties
        .column("order", Integer, "", "its place in the order of work; null where none is planned")
        .is(|zone| zone.plan.order)
        .column("thin_from", Text, "date", "when shoots are long enough and frost is past")
        .is(|zone| date(zone.plan.thin_from))
        .column("thin_by", Text, "date", "last day if shoots grow fast")
        .is(|zone| date(zone.plan.thin_by))
        .column("thin_by_latest", Text, "date", "last day if shoots grow slowly")
        .is(|zone| date(zone.plan.thin_by_latest))
}

fn advised<'a>(properties: Properties<'a, ZoneFacts<'a>>) -> Properties<'a, ZoneFacts<'a>> {
    properties
        .column("excess", Number(DECIMALS), "shoots", "shoots above the aim, whatever the verdict")
        .is(|zone| zone.plan.excess.map(|excess| excess.value))
        .ends90(["excess_lo90", "excess_hi90"], |zone| zone.plan.excess.map(Interval::ends90))
        .column("hours_if_worked", Number(DECIMALS), "person-hours", "work if it were thinned")
        .is(|zone| zone.plan.hours_if_worked)
        .column("counts_to_settle", Integer, "counts", "more counts that would settle the verdict")
        .is(|zone| zone.plan.counts_to_settle)
        .column("advice", Text, "", "what to check or mind there")
        .is(|zone| (!zone.plan.advice.is_empty()).then(|| zone.plan.advice.join("; ")))
}

/// ISO 8601.
pub(super) fn date(date: Option<Date>) -> Option<String> {
    date.map(|date| date.to_string())
}

/// Hours of all zones: the sum of what is written.
pub(super) fn hours_of(thinned: &Thinned<'_>) -> f64 {
    let hours = thinned.plan.zones.iter().map(|zone| rounded(zone.hours.value, DECIMALS));
    rounded(hours.sum(), DECIMALS)
}
