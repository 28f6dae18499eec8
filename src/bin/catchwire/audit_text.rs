//! What the work reached, for people.

use std::fmt::Write as _;

use catchwire::{
    jobs::audit_report::{AuditReport, ZoneAuditReport},
    names::{named_rows, number_of},
    units::METRES_PER_FOOT,
    write::properties::{CameOffReport, FactsReport, MeanReport},
};

/// A density in the unit that people read.
#[derive(Debug, Clone, Copy)]
struct Reading {
    factor: f64,
    unit: &'static str,
}

impl Reading {
    fn number(self, per_m: f64) -> String {
        // Adding 0 turns −0 into 0.
        format!("{:.1}", (per_m * self.factor * 10.0).round() / 10.0 + 0.0)
    }

    /// `4.2 shoots/m (3.1 to 5.3)`; of a single place without an interval, and said.
    fn mean(self, mean: &MeanReport) -> String {
        let value = format!("{} shoots/{}", self.number(mean.per_m), self.unit);
        mean.ends90().map_or_else(
            || format!("{value} (too few places: no interval)"),
            |[low, high]| format!("{value} ({} to {})", self.number(low), self.number(high)),
        )
    }

    /// `3.9 shoots/m fewer (3.0 to 4.8)`.
    fn change(self, mean: &MeanReport) -> String {
        let fewer = mean.per_m <= 0.0;
        let (sign, word) = if fewer { (-1.0, "fewer") } else { (1.0, "more") };
        let value = format!("{} shoots/{} {word}", self.number(sign * mean.per_m), self.unit);
        mean.ends90().map_or_else(
            || format!("{value} (too few pairs: no interval)"),
            |ends| format!("{value} ({})", self.ends(ends, sign)),
        )
    }

    /// `3.0 to 4.8`, or `from 0.8 more to 1.7 fewer`.
    fn ends(self, ends: [f64; 2], sign: f64) -> String {
        if ends[0] < 0.0 && ends[1] > 0.0 {
            let [fewer, more] = [self.number(-ends[0]), self.number(ends[1])];
            return format!("from {fewer} fewer to {more} more");
        }
        let mut ends = ends.map(|end| sign * end);
        ends.sort_by(f64::total_cmp);
        format!("{} to {}", self.number(ends[0]), self.number(ends[1]))
    }
}

/// Appends what the work reached.
pub(crate) fn audit_text(text: &mut String, audit: &AuditReport, us: bool) {
    let reading = if us {
        Reading { factor: METRES_PER_FOOT, unit: "ft" }
    } else {
        Reading { factor: 1.0, unit: "m" }
    };
    let [joined, unjoined] = audit.records;
    let date = |date: &Option<String>| date.clone().unwrap_or_else(|| "no date".to_owned());
    let _ = writeln!(
        text,
        "  recount of {}, counts of {}: {} joined, {unjoined} not; {}",
        date(&audit.recount_date),
        date(&audit.counts_date),
        number_of(joined, "record"),
        places(&audit.block)
    );
    block_text(text, audit, reading);
    for zone in &audit.zones {
        zone_text(text, zone, reading);
    }
    let back = if audit.go_back.is_empty() {
        "no zone is surely left to go back to".to_owned()
    } else {
        format!("go back to {}, in this order", audit.go_back.join(", "))
    };
    let _ = writeln!(text, "  {back}");
    marks_text(text, audit, reading);
    if let Some(timed) = &audit.timed {
        let places = number_of(timed.places, "timed place");
        let follow =
            if timed.hours_follow { "; hours follow it" } else { ": too few for hours to follow" };
        let (spent, reckoned) = (timed.minutes_spent, timed.minutes_reckoned);
        let _ =
            writeln!(text, "  {places}: {spent:.0} person-minutes, reckoned {reckoned:.0}{follow}");
    }
}

/// `12 pairs, 14 fresh places`.
fn places(facts: &FactsReport) -> String {
    let part = if facts.part == 0 {
        String::new()
    } else {
        format!(", {} counted before in part", facts.part)
    };
    let pairs = number_of(facts.pairs, "pair");
    format!("{pairs}, {}{part}", number_of(facts.fresh, "fresh place"))
}

