//! `season.csv`: zones and the block by year and by visit, a line each.

use super::{
    per_foot::in_units,
    property::Properties,
    season_summary::{SeasonPart, SeasonPartYear, SeasonSummary, SeasonVisit},
    thinned::DECIMALS,
};
use crate::{
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Flag, Integer, Number, Text},
        Table, Value,
    },
};

/// One line a zone and year, followed by its visits; the block's lines come last.
pub fn season_table(block: &str, summary: &SeasonSummary, units: ReadingUnits) -> Table {
    let properties = properties();
    let mut rows: Vec<Vec<Value>> = Vec::new();
    for part in &summary.parts {
        for year in &part.years {
            let line = |visit| Line { block, part, year, visit };
            rows.push(properties.values(&line(None)));
            rows.extend(year.visits.iter().map(|visit| properties.values(&line(Some(visit)))));
        }
    }
    in_units(properties.table("season", rows), units)
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

struct Line<'a> {
    block: &'a str,
    part: &'a SeasonPart,
    year: &'a SeasonPartYear,
    visit: Option<&'a SeasonVisit>,
}

impl Line<'_> {
    /// Mean, lower and upper end.
    fn shoots(&self, at: usize) -> Option<f64> {
        match self.visit {
            None => self.year.shoots_per_m.map(|ends| ends[at]),
            Some(visit) if at == 0 => visit.shoots_per_m,
            Some(visit) => visit.shoots_per_m90.map(|ends| ends[at - 1]),
        }
    }

    /// Something that only the line of a year has.
    fn of_year<T>(&self, value: impl Fn(&SeasonPartYear) -> Option<T>) -> Option<T> {
        self.visit.is_none().then(|| value(self.year)).flatten()
    }
}

const SHOOTS: &str = "shoots per metre of canopy";
const KILOGRAMS: &str = "kilograms per metre of canopy";

fn properties<'a>() -> Properties<'a, Line<'a>> {
    planned(changed(counted(named())))
}

fn named<'a>() -> Properties<'a, Line<'a>> {
    Properties::<'a, Line<'a>>::new()
        .column("block", Text, "", "the block's name")
        .is(|line| line.block)
        .column("part", Text, "", "zone or block")
        .is(|line| if line.part.zone.is_some() { "zone" } else { "block" })
        .column("zone", Text, "", "the zone of the latest year, such as Z1; empty for the block")
        .is(|line| line.part.zone.as_deref())
        .column("name", Text, "", "the grower's own name for it")
        .is(|line| line.part.name.as_deref())
        .column("year", Integer, "", "the calendar year of the season's first count")
        .is(|line| i64::from(line.year.year))
        .column(
            "line",
            Text,
            "",
            "year: the estimate of a season; visit: what was counted that day",
        )
        .is(|line| if line.visit.is_some() { "visit" } else { "year" })
        .column("date", Text, "date", "day of the visit; of a year, of the counts it rests on")
        .is(|line| match line.visit {
            Some(visit) => visit.date.as_deref(),
            None => line.year.date.as_deref(),
        })
        .column("visit", Text, "", "the visit's label as written")
        .is(|line| line.visit.map(|visit| visit.visit.as_str()).filter(|label| !label.is_empty()))
}

fn counted<'a>(properties: Properties<'a, Line<'a>>) -> Properties<'a, Line<'a>> {
    properties
        .column("counts", Integer, "vines or whole panels", "places counted in it")
        .is(|line| line.visit.map_or(line.year.counts, |visit| visit.counts))
        .column(
            "shoots_per_m",
            Number(DECIMALS),
            SHOOTS,
            "mean of its vines; of a visit, of the places counted",
        )
        .is(|line| line.shoots(0))
        .column(
            "shoots_per_m_lo90",
            Number(DECIMALS),
            SHOOTS,
            "lower end of its 90 % interval; empty where under 5 places were counted on a visit",
        )
        .is(|line| line.shoots(1))
        .column("shoots_per_m_hi90", Number(DECIMALS), SHOOTS, "upper end of its 90 % interval")
        .is(|line| line.shoots(2))
}

fn changed<'a>(properties: Properties<'a, Line<'a>>) -> Properties<'a, Line<'a>> {
    let change = |line: &Line<'a>| line.of_year(|year| year.change_per_m);
    properties
        .column(
            "change_per_m",
            Number(DECIMALS),
            SHOOTS,
            "the mean less that of the year before in this table",
        )
        .is(move |line| change(line).map(|change| change[0]))
        .ends90(["change_per_m_lo90", "change_per_m_hi90"], move |line| {
            change(line).map(|[_, low, high]| [low, high])
        })
        .column("changed", Flag, "", "the interval of the change leaves 0 out")
        .is(|line| line.of_year(|year| year.changed))
        .column("absent", Integer, "vines", "vines of the zone that did not stand that year")
        .is(|line| line.of_year(|year| Some(year.absent)))
}

fn planned<'a>(properties: Properties<'a, Line<'a>>) -> Properties<'a, Line<'a>> {
    let pruning = |line: &Line<'a>| line.of_year(|year| year.pruning_kg_per_m);
    properties
        .column("target_per_m", Number(DECIMALS), SHOOTS, "mean aim: shoots to leave")
        .is(|line| line.of_year(|year| year.target_per_m))
        .column("verdict", Text, "", "of a zone in the latest year; of the block, how many of that year's own zones have which")
        .is(|line| line.of_year(|year| year.verdict.clone()))
        .column("remove", Number(DECIMALS), "shoots", "shoots to take off by that year's plan")
        .is(|line| line.of_year(|year| year.remove))
        .column("hours", Number(DECIMALS), "person-hours", "work by that year's plan")
        .is(|line| line.of_year(|year| year.hours))
        .column("pruning_kg_per_m", Number(DECIMALS), KILOGRAMS, "prunings of the winter before, where weighed")
        .is(move |line| pruning(line).map(|pruning| pruning[0]))
        .ends90(["pruning_kg_per_m_lo90", "pruning_kg_per_m_hi90"], move |line| pruning(line).map(|[_, low, high]| [low, high]))
}
