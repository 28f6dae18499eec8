//! One legend for all maps: the classes, what is beside them, north and the scale.

use super::YearMap;
use crate::{
    error::Error,
    picture::{
        Anchor,
        colours::{INK, SOFT_INK},
        compass::compass_and_bar,
        furniture::{BODY, Furniture, HEADING, SMALL},
        legend::{slashed_swatch, swatch},
        looks::Size,
        map::Placement,
        marks,
    },
};

/// Height of a class.
const ROW_MM: f64 = 5.4;
/// Where the words of a class begin.
const WORDS_MM: f64 = 14.0;

/// The legend, `width_mm` wide.
pub(super) fn legend(
    maps: &[YearMap],
    (placement, size): (&Placement, Size),
    width_mm: f64,
) -> Result<Furniture, Error> {
    let mut legend = Furniture::default();
    let Some(last) = maps.last() else { return Ok(legend) };
    let subject = &last.subject;
    legend.paragraph(&subject.classes.heading, HEADING, (width_mm, INK))?;
    legend.space(0.8);
    for class in subject.classes.ladder.iter().rev() {
        let middle = legend.height_mm + ROW_MM / 2.0;
        legend.marks.extend(swatch(class.look, size, [0.0, middle]));
        row(&mut legend, &class.limits);
    }
    if maps.iter().any(|map| map.subject.little.contains(&true)) {
        let middle = legend.height_mm + ROW_MM / 2.0;
        legend.marks.extend(slashed_swatch(size, [0.0, middle]));
        row(&mut legend, "the counts say little here");
    }
    let at = crate::picture::PaperPoint::new(5.5, legend.height_mm + ROW_MM / 2.0);
    legend.marks.extend(marks::measured(&[vec![at]], size));
    row(&mut legend, "counted; a bar: a panel counted whole");
    legend.space(1.0);
    for note in &subject.classes.notes {
        legend.paragraph(note, SMALL, (width_mm, SOFT_INK))?;
    }
    legend.space(2.0);
    legend.below(compass_and_bar(placement, (subject.units, subject.paper), width_mm));
    Ok(legend)
}

fn row(legend: &mut Furniture, words: &str) {
    let base = ROW_MM / 2.0 + 0.36 * BODY.size_mm;
    legend.letter((WORDS_MM, base), words, BODY, (Anchor::Start, INK));
    legend.space(ROW_MM);
}