fn block_text(text: &mut String, audit: &AuditReport, reading: Reading) {
    let block = &audit.block;
    if let Some(after) = &block.after {
        let _ = writeln!(text, "  block: {} now{}", reading.mean(after), in_band(block));
    }
    if let Some(change) = &block.change {
        let few =
            if block.pairs < audit.fewest_places { ": few pairs, this says little" } else { "" };
        let _ = writeln!(text, "  on the pairs {}{few}", reading.change(change));
    }
    if let Some(off) = &audit.came_off {
        came_off_text(text, off);
    }
    let as_one = [&block.after, &block.change].into_iter().flatten().any(|mean| !mean.by_zone);
    if as_one && audit.zones.len() > 1 {
        let _ = writeln!(
            text,
            "  a zone has too few recounts for an interval: the block's means take all places as one lot"
        );
    }
}

fn came_off_text(text: &mut String, off: &CameOffReport) {
    let (came, planned) = (off.came_off, off.planned.value);
    // Shoots can have grown where none came off.
    let (sign, word) = if came.value < 0.0 { (-1.0, "grew") } else { (1.0, "came off") };
    let mut ends = [came.lo90, came.hi90].map(|end| sign * end);
    ends.sort_by(f64::total_cmp);
    let zones =
        if off.all_that_were_to { String::new() } else { format!(" in {}", off.zones.join(", ")) };
    let _ = writeln!(
        text,
        "  about {:.0} shoots {word}{zones} ({:.0} to {:.0}) where {planned:.0} were to come off",
        came.value.abs(),
        ends[0],
        ends[1]
    );
    if came.lo90 > off.planned.hi90 {
        let _ = writeln!(
            text,
            "  surely more came off than was to: ask what the crew was told to leave"
        );
    }
}

/// `; 7 of 9 places inside the target (45 to 96 %)`.
fn in_band(facts: &FactsReport) -> String {
    let Some(band) = &facts.band else { return String::new() };
    format!(
        "; {} of {} inside the target ({:.0} to {:.0} % of all)",
        band.inside,
        number_of(band.below + band.inside + band.above, "place"),
        100.0 * band.share.lo90,
        100.0 * band.share.hi90
    )
}

fn zone_text(text: &mut String, zone: &ZoneAuditReport, reading: Reading) {
    let name = zone.name.as_ref().map_or_else(String::new, |name| format!(" “{name}”"));
    let facts = &zone.facts;
    let now = facts.after.as_ref().map_or_else(String::new, |after| {
        let aim = zone
            .target_per_m
            .map_or_else(String::new, |[_, aim, _]| format!(", aim {}", reading.number(aim)));
        format!(": {} now{aim}{}", reading.mean(after), in_band(facts))
    });
    let _ = writeln!(
        text,
        "  {}{name}  {}, {}, {}{now}",
        zone.zone,
        named_rows(&zone.rows),
        if zone.planned { "to be thinned" } else { "not to be thinned" },
        zone.verdict,
    );
    if let Some(change) = &facts.change {
        let pairs = number_of(facts.pairs, "pair");
        let _ = writeln!(text, "      {pairs}: {}", reading.change(change));
    }
    if let (Some(above), Some(hours), Some(order)) = (zone.above, zone.hours, zone.order) {
        let _ = writeln!(
            text,
            "      go back as no. {order}: about {:.0} shoots above the aim ({:.0} to {:.0}), {:.1} h \
             ({:.1} to {:.1})",
            above.value, above.lo90, above.hi90, hours.value, hours.lo90, hours.hi90
        );
    }
    for advice in &zone.advice {
        let _ = writeln!(text, "      {advice}");
    }
}

/// Whether vines that were counted before look better done.
fn marks_text(text: &mut String, audit: &AuditReport, reading: Reading) {
    let Some(mean) = &audit.counted_less_fresh else { return };
    let told = reading.change(mean);
    let meaning = if mean.ends90().is_some_and(|[_, high]| high < 0.0) {
        "the crew may have worked better on vines that had been counted; each kind weighs by the canopy \
         it stands for"
    } else if mean.ends90().is_some_and(|[low, _]| low > 0.0) {
        "more than chance explains: ask how the counted ones came to be passed over"
    } else {
        "no more than chance explains"
    };
    let _ =
        writeln!(text, "  counted vines beside fresh ones of the same zones: {told}; {meaning}");
}
