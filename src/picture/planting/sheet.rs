//! The planting plan put together.

use crate::{
    error::Error,
    picture::{
        PaperPoint, Scene,
        heading::{foot, head},
        map::Ladder,
        page::{MARGIN_MM, Wanted, choose},
        planting::{
            callouts::callouts,
            drawing::Drawing,
            facts::{cautions, subtitle},
            ground::ground,
            row_words::row_words,
            rows::{Sizes, rows},
            ruler::{self, ruler},
            side::columns,
        },
    },
};

/// Paper kept free around the block for row numbers and labels that are led out.
const COLLAR_MM: f64 = 14.0;
/// What the page is.
const KIND: &str = "planting plan";

/// Composes the page.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn compose(drawing: &Drawing<'_>) -> Result<Scene, Error> {
    let notes = drawing.notes;
    let wanted = Wanted {
        paper: notes.paper,
        units: notes.units,
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
    let mut marks = head((&drawing.block, KIND), &subtitle(drawing), &page)?;
    marks.extend(ground(drawing, &placement));
    marks.extend(rows(drawing, &placement, &sizes));
    let mut lettered = row_words(drawing, (&placement, &sizes), page.map)?;
    marks.append(&mut lettered.marks);
    marks.extend(callouts(drawing, &placement, (page.map, lettered))?);
    for (at, column) in (0..).zip(columns(drawing, Some(&placement), &page)?) {
        marks.extend(column.at(page.column_corner(at)));
    }
    marks.extend(foot(cautions(), &page)?);
    let ruler_top = page.paper_mm[1] - MARGIN_MM - ruler::HEIGHT_MM + 2.0;
    marks.extend(ruler(notes.units, notes.paper).at(PaperPoint::new(MARGIN_MM, ruler_top)));
    let title = format!("{}: {KIND}", drawing.block);
    Ok(Scene { paper_mm: page.paper_mm, title, marks })
}
