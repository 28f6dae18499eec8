//! `sample.geojson` and `sample.csv`: what to count, in walking order.

use super::{
    ground::{Ground, STAKE_DECIMALS},
    property::Properties,
};
use crate::{
    frame::Site,
    layout::{Layout, Panel},
    plan::{Evidence, NextCounts, Plan},
    sample::{Purpose, Stop},
    units::{METRES_PER_FOOT, Metres, ReadingUnits},
    write::{
        Column, Feature,
        Kind::{Flag, Integer, Number, Text},
        Layer, Shape, Table, Value,
        gpx::{Gpx, Waypoint},
        layers::rounded,
    },
};

/// A point for every stop, and for every stretch of a vine that is counted there.
pub fn sample(site: &Site, layout: &Layout, (stops, window): (&[Stop], Option<Metres>)) -> Layer {
    let ground = Ground::new(site, layout);
    let stretches = |stop: &Stop| match stop.windows.len() {
        0 => vec![None],
        several => (0..several).map(Some).collect(),
    };
    let things = stops.iter().enumerate().flat_map(|(at, stop)| {
        let ground = &ground;
        stretches(stop).into_iter().map(move |stretch| {
            let facts = StopFacts { ground: ground.clone(), at, stop, stretch, window };
            (ground.point(stop.at), facts)
        })
    });
    properties().layer("sample", STAKE_DECIMALS, things)
}

pub(super) struct StopFacts<'a> {
    ground: Ground<'a>,
    at: usize,
    stop: &'a Stop,
    stretch: Option<usize>,
    window: Option<Metres>,
}

impl<'a> StopFacts<'a> {
    fn panel(&self) -> &'a Panel {
        &self.ground.layout.panels[self.stop.panel]
    }

    fn vine(&self) -> Option<u32> {
        self.stop.vine.map(|vine| self.ground.layout.vines[vine].vine)
    }

    fn id(&self) -> String {
        let (digits, panel) = (self.ground.layout.digits, self.panel());
        match self.vine() {
            Some(vine) => digits.vine(panel.row, vine),
            None => digits.panel(panel.row, panel.panel),
        }
    }

    /// Its place in its panel, from 1.
    fn place(&self) -> Option<usize> {
        self.stop.vine.map(|vine| vine - self.panel().vines.start + 1)
    }

    /// Where it is, in words for somebody between the rows.
    fn find(&self) -> String {
        let panel = self.panel();
        let vines = &self.ground.layout.vines[panel.vines.clone()];
        let number = |at: usize| vines.get(at).map_or(0, |vine| vine.vine);
        let (first, last) = (number(0), number(vines.len().saturating_sub(1)));
        match self.place() {
            Some(place) => {
                format!(
                    "row {}, panel {} from vine 1's end, vine {place} in it",
                    panel.row, panel.panel
                )
            }
            None => format!(
                "row {}, panel {} from vine 1's end: vines {first} to {last}",
                panel.row, panel.panel
            ),
        }
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

fn properties<'a>() -> Properties<'a, StopFacts<'a>> {
    where_and_what()
        .column(
            "close_pair",
            Flag,
            "",
            "true for the neighbour of a stop: for the model, in no mean",
        )
        .is(|stop| stop.stop.purpose == Purpose::ClosePair)
        .column(
            "inclusion",
            Number(6),
            "",
            "the chance with which it was drawn; null if it was not",
        )
        .is(|stop| stop.stop.purpose.chance())
        .column(
            "drawn",
            Text,
            "",
            "what it is counted for: mean, pair (neighbour of a stop) or chosen (by somebody)",
        )
        .is(|stop| stop.stop.purpose.word())
        .column(
            "drawn_number",
            Integer,
            "",
            "stops drawn for the mean of its planting; null if it was not drawn",
        )
        .is(|stop| stop.stop.purpose.draw().map(|[drawn, _]| drawn))
        .column(
            "drawn_from",
            Integer,
            "",
            "panels or vines of its planting that could be drawn; null if it was not drawn",
        )
        .is(|stop| stop.stop.purpose.draw().map(|[_, of]| of))
}

/// Where a stop is, and which stretch of it is counted.
fn where_and_what<'a>() -> Properties<'a, StopFacts<'a>> {
    Properties::<'a, StopFacts<'a>>::new()
        .column("stop", Integer, "", "its place in the walk, from 1")
        .is(|stop| stop.at + 1)
        .column("block", Text, "", "the block's name")
        .is(|stop| stop.ground.block.clone())
        .column("id", Text, "", "id of the panel, or of the vine where single vines are counted")
        .is(StopFacts::id)
        .column("row", Integer, "", "the row's number")
        .is(|stop| stop.panel().row)
        .column("panel", Integer, "", "the panel's number in the row")
        .is(|stop| stop.panel().panel)
        .column(
            "place",
            Integer,
            "",
            "the vine's place in the panel, from 1; null for a whole panel",
        )
        .is(StopFacts::place)
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|stop| stop.ground.cultivar_of_row(stop.panel().row))
        .column("find", Text, "", "where it is, in words")
        .is(StopFacts::find)
        .column("window", Text, "", "the stretch: a or b; null where all of it is counted")
        .is(|stop| stop.stretch.map(|at| if at == 0 { "a" } else { "b" }))
        .column("window_start_m", Number(2), "metres", "where the stretch starts, from the trunk")
        .is(|stop| stop.stretch.map(|at| stop.stop.windows[at].metres()))
        .column("counted_length_m", Number(3), "metres", "its length; null where all is counted")
        .is(|stop| stop.stretch.and(stop.window).map(Metres::metres))
}

