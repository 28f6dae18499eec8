//! A heat map put together: title, map, legend, compass, cautions.

use crate::{
    error::Error,
    picture::{
        PaperPoint, Scene, columns,
        ground_words::{ground_names, row_numbers},
        heading::{foot, head},
        labels::Labels,
        looks::Size,
        map::Placement,
        marks,
        page::Page,
        subject::Subject,
    },
};

/// Composes a map on its page.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub(super) fn compose(
    subject: &Subject,
    (page, placement): (&Page, &Placement),
) -> Result<Scene, Error> {
    let size = Size::at(placement, subject.gaps_m);
    let mut marks = head((&subject.block, subject.quantity), &subject.subtitle, page.paper_mm)?;
    marks.extend(marks::ground(subject, placement));
    marks.extend(marks::vines(subject, placement, size));
    marks.extend(marks::zones(subject, placement));
    let measured = marks::measured_places(subject, placement);
    marks.extend(marks::measured(&measured, size));
    let (numbers, mut taken) = row_numbers(&subject.into(), (placement, size), page.map)?;
    let (names, named) = ground_names(subject, placement)?;
    marks.extend(numbers.into_iter().chain(names));
    taken.extend(named);
    let spared: Vec<PaperPoint> = measured.into_iter().flatten().collect();
    let mut labels = Labels::new(page.map, &placement.polygon(&subject.outline), taken, &spared);
    for zone in &subject.zones {
        labels.place(&placement.polygon(&zone.shape), zone)?;
    }
    marks.extend(labels.into_marks());
    marks.extend(columns::furniture(subject, (page, placement), size)?);
    marks.extend(foot(&subject.cautions, page)?);
    Ok(Scene {
        paper_mm: page.paper_mm,
        title: format!("{}: {}", subject.block, subject.quantity),
        marks,
    })
}
