//! The sheet of paper in the page: what to do, the map, and a box for every place.

use super::CountSheet;
use crate::{
    sample::{SheetLine, what_to_do},
    write::page::html::text,
};

/// A box to write in.
const BOX: &str = "<td class=\"box\"></td>";

pub(super) fn paper(sheet: &CountSheet<'_>) -> String {
    let item = |words: &String| format!("<li>{}</li>\n", text(words));
    let todo: Vec<String> = what_to_do(sheet.lines).iter().map(item).collect();
    format!(
        "<section id=\"paper\" aria-label=\"Paper sheet\">\n<h2 tabindex=\"-1\">What to do</h2>\n\
         <ol>\n{}</ol>\n<p class=\"write\">Date<span></span>Counted by<span></span></p>\n\
         <h2>Map</h2>\n<div class=\"map\">{}</div>\n<h2 id=\"h-places\">Places</h2>\n{}</section>\n",
        todo.concat(),
        sheet.map,
        table(sheet.lines),
    )
}

fn table(lines: &[SheetLine]) -> String {
    let rows: String = lines.chunk_by(|one, next| one.row == next.row).map(of_row).collect();
    format!(
        "<table class=\"places\"><caption>In the order of the walk, with a total for every row of \
         vines</caption>\n<thead><tr><th scope=\"col\">No.</th><th scope=\"col\">Place</th><th \
         scope=\"col\">Shoots</th><th scope=\"col\">Note</th></tr></thead>\n{rows}</table>\n"
    )
}

fn of_row(lines: &[SheetLine]) -> String {
    let Some(first) = lines.first() else { return String::new() };
    let body: String = lines.iter().map(line).collect();
    format!(
        "<tbody>{body}<tr class=\"total\"><td></td><td>Row {}, total</td>{BOX}<td></td></tr>\
         </tbody>\n",
        first.row
    )
}

fn line(SheetLine { stop, place, detail, .. }: &SheetLine) -> String {
    format!(
        "<tr data-stop=\"{stop}\"><th scope=\"row\">{stop}</th><td>{}<small>{}</small></td>{BOX}{BOX}\
         </tr>\n",
        text(place),
        text(detail),
    )
}
