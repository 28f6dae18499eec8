//! How the page came about: method, how sure it is, files, version.

use super::{
    MapPage,
    html::{sentence, text},
};
use crate::picture::sure_sections;

/// The details.
pub(super) fn details(page: &MapPage<'_>) -> String {
    format!(
        "<section id=\"details\" aria-labelledby=\"h-details\"><h2 id=\"h-details\">How this was \
         made</h2>\n<h3>Method</h3>{}\n{}{}</section>\n",
        method(page),
        sure(page),
        files(page),
    )
}

fn paragraph(words: &str) -> String {
    format!("<p>{}</p>", sentence(words))
}

fn method(page: &MapPage<'_>) -> String {
    let (evidence, plan) = (page.thinned.evidence, page.thinned.plan);
    let vigor = evidence.estimate.vigor.as_ref();
    let vigor = vigor.map(|(measure, field)| format!("vigor ({}): {}", measure.words(), field.why));
    let said = [
        Some(format!("shoots: {}", evidence.estimate.shoots.why)),
        vigor,
        Some(format!("zones: {}", evidence.zones.why)),
        Some(format!("dates: {}", plan.window.source)),
        Some(format!("hours: {}", plan.labour.source)),
    ];
    said.iter().flatten().map(|words| paragraph(words)).collect()
}

fn sure(page: &MapPage<'_>) -> String {
    let zones = page.thinned.evidence.zones.means();
    let sections = sure_sections(page.sure, &zones, page.units);
    let section = |(heading, said): (&str, Vec<String>)| {
        let said: String = said.iter().map(|words| paragraph(words)).collect();
        format!("<h3>{}</h3>{said}\n", text(heading))
    };
    sections.into_iter().map(section).collect()
}

/// What the run record is good for.
const RECORD: &str = "run.json names what was read, with its checksums.";

fn files(page: &MapPage<'_>) -> String {
    let beside = if page.files.is_empty() {
        String::new()
    } else {
        let list = page.files.join(", ");
        let record = if page.files.contains(&"run.json") { RECORD } else { "" };
        format!("<h3>Files of the same run</h3><p>{}. {record}</p>", text(&list))
    };
    format!("{beside}<dl><dt>Program</dt><dd>catchwire {}</dd></dl>\n", env!("CARGO_PKG_VERSION"))
}
