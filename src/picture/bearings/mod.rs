//! Candidate bearings as a page of small charts that share the axis of bearings.
//!
//! Every chart is one thing that a planter weighs; nothing on the page says which bearing to take.

mod axis;
mod panel;
mod series;

use jiff::civil::Date;

use self::{axis::Axis, panel::draw, series::panels};
use crate::{
    error::Error,
    frame::Site,
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
    units::ReadingUnits,
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
    site: &Site,
    comparison: &Comparison,
    caption: &BearingCaption<'_>,
) -> Result<Scene, Error> {
    let [width, height] = Paper::A4.sides_mm();
    let inside = width - 2.0 * MARGIN_MM;
    let mut foot = Furniture::default();
    for words in caption.cautions {
        foot.paragraph(words, SMALL, (inside, INK))?;
    }
    let foot_top = height - MARGIN_MM - foot.height_mm - 2.0;
    let mut marks = head(site, comparison, caption, inside)?;
    let top = MARGIN_MM + HEAD_MM + LANE_MM;
    let charts = panels(comparison, caption.units);
    let axis = Axis { left_mm: MARGIN_MM + 15.0, right_mm: width - MARGIN_MM - 4.0 };
    let bottom = foot_top - FOOT_OF_AXIS_MM;
    let each = (bottom - top) / float(charts.len().max(1));
    for (at, chart) in charts.iter().enumerate() {
        marks.extend(draw(chart, axis, [top + float(at) * each, top + float(at + 1) * each])?);
    }
    marks.extend(axis.degrees(bottom));
    marks.extend(marked(comparison, axis, [top, bottom])?);
    marks.push(line([MARGIN_MM, width - MARGIN_MM], [foot_top; 2], (RULE, 0.25, None)));
    marks.extend(foot.at(PaperPoint::new(MARGIN_MM, foot_top + 2.0)));
    let title = format!("{}: row bearings compared", printable(site.name.as_str()));
    Ok(Scene { paper_mm: [width, height], title, marks })
}

fn head(
    site: &Site,
    comparison: &Comparison,
    caption: &BearingCaption<'_>,
    inside: f64,
) -> Result<Vec<Mark>, Error> {
    let rest = ": row bearings compared";
    let room = inside - width_mm(rest, TITLE)?;
    let name = shorten(&printable(site.name.as_str()), TITLE, room)?;
    let under = shorten(&subtitle(site, comparison, caption), BODY, inside)?;
    Ok(vec![
        letters((MARGIN_MM, MARGIN_MM + 5.4), format!("{name}{rest}"), TITLE, (Anchor::Start, INK)),
        letters((MARGIN_MM, MARGIN_MM + 11.6), under, BODY, (Anchor::Start, SOFT_INK)),
        line([MARGIN_MM, MARGIN_MM + inside], [MARGIN_MM + 14.6; 2], (RULE, 0.25, None)),
    ])
}

fn subtitle(site: &Site, comparison: &Comparison, caption: &BearingCaption<'_>) -> String {
    let rules = &site.rules;
    let length = |metres: crate::units::Metres| match caption.units {
        ReadingUnits::Metric => format!("{} m", words::number(metres.metres(), 2)),
        ReadingUnits::Us => format!("{} ft", words::number(metres.feet(), 2)),
    };
    let mut text = format!(
        "Rows {} and vines {} apart, headland {}; {} bearings from true north",
        length(rules.row_spacing),
        length(rules.vine_spacing),
        length(rules.headland),
        comparison.candidates.len(),
    );
    if let Some([first, last]) = caption.days {
        let [first, last] = [first, last].map(|day| words::date(day, caption.units));
        text += &format!("; sun {first} to {last}");
    }
    text
}

/// The block's own bearing and that of its longest edge, as lines through all charts.
fn marked(
    comparison: &Comparison,
    axis: Axis,
    [top, bottom]: [f64; 2],
) -> Result<Vec<Mark>, Error> {
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
        let x = axis.at(candidate.axis().degrees());
        marks.push(line([x; 2], [top - above - 3.2, bottom], stroke));
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
