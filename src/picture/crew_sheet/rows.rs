//! The rows of a zone: a box to tick, and a box for every panel with what comes off there.

use super::{CrewPaper, lettered};
use crate::{
    error::Error,
    maths::{float, whole},
    picture::{
        Anchor, Colour, Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, RULE, above_target},
        furniture::{Furniture, SMALL},
        lettering::{shorten, wrap},
    },
    plan::work::{PanelWork, RowWork},
};

/// A row's number, and the number in a box.
const ROW: Hand = Hand { size_mm: 4.6, bold: true };
const TAKE: Hand = Hand { size_mm: 3.8, bold: true };
const TAKE_HUNDREDS: Hand = Hand { size_mm: 3.0, bold: true };
/// Where the words, the sums and the boxes begin.
const WORDS_MM: f64 = 8.0;
const SUMS_MM: f64 = 36.0;
const BOXES_MM: f64 = 60.0;
/// A panel's box, and the band at its foot.
const BOX_MM: [f64; 2] = [7.8, 8.0];
const BAND_MM: f64 = 2.2;
/// Paper between rows.
const APART_MM: f64 = 2.2;
/// Shoots a vine from which a panel is fuller.
const FULLER: [f64; 3] = [2.0, 6.0, 12.0];
/// Millimetres between the lines of a band, by how full it is.
const HATCH_MM: [f64; 3] = [2.2, 1.1, 0.55];

/// A row and its panels, whole.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row(work: &RowWork, told: &CrewPaper<'_>, width: f64) -> Result<Furniture, Error> {
    let say = |key: &str, filling: &[(&str, &str)]| told.words.say(key, filling);
    let mut all = Furniture::default();
    all.marks.push(boxed([0.0, 1.2], [5.6, 5.6], None, 0.4));
    let at = |x: f64, y: f64| PaperPoint::new(x, y);
    let name = say("row", &[("row", &work.row.to_string())]);
    all.marks.push(lettered(at(WORDS_MM, 4.4), name, ROW, Anchor::Start));
    if let Some([from, to]) = work.vines() {
        let words = say("from_to", &[("from", &from.to_string()), ("to", &to.to_string())]);
        all.marks.push(lettered(at(WORDS_MM, 8.2), words, SMALL, Anchor::Start));
    }
    let (take, minutes) = (shoots(work.take()), format!("{:.0}", work.minutes().max(1.0)));
    let sums = [say("row_off", &[("shoots", &take)]), say("row_time", &[("minutes", &minutes)])];
    for (base, words) in [4.4, 8.2].into_iter().zip(sums) {
        let words = shorten(&words, SMALL, BOXES_MM - SUMS_MM - 2.0)?;
        all.marks.push(lettered(at(SUMS_MM, base), words, SMALL, Anchor::Start));
    }
    let across = whole(((width - BOXES_MM) / BOX_MM[0]).floor()).max(1);
    let runs = work.runs();
    // A place between runs stays free: the panels there are not this zone's.
    let places = runs.iter().flat_map(|run| std::iter::once(None).chain(run.iter().map(Some)));
    let places: Vec<Option<&PanelWork>> = places.skip(1).collect();
    for (index, panel) in places.iter().enumerate() {
        let left = BOXES_MM + BOX_MM[0] * float(index % across);
        let top = 0.4 + (BOX_MM[1] + 1.0) * float(index / across);
        all.marks.extend(panel.map_or_else(
            || vec![lettered(at(left + BOX_MM[0] / 2.0, top + 4.6), "…", TAKE, Anchor::Middle)],
            |panel| panel_box(panel, [left, top]),
        ));
    }
    let lines = places.len().div_ceil(across).max(1);
    all.space(0.4 + float(lines) * (BOX_MM[1] + 1.0));
    all.below(only(&runs, told, width - BOXES_MM)?);
    all.below(counted(work, told, width - BOXES_MM)?);
    all.space(APART_MM - 1.0);
    Ok(all)
}

/// Which vines of a row they are, where some between them are not.
fn only(runs: &[&[PanelWork]], told: &CrewPaper<'_>, width: f64) -> Result<Furniture, Error> {
    if runs.len() < 2 {
        return Ok(Furniture::default());
    }
    let run = |run: &&[PanelWork]| {
        let [from, to] = [run.first()?.vines[0], run.last()?.vines[1]].map(|v| v.to_string());
        Some(told.words.say("from_to", &[("from", &from), ("to", &to)]))
    };
    let vines: Vec<String> = runs.iter().filter_map(run).collect();
    beside_boxes(&told.words.say("only", &[("vines", &vines.join(", "))]), width)
}

/// Small words below the boxes.
fn beside_boxes(words: &str, width: f64) -> Result<Furniture, Error> {
    let mut all = Furniture::default();
    for line in wrap(words, SMALL, width)? {
        all.letter((BOXES_MM, 1.05 * SMALL.size_mm), line, SMALL, (Anchor::Start, INK));
        all.space(1.32 * SMALL.size_mm);
    }
    Ok(all)
}

