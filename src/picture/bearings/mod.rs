//! Candidate bearings as a page of small charts that share the axis of bearings.
//!
//! Every chart is one thing that a planter weighs; nothing on the page says which bearing to take.

mod axis;
mod panel;
mod series;

use jiff::civil::Date;

use self::{
    axis::Axis,
    panel::{draw, plot_between},
    series::panels,
};
use crate::{
    error::Error,
    layout::compare::{Candidate, Comparison},
    maths::float,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, Paper, PaperPoint, Scene, Shape, Stroke,
        colours::{INK, RULE, SOFT_INK},
        furniture::{BODY, Furniture, SMALL},
        lettering::{printable, shorten, width_mm},
        page::MARGIN_MM,
        words,
    },
    units::{Metres, ReadingUnits},
};

/// The title.
const TITLE: Hand = Hand { size_mm: 6.4, bold: true };
/// Height of title and subtitle.
const HEAD_MM: f64 = 18.0;
/// Height of the two lines that name what is marked.
const LANE_MM: f64 = 11.0;
/// Height of the degrees and words below the last chart.
const FOOT_OF_AXIS_MM: f64 = 12.0;

/// What the page has to be told beside the comparison.
#[derive(Debug, Clone, Copy)]
pub struct BearingCaption<'a> {
    /// The block's name.
    pub block: &'a str,
    /// Row spacing, vine spacing and headland.
    pub lengths: [Metres; 3],
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The days of the sun.
    pub days: Option<[Date; 2]>,
    /// What is said at its foot.
    pub cautions: &'a [String],
}

/// The page of charts, for SVG and PNG.
///
/// # Errors
/// Only by a fault of the program.
pub fn bearings_scene(
    comparison: &Comparison,
    caption: &BearingCaption<'_>,
) -> Result<Scene, Error> {
    let [width, height] = Paper::A4.sides_mm();
    let inside = width - 2.0 * MARGIN_MM;
    let mut foot = Furniture::default();
    for words in days_words(comparison, caption).iter().chain(caption.cautions) {
        foot.paragraph(words, SMALL, (inside, INK))?;
    }
    let foot_top = height - MARGIN_MM - foot.height_mm - 2.0;
    let mut marks = head(comparison, caption, inside)?;
    let top = MARGIN_MM + HEAD_MM;
    let span = Axis::span_of(&comparison.candidates);
    let axis = Axis { left_mm: MARGIN_MM + 15.0, right_mm: width - MARGIN_MM - 4.0, span };
    let charts = panels(&shown(comparison, axis), caption.units);
    let bottom = foot_top - FOOT_OF_AXIS_MM;
    let each = (bottom - top - LANE_MM) / float(charts.len().max(1));
    let foot_of = |at: usize| top + LANE_MM + float(at) * each;
    let mut plots = Vec::new();
    for (at, chart) in charts.iter().enumerate() {
        // The names of what is marked stand between the first heading and its chart.
        let from = if at == 0 { top } else { foot_of(at) };
        let plot = plot_between([foot_of(at), foot_of(at + 1)]);
        marks.extend(draw(chart, axis, (from, plot))?);
        plots.push(plot);
    }
    marks.extend(axis.degrees(bottom - 2.0));
    marks.extend(marked(comparison, axis, &plots)?);
    marks.push(line([MARGIN_MM, width - MARGIN_MM], [foot_top; 2], (RULE, 0.25, None)));
    marks.extend(foot.at(PaperPoint::new(MARGIN_MM, foot_top + 2.0)));
    let title = format!("{}: row bearings compared", printable(caption.block));
    Ok(Scene { paper_mm: [width, height], title, marks })
}

/// The candidates that lie on the axis.
fn shown(comparison: &Comparison, axis: Axis) -> Comparison {
    let on_it = comparison.candidates.iter();
    let on_it = on_it.filter(|candidate| axis.shows(candidate.axis().degrees()));
    Comparison { candidates: on_it.cloned().collect(), ..comparison.clone() }
}

