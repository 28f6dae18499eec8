//! The table of zones: the same as the map in numbers, each row tied to its zone.

use super::{
    MapPage,
    decision::link,
    html::text,
    numbers::{HOLDS, density, reading, shoots, shoots_between, tenth, tenths_between},
};
use crate::{
    maths::float,
    names::{capital, rows_for_people},
    picture::grouped,
    plan::{Interval, ZonePlan},
    units::ReadingUnits,
    write::properties::in_words,
    zones::Zone,
};

/// The table.
pub(super) fn table(page: &MapPage<'_>) -> String {
    let zones = page.thinned.evidence.zones.zones.iter().zip(&page.thinned.plan.zones);
    let rows: String =
        zones.enumerate().map(|(at, (zone, plan))| row(page, at, zone, plan)).collect();
    let heads = heads(page.units).map(|head| format!("<th scope=\"col\">{head}</th>"));
    let heads = heads.concat();
    format!(
        "<section id=\"zones\" aria-labelledby=\"h-zones\"><h2 id=\"h-zones\">Zones</h2>\n<table>\
         <caption>Ranges hold {HOLDS}.</caption><thead><tr>{heads}</tr></thead><tbody>\n{rows}\
         </tbody></table>\n</section>\n"
    )
}

/// What the columns are called; where there is no width for columns each cell says its own.
fn heads(units: ReadingUnits) -> [String; 6] {
    let words = ["Zone", "Rows", "Vines", &reading(units).unit, "Take off", "Hours"];
    words.map(capital)
}

fn row(page: &MapPage<'_>, at: usize, zone: &Zone, plan: &ZonePlan) -> String {
    let grows = &page.thinned.evidence.site.plantings;
    let cultivar = (grows.all().len() > 1)
        .then(|| grows.all().get(zone.planting)?.cultivar.as_deref())
        .flatten();
    let said = [zone.name.as_deref(), cultivar, Some(in_words(plan.verdict))];
    let said: Vec<String> = said.into_iter().flatten().map(text).collect();
    let counted = format!("{} counted", grouped(zone.counted_vines));
    let cells = [
        cell(&text(&rows_for_people(&zone.rows)), ""),
        cell(&grouped(zone.vines.len()), &counted),
        crowding(zone, plan, page.units),
        remove(page, zone, plan),
        hours(plan),
    ];
    let heads = heads(page.units);
    let cells = heads.iter().skip(1).zip(cells);
    let cells = cells.map(|(head, cell)| format!("<td data-of=\"{head}\">{cell}</td>"));
    format!(
        "<tr data-zone=\"{at}\"><th scope=\"row\" class=\"zone-name\">{}<small>{}</small></th>{}\
         </tr>\n",
        link(&zone.id, at),
        said.join(", "),
        cells.collect::<Vec<_>>().concat(),
    )
}

fn cell(value: &str, more: &str) -> String {
    let more = if more.is_empty() { String::new() } else { format!("<small>{more}</small>") };
    format!("<span>{value}{more}</span>")
}

fn crowding(zone: &Zone, plan: &ZonePlan, units: ReadingUnits) -> String {
    let Some(mean) = zone.density else { return cell("too few counts", "") };
    let read = |per_m: f64| density(per_m, units);
    let aim = plan.target_per_m.map(|target| format!("; aim {}", read(target.aim_per_m)));
    let aim = aim.unwrap_or_default();
    cell(&read(mean.per_m), &format!("{} to {}{aim}", read(mean.lo90), read(mean.hi90)))
}

fn remove(page: &MapPage<'_>, zone: &Zone, plan: &ZonePlan) -> String {
    let value = page.thinned.remove_of(zone.vines.iter().copied());
    if plan.order.is_none() {
        return cell("none by number", "");
    }
    let each = tenth(value / float(zone.vines.len().max(1)));
    let range =
        Interval { value, lo90: plan.remove.lo90.min(value), hi90: plan.remove.hi90.max(value) };
    cell(&shoots(value), &format!("{}; {each} a vine", shoots_between(range)))
}

fn hours(plan: &ZonePlan) -> String {
    if plan.order.is_none() {
        return cell("–", "");
    }
    let Interval { value, lo90, hi90 } = plan.hours;
    cell(&tenth(value), &tenths_between([lo90, hi90]))
}
