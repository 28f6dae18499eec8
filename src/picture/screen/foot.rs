//! Below the ground: the arrow to true north, and a bar whose length follows the scale.

use super::sheet::Sheet;
use crate::{
    picture::{
        colours::{INK, PAPER},
        map::bar_length,
        svg::rounded,
    },
    units::{METRES_PER_FOOT, ReadingUnits},
};

/// Height of the foot, millimetres.
pub(super) const HEIGHT_MM: f64 = 14.0;
/// Where the bar begins, and the longest it may be.
const BAR_MM: [f64; 2] = [36.0, 36.0];

/// The foot of a sheet.
pub(super) fn foot(sheet: &Sheet, units: ReadingUnits) -> String {
    let (width, top) = (rounded(sheet.width_mm), rounded(sheet.height_mm));
    format!(
        "<g class=\"foot\"><path class=\"strip\" d=\"M0 {top}h{width}v{HEIGHT_MM}h-{width}Z\" \
         fill=\"{PAPER}\"/>{}{}</g>",
        arrow(sheet),
        bar(sheet, units),
    )
}

/// An arrow to true north, with its words beside it: they stay level however the sheet is turned.
fn arrow(sheet: &Sheet) -> String {
    // What points up the sheet has the bearing τ, so north lies τ to the left of that.
    let turn = rounded(-sheet.placement.up.degrees());
    let (x, y) = (9.0, rounded(sheet.height_mm + HEIGHT_MM / 2.0));
    let words = lettering([15.5, sheet.height_mm + 8.2], "start", "true N");
    format!(
        "<g transform=\"translate({x} {y}) rotate({turn})\" stroke=\"{INK}\" stroke-width=\".25\">\
         <path d=\"M0 -5L2.2 5L0 2.6Z\" fill=\"{PAPER}\"/><path d=\"M0 -5L-2.2 5L0 2.6Z\" \
         fill=\"{INK}\"/></g>{words}"
    )
}

/// The bar; `data-unit` millimetres of the sheet are a unit of the reader's.
fn bar(sheet: &Sheet, units: ReadingUnits) -> String {
    let [left, longest] = BAR_MM;
    let (unit_m, short) = match units {
        ReadingUnits::Metric => (1.0, "m"),
        ReadingUnits::Us => (METRES_PER_FOOT, "ft"),
    };
    let (length_m, [whole, half]) = bar_length(sheet.placement.scale, longest, units);
    let part = sheet.placement.mm(length_m) / 2.0;
    let top = sheet.height_mm;
    let block = |x: f64, fill| {
        format!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"1.6\" fill=\"{fill}\" stroke=\"{INK}\" \
             stroke-width=\".25\"/>",
            rounded(x),
            rounded(top + 7.6),
            rounded(part),
        )
    };
    let words = [(0.0, "0"), (part, half.as_str()), (2.0 * part, whole.as_str())];
    let words = words.map(|(x, words)| lettering([left + x, top + 5.8], "middle", words));
    format!(
        "<g class=\"bar\" data-unit=\"{}\" data-longest=\"{longest}\" data-left=\"{left}\" \
         data-short=\"{short}\">{}{}{}</g>",
        sheet.placement.mm(unit_m),
        block(left, INK),
        block(left + part, PAPER),
        words.concat(),
    )
}

fn lettering([x, y]: [f64; 2], anchor: &str, words: &str) -> String {
    let (x, y) = (rounded(x), rounded(y));
    format!(
        "<text x=\"{x}\" y=\"{y}\" font-size=\"3.4\" fill=\"{INK}\" text-anchor=\"{anchor}\">{words}\
         </text>"
    )
}
