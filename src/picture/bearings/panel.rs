//! One chart: heading, scale, band, lines.

use super::{
    axis::Axis,
    letters, line,
    series::{Panel, Run, Series},
};
use crate::{
    error::Error,
    maths::{float, whole},
    picture::{
        Anchor, Colour, Hand, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, KEPT_OUT, RULE, SOFT_INK, above_target, below_target},
        furniture::{BODY, SMALL},
        lettering::width_mm,
        words,
    },
};

/// Height of the heading.
const HEADING_MM: f64 = 7.0;
/// Paper below a chart.
const BELOW_MM: f64 = 3.0;
/// Length of a sample of a line.
const SAMPLE_MM: f64 = 7.0;
/// Steps of a scale at most.
const MOST_STEPS: f64 = 4.0;

/// The scale of a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    low: f64,
    high: f64,
    step: f64,
    top_mm: f64,
    bottom_mm: f64,
}

/// Where the chart itself lies between two heights of the page.
pub(super) const fn plot_between([top, end]: [f64; 2]) -> [f64; 2] {
    [top + HEADING_MM, end - BELOW_MM]
}

/// A chart with its heading below a height of the page.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn draw(
    panel: &Panel,
    axis: Axis,
    (top, plot): (f64, [f64; 2]),
) -> Result<Vec<Mark>, Error> {
    let Some(scale) = Scale::of(panel, plot) else {
        return Ok(Vec::new());
    };
    let mut marks = band(panel, axis, scale);
    marks.extend(grid(axis, scale));
    for (series, look) in panel.series.iter().zip(looks()) {
        marks.extend(curve(series, look, axis, scale));
    }
    marks.extend(heading(panel, axis, top + 4.4, scale)?);
    Ok(marks)
}

/// Colour and dashes of the first and second line: told apart in black and white too.
fn looks() -> [(Colour, Option<[f64; 2]>); 2] {
    [(below_target()[1], None), (above_target()[1], Some([2.0, 0.9]))]
}

impl Scale {
    fn of(panel: &Panel, [top_mm, bottom_mm]: [f64; 2]) -> Option<Self> {
        let lines = panel.series.iter().flat_map(|series| &series.runs).flatten().map(|(_, v)| *v);
        let band = panel.band.iter().flat_map(|(_, runs)| runs).flatten();
        let values = || lines.clone().chain(band.clone().flat_map(|(_, ends)| *ends));
        let least = values().min_by(f64::total_cmp)?;
        let low = if panel.from_zero { 0.0 } else { least };
        let high = values().max_by(f64::total_cmp)?.max(low + 1.0);
        let step = even_step((high - low) / MOST_STEPS);
        let low = (low / step).floor() * step;
        let high = (high / step).ceil() * step;
        Some(Self { low, high, step, top_mm, bottom_mm })
    }

    fn at(self, value: f64) -> f64 {
        let share = (value - self.low) / (self.high - self.low);
        self.bottom_mm - share * (self.bottom_mm - self.top_mm)
    }

    fn ticks(self) -> impl Iterator<Item = f64> {
        let steps = whole(((self.high - self.low) / self.step).round());
        (0..=steps).map(move |at| self.low + float(at) * self.step)
    }
}

/// The next of 1, 2, 5, 10 … that is no smaller.
fn even_step(least: f64) -> f64 {
    let power = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    steps.into_iter().find(|step| *step >= least * (1.0 - 1e-9)).unwrap_or(10.0 * power)
}

fn grid(axis: Axis, scale: Scale) -> Vec<Mark> {
    let across = [axis.left_mm, axis.right_mm];
    let mut marks: Vec<Mark> = axis
        .ticks()
        .map(|degrees| {
            line([axis.at(degrees); 2], [scale.top_mm, scale.bottom_mm], (RULE, 0.12, None))
        })
        .collect();
    for value in scale.ticks() {
        let y = scale.at(value);
        marks.push(line(across, [y; 2], (RULE, 0.12, None)));
        let number = words::number(value, 2);
        let at = (axis.left_mm - 1.6, y + 1.1);
        marks.push(letters(at, number, SMALL, (Anchor::End, SOFT_INK)));
    }
    marks
}

