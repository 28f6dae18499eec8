//! The planting plan put together.

use crate::{
    error::Error,
    picture::{
        PaperPoint, Scene,
        classes::whole,
        heading::{foot, head},
        map::Ladder,
        page::{MARGIN_MM, Page, Wanted, choose},
        planting::{
            callouts::callouts,
            drawing::Drawing,
            facts::{cautions, subtitle},
            ground::ground,
            row_table::{row_page, rows_held},
            row_words::row_words,
            rows::{Sizes, rows},
            ruler::{self, ruler},
            side::{add_rows, columns},
        },
    },
};

/// Paper kept free around the block for row numbers and labels that are led out.
const COLLAR_MM: f64 = 14.0;
/// What the page is.
const KIND: &str = "planting plan";

/// Composes the plan, and further pages that list the rows where the plan itself has no room.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn compose(drawing: &Drawing<'_>) -> Result<Vec<Scene>, Error> {
    let notes = drawing.notes;
    let wanted = Wanted {
        paper: notes.paper,
        units: notes.units,
        up: notes.up,
        ladder: Ladder::Ruler,
        compass: drawing.compass,
        ground: &drawing.extremes(),
        cautions: &[cautions()],
        below_mm: ruler::HEIGHT_MM,
        collar_mm: COLLAR_MM,
    };
    let (page, placement) = choose(&wanted, |page| {
        let columns = columns(drawing, None, page)?;
        Ok(columns.iter().map(|column| column.height_mm).fold(0.0, f64::max))
    })?;
    let sizes = Sizes::at(drawing, Some(&placement));
    let mut marks = head((&drawing.block, KIND), &subtitle(drawing), page.paper_mm)?;
    marks.extend(ground(drawing, &placement));
    marks.extend(rows(drawing, &placement, &sizes));
    let mut lettered = row_words(drawing, (&placement, &sizes), page.map)?;
    marks.append(&mut lettered.marks);
    marks.extend(callouts(drawing, &placement, (page.map, lettered))?);
    let mut columns = columns(drawing, Some(&placement), &page)?;
    let listed = add_rows(&mut columns, drawing, &page)?;
    for (at, column) in (0..).zip(columns) {
        marks.extend(column.at(page.column_corner(at)));
    }
    marks.extend(foot(cautions(), &page)?);
    let ruler_top = page.paper_mm[1] - MARGIN_MM - ruler::HEIGHT_MM + 2.0;
    marks.extend(ruler(notes.units, notes.paper).at(PaperPoint::new(MARGIN_MM, ruler_top)));
    let title = format!("{}: {KIND}", drawing.block);
    let mut pages = vec![Scene { paper_mm: page.paper_mm, title, marks }];
    if !listed {
        pages.extend(lists(drawing, &page)?);
    }
    Ok(pages)
}

/// Pages of nothing but rows.
fn lists(drawing: &Drawing<'_>, page: &Page) -> Result<Vec<Scene>, Error> {
    let width = page.width_mm();
    let top = page.map.corner.y_mm + 2.0;
    let height = page.paper_mm[1] - MARGIN_MM - top;
    let mut pages = Vec::new();
    for rows in drawing.rows.chunks(whole(rows_held([width, height])).max(1)) {
        let mut marks = head((&drawing.block, "rows"), &subtitle(drawing), page.paper_mm)?;
        let table = row_page(rows, drawing.notes.units, [width, height])?;
        marks.extend(table.at(PaperPoint::new(MARGIN_MM, top)));
        let title = format!("{}: rows", drawing.block);
        pages.push(Scene { paper_mm: page.paper_mm, title, marks });
    }
    Ok(pages)
}