fn head(
    comparison: &Comparison,
    caption: &BearingCaption<'_>,
    inside: f64,
) -> Result<Vec<Mark>, Error> {
    let rest = ": row bearings compared";
    let room = inside - width_mm(rest, TITLE)?;
    let name = shorten(&printable(caption.block), TITLE, room)?;
    let under = shorten(&subtitle(comparison, caption), BODY, inside)?;
    Ok(vec![
        letters((MARGIN_MM, MARGIN_MM + 5.4), format!("{name}{rest}"), TITLE, (Anchor::Start, INK)),
        letters((MARGIN_MM, MARGIN_MM + 11.6), under, BODY, (Anchor::Start, SOFT_INK)),
        line([MARGIN_MM, MARGIN_MM + inside], [MARGIN_MM + 14.6; 2], (RULE, 0.25, None)),
    ])
}

fn subtitle(comparison: &Comparison, caption: &BearingCaption<'_>) -> String {
    let [rows, vines, headland] = caption.lengths;
    let length = |metres: Metres| match caption.units {
        ReadingUnits::Metric => format!("{} m", words::number(metres.metres(), 2)),
        ReadingUnits::Us => format!("{} ft", words::number(metres.feet(), 2)),
    };
    format!(
        "Rows {} and vines {} apart, headland {}; {} bearings from true north",
        length(rows),
        length(vines),
        length(headland),
        comparison.candidates.len(),
    )
}

/// Over which days the sun is meant.
fn days_words(comparison: &Comparison, caption: &BearingCaption<'_>) -> Option<String> {
    let ([first, last], (days, hours)) = caption.days.zip(comparison.sun)?;
    let [first, last] = [first, last].map(|day| words::date(day, caption.units));
    Some(format!(
        "Sun: the mean of {}, {first} to {last}, of {hours:.1} h from sunrise to sunset.",
        words::count_of(days, "day", "days")
    ))
}

/// The block's own bearing and that of its longest edge, as lines through all charts.
fn marked(comparison: &Comparison, axis: Axis, plots: &[[f64; 2]]) -> Result<Vec<Mark>, Error> {
    let Some([top, _]) = plots.first() else { return Ok(Vec::new()) };
    let candidates = comparison.candidates.iter();
    let find = |is: fn(&Candidate) -> bool| candidates.clone().find(|candidate| is(candidate));
    let own = find(|candidate| candidate.own);
    let edge = find(|candidate| candidate.longest_edge);
    let lines = [
        ("own bearing", own, (INK, 0.45, None), 6.6),
        ("longest edge", edge, (SOFT_INK, 0.4, Some([1.6, 1.1])), 1.8),
    ];
    let mut marks = Vec::new();
    for (what, candidate, stroke, above) in lines {
        let Some(candidate) = candidate else { continue };
        if !axis.shows(candidate.axis().degrees()) {
            continue;
        }
        let x = axis.at(candidate.axis().degrees());
        marks.push(line([x; 2], [top - above - 3.2, *top], stroke));
        marks.extend(plots.iter().map(|plot| line([x; 2], *plot, stroke)));
        let degrees = words::number(candidate.bearing.normalised().degrees(), 2);
        let words = format!("{what} {degrees}°, {}", candidate.bearing.line_words());
        let right = x + 1.5 + width_mm(&words, SMALL)? <= axis.right_mm;
        let (x, anchor) = if right { (x + 1.5, Anchor::Start) } else { (x - 1.5, Anchor::End) };
        marks.push(letters((x, top - above), words, SMALL, (anchor, INK)));
    }
    Ok(marks)
}

type Pen = (crate::picture::Colour, f64, Option<[f64; 2]>);

fn line([left, right]: [f64; 2], [from, to]: [f64; 2], (colour, width_mm, dash_mm): Pen) -> Mark {
    let ends = vec![PaperPoint::new(left, from), PaperPoint::new(right, to)];
    let stroke = Some(Stroke { colour, width_mm, dash_mm });
    Mark::Shape(Shape { outlines: vec![Outline::Line(ends)], fill: None, stroke })
}

