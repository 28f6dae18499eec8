//! `count-sheet.html`: one file to count with on a phone that has no signal, or to print.
//!
//! It asks for nothing: style, script, map and places stand in it, and a policy in its head allows
//! nothing else. Without the script it is a sheet of paper with boxes; with it a number pad, which
//! keeps every count on the phone and hands them out as a table that `--counts` reads. What the
//! page brings with it stands at the head of `format.js`.

mod data;
mod paper;
#[cfg(test)]
mod tests;

use crate::{
    error::Error,
    layout::Layout,
    sample::{SheetLine, Stop},
    units::ReadingUnits,
    write::{
        Table,
        page::html::{script_json, source_hash, text},
    },
};

/// What a count sheet is made from.
#[derive(Debug, Clone, Copy)]
pub struct CountSheet<'a> {
    /// The block's name.
    pub block: &'a str,
    /// The name of its folder.
    pub folder: &'a str,
    /// SHA-256 of `sample.csv` as it is written, hexadecimal: counts of one plan may be merged.
    pub plan: &'a str,
    /// The rows and vines.
    pub layout: &'a Layout,
    /// What to count, in the order of the walk.
    pub stops: &'a [Stop],
    /// The sheet `sample.csv`: a line for every stop, or for every stretch of its vine.
    pub table: &'a Table,
    /// The same lines in words.
    pub lines: &'a [SheetLine],
    /// Where each line is: longitude and latitude, degrees.
    pub places: &'a [Option<[f64; 2]>],
    /// The map of the walk, an SVG element.
    pub map: &'a str,
    /// The units that lengths are asked in.
    pub units: ReadingUnits,
}

/// Digits of a plan that tell it from others.
pub const PLAN_DIGITS: usize = 8;

/// The style of the page.
const STYLE: &str = include_str!("sheet.css");
/// The script of the page.
const SCRIPT: &str = concat!(
    include_str!("format.js"),
    include_str!("words.js"),
    include_str!("journal.js"),
    include_str!("store.js"),
    include_str!("table.js"),
    include_str!("code.js"),
    include_str!("frames.js"),
    include_str!("parts.js"),
    include_str!("places.js"),
    include_str!("count.js"),
    include_str!("list.js"),
    include_str!("send.js"),
    include_str!("sheet.js"),
);

/// The bytes of `count-sheet.html`.
///
/// # Errors
/// A fault of the program: the data cannot be written, or a line has no stop.
pub fn count_sheet_html(sheet: &CountSheet<'_>) -> Result<Vec<u8>, Error> {
    let data = data::data(sheet)?;
    let json = serde_json::to_string(&data)
        .map_err(|error| Error::Unexpected(format!("no data for the count sheet: {error}")))?;
    let (block, plan) = (text(sheet.block), sheet.short_plan());
    let body = format!(
        "<body>\n<header><h1>{block}</h1><p class=\"sub\">Count sheet, {} places, plan {plan}</p>\
         </header>\n<main>\n<div id=\"live\" hidden></div>\n<script type=\"application/json\" \
         id=\"data\">{}</script>\n<script>{SCRIPT}</script>\n{}</main>\n</body>\n",
        data.places.len(),
        script_json(&json),
        paper::paper(sheet),
    );
    Ok(format!("{}{body}</html>\n", head(&block, plan)).into_bytes())
}

impl CountSheet<'_> {
    fn short_plan(&self) -> &str {
        self.plan.get(..PLAN_DIGITS).unwrap_or(self.plan)
    }
}

fn head(block: &str, plan: &str) -> String {
    let (script, style) = (source_hash(SCRIPT), source_hash(STYLE));
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta \
         http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src {script}; \
         style-src {style}; img-src data: blob:; connect-src 'none'; base-uri 'none'; form-action \
         'none'\">\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta \
         name=\"color-scheme\" content=\"light dark\">\n<title>{block}: count sheet {plan}</title>\n\
         <style>{STYLE}</style>\n</head>\n"
    )
}
