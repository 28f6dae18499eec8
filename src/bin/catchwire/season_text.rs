//! Years side by side, for people.

use std::fmt::Write as _;

use catchwire::{
    names::{named_rows, number_of},
    units::METRES_PER_FOOT,
    write::properties::{SeasonPart, SeasonPartYear, SeasonSummary, SeasonVisit},
};

/// Densities as people read them.
#[derive(Debug, Clone, Copy)]
struct Reads {
    us: bool,
}

impl Reads {
    fn number(self, per_m: f64) -> String {
        format!("{:.1}", if self.us { per_m * METRES_PER_FOOT } else { per_m })
    }

    const fn unit(self) -> &'static str {
        if self.us { "shoots/ft" } else { "shoots/m" }
    }
}

/// Appends what changed.
pub(crate) fn season_text(text: &mut String, season: &SeasonSummary, us: bool) {
    let reads = Reads { us };
    let [joined, left_out] = season.records;
    let _ = writeln!(text, "  {} joined, {left_out} left out", number_of(joined, "record"));
    for year in &season.years {
        let date = year.date.as_deref().unwrap_or("without a date");
        let counts = number_of(year.counts, "place");
        let _ = writeln!(text, "  {}: {counts} counted, {date}; map: {}", year.year, year.method);
    }
    for part in &season.parts {
        part_text(text, (season, part), reads);
    }
    standing_text(text, season);
    for caution in &season.cautions {
        let _ = writeln!(text, "  mind: {caution}");
    }
}

fn part_text(text: &mut String, (season, part): (&SeasonSummary, &SeasonPart), reads: Reads) {
    let _ = writeln!(text, "  {}", part_name(part));
    for (at, year) in part.years.iter().enumerate().rev() {
        let before = at.checked_sub(1).and_then(|before| part.years.get(before));
        let is_latest = at + 1 == part.years.len();
        year_text(text, (year, before, is_latest), reads);
        let several = year.visits.len() > 1;
        for visit in year.visits.iter().filter(|_| is_latest && several) {
            let _ = writeln!(text, "      {}", visit_words(visit, season.fewest_for_range, reads));
        }
    }
}

fn part_name(part: &SeasonPart) -> String {
    let vines = number_of(part.vines, "vine");
    let Some(zone) = &part.zone else { return format!("block, {vines}") };
    let name = part.name.as_ref().map_or_else(String::new, |name| format!(" “{name}”"));
    let rows = part.rows.as_deref().map(named_rows).unwrap_or_default();
    format!("{zone}{name}  {rows}, {vines}")
}

/// `2026: 23.5 shoots/m (22.1 to 24.9), last year 19.1: 2.1 to 6.7 more, surely`.
fn year_text(
    text: &mut String,
    (year, before, is_latest): (&SeasonPartYear, Option<&SeasonPartYear>, bool),
    reads: Reads,
) {
    let mean = year.shoots_per_m.map_or_else(
        || "no estimate".to_owned(),
        |[mean, low, high]| {
            let [mean, low, high] = [mean, low, high].map(|value| reads.number(value));
            let now = if is_latest { " now" } else { "" };
            format!("{mean} {}{now} ({low} to {high})", reads.unit())
        },
    );
    let change = before.map_or_else(String::new, |before| change_words(year, before, reads));
    let few = match year.counts {
        0 => "; nothing counted here, the map speaks from beyond".to_owned(),
        counts if counts < 5 => format!("; few counts here: {counts}"),
        _ => String::new(),
    };
    let _ = writeln!(text, "    {}: {mean}{change}{few}{}", year.year, plan_words(year, reads));
}

fn change_words(year: &SeasonPartYear, before: &SeasonPartYear, reads: Reads) -> String {
    let last = if before.year + 1 == year.year {
        "last year".to_owned()
    } else {
        format!("in {}", before.year)
    };
    let Some([was, ..]) = before.shoots_per_m else { return format!("; {last} no estimate") };
    let was = reads.number(was);
    let Some([_, low, high]) = year.change_per_m else {
        return format!(", {was} {last}: too few counts for a range of the change");
    };
    let [less, more] = [low, high].map(|end| reads.number(end.abs()));
    let words = match (low > 0.0, high < 0.0) {
        (true, _) => format!("{less} to {more} more, surely"),
        (_, true) => format!("{more} to {less} fewer, surely"),
        _ => format!("{less} fewer to {more} more, not sure"),
    };
    format!(", {was} {last}: {words}")
}

fn plan_words(year: &SeasonPartYear, reads: Reads) -> String {
    let aim = year.target_per_m.map(|aim| format!("aim {}", reads.number(aim)));
    let work = year.remove.zip(year.hours).filter(|(remove, _)| *remove > 0.0);
    let work = work.map(|(remove, hours)| format!("take off {remove:.0} shoots, {hours:.1} h"));
    let prunings = year.pruning_kg_per_m.map(|[kg, ..]| {
        if reads.us {
            format!("prunings {:.2} lb/ft", kg * METRES_PER_FOOT / 0.453_592_37)
        } else {
            format!("prunings {kg:.2} kg/m")
        }
    });
    let all = [year.verdict.clone(), aim, work, prunings].into_iter().flatten();
    let all: Vec<String> = all.collect();
    if all.is_empty() { String::new() } else { format!("; {}", all.join(", ")) }
}

fn visit_words(visit: &SeasonVisit, fewest: usize, reads: Reads) -> String {
    let date = visit.date.as_deref().unwrap_or("without a date");
    let label =
        if visit.visit.is_empty() { String::new() } else { format!(" “{}”", visit.visit) };
    let places = number_of(visit.counts, "place");
    let Some(mean) = visit.shoots_per_m else {
        return format!("{date}{label}: nothing counted here");
    };
    let mean = reads.number(mean);
    let range = visit.shoots_per_m90.map_or_else(
        || format!(", under {fewest}: no range"),
        |[low, high]| format!(" ({} to {})", reads.number(low), reads.number(high)),
    );
    format!("{date}{label}: {mean} on {places}{range}")
}

/// Most vines named one by one.
const MOST_NAMED: usize = 6;

fn standing_text(text: &mut String, season: &SeasonSummary) {
    for year in &season.years {
        let own: Vec<String> = season
            .standing
            .iter()
            .filter(|vine| vine.year == year.year)
            .map(|vine| format!("{} {} (was {})", vine.id, vine.is, vine.was))
            .collect();
        if own.is_empty() {
            continue;
        }
        let named = own.iter().take(MOST_NAMED).cloned().collect::<Vec<_>>().join(", ");
        let more = if own.len() > MOST_NAMED { ", …" } else { "" };
        let number = number_of(own.len(), "vine");
        let _ = writeln!(
            text,
            "  said of vines in {} and not before: {number}: {named}{more}",
            year.year
        );
    }
}
