//! `audit-pairs.csv`: every place that was recounted, as it was and as it was found.

use super::{
    audit::AuditedBlock,
    ground::Ground,
    per_foot::in_units,
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS},
};
use crate::{
    audit::{Band, Recounted},
    plan::VineTarget,
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Table,
    },
};

struct PlaceRow<'a> {
    ground: Ground<'a>,
    place: &'a Recounted,
    zone: Option<&'a str>,
}

impl PlaceRow<'_> {
    /// The first vine's place in its row.
    fn first(&self) -> Option<&crate::layout::Vine> {
        self.ground.layout.vines.get(*self.place.vines.first()?)
    }

    fn panel(&self) -> Option<u32> {
        Some(self.ground.layout.panels.get(self.first()?.panel)?.panel)
    }

    fn is_single(&self) -> bool {
        self.place.vines.len() == 1
    }

    fn id(&self) -> Option<String> {
        let (digits, first) = (self.ground.layout.digits, self.first()?);
        if self.is_single() {
            return Some(digits.vine(first.row, first.vine));
        }
        Some(digits.panel(first.row, self.panel()?))
    }

    fn target(&self, end: impl Fn(VineTarget) -> f64) -> Option<f64> {
        self.place.target.map(end)
    }
}

/// Every recounted place; with columns per foot where people read feet.
pub fn audit_pairs<'a>(block: &'a AuditedBlock<'a>, units: ReadingUnits) -> Table {
    let zones = &block.thinned.evidence.zones.zones;
    let properties = properties();
    let mut rows = Vec::with_capacity(block.audit.places.len());
    for place in &block.audit.places {
        let zone = place.zone.map(|zone| zones[zone].id.as_str());
        rows.push(properties.values(&PlaceRow { ground: block.ground(), place, zone }));
    }
    in_units(properties.table("audit-pairs", rows), units)
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

const PER_METRE: &str = "shoots per metre of canopy";

fn properties<'a>() -> Properties<'a, PlaceRow<'a>> {
    counted(named())
}

fn named<'a>() -> Properties<'a, PlaceRow<'a>> {
    Properties::<'a, PlaceRow<'a>>::new()
        .column("id", Text, "", "id of the vine, or of the panel for vines counted together")
        .is(PlaceRow::id)
        .column(
            "kind",
            Text,
            "",
            "pair (counted before and after), fresh (not counted before) or part (in part, or with others)",
        )
        .is(|row| row.place.kind.word())
        .column("zone", Text, "", "the zone's id; null where no vine was thought to stand")
        .is(|row| row.zone)
        .column("row", Integer, "", "the row's number")
        .is(|row| row.first().map(|vine| vine.row))
        .column("panel", Integer, "", "the panel's number in the row")
        .is(PlaceRow::panel)
        .column("vine", Integer, "", "the vine's number; null for vines counted together")
        .is(|row| row.first().filter(|_| row.is_single()).map(|vine| vine.vine))
        .column("vines", Integer, "vines", "vines that it is about")
        .is(|row| row.place.vines.len())
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of these vines")
        .is(|row| row.place.canopy_m)
}

fn counted<'a>(properties: Properties<'a, PlaceRow<'a>>) -> Properties<'a, PlaceRow<'a>> {
    properties
        .column("before_per_m", Number(DECIMALS), PER_METRE, "counted before; null but for a pair")
        .is(|row| row.place.before_per_m)
        .column("expected_per_m", Number(DECIMALS), PER_METRE, "believed before the work")
        .is(|row| row.place.expected_per_m)
        .column("after_per_m", Number(DECIMALS), PER_METRE, "found after the work")
        .is(|row| row.place.after_per_m)
        .column(
            "change_per_m",
            Number(DECIMALS),
            PER_METRE,
            "found less counted before; null but for a pair",
        )
        .is(|row| row.place.change_per_m())
        .column("target_low_per_m", Number(DECIMALS), PER_METRE, "low end of the target")
        .is(|row| row.target(|target| target.low_per_m))
        .column("target_high_per_m", Number(DECIMALS), PER_METRE, "high end of the target")
        .is(|row| row.target(|target| target.high_per_m))
        .column("left_per_m", Number(DECIMALS), PER_METRE, "the aim, renewal shoots among it")
        .is(|row| row.place.left_per_m)
        .column("stands", Text, "", "below, inside or above the target; null for young vines")
        .is(|row| row.place.band.map(Band::word))
}
