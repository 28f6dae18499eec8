//! The head and the foot of a page.

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture::{Furniture, SMALL},
        lettering::{shorten, width_mm},
        page::{MARGIN_MM, Page},
    },
};

/// The title.
pub(super) const TITLE: Hand = Hand { size_mm: 7.0, bold: true };
/// The title where the name is long.
const SMALL_TITLE: Hand = Hand { size_mm: 5.4, bold: true };
/// The line below it.
const SUBTITLE: Hand = Hand { size_mm: 4.4, bold: false };
/// The same where it is long.
const SMALL_SUBTITLE: Hand = Hand { size_mm: 3.7, bold: false };

/// Title and subtitle with a line below.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn head(
    (block, quantity): (&str, &str),
    subtitle: &str,
    paper_mm: [f64; 2],
) -> Result<Vec<Mark>, Error> {
    let width = paper_mm[0] - 2.0 * MARGIN_MM;
    let line = |words: String, hand, y, colour| {
        let at = PaperPoint::new(MARGIN_MM, y);
        Mark::Lettering(Lettering::level(at, words, hand, (Anchor::Start, colour)))
    };
    let (words, hand) = title(block, quantity, width)?;
    let fits = width_mm(subtitle, SUBTITLE)? <= width;
    let under = if fits { SUBTITLE } else { SMALL_SUBTITLE };
    Ok(vec![
        line(words, hand, MARGIN_MM + 5.6, INK),
        line(shorten(subtitle, under, width)?, under, MARGIN_MM + 12.2, SOFT_INK),
        rule(paper_mm, MARGIN_MM + 15.0),
    ])
}

/// Block and quantity on one line: smaller where the name is long, and if that does not do, with
/// the end of the name left out, never the quantity.
fn title(block: &str, quantity: &str, width: f64) -> Result<(String, Hand), Error> {
    let quantity = format!(": {quantity}");
    let whole = format!("{block}{quantity}");
    if width_mm(&whole, TITLE)? <= width {
        return Ok((whole, TITLE));
    }
    let room = width - width_mm(&quantity, SMALL_TITLE)?;
    let block = shorten(block, SMALL_TITLE, room)?;
    Ok((format!("{block}{quantity}"), SMALL_TITLE))
}

/// What the page must not be taken for, below a line.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn foot(cautions: &str, page: &Page) -> Result<Vec<Mark>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let top = page.paper_mm[1] - MARGIN_MM - page.foot_mm;
    let mut words = Furniture::default();
    words.paragraph(cautions, SMALL, (width, INK))?;
    let marks = words.at(PaperPoint::new(MARGIN_MM, top + 2.0));
    Ok(std::iter::once(rule(page.paper_mm, top)).chain(marks).collect())
}

/// A line from margin to margin.
pub(super) fn rule(paper_mm: [f64; 2], y: f64) -> Mark {
    let ends = [MARGIN_MM, paper_mm[0] - MARGIN_MM].map(|x| PaperPoint::new(x, y));
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.25, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends.to_vec())], fill: None, stroke })
}
