//! How sure we are: a page of plain words with two small charts, and the variogram on a page of its
//! own.
//!
//! Nothing on it says what to do with the vines; everything that is doubtful about the counts does.

mod chart;
mod charts;
mod page;
mod sentences;
#[cfg(test)]
mod tests;

use jiff::civil::Date;

use self::{
    charts::{Detail, variogram},
    page::{head, paper_area},
    sentences::alike,
};
use crate::{
    error::Error,
    estimate::sure::Sure,
    picture::{
        Paper, PaperPoint, Scene,
        colours::INK,
        furniture::{BODY, Furniture, SMALL},
        lettering::printable,
        map::Area,
        page::MARGIN_MM,
        words,
    },
    units::ReadingUnits,
};

pub(crate) use page::finding_words;
pub use page::{how_sure_scene, sure_sections};
pub use sentences::sure_lines;

/// What the page has to be told beside the estimate.
#[derive(Debug, Clone, Copy)]
pub struct SureCaption<'a> {
    /// The block's name.
    pub block: &'a str,
    /// The date of the counts.
    pub date: Option<Date>,
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The paper it is made for.
    pub paper: Paper,
    /// Zones with an estimate: id; mean, lower and upper end of the 90 % interval, per metre.
    pub zones: &'a [(String, [f64; 3])],
}

/// The variogram on a level page; `None` where no variation is fitted or given.
///
/// # Errors
/// Only by a fault of the program.
pub fn variogram_scene(sure: &Sure, caption: &SureCaption<'_>) -> Result<Option<Scene>, Error> {
    let Some(drawn) = &sure.variogram else { return Ok(None) };
    let [height, width] = caption.paper.sides_mm();
    let paper_mm = [width, height];
    let reading = words::shoots(caption.units);
    let inside = width - 2.0 * MARGIN_MM;
    let mut foot = Furniture::default();
    foot.paragraph(&alike(drawn, &reading, caption.units), BODY, (inside, INK))?;
    foot.space(1.0);
    foot.paragraph(&how_drawn(drawn.by_way.is_some(), &reading), SMALL, (inside, INK))?;
    let (mut marks, top) = head(caption, "how alike vines are", sure, paper_mm)?;
    let foot_top = height - MARGIN_MM - foot.height_mm;
    let area = Area {
        corner: PaperPoint::new(MARGIN_MM, top),
        width_mm: inside,
        // The numbers of pairs stand below the words of the axis.
        height_mm: foot_top - top - 9.0,
    };
    marks.extend(variogram(drawn, (&reading, caption.units), area, Detail::Full)?);
    marks.extend(paper_area(paper_mm, foot_top - 1.5));
    marks.extend(foot.at(PaperPoint::new(MARGIN_MM, foot_top)));
    let title = format!("{}: how alike vines are", printable(caption.block));
    Ok(Some(Scene { paper_mm, title, marks }))
}

fn how_drawn(by_way: bool, reading: &words::Reading) -> String {
    let ways = if by_way {
        " Pairs at most 45° off the rows are along them, the others across."
    } else {
        " Along and across the rows are told apart from 100 counts on."
    };
    format!(
        "A point is the typical difference (root mean square) of all pairs of counts about so far \
         apart, in {}; at the right is half its square, a variogram. Counting errs too, and that is left in points \
         and curve. The curve is fitted to the counts themselves and not to these points, which only \
         show it.{ways}",
        reading.unit
    )
}
