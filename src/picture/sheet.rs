//! A page put together: title, map, legend, compass, cautions.

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Scene, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture::{Furniture, SMALL},
        ground_words::{ground_names, row_numbers},
        labels::Labels,
        lettering::{shorten, width_mm},
        looks::Size,
        marks,
        page::{MARGIN_MM, Page, choose},
        subject::Subject,
    },
};

/// The title.
const TITLE: Hand = Hand { size_mm: 7.0, bold: true };
/// The title where the name is long.
const SMALL_TITLE: Hand = Hand { size_mm: 5.4, bold: true };
/// The line below it.
const SUBTITLE: Hand = Hand { size_mm: 4.4, bold: false };
/// The same where it is long.
const SMALL_SUBTITLE: Hand = Hand { size_mm: 3.7, bold: false };
/// Composes the page of a map.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn compose(subject: &Subject) -> Result<Scene, Error> {
    let (page, placement) = choose(subject)?;
    let size = Size::at(&placement, subject.gaps_m);
    let mut marks = head(subject, &page)?;
    marks.extend(marks::ground(subject, &placement));
    marks.extend(marks::vines(subject, &placement, size));
    marks.extend(marks::zones(subject, &placement));
    let measured = marks::measured_places(subject, &placement);
    marks.extend(marks::measured(&measured, size));
    let (numbers, mut taken) = row_numbers(subject, (&placement, size), page.map)?;
    let (names, named) = ground_names(subject, &placement)?;
    marks.extend(numbers.into_iter().chain(names));
    taken.extend(named);
    let spared: Vec<PaperPoint> = measured.into_iter().flatten().collect();
    let mut labels = Labels::new(page.map, &placement.polygon(&subject.outline), taken, &spared);
    for zone in &subject.zones {
        labels.place(&placement.polygon(&zone.shape), &zone.name, &zone.words)?;
    }
    marks.extend(labels.into_marks());
    marks.extend(page.furniture(subject, &placement, size)?);
    marks.extend(foot(subject, &page)?);
    Ok(Scene {
        paper_mm: page.paper_mm,
        title: format!("{}: {}", subject.block, subject.quantity),
        marks,
    })
}

fn head(subject: &Subject, page: &Page) -> Result<Vec<Mark>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let line = |words: String, hand, y, colour| {
        let at = PaperPoint::new(MARGIN_MM, y);
        Mark::Lettering(Lettering { at, words, hand, anchor: Anchor::Start, colour })
    };
    let (words, hand) = title(subject, width)?;
    let fits = width_mm(&subject.subtitle, SUBTITLE)? <= width;
    let under = if fits { SUBTITLE } else { SMALL_SUBTITLE };
    Ok(vec![
        line(words, hand, MARGIN_MM + 5.6, INK),
        line(shorten(&subject.subtitle, under, width)?, under, MARGIN_MM + 12.2, SOFT_INK),
        rule(page, MARGIN_MM + 15.0),
    ])
}

/// Block and quantity on one line: smaller where the name is long, and if that does not do, with
/// the end of the name left out, never the quantity.
fn title(subject: &Subject, width: f64) -> Result<(String, Hand), Error> {
    let quantity = format!(": {}", subject.quantity);
    let whole = format!("{}{quantity}", subject.block);
    if width_mm(&whole, TITLE)? <= width {
        return Ok((whole, TITLE));
    }
    let room = width - width_mm(&quantity, SMALL_TITLE)?;
    let block = shorten(&subject.block, SMALL_TITLE, room)?;
    Ok((format!("{block}{quantity}"), SMALL_TITLE))
}

fn foot(subject: &Subject, page: &Page) -> Result<Vec<Mark>, Error> {
    let width = page.paper_mm[0] - 2.0 * MARGIN_MM;
    let top = page.paper_mm[1] - MARGIN_MM - page.foot_mm;
    let mut words = Furniture::default();
    words.paragraph(&subject.cautions, SMALL, (width, INK))?;
    let marks = words.at(PaperPoint::new(MARGIN_MM, top + 2.0));
    Ok(std::iter::once(rule(page, top)).chain(marks).collect())
}

fn rule(page: &Page, y: f64) -> Mark {
    let ends = [MARGIN_MM, page.paper_mm[0] - MARGIN_MM].map(|x| PaperPoint::new(x, y));
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.25, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends.to_vec())], fill: None, stroke })
}
