//! The decision on paper: every zone in a table with what to do there, and how it was found.
//!
//! As many pages as the zones need; the table's head stands on each of them.

mod paragraphs;
mod table;

use self::{paragraphs::paragraphs, table::Table};
use crate::{
    error::Error,
    picture::{
        Caption, Mark, PaperPoint, Scene,
        colours::INK,
        furniture::{Furniture, SMALL},
        heading::{head, rule},
        lettering::printable,
        page::MARGIN_MM,
        pages::Pages,
        words,
    },
    plan::{Evidence, Plan},
};

/// What the page is.
const KIND: &str = "what to do, zone by zone";
/// Where the rest begins, below the title.
const TOP_MM: f64 = MARGIN_MM + 18.0;
/// What the page must not be taken for.
const CAUTION: &str = "An estimate from counts on some vines: look at the vines before cutting. Local \
                       advice goes first. Keep people out of a sprayed block until the posted time has \
                       passed. Mind cutting tools, heat and steep or slippery ground: judge these on \
                       the day.";

/// The pages, level.
///
/// # Errors
/// Only by a fault of the program.
pub fn decision_scenes(
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Result<Vec<Scene>, Error> {
    let [short, long] = caption.paper.sides_mm();
    let sheet = Sheet::new([long, short], subtitle(evidence, caption), evidence)?;
    let table = Table::new(caption, sheet.inside());
    let mut pages = Pages::new(sheet.foot_top() - 4.0 - TOP_MM);
    pages.add(table.head()?);
    pages.repeat(table.head()?);
    for zone in 0..evidence.zones.zones.len() {
        pages.add(table.zone(evidence, plan, zone)?);
    }
    pages.add(table.all(evidence, plan)?);
    pages.repeat(Furniture::default());
    for paragraph in paragraphs(evidence, plan, sheet.inside())? {
        pages.add(paragraph);
    }
    pages.into_bodies().into_iter().map(|body| sheet.scene(body)).collect()
}

fn subtitle(evidence: Evidence<'_>, caption: &Caption) -> String {
    let date = evidence.joined.date.or(caption.date);
    let date = date.map_or_else(
        || "without a date".to_owned(),
        |date| format!("as of {}", words::date(date, caption.units)),
    );
    let counts = words::count_of(evidence.joined.shoots.len(), "count", "counts");
    format!("From {counts}, {date}. Ranges hold nine times in ten.")
}

/// What every page has.
struct Sheet {
    paper_mm: [f64; 2],
    block: String,
    subtitle: String,
    foot: Furniture,
}

impl Sheet {
    fn new(paper_mm: [f64; 2], subtitle: String, evidence: Evidence<'_>) -> Result<Self, Error> {
        let block = printable(evidence.site.name.as_str());
        let mut sheet = Self { paper_mm, block, subtitle, foot: Furniture::default() };
        let inside = sheet.inside();
        sheet.foot.paragraph(CAUTION, SMALL, (inside, INK))?;
        Ok(sheet)
    }

    fn inside(&self) -> f64 {
        self.paper_mm[0] - 2.0 * MARGIN_MM
    }

    fn foot_top(&self) -> f64 {
        self.paper_mm[1] - MARGIN_MM - self.foot.height_mm
    }

    fn scene(&self, body: Furniture) -> Result<Scene, Error> {
        let mut marks = head((&self.block, KIND), &self.subtitle, self.paper_mm)?;
        marks.extend(body.at(PaperPoint::new(MARGIN_MM, TOP_MM)));
        marks.push(rule(self.paper_mm, self.foot_top() - 1.5));
        let foot: Vec<Mark> =
            self.foot.clone().at(PaperPoint::new(MARGIN_MM, self.foot_top())).collect();
        marks.extend(foot);
        Ok(Scene { paper_mm: self.paper_mm, title: format!("{}: {KIND}", self.block), marks })
    }
}
