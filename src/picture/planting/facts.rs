//! The title block of a planting plan: what is planted and how it is laid out, in words.

use crate::{
    block::North,
    frame::Site,
    picture::{
        lettering::printable,
        planting::drawing::Drawing,
        words::{area, count_of, date, grouped, length, number, row_length, unit},
    },
    units::ReadingUnits,
};

/// Beside the drawing: what it is, and what.
pub(super) fn facts(drawing: &Drawing<'_>) -> Vec<(&'static str, String)> {
    let (rules, units) = (&drawing.site.rules, drawing.notes.units);
    let quantities = &drawing.layout.quantities;
    let spacing = |metres| length(metres, units, 2);
    let mut facts: Vec<(&'static str, String)> = cultivars(drawing);
    facts.push(("Rows run", bearing(drawing.site)));
    facts.extend(as_given(drawing.site, units));
    facts.push(("Row spacing", spacing(rules.row_spacing)));
    facts.push(("Vine spacing", spacing(rules.vine_spacing)));
    facts.push(("End post to first vine", spacing(rules.end_gap)));
    if drawing.has_anchors() && rules.anchor_gap.metres() > 0.0 {
        facts.push(("End post to anchor", spacing(rules.anchor_gap)));
    }
    facts.push(("Rows", rows(drawing)));
    let lengths = quantities.row_lengths_m.map(|metres| row_length(metres, units)).join(", ");
    facts.push(("Shortest, median, longest", format!("{lengths} {}", unit(units))));
    let ground = [quantities.planted_ha, quantities.block_ha].map(|ground| area(ground, units));
    facts.push(("Planted ground", format!("{} of {}", ground[0], ground[1])));
    if !drawing.layout.left_out.is_empty() {
        facts.push(("Pieces too short to plant", grouped(drawing.layout.left_out.len())));
    }
    facts
}

/// Below the title: cultivars, rows, vines.
pub(super) fn subtitle(drawing: &Drawing<'_>) -> String {
    let quantities = &drawing.layout.quantities;
    format!(
        "{}, {}, {} planted",
        count_of(drawing.rows.len(), "row", "rows"),
        count_of(quantities.vines, "vine", "vines"),
        area(quantities.planted_ha, drawing.notes.units)
    )
}

/// What the plan must not be taken for.
pub(super) fn cautions() -> &'static str {
    "Have buried and overhead lines located before any post or anchor is driven. Sizes of posts, \
     anchors and wire are for the supplier or an engineer; local codes go first. Positions are in \
     WGS84 and as good as the outline; not a legal boundary. The plan says nothing about slopes or \
     where machines can go."
}

/// What grows on which rows; nothing where nothing is said.
fn cultivars(drawing: &Drawing<'_>) -> Vec<(&'static str, String)> {
    let plantings = &drawing.site.plantings;
    let own = |at: usize| {
        let rows = drawing.rows.iter().map(|row| row.number);
        rows.filter(|row| plantings.of_row(*row) == at).collect::<Vec<u32>>()
    };
    let grown = plantings
        .all()
        .iter()
        .enumerate()
        .map(|(at, planting)| (planting.cultivar.as_deref().map(printable), own(at)));
    let grown: Vec<(Option<String>, Vec<u32>)> =
        grown.filter(|(_, rows)| !rows.is_empty()).collect();
    match grown.as_slice() {
        [(name, _)] => name.iter().map(|name| ("Cultivar", name.clone())).collect(),
        several => several
            .iter()
            .map(|(name, rows)| {
                let name = name.as_deref().unwrap_or("cultivar not given");
                let word = if rows.len() == 1 { "row" } else { "rows" };
                ("Cultivar", format!("{name}: {word} {}", runs(rows)))
            })
            .collect(),
    }
}

/// `1-12, 15`; `1-23 by 2` where every other row is meant.
fn runs(rows: &[u32]) -> String {
    let steps = rows.windows(2).map(|pair| pair[1] - pair[0]);
    if let [first, _, .., last] = rows
        && steps.clone().all(|step| step == 2)
    {
        return format!("{first}-{last} by 2");
    }
    let mut runs: Vec<[u32; 2]> = Vec::new();
    for row in rows {
        match runs.last_mut() {
            Some([_, end]) if *end + 1 == *row => *end = *row,
            _ => runs.push([*row, *row]),
        }
    }
    let words = runs.iter().map(
        |[from, to]| {
            if from == to { from.to_string() } else { format!("{from}-{to}") }
        },
    );
    words.collect::<Vec<_>>().join(", ")
}

fn bearing(site: &Site) -> String {
    let degrees = site.frame.bearing().true_north.degrees();
    format!("{}° from true north", number(degrees, 2))
}

/// How the bearing came, where it was not given from true north.
fn as_given(site: &Site, units: ReadingUnits) -> Option<(&'static str, String)> {
    let bearing = site.frame.bearing();
    if site.rules.bearing.is_none() {
        return Some(("The bearing is that of", "lines drawn along rows".to_owned()));
    }
    let [given, added] =
        [bearing.given, bearing.correction].map(|angle| number(angle.degrees(), 2));
    match bearing.north {
        North::True => None,
        North::Grid => Some(("Given from grid north", format!("{given}°; {added}° added"))),
        North::Magnetic => {
            let off = bearing
                .uncertainty
                .map_or_else(String::new, |off| format!(" ±{}°", number(off.degrees(), 1)));
            let day =
                site.rules.date.map_or_else(String::new, |day| format!(" on {}", date(day, units)));
            Some(("By compass", format!("{given}°{day}; declination {added}°{off}")))
        }
    }
}

fn rows(drawing: &Drawing<'_>) -> String {
    let (Some(first), Some(last)) = (drawing.rows.first(), drawing.rows.last()) else {
        return "none".to_owned();
    };
    let number = drawing.rows.len();
    format!("{number}, numbered {} to {}", first.number, last.number)
}
