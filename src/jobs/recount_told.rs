//! Zones in which a recount after the work would settle nothing, told when it is drawn.

use super::{
    sample::{Drawn, Field, stops_before},
    thin::{self, Thinning},
};
use crate::{
    finding::{Finding, Findings, Place},
    jobs::Call,
    names::{number_of, rows_for_people},
    read::Inputs,
    sample::Stop,
};

/// Doubts of every block's recount; none where its counts allow no zones, as the audit will tell.
pub(super) fn doubts(call: &Call, inputs: &Inputs, drawn: (&[Field], &[Drawn])) -> Vec<Findings> {
    let thinned = thin::thin_all(call, inputs, None).unwrap_or_default();
    let fewest = call.settings.plan().fewest_recounted;
    let blocks = thinned.iter().zip(drawn.0).zip(drawn.1);
    blocks
        .map(|((thinned, field), (sample, _))| of_block(thinned, field, (&sample.stops, fewest)))
        .collect()
}

fn of_block(thinned: &Thinning, field: &Field, (stops, fewest): (&[Stop], usize)) -> Findings {
    let before = stops_before(field, stops);
    let places: Vec<(Option<usize>, bool)> =
        stops.iter().zip(before).map(|(stop, before)| (zone_of(thinned, stop), before)).collect();
    let zones = thinned.zones.zones.iter().zip(&thinned.plan.zones).enumerate();
    let told = zones.filter_map(|(at, (zone, planned))| {
        let to_thin = planned.order.is_some();
        let own = places.iter().filter(|(zone, before)| *zone == Some(at) && (to_thin || *before));
        let short = fewest.checked_sub(own.count()).filter(|short| *short > 0)?;
        let name = zone.name.as_ref().map_or_else(String::new, |name| format!(" “{name}”"));
        let zone = format!("{}{name} in rows {}", zone.id, rows_for_people(&zone.rows));
        Some(few(&zone, (short, fewest, to_thin)))
    });
    told.collect()
}

fn zone_of(thinned: &Thinning, stop: &Stop) -> Option<usize> {
    let zones = &thinned.zones;
    let of = |all: &[Option<usize>], at: usize| all.get(at).copied().flatten();
    stop.vine.map_or_else(|| of(&zones.of_panel, stop.panel), |vine| of(&zones.of_vine, vine))
}

/// A zone with too few stops: where nothing is to come off, only places counted before tell whether
/// something did.
fn few(zone: &str, (short, at_least, to_thin): (usize, usize, bool)) -> Finding {
    let kind = if to_thin { "place" } else { "place counted before" };
    let more = match (short, to_thin) {
        (1, _) => format!("1 more {kind}"),
        (_, true) => format!("{short} more places"),
        (_, false) => format!("{short} more places counted before"),
    };
    let why = format!("with fewer than {at_least} recounted nothing is settled there");
    let stops = number_of(at_least - short, "stop");
    let what = if to_thin {
        format!("zone {zone} has {stops}")
    } else {
        format!("zone {zone} has {stops} where it was counted before")
    };
    Finding::warning(Place::field("--for-audit"), what)
        .because(why)
        .mend(format!("recount {more} in it, or raise --number"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_many_more_is_said() {
        let said = few("Z2 in rows 4 to 9", (2, 5, true)).to_string();
        assert!(said.contains("zone Z2 in rows 4 to 9 has 3 stops"), "{said}");
        assert!(said.contains("recount 2 more places in it"), "{said}");
        let left = few("Z1 in rows 1", (1, 5, false)).to_string();
        assert!(left.contains("4 stops where it was counted before"), "{left}");
        assert!(left.contains("1 more place counted before"), "{left}");
    }
}
