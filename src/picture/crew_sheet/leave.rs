//! What a crew reads first: what to leave, on a ruler too, and then what goes in which order.

use super::{
    CrewPaper,
    drawings::{self, Draw},
};
use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::INK,
        furniture::{BODY, Furniture, HEADING, SMALL},
        lettering::wrap,
        words,
    },
    plan::TakeOff,
    units::{PerMetre, ReadingUnits},
};

/// What must be read from an arm's length.
const LARGE: Hand = Hand { size_mm: 8.0, bold: true };
const MIDDLE: Hand = Hand { size_mm: 5.4, bold: true };
/// Height of the ruler, and of the shoots on it.
const RULER_MM: f64 = 20.0;
const SHOOT_MM: f64 = 12.0;
/// An inch (exact).
const INCH_MM: f64 = 25.4;
/// Scale of the small drawings.
const SMALL_DRAWING: f64 = 0.9;

/// How many shoots stay, and how far that is apart.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn leave(aim: PerMetre, told: &CrewPaper<'_>, width: f64) -> Result<Furniture, Error> {
    let say = |key: &str, filling: &[(&str, &str)]| told.words.say(key, filling);
    let (key, shoots, length) = match told.units {
        ReadingUnits::Us => {
            let inches = 12.0 / aim.per_foot();
            ("leave_per_foot", aim.per_foot(), format!("{} in", words::number(inches, 1)))
        }
        ReadingUnits::Metric => {
            let centimetres = 100.0 / aim.per_metre();
            ("leave_per_metre", aim.per_metre(), format!("{} cm", words::number(centimetres, 0)))
        }
    };
    let decimals = usize::from(told.units == ReadingUnits::Us);
    let mut all = Furniture::default();
    all.paragraph(&say("leave", &[]), HEADING, (width, INK))?;
    all.space(1.0);
    all.paragraph(&say(key, &[("shoots", &words::number(shoots, decimals))]), LARGE, (width, INK))?;
    all.paragraph(&say("spacing", &[("length", &length)]), MIDDLE, (width, INK))?;
    if told.renewal_shoots > 0.0 {
        let shoots = words::number(told.renewal_shoots, 1);
        all.paragraph(&say("renewal", &[("shoots", &shoots)]), BODY, (width, INK))?;
    }
    Ok(all)
}

/// A strip as wide as the page, true to size, with a shoot wherever one stays.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn ruler(aim: PerMetre, told: &CrewPaper<'_>, width: f64) -> Result<Furniture, Error> {
    let apart = 1000.0 / aim.per_metre();
    let (unit, parts, name) = match told.units {
        ReadingUnits::Us => (INCH_MM, 4, "in"),
        ReadingUnits::Metric => (10.0, 2, "cm"),
    };
    let base = SHOOT_MM + 1.0;
    let mut strip = Furniture { marks: vec![], height_mm: RULER_MM };
    strip.marks.push(line(&[(0.0, base), (width, base)], 0.5));
    let small = unit / f64::from(parts);
    let mut tick = 0_u32;
    while f64::from(tick) * small <= width {
        let (x, whole) = (f64::from(tick) * small, tick.is_multiple_of(parts));
        strip.marks.push(line(&[(x, base), (x, base + if whole { 2.6 } else { 1.5 })], 0.2));
        if whole && x + 8.0 < width {
            let at = PaperPoint::new(x, base + 5.8);
            let number = (tick / parts).to_string();
            let anchor = if tick == 0 { Anchor::Start } else { Anchor::Middle };
            strip.marks.push(super::lettered(at, number, SMALL, anchor));
        }
        tick += 1;
    }
    let end = PaperPoint::new(width, base + 5.8);
    strip.marks.push(super::lettered(end, name, SMALL, Anchor::End));
    let mut x = apart / 2.0;
    while apart > 1.0 && x + 2.0 < width {
        strip.marks.push(line(&[(x, base - 0.2), (x, base + 2.6)], 0.7));
        let shoot = Furniture { marks: drawings::upright(1.0, SHOOT_MM), height_mm: 0.0 };
        strip.marks.extend(shoot.at(PaperPoint::new(x, base)));
        x += apart;
    }
    strip.paragraph(&told.words.say("ruler", &[]), SMALL, (width, INK))?;
    Ok(strip)
}

