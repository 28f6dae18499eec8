//! `crew-sheet.csv`: the work panel by panel, in the order in which it is walked.

use super::{
    per_foot::in_units,
    property::Properties,
    thinned::{DECIMALS, LENGTH_DECIMALS, Thinned},
};
use crate::{
    plan::{
        Verdict, ZonePlan,
        work::{PanelWork, RowWork, ZoneWork},
    },
    units::ReadingUnits,
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Table, Value,
    },
    zones::Zone,
};

/// The work of all zones: those that are worked first, in their order.
pub fn crew_table(thinned: &Thinned<'_>, work: &[ZoneWork], units: ReadingUnits) -> Table {
    let properties = properties();
    let lines = work.iter().flat_map(|zone| {
        let rows = zone.rows.iter();
        let panels = rows.flat_map(|row| row.panels.iter().map(move |panel| (row, panel)));
        panels.map(|(row, panel)| PanelFacts {
            thinned,
            zone: &thinned.evidence.zones.zones[zone.zone],
            planned: &thinned.plan.zones[zone.zone],
            row,
            panel,
        })
    });
    let rows: Vec<Vec<Value>> = lines.map(|line| properties.values(&line)).collect();
    in_units(properties.table("crew-sheet", rows), units)
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

struct PanelFacts<'a> {
    thinned: &'a Thinned<'a>,
    zone: &'a Zone,
    planned: &'a ZonePlan,
    row: &'a RowWork,
    panel: &'a PanelWork,
}

impl PanelFacts<'_> {
    fn worked(&self) -> bool {
        self.planned.order.is_some()
    }

    /// What is left where shoots come off by number.
    fn leave_per_m(&self) -> Option<f64> {
        self.planned.target_per_m.filter(|_| self.worked()).map(|target| target.aim_per_m)
    }

    /// `34: 6; 37: 4`, the way it is walked.
    fn counted(&self) -> Option<String> {
        let vines = self.panel.counted.iter().filter(|_| self.worked());
        let each: Vec<String> =
            vines.map(|vine| format!("{}: {:.0}", vine.vine, vine.take)).collect();
        (!each.is_empty()).then(|| each.join("; "))
    }

    fn words(&self) -> &'static str {
        match (self.worked(), self.planned.target_per_m) {
            _ if self.thinned.plan.frost.is_some() => "nothing until a recount",
            (true, _) => self.thinned.plan.take_off.in_order(),
            (false, Some(_)) if self.planned.verdict == Verdict::UnderTarget => "base shoots only",
            (false, Some(_)) => self.thinned.plan.take_off.lightly(),
            (false, None) => "suckers only",
        }
    }
}

fn properties<'a>() -> Properties<'a, PanelFacts<'a>> {
    done(placed())
}

fn placed<'a>() -> Properties<'a, PanelFacts<'a>> {
    Properties::<'a, PanelFacts<'a>>::new()
        .column(
            "order",
            Integer,
            "",
            "the zone's place in the order of work; empty when not worked",
        )
        .is(|line| line.planned.order)
        .column("zone", Text, "", "the zone's id")
        .is(|line| line.zone.id.as_str())
        .column("row", Integer, "", "the row's number")
        .is(|line| line.row.row)
        .column("panel", Text, "", "the panel's id, such as R012P07")
        .is(|line| {
            let layout = line.thinned.evidence.layout;
            layout.digits.panel(line.row.row, layout.panels[line.panel.panel].panel)
        })
        .column("from_vine", Integer, "", "its first vine that stands, the way the row is walked")
        .is(|line| line.panel.vines[0])
        .column("to_vine", Integer, "", "its last one")
        .is(|line| line.panel.vines[1])
        .column("vines", Integer, "vines", "vines that stand in it")
        .is(|line| line.panel.standing)
        .column("canopy_m", Number(LENGTH_DECIMALS), "metres", "canopy of its vines")
        .is(|line| line.panel.canopy_m)
}

fn done<'a>(properties: Properties<'a, PanelFacts<'a>>) -> Properties<'a, PanelFacts<'a>> {
    let per_metre = "shoots per metre of canopy";
    properties
        .column("leave_per_m", Number(DECIMALS), per_metre, "shoots to leave, renewal shoots aside")
        .is(PanelFacts::leave_per_m)
        .column("spacing_cm", Number(1), "centimetres", "how far apart that is")
        .is(|line| line.leave_per_m().map(|shoots| 100.0 / shoots))
        .column("remove", Number(DECIMALS), "shoots", "shoots to take off: the sum of its vines")
        .is(|line| line.panel.take)
        .column(
            "counted_vines",
            Text,
            "",
            "vines that were counted, with the shoots to take off each",
        )
        .is(PanelFacts::counted)
        .column("minutes", Number(2), "person-minutes", "its share of the zone's hours")
        .is(|line| line.panel.minutes)
        .column("thin_by", Text, "date", "when the zone's window closes if shoots grow fast")
        .is(|line| line.planned.thin_by.map(|date| date.to_string()))
        .column("work", Text, "", "what is done there, in order")
        .is(PanelFacts::words)
}
