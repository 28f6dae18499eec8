//! What is read first: how much comes off, where, in how many hours, by when, and what to mind.

use super::{
    MapPage,
    html::{sentence, text},
    numbers::{HOLDS, listed, shoots, shoots_between, tenth, tenths_between},
};
use crate::{
    maths::float,
    names::{capital, named_rows},
    picture::{self, count_of, finding_words, grouped},
    plan::{CrewOutlook, Plan, Verdict, ZonePlan},
    write::properties::in_words,
    zones::Zone,
};

/// The decision.
pub(super) fn decision(page: &MapPage<'_>) -> String {
    format!(
        "<section id=\"decision\" aria-labelledby=\"h-decision\"><h2 id=\"h-decision\">What to \
         do</h2>\n<p class=\"lead\">{}</p>\n{}{}{}</section>\n",
        lead(page),
        facts(page),
        zones(page),
        cautions(page),
    )
}

fn plan<'a>(page: &MapPage<'a>) -> &'a Plan {
    page.thinned.plan
}

fn zone<'a>(page: &MapPage<'a>, at: usize) -> &'a Zone {
    &page.thinned.evidence.zones.zones[at]
}

fn ids(page: &MapPage<'_>, zones: impl Iterator<Item = usize>) -> Vec<String> {
    zones.map(|at| text(&zone(page, at).id)).collect()
}

/// One sentence.
fn lead(page: &MapPage<'_>) -> String {
    let plan = plan(page);
    let undecided =
        (0..plan.zones.len()).filter(|&at| plan.zones[at].verdict == Verdict::Undecided);
    let undecided = ids(page, undecided);
    if plan.order.is_empty() {
        return if undecided.is_empty() {
            "Take <strong>no shoots off by number</strong>: no zone is shown to be overcrowded."
                .to_owned()
        } else {
            let more = listed(&undecided);
            format!(
                "Take <strong>no shoots off by number</strong> yet: the counts do not decide about \
                 {more}."
            )
        };
    }
    let work = ids(page, plan.order.iter().copied());
    let word = if work.len() == 1 { "zone" } else { "zones" };
    let others = plan.zones.len() - work.len();
    let rest = if others == 0 { "" } else { "; none by number elsewhere" };
    format!(
        "Take off about <strong>{} shoots</strong> in {word} {}{rest}.",
        shoots(page.thinned.totals().remove),
        listed(&work),
    )
}

/// The numbers of the decision.
fn facts(page: &MapPage<'_>) -> String {
    let plan = plan(page);
    if plan.order.is_empty() {
        return String::new();
    }
    let vines: usize = plan.order.iter().map(|&at| zone(page, at).vines.len()).sum();
    let each = tenth(page.thinned.totals().remove / float(vines.max(1)));
    let facts = [
        fact(
            "Shoots in all",
            &shoots_between(plan.remove),
            &format!("{HOLDS}; about {each} a vine"),
        ),
        fact(
            "Where",
            &listed(&ids(page, plan.order.iter().copied())),
            &format!("{} of {} vines", grouped(vines), grouped(page.sure.vines)),
        ),
        work(page),
        when(page),
    ];
    format!("<dl class=\"facts\">{}</dl>\n", facts.concat())
}

fn fact(what: &str, value: &str, more: &str) -> String {
    format!("<div><dt>{what}</dt><dd>{value} <small>{more}</small></dd></div>")
}

fn work(page: &MapPage<'_>) -> String {
    let plan = plan(page);
    let sum = |part: fn(&ZonePlan) -> f64| {
        plan.order.iter().map(|&at| part(&plan.zones[at])).sum::<f64>() + 0.0
    };
    let range = [sum(|zone| zone.hours.lo90), sum(|zone| zone.hours.hi90)];
    let hours = format!("{} hours", tenth(sum(|zone| zone.hours.value)));
    let assumed =
        if plan.labour.assumed { "; the times are assumed: time a few vines" } else { "" };
    let range = format!("{} person-hours{assumed}", tenths_between(range));
    let crew = plan.crew.as_ref().map(|crew| format!(" {}", crew_words(page, crew)));
    fact("Work", &hours, &format!("{range}.{}", crew.unwrap_or_default()))
}