/// What comes off the vines that were counted.
fn counted(work: &RowWork, told: &CrewPaper<'_>, width: f64) -> Result<Furniture, Error> {
    let vines = work.panels.iter().flat_map(|panel| &panel.counted).filter(|vine| vine.take >= 0.5);
    let each: Vec<String> = vines
        .map(|vine| {
            let (number, take) = (vine.vine.to_string(), shoots(vine.take));
            told.words.say("counted_vine", &[("vine", &number), ("shoots", &take)])
        })
        .collect();
    if each.is_empty() {
        return Ok(Furniture::default());
    }
    beside_boxes(&told.words.say("counted", &[("vines", &each.join(", "))]), width)
}

fn panel_box(panel: &PanelWork, [left, top]: [f64; 2]) -> Vec<Mark> {
    let per_vine = panel.take / float(panel.standing.max(1));
    let level = FULLER.iter().filter(|limit| per_vine >= **limit).count();
    let mut marks = Vec::new();
    if let Some(at) = level.checked_sub(1) {
        let corner = [left, top + BOX_MM[1] - BAND_MM];
        let size = [BOX_MM[0], BAND_MM];
        marks.push(boxed(corner, size, Some(tint(above_target()[at])), 0.1));
        marks.push(hatch(corner, size, HATCH_MM[at]));
    }
    marks.push(boxed([left, top], BOX_MM, None, 0.3));
    let middle = PaperPoint::new(left + BOX_MM[0] / 2.0, top + 4.6);
    let take = shoots(panel.take);
    let hand = if take.chars().count() > 2 { TAKE_HUNDREDS } else { TAKE };
    marks.push(lettered(middle, take, hand, Anchor::Middle));
    marks
}

/// Whole shoots; a dash for none.
fn shoots(take: f64) -> String {
    if take < 0.5 { "–".to_owned() } else { format!("{take:.0}") }
}

/// A colour so light that black is read on it.
fn tint(colour: Colour) -> Colour {
    let lighter = |part: u8| u8::midpoint(part, PAPER.rgb[0]);
    Colour { rgb: colour.rgb.map(lighter) }
}

fn boxed(
    [left, top]: [f64; 2],
    [width, height]: [f64; 2],
    fill: Option<Colour>,
    line_mm: f64,
) -> Mark {
    let corners =
        [(left, top), (left + width, top), (left + width, top + height), (left, top + height)];
    let ring = Outline::Ring(corners.map(|(x, y)| PaperPoint::new(x, y)).to_vec());
    let stroke = Some(Stroke { colour: INK, width_mm: line_mm, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![ring], fill, stroke })
}

/// Slanting lines within a band.
fn hatch([left, top]: [f64; 2], [width, height]: [f64; 2], apart: f64) -> Mark {
    let lines = whole((width / apart).floor());
    let slanted = |line: usize| {
        let foot = left + apart * (float(line) + 0.5);
        let head = (foot + height).min(left + width);
        let ends = [(foot, top + height), (head, top + height - (head - foot))];
        Outline::Line(ends.map(|(x, y)| PaperPoint::new(x, y)).to_vec())
    };
    let stroke = Some(Stroke { colour: INK, width_mm: 0.25, dash_mm: None });
    Mark::Shape(Shape { outlines: (0..lines).map(slanted).collect(), fill: None, stroke })
}

/// A hair line below what came before.
pub(super) fn divider(width: f64) -> Furniture {
    let ends = [0.0, width].map(|x| PaperPoint::new(x, 0.6)).to_vec();
    let stroke = Some(Stroke { colour: RULE, width_mm: 0.2, dash_mm: None });
    let mark = Mark::Shape(Shape { outlines: vec![Outline::Line(ends)], fill: None, stroke });
    Furniture { marks: vec![mark], height_mm: 1.4 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{picture::Paper, settings::CrewWords, units::ReadingUnits};

    fn words_of(panels: &[usize]) -> Vec<String> {
        let panel = |&panel: &usize| {
            let first = u32::try_from(4 * panel).unwrap() + 1;
            PanelWork {
                panel,
                vines: [first, first + 3],
                standing: 4,
                canopy_m: 4.8,
                take: 20.0,
                minutes: 5.0,
                counted: Vec::new(),
            }
        };
        let panels = panels.iter().map(panel).collect();
        let work = RowWork { row: 19, backwards: false, panels };
        let words = CrewWords::default();
        let told = CrewPaper {
            units: ReadingUnits::Metric,
            paper: Paper::A4,
            renewal_shoots: 1.0,
            today: None,
            words: &words,
        };
        let marks = row(&work, &told, 186.0).unwrap().marks.into_iter();
        let lettered = marks.filter_map(|mark| match mark {
            Mark::Lettering(lettering) => Some(lettering.words),
            Mark::Shape(_) => None,
        });
        lettered.collect()
    }

    // Panels 0, 1 and 4, 5: between them stand vines of another zone.
    #[test]
    fn a_gap_in_a_row_is_seen_and_its_vines_are_named() {
        let words = words_of(&[0, 1, 4, 5]);
        assert!(words.contains(&"…".to_owned()), "{words:?}");
        assert!(words.contains(&"only vine 1 to 8, vine 17 to 24".to_owned()), "{words:?}");
        let whole = words_of(&[0, 1, 2]);
        assert!(!whole.iter().any(|said| said == "…" || said.starts_with("only")), "{whole:?}");
    }
}
