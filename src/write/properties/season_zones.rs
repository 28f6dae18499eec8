//! `season.geojson`: the zones of the latest year with what changed in them.

use super::{
    ground::{Ground, MAP_DECIMALS},
    property::Properties,
    season_summary::{SeasonPart, SeasonPartYear, SeasonSummary, SeasonView},
    thinned::DECIMALS,
};
use crate::write::{
    Column,
    Kind::{Flag, Integer, Number, Text},
    Layer,
};

/// Every zone of the latest year with its mean, that of the year before and the change.
pub fn season_zones(view: &SeasonView<'_>, summary: &SeasonSummary) -> Layer {
    let properties = properties();
    let Some(latest) = view.latest() else {
        return properties.layer("season", MAP_DECIMALS, std::iter::empty());
    };
    let ground = Ground::new(latest.evidence.site, latest.evidence.layout);
    let block = latest.evidence.site.name.as_str();
    let zones = latest.evidence.zones.zones.iter().zip(&summary.parts);
    let things = zones.map(|(zone, part)| (ground.areas(&zone.shape), ZoneYears { block, part }));
    properties.layer("season", MAP_DECIMALS, things)
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

struct ZoneYears<'a> {
    block: &'a str,
    part: &'a SeasonPart,
}

impl ZoneYears<'_> {
    fn now<T>(&self, value: impl Fn(&SeasonPartYear) -> Option<T>) -> Option<T> {
        self.part.years.last().and_then(value)
    }

    fn before<T>(&self, value: impl Fn(&SeasonPartYear) -> Option<T>) -> Option<T> {
        self.part.years.iter().rev().nth(1).and_then(value)
    }

    fn change(&self) -> Option<[f64; 3]> {
        self.now(|year| year.change_per_m)
    }
}

const SHOOTS: &str = "shoots per metre of canopy";

fn properties<'a>() -> Properties<'a, ZoneYears<'a>> {
    changed(believed(named()))
}

fn named<'a>() -> Properties<'a, ZoneYears<'a>> {
    Properties::<'a, ZoneYears<'a>>::new()
        .column("zone", Text, "", "the zone's id, such as Z1")
        .is(|zone| zone.part.zone.as_deref())
        .column("name", Text, "", "the grower's own name for it; null for a zone that was drawn")
        .is(|zone| zone.part.name.as_deref())
        .column("block", Text, "", "the block's name")
        .is(|zone| zone.block)
        .column("rows", Text, "", "its rows, such as 1-12,15")
        .is(|zone| zone.part.rows.as_deref())
        .column("vines", Integer, "vines", "vines that stand in it")
        .is(|zone| zone.part.vines)
        .column("verdict", Text, "", "of the latest year")
        .is(|zone| zone.now(|year| year.verdict.clone()))
        .column("year", Integer, "", "the latest year")
        .is(|zone| zone.now(|year| Some(i64::from(year.year))))
        .column("counts", Integer, "vines or whole panels", "places counted in it that year")
        .is(|zone| zone.now(|year| Some(year.counts)))
}

fn believed<'a>(properties: Properties<'a, ZoneYears<'a>>) -> Properties<'a, ZoneYears<'a>> {
    properties
        .column("shoots_per_m", Number(DECIMALS), SHOOTS, "mean of its vines in the latest year")
        .is(|zone| zone.now(|year| year.shoots_per_m.map(|ends| ends[0])))
        .ends90(["shoots_per_m_lo90", "shoots_per_m_hi90"], |zone| {
            zone.now(|year| year.shoots_per_m.map(|[_, low, high]| [low, high]))
        })
        .column("year_before", Integer, "", "the year it is compared with")
        .is(|zone| zone.before(|year| Some(i64::from(year.year))))
        .column("counts_before", Integer, "vines or whole panels", "places counted in it then")
        .is(|zone| zone.before(|year| Some(year.counts)))
        .column("shoots_before_per_m", Number(DECIMALS), SHOOTS, "mean of the same vines then")
        .is(|zone| zone.before(|year| year.shoots_per_m.map(|ends| ends[0])))
}

fn changed<'a>(properties: Properties<'a, ZoneYears<'a>>) -> Properties<'a, ZoneYears<'a>> {
    properties
        .column("change_per_m", Number(DECIMALS), SHOOTS, "the latest mean less the one before")
        .is(|zone| zone.change().map(|change| change[0]))
        .ends90(["change_per_m_lo90", "change_per_m_hi90"], |zone| {
            zone.change().map(|[_, low, high]| [low, high])
        })
        .column("changed", Flag, "", "the interval leaves 0 out")
        .is(|zone| zone.now(|year| year.changed))
}