fn crew_words(page: &MapPage<'_>, crew: &CrewOutlook) -> String {
    let late = crew.finished.iter().filter(|(_, _, in_time)| *in_time == Some(false));
    let late = ids(page, late.map(|(zone, _, _)| *zone));
    let late =
        if late.is_empty() { String::new() } else { format!("; too late for {}", listed(&late)) };
    let people = count_of(crew.people as usize, "person", "people");
    format!("{people}, {} h a day: {:.1} working days{late}.", crew.hours_per_day, crew.days)
}

fn when(page: &MapPage<'_>) -> String {
    let window = &plan(page).window;
    let date = |date| picture::date(date, page.units);
    let from = window.opens.map(|day| format!("from {}", date(day)));
    let latest = window
        .closes_last
        .filter(|last| window.closes_first.is_some_and(|first| first != *last))
        .map(|last| format!("by {} if shoots grow slowly", date(last)));
    match window.closes_first {
        Some(first) => {
            let more: Vec<String> = [from, latest].into_iter().flatten().collect();
            fact("When", &format!("by {}", date(first)), &more.join("; "))
        }
        None => fact("When", "no date", &sentence(&window.source)),
    }
}

/// Zones in the order of work, and the others.
fn zones(page: &MapPage<'_>) -> String {
    let plan = plan(page);
    let work: String = plan.order.iter().map(|&at| work_item(page, at)).collect();
    let rest = (0..plan.zones.len()).filter(|at| !plan.order.contains(at));
    let rest: String = rest.map(|at| rest_item(page, at)).collect();
    let part = |heading: &str, list: &str, items: String| {
        if items.is_empty() {
            return String::new();
        }
        format!("<div><h3>{heading}</h3><{list} class=\"work\">{items}</{list}></div>")
    };
    let elsewhere = if plan.order.is_empty() { "Zones" } else { "Elsewhere" };
    format!(
        "<div class=\"columns\">{}{}</div>\n",
        part("Zones in the order of work", "ol", work),
        part(elsewhere, "ul", rest),
    )
}

fn work_item(page: &MapPage<'_>, at: usize) -> String {
    let (zone, hours) = (zone(page, at), plan(page).zones[at].hours.value);
    let remove = page.thinned.remove_of(zone.vines.iter().copied());
    let said = format!(
        "{}: about {} a vine on {}, {} hours.",
        rows(zone),
        tenth(remove / float(zone.vines.len().max(1))),
        count_of(zone.vines.len(), "vine", "vines"),
        tenth(hours),
    );
    item(page, at, &said)
}

fn rest_item(page: &MapPage<'_>, at: usize) -> String {
    let verdict = in_words(plan(page).zones[at].verdict);
    item(page, at, &format!("{}: {verdict}.", rows(zone(page, at))))
}

fn item(page: &MapPage<'_>, at: usize, said: &str) -> String {
    let advice = plan(page).zones[at].advice.iter().map(|words| sentence(words));
    let advice: Vec<String> = advice.collect();
    let name = zone(page, at).name.as_deref().map(|name| format!("{}: ", text(name)));
    format!(
        "<li>{}<div><p>{}{said}</p><p>{}</p></div></li>",
        link(&zone(page, at).id, at),
        name.unwrap_or_default(),
        advice.join(" "),
    )
}

/// A way from a zone's id to the zone on the map.
pub(super) fn link(id: &str, at: usize) -> String {
    format!("<a href=\"#map\" data-zone=\"{at}\">{}</a>", text(id))
}

fn rows(zone: &Zone) -> String {
    text(&capital(&named_rows(&zone.rows)))
}

/// What to mind before anyone cuts: what the map is not, and what is doubtful about the counts.
fn cautions(page: &MapPage<'_>) -> String {
    let doubts = page.sure.warnings.iter().map(finding_words);
    let all = std::iter::once(page.maps.cautions.clone()).chain(doubts);
    let items: Vec<String> = all.map(|words| format!("<li>{}</li>", text(&words))).collect();
    format!("<h3>Before anyone cuts</h3><ul class=\"caution\">{}</ul>\n", items.concat())
}