fn band(panel: &Panel, axis: Axis, scale: Scale) -> Vec<Mark> {
    let ring = |run: &Run<[f64; 2]>| {
        let point = |degrees: f64, value: f64| PaperPoint::new(axis.at(degrees), scale.at(value));
        let upper = run.iter().map(|(degrees, ends)| point(*degrees, ends[1]));
        let lower = run.iter().rev().map(|(degrees, ends)| point(*degrees, ends[0]));
        Outline::Ring(upper.chain(lower).collect())
    };
    let rings = panel.band.iter().flat_map(|(_, runs)| runs).map(ring).collect();
    vec![Mark::Shape(Shape { outlines: rings, fill: Some(KEPT_OUT), stroke: None })]
}

fn curve(series: &Series, look: (Colour, Option<[f64; 2]>), axis: Axis, scale: Scale) -> Vec<Mark> {
    let (colour, dash_mm) = look;
    let point =
        |(degrees, value): &(f64, f64)| PaperPoint::new(axis.at(*degrees), scale.at(*value));
    let (single, longer): (Vec<_>, Vec<_>) = series.runs.iter().partition(|run| run.len() < 2);
    let lines = longer.iter().map(|run| Outline::Line(run.iter().map(point).collect())).collect();
    let dots = single.iter().filter_map(|run| run.first());
    let dots = dots.map(|at| Outline::Disc { centre: point(at), radius_mm: 0.7 }).collect();
    let stroke = Some(Stroke { colour, width_mm: 0.55, dash_mm });
    vec![
        Mark::Shape(Shape { outlines: lines, fill: None, stroke }),
        Mark::Shape(Shape { outlines: dots, fill: Some(colour), stroke: None }),
    ]
}

/// The heading at the left, samples of the lines and of the band at the right.
fn heading(panel: &Panel, axis: Axis, base: f64, scale: Scale) -> Result<Vec<Mark>, Error> {
    let bold = Hand { bold: true, ..BODY };
    let start = axis.left_mm - 15.0;
    let mut marks = vec![letters((start, base), panel.heading.clone(), bold, (Anchor::Start, INK))];
    if scale.low > 0.0 {
        let x = start + width_mm(&panel.heading, bold)? + 3.0;
        let words = "(scale does not start at 0)".to_owned();
        marks.push(letters((x, base), words, SMALL, (Anchor::Start, SOFT_INK)));
    }
    let mut right = axis.right_mm;
    let band = panel.band.as_ref().map(|(words, _)| (words.as_str(), None));
    let lines = panel.series.iter().zip(looks()).map(|(s, look)| (s.words.as_str(), Some(look)));
    for (words, look) in lines.chain(band).collect::<Vec<_>>().into_iter().rev() {
        marks.push(letters((right, base), words.to_owned(), SMALL, (Anchor::End, INK)));
        let end = right - width_mm(words, SMALL)? - 1.6;
        marks.push(sample(look, [end - SAMPLE_MM, end], base - 1.1));
        right = end - SAMPLE_MM - 5.0;
    }
    Ok(marks)
}

fn sample(look: Option<(Colour, Option<[f64; 2]>)>, [left, right]: [f64; 2], y: f64) -> Mark {
    let Some((colour, dash)) = look else {
        let corners = [(left, y - 1.4), (right, y - 1.4), (right, y + 1.4), (left, y + 1.4)];
        let ring = Outline::Ring(corners.map(|(x, y)| PaperPoint::new(x, y)).to_vec());
        return Mark::Shape(Shape { outlines: vec![ring], fill: Some(KEPT_OUT), stroke: None });
    };
    line([left, right], [y; 2], (colour, 0.55, dash))
}
