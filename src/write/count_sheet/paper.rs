//! The sheet of paper in the page: what to do, the map, and a box for every place.

use super::data::{Data, Place};
use crate::write::page::html::text;

/// A box to write in.
const BOX: &str = "<td class=\"box\"></td>";

pub(super) fn paper(data: &Data<'_>, map: &str) -> String {
    let stretch = if data.places.iter().any(|place| place.window.is_some()) {
        " Count only the stretch that stands beside the place."
    } else {
        ""
    };
    let common = data.common.min(data.places.last().map_or(0, |place| place.stop));
    format!(
        "<section id=\"paper\" aria-label=\"Paper sheet\">\n<h2 tabindex=\"-1\">What to do</h2>\n\
         <ol>\n<li>Walk the places in their order. Find the row by its number, then the panel \
         between its posts, counted from vine 1’s end.</li>\n<li>Count every shoot on all vines of \
         the place together, and write the number in its box. Write 0 if there is none; leave the \
         box empty if you did not count.{stretch}</li>\n<li>If no vine stands there, or it is dead \
         or young, write that in the note instead of a number.</li>\n<li>Everybody who counts \
         counts the first {common} places.</li>\n<li>Mind the ground, posts and wires. Do not enter \
         a sprayed block before its posted time has passed; in heat, drink and rest.</li>\n</ol>\n\
         <p class=\"write\">Date<span></span>Counted by<span></span></p>\n<h2>Map</h2>\n<div \
         class=\"map\">{map}</div>\n<h2 id=\"h-places\">Places</h2>\n{}</section>\n",
        table(&data.places),
    )
}

fn table(places: &[Place]) -> String {
    let rows: String = places.chunk_by(|one, next| one.row == next.row).map(of_row).collect();
    format!(
        "<table class=\"places\"><caption>In the order of the walk, with a total for every row of \
         vines</caption>\n<thead><tr><th scope=\"col\">No.</th><th scope=\"col\">Place</th><th \
         scope=\"col\">Shoots</th><th scope=\"col\">Note</th></tr></thead>\n{rows}</table>\n"
    )
}

fn of_row(places: &[Place]) -> String {
    let Some(first) = places.first() else { return String::new() };
    let lines: String = places.iter().map(line).collect();
    format!(
        "<tbody>{lines}<tr class=\"total\"><td></td><td>Row {}, total</td>{BOX}<td></td></tr>\
         </tbody>\n",
        first.row
    )
}

fn line(place: &Place) -> String {
    let Place { stop, row, panel, vines: [first, last], .. } = place;
    let piece = place.piece.as_deref().unwrap_or_default();
    let vines =
        if first == last { format!("vine {first}") } else { format!("vines {first} to {last}") };
    let stretch = match (&place.window, place.start, place.length) {
        (Some(window), Some(start), Some(length)) => {
            format!(", stretch {window}: from {start} off the trunk, {length} long")
        }
        _ => String::new(),
    };
    format!(
        "<tr data-stop=\"{stop}\"><th scope=\"row\">{stop}</th><td>{}<small>{}</small></td>{BOX}{BOX}\
         </tr>\n",
        text(&format!("Row {row}{piece}, {vines}")),
        text(&format!("panel {panel}{stretch}")),
    )
}
