//! The count sheet on paper: what to do, the map of the walk, and a box for every place.

mod lines;
mod walk;

use self::{
    lines::{of_row, table_head},
    walk::walk,
};
use super::{
    Anchor, Mark, Outline, Paper, PaperPoint, Scene, Shape, Stroke,
    colours::{INK, SOFT_INK},
    furniture::{BODY, Furniture, HEADING, SMALL},
    heading::{head, rule},
    lettering::{printable, width_mm},
    page::MARGIN_MM,
    pages::Pages,
};
use crate::{
    error::Error,
    frame::Site,
    layout::Layout,
    sample::{SheetLine, Stop, what_to_do},
    units::ReadingUnits,
};

/// What is told beside the places.
#[derive(Debug, Clone, Copy)]
pub struct CountPaper<'a> {
    /// The first digits of the plan, which tell it from others.
    pub plan: &'a str,
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The paper.
    pub paper: Paper,
}

/// What the page is.
const KIND: &str = "count sheet";
/// Where the rest begins, below the title.
const TOP_MM: f64 = MARGIN_MM + 18.0;
/// Height of the foot.
const FOOT_MM: f64 = 6.0;

/// The pages, upright.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub fn count_paper(
    (site, layout): (&Site, &Layout),
    (stops, lines): (&[Stop], &[SheetLine]),
    told: &CountPaper<'_>,
) -> Result<Vec<Scene>, Error> {
    let [short, long] = told.paper.sides_mm();
    let width = short - 2.0 * MARGIN_MM;
    let mut pages = Pages::new(long - MARGIN_MM - FOOT_MM - TOP_MM);
    pages.add(instructions(lines, width)?);
    pages.add(walk((site, layout), stops, (told.units, told.paper), width)?);
    pages.repeat(table_head(width));
    pages.add(table_head(width));
    for row in lines.chunk_by(|one, next| one.row == next.row) {
        for piece in of_row(row, width)? {
            pages.add(piece);
        }
    }
    let bodies = pages.into_bodies();
    let (block, number) = (printable(site.name.as_str()), bodies.len());
    let places = super::count_of(stops.len(), "place", "places");
    let subtitle = format!("{places} in the order of the walk, plan {}", told.plan);
    let page = |(at, body): (usize, Furniture)| -> Result<Scene, Error> {
        let mut marks = head((&block, KIND), &subtitle, [short, long])?;
        marks.extend(body.at(PaperPoint::new(MARGIN_MM, TOP_MM)));
        let mut foot = Furniture::default();
        foot.letter((0.0, 4.0), format!("plan {}", told.plan), SMALL, (Anchor::Start, SOFT_INK));
        let which = format!("page {} of {number}", at + 1);
        foot.letter((width, 4.0), which, SMALL, (Anchor::End, SOFT_INK));
        let top = long - MARGIN_MM - FOOT_MM + 1.0;
        marks.push(rule([short, long], top));
        marks.extend(foot.at(PaperPoint::new(MARGIN_MM, top)));
        Ok(Scene { paper_mm: [short, long], title: format!("{block}: {KIND}"), marks })
    };
    bodies.into_iter().enumerate().map(page).collect()
}

fn instructions(lines: &[SheetLine], width: f64) -> Result<Furniture, Error> {
    let mut all = Furniture::default();
    all.paragraph("What to do", HEADING, (width, INK))?;
    all.space(0.8);
    let indent = 6.0;
    for (number, words) in (1..).zip(what_to_do(lines)) {
        let mut one = Furniture::default();
        one.paragraph(&words, BODY, (width - indent, INK))?;
        let mark = format!("{number}.");
        all.letter((0.0, 1.05 * BODY.size_mm), mark, BODY, (Anchor::Start, INK));
        let foot = PaperPoint::new(indent, all.height_mm);
        all.height_mm += one.height_mm + 0.8;
        all.marks.extend(one.at(foot));
    }
    all.space(5.0);
    let half = width / 2.0;
    for (from, words) in [(0.0, "Date"), (half, "Counted by")] {
        all.letter((from, 0.0), words, BODY, (Anchor::Start, INK));
        let start = from + width_mm(words, BODY)? + 3.0;
        all.marks.push(line([start, from + half - 6.0], all.height_mm + 0.8));
    }
    all.space(5.0);
    Ok(all)
}

/// A level line to write on.
fn line([from, to]: [f64; 2], y: f64) -> Mark {
    let ends = [from, to].map(|x| PaperPoint::new(x, y)).to_vec();
    let stroke = Some(Stroke { colour: INK, width_mm: 0.2, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends)], fill: None, stroke })
}
