//! The map on the page: what it can show, looking up, the drawing, its keys.

use super::{MapPage, html::text};
use crate::picture::Key;

/// How the map is worked by keys, for those who do not see it.
const KEYS: &str = "Map. Plus and minus enlarge and shrink it, arrows move it once it is enlarged, 0 \
                    shows all, Enter says what is in the middle.";

/// The map.
pub(super) fn figure(page: &MapPage<'_>) -> String {
    format!(
        "<section id=\"map\" aria-labelledby=\"h-map\"><h2 id=\"h-map\">Map</h2>\n<p \
         class=\"trouble\" id=\"trouble\" role=\"alert\" hidden>The map stands still, for something \
         went wrong in this browser (<span></span>). The decision, the map of zones and the table \
         hold.</p>\n<div class=\"tools needs-script\" hidden>{}{}</div>\n<p class=\"said \
         needs-script\" id=\"said\" role=\"status\" hidden>Tap a zone or a vine, or write its number \
         above.</p>\n<figure class=\"sheet\"><div class=\"window\"><div class=\"map\" id=\"frame\" \
         tabindex=\"0\" role=\"group\" aria-label=\"{KEYS}\">{}</div>{ZOOM}</div>\n<figcaption>{}\
         </figcaption></figure>\n</section>\n",
        choices(page),
        FIND,
        page.maps.svg,
        keys(page),
    )
}

const FIND: &str = "<form class=\"find\" id=\"find\" role=\"search\"><label for=\"asked\">Find a row, \
    vine, panel or zone</label><input type=\"text\" id=\"asked\" placeholder=\"12/34\" \
    autocomplete=\"off\" autocapitalize=\"characters\" spellcheck=\"false\" enterkeyhint=\"search\" \
    aria-describedby=\"said\"><button type=\"submit\">Find</button></form>";

const ZOOM: &str = "<div class=\"zoom needs-script\" hidden><button type=\"button\" id=\"larger\" \
    aria-label=\"Larger\">+</button><button type=\"button\" id=\"smaller\" \
    aria-label=\"Smaller\">−</button><button type=\"button\" id=\"whole\" aria-label=\"0, whole \
    block\">0</button></div>";

/// One choice a map; the first map of vines is shown, the zones where there is none.
fn choices(page: &MapPage<'_>) -> String {
    let choice = |(at, (id, name)): (usize, (&str, &str))| {
        let shown = if at == usize::from(!page.maps.layers.is_empty()) { " checked" } else { "" };
        format!("<label><input type=\"radio\" name=\"layer\" value=\"{id}\"{shown}> {name}</label>")
    };
    let maps = page.maps.layers.iter().map(|layer| (layer.id, layer.name));
    let all = std::iter::once(("zones", "Zones")).chain(maps);
    let choices: String = all.enumerate().map(choice).collect();
    format!(
        "<fieldset><legend>What the map shows</legend><div class=\"choices\">{choices}</div>\
         </fieldset>"
    )
}

/// The key of every map; that of the still drawing is shown until the script shows another.
fn keys(page: &MapPage<'_>) -> String {
    let maps = page.maps.layers.iter().map(|layer| key(layer.id, &layer.key));
    std::iter::once(key("zones", &page.maps.key)).chain(maps).collect()
}

fn key(id: &str, key: &Key) -> String {
    let row = |row: &crate::picture::KeyRow| {
        format!(
            "<li>{}<span>{}</span><b>{}</b></li>",
            row.swatch,
            text(&row.words),
            text(&row.number)
        )
    };
    let rows: String = key.rows.iter().map(row).collect();
    let notes: Vec<String> =
        key.notes.iter().map(|note| format!("<p>{}</p>", text(note))).collect();
    let hidden = if id == "zones" { "" } else { " hidden" };
    format!(
        "<div class=\"keys\" data-layer=\"{id}\"{hidden}><h3>{}</h3><ul>{rows}</ul>{}</div>\n",
        text(&key.heading),
        notes.concat(),
    )
}
