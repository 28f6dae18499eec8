//! `map.html`: one file that says what to do, shows the maps, and says how they came about.
//!
//! It asks for nothing: style, script, drawing and data stand in it, and a policy in its head allows
//! nothing else. Without the script it is whole but still; with it the vines are drawn, any row and
//! vine can be looked up, and table and map point at each other.
//!
//! | file | what |
//! | --- | --- |
//! | `map.css` | the look, on a screen and on paper |
//! | `block.js` | the data unpacked, the vine at a place |
//! | `vines.js` | vines drawn |
//! | `view.js` | enlarging and moving |
//! | `say.js` | what is asked for, and what is said of it |
//! | `map.js` | the page brought to life |

mod data;
mod decision;
mod details;
mod figure;
pub(in crate::write) mod html;
mod numbers;
mod table;
#[cfg(test)]
mod tests;

use jiff::civil::Date;

use self::html::{source_hash, text};
use crate::{
    error::Error,
    estimate::sure::Sure,
    picture::{self, ScreenMaps},
    units::ReadingUnits,
    write::properties::Thinned,
};

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct MapPage<'a> {
    /// The results of a run.
    pub thinned: &'a Thinned<'a>,
    /// How sure the shoots are.
    pub sure: &'a Sure,
    /// The maps.
    pub maps: &'a ScreenMaps,
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The date it states when the counts have none of their own.
    pub date: Option<Date>,
    /// The files that are written beside it.
    pub files: &'a [&'a str],
}

/// The style of the page.
const STYLE: &str = include_str!("map.css");
/// The script of the page.
const SCRIPT: &str = concat!(
    include_str!("block.js"),
    include_str!("vines.js"),
    include_str!("view.js"),
    include_str!("say.js"),
    include_str!("map.js"),
);

/// The bytes of `map.html`.
///
/// # Errors
/// A fault of the program: the data cannot be written.
pub fn map_html(page: &MapPage<'_>) -> Result<Vec<u8>, Error> {
    let [data, numbers] = data::data(page)?;
    let body = [
        "<a class=\"skip\" href=\"#map\">To the map</a>\n".to_owned(),
        header(page),
        "<main>\n".to_owned(),
        decision::decision(page),
        figure::figure(page),
        table::table(page),
        details::details(page),
        "</main>\n".to_owned(),
        json("data", &data),
        // What is only said comes last: the map lives before it is read.
        format!("<script>{SCRIPT}</script>\n"),
        json("numbers", &numbers),
    ];
    Ok(format!("{}<body>\n{}</body>\n</html>\n", head(page), body.concat()).into_bytes())
}

fn json(id: &str, json: &str) -> String {
    format!("<script type=\"application/json\" id=\"{id}\">{json}</script>\n")
}

impl MapPage<'_> {
    fn block(&self) -> String {
        text(self.thinned.evidence.site.name.as_str())
    }
}

fn head(page: &MapPage<'_>) -> String {
    let (script, style) = (source_hash(SCRIPT), source_hash(STYLE));
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src {script}; \
         style-src {style}; img-src data:; base-uri 'none'; form-action 'none'\">\n<meta \
         name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta \
         name=\"color-scheme\" content=\"light dark\">\n<title>{}: shoot thinning</title>\n<style>\
         {STYLE}</style>\n</head>\n",
        page.block(),
    )
}

fn header(page: &MapPage<'_>) -> String {
    let evidence = page.thinned.evidence;
    let date = evidence.joined.date.or(page.date).map_or_else(
        || "without a date".to_owned(),
        |date| format!("as of {}", picture::date(date, page.units)),
    );
    let counts = picture::count_of(page.sure.counts, "count", "counts");
    format!(
        "<header><h1>{}</h1><p class=\"sub\">Shoot thinning, estimated from {counts}, {date}</p>\
         </header>\n",
        page.block(),
    )
}