/// Columns that say where, and those of the sheet that wait for the field.
const TO_FILL: [&str; 9] =
    ["date", "visit", "shoots", "primary", "secondary", "base", "suckers", "status", "counted_by"];

/// The same as a sheet to fill in: columns that `--counts` reads, those to fill empty.
pub fn sample_sheet(layer: &Layer, units: ReadingUnits) -> Table {
    let stretches = layer
        .features
        .iter()
        .enumerate()
        .any(|(at, _)| layer.value(at, "window").is_some_and(|window| *window != Value::Null));
    let mut heads: Vec<&str> = vec!["stop", "block", "id", "row", "panel", "place", "find"];
    if stretches {
        heads.extend(["window", "window_start_m", "counted_length_m"]);
    }
    let cells = |at: usize| -> Vec<Value> {
        let given = heads.iter().map(|head| layer.value(at, head).cloned().unwrap_or_default());
        given.collect()
    };
    let shoot_length = match units {
        ReadingUnits::Us => "shoot_length_in",
        ReadingUnits::Metric => "shoot_length_cm",
    };
    // What was drawn goes through the field and back: the numbers of `thin` may rest on it.
    let draw = ["drawn", "drawn_number", "drawn_from"];
    let empty = TO_FILL.len() + 2;
    let rows = (0..layer.features.len()).map(|at| {
        let mut row = in_units(cells(at), &heads, units);
        row.extend(vec![Value::Null; empty]);
        row.extend(draw.map(|head| layer.value(at, head).cloned().unwrap_or_default()));
        row
    });
    let rows = rows.collect();
    let heads = heads.iter().map(|head| head_in(head, units));
    let waiting = TO_FILL.iter().map(|&head| head.to_owned());
    let last = [shoot_length.to_owned(), "note".to_owned()].into_iter();
    let last = last.chain(draw.map(str::to_owned));
    Table { name: "sample", heads: heads.chain(waiting).chain(last).collect(), rows }
}

/// The stops as waypoints, for finding the way along the walk: `S001` and so on, the id and the words
/// behind it.
pub fn sample_waypoints(layer: &Layer, block: &str) -> Gpx {
    let text = |at: usize, column: &str| match layer.value(at, column) {
        Some(Value::Text(text)) => text.to_string(),
        _ => String::new(),
    };
    let waypoint = |(at, feature): (usize, &Feature)| {
        let Shape::Point(place) = feature.shape else { return None };
        // The second stretch of a vine is at the same stop.
        let stop = layer.value(at, "stop").and_then(Value::as_number)?;
        (text(at, "window") != "b").then(|| Waypoint {
            at: place,
            name: format!("S{stop:03.0}"),
            words: format!("{}: {}", text(at, "id"), text(at, "find")),
            kind: "stop",
        })
    };
    Gpx {
        name: format!("{block}, what to count"),
        words: "For finding the way; rows and panels are counted in the field. WGS 84.".to_owned(),
        waypoints: layer.features.iter().enumerate().filter_map(waypoint).collect(),
        decimals: layer.decimals,
    }
}

/// `count-next.csv`: the sheet of the panels to count next, each with why.
pub fn next_sheet(
    evidence: Evidence<'_>,
    (next, plan): (&NextCounts, &Plan),
    units: ReadingUnits,
) -> Table {
    let layer = sample(evidence.site, evidence.layout, (&next.stops, None));
    let mut table = sample_sheet(&layer, units);
    table.name = "count-next";
    table.heads.push("why".to_owned());
    for (row, &zone) in table.rows.iter_mut().zip(&next.zones) {
        let (id, verdict) = (&evidence.zones.zones[zone].id, plan.zones[zone].verdict.word());
        row.push(format!("{id} is {verdict}").into());
    }
    table
}

fn head_in(head: &str, units: ReadingUnits) -> String {
    match (units, head.strip_suffix("_m")) {
        (ReadingUnits::Us, Some(quantity)) => format!("{quantity}_ft"),
        _ => head.to_owned(),
    }
}

fn in_units(cells: Vec<Value>, heads: &[&str], units: ReadingUnits) -> Vec<Value> {
    let convert = |(cell, head): (Value, &&str)| match (units, cell.as_number()) {
        (ReadingUnits::Us, Some(metres)) if head.ends_with("_m") => {
            Value::Number(rounded(metres / METRES_PER_FOOT, 2))
        }
        _ => cell,
    };
    cells.into_iter().zip(heads).map(convert).collect()
}