fn letters(
    (x_mm, y_mm): (f64, f64),
    words: String,
    hand: Hand,
    (anchor, colour): (Anchor, crate::picture::Colour),
) -> Mark {
    let at = PaperPoint::new(x_mm, y_mm);
    Mark::Lettering(Lettering::level(at, words, hand, (anchor, colour)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        layout::compare::{Counted, Descent, RowSlopes, SunOnRows},
        picture::to_png,
        units::Degrees,
    };

    fn candidate(degrees: u16) -> Candidate {
        let bearing = Degrees::new(f64::from(degrees));
        let wave = bearing.radians().sin();
        let vines = 2400 + 3 * usize::from(degrees);
        let descent = Descent { length: Metres::new(80.0), fall: Metres::new(4.0) };
        Candidate {
            bearing,
            own: degrees == 169,
            longest_edge: degrees == 172,
            counted: Counted {
                rows: if degrees == 60 { 0 } else { 30 },
                vines,
                vines_by_offset: Some([vines - 25, vines + 9]),
                pieces: 34,
                short_pieces: 3,
                row_lengths_m: Some([20.0, 90.0 + 20.0 * wave, 121.0]),
                ..Counted::default()
            },
            slopes: Some(RowSlopes {
                along: [0.08 * wave, 0.12],
                across: [0.08 * (1.0 - wave), 0.12],
                descent,
                known_share: 1.0,
            }),
            sun: Some(SunOnRows { right_h: 7.0 + 3.0 * wave, left_h: 7.0 - wave, along_h: 1.0 }),
        }
    }

    fn boxes(scene: &Scene) -> Vec<([f64; 4], String)> {
        let letters = scene.marks.iter().filter_map(|mark| match mark {
            Mark::Lettering(letters) => Some(letters),
            Mark::Shape(_) => None,
        });
        let boxed = letters.map(|letters| {
            let width = width_mm(&letters.words, letters.hand).unwrap();
            let left = match letters.anchor {
                Anchor::Start => letters.at.x_mm,
                Anchor::Middle => letters.at.x_mm - width / 2.0,
                Anchor::End => letters.at.x_mm - width,
            };
            let base = letters.at.y_mm;
            let rim = [left, left + width, base - 0.74 * letters.hand.size_mm, base + 0.2];
            (rim, letters.words.clone())
        });
        boxed.collect()
    }

    #[test]
    fn words_keep_apart_and_on_the_page_and_have_pixels() {
        let candidates = (0..180).filter(|degrees| !(20..30).contains(degrees)).map(candidate);
        let comparison = Comparison {
            candidates: candidates.collect(),
            short_piece: Metres::new(30.0),
            block_ha: 1.0,
            sun: Some((184, 14.2)),
        };
        let lengths = [2.4, 1.2, 9.0].map(Metres::new);
        let days = Some([jiff::civil::date(2027, 4, 1), jiff::civil::date(2027, 10, 1)]);
        for units in [ReadingUnits::Metric, ReadingUnits::Us] {
            let cautions = ["Ask a qualified person.".to_owned()];
            let block =
                "葡萄 behind the house, below the wall that grandfather built in spring 1961";
            let caption = BearingCaption { block, lengths, units, days, cautions: &cautions };
            let scene = bearings_scene(&comparison, &caption).unwrap();
            let boxes = boxes(&scene);
            assert!(boxes.len() > 50, "{}", boxes.len());
            for (at, ([left, right, top, bottom], words)) in boxes.iter().enumerate() {
                assert!(*left > 5.0 && *right < 205.0 && *top > 5.0 && *bottom < 292.0, "{words}");
                for (other, said) in &boxes[at + 1..] {
                    let apart = right <= &other[0] || &other[1] <= left;
                    assert!(apart || bottom <= &other[2] || &other[3] <= top, "{words} on {said}");
                }
            }
            let png = to_png(&scene).unwrap();
            let image = image::load_from_memory(&png).unwrap().to_rgb8();
            let dark = |x: u32, y: u32| image.get_pixel(x, y).0.iter().all(|part| *part < 90);
            let title = (120..700).flat_map(|x| (120..180).map(move |y| (x, y)));
            assert!(title.filter(|(x, y)| dark(*x, *y)).count() > 3_000);
        }
    }
}