/// What goes, in order, and what stays: the number, the words, the drawing.
fn fates(take_off: TakeOff) -> [(&'static str, &'static str, Draw); 4] {
    match take_off {
        TakeOff::DoublesFirst => [
            ("1", "doubles", drawings::doubles),
            ("2", "base", drawings::base),
            ("3", "weak", drawings::weak),
            ("", "stays", drawings::stays),
        ],
        TakeOff::DoublesStay => [
            ("1", "base", drawings::base),
            ("2", "weak", drawings::weak),
            ("", "doubles_stay", drawings::doubles_stay),
            ("", "stays", drawings::stays),
        ],
    }
}

/// What goes, in order, and what stays, drawn and in words.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn take(
    take_off: TakeOff,
    told: &CrewPaper<'_>,
    width: f64,
) -> Result<Furniture, Error> {
    let mut all = Furniture::default();
    all.paragraph(&told.words.say("take", &[]), HEADING, (width, INK))?;
    all.space(1.0);
    let column = width / 4.0;
    let top = all.height_mm;
    let mut deepest = 0.0_f64;
    for (at, (number, key, draw)) in (0_u32..).zip(fates(take_off)) {
        let left = f64::from(at) * column;
        let mut one = Furniture { marks: draw(SMALL_DRAWING), height_mm: 0.0 };
        one.letter((0.0, 5.6), number, MIDDLE, (Anchor::Start, INK));
        one.height_mm = SMALL_DRAWING * drawings::FIELD[1] + 0.6;
        for words in wrap(&told.words.say(key, &[]), SMALL, column - 6.0)? {
            one.letter((0.0, 1.05 * SMALL.size_mm), words, SMALL, (Anchor::Start, INK));
            one.height_mm += 1.32 * SMALL.size_mm;
        }
        deepest = deepest.max(one.height_mm);
        all.marks.extend(one.at(PaperPoint::new(left, top)));
    }
    all.space(deepest);
    Ok(all)
}

fn line(points: &[(f64, f64)], width_mm: f64) -> Mark {
    let points = points.iter().map(|&(x, y)| PaperPoint::new(x, y)).collect();
    let stroke = Some(Stroke { colour: INK, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(points)], fill: None, stroke })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{picture::Paper, units::METRES_PER_FOOT};

    #[test]
    fn shoots_on_the_ruler_stand_as_far_apart_as_they_shall() {
        let words = crate::settings::CrewWords::default();
        let told = CrewPaper {
            units: ReadingUnits::Us,
            paper: Paper::A4,
            renewal_shoots: 1.0,
            today: None,
            words: &words,
        };
        let aim = PerMetre::from_per_foot(4.0);
        let strip = ruler(aim, &told, 186.0).unwrap();
        let marks: Vec<f64> = strip
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Mark::Shape(Shape { outlines, stroke: Some(Stroke { width_mm, .. }), .. })
                    if (width_mm - 0.7).abs() < 1e-9 =>
                {
                    let Outline::Line(points) = &outlines[0] else { return None };
                    Some(points[0].x_mm)
                }
                Mark::Shape(_) | Mark::Lettering(_) => None,
            })
            .collect();
        // Four a foot are three inches apart: 76.2 mm.
        let apart: Vec<f64> = marks.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(!apart.is_empty());
        assert!(apart.iter().all(|gap| (gap - 3.0 * INCH_MM).abs() < 1e-9), "{apart:?}");
        assert!((METRES_PER_FOOT - 12.0 * INCH_MM / 1000.0).abs() < 1e-12);
    }
}
