//! A chart of points: scales, grid and the letters beside them.

use crate::{
    maths::{float, whole},
    picture::{
        Anchor, Colour, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER, RULE, SOFT_INK},
        furniture::{BODY, SMALL},
        map::Area,
        words,
    },
};

/// Paper above the chart itself: heading, and a lane for what is marked.
const ABOVE_MM: f64 = 12.5;
/// Paper at its left for numbers.
const LEFT_MM: f64 = 9.0;
/// Paper below it for numbers and the words of the axis.
const BELOW_MM: f64 = 10.5;

/// A scale along one side of a chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    low: f64,
    high: f64,
    step: f64,
    from_mm: f64,
    to_mm: f64,
}

/// A chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Chart {
    pub(super) x: Scale,
    pub(super) y: Scale,
    left_mm: f64,
}

impl Scale {
    /// From low to high in at most so many even steps; it begins and ends with a step.
    fn new([low, high]: [f64; 2], most_steps: f64) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        let step = even_step((high - low) / most_steps);
        let (low, high) = ((low / step).floor() * step, (high / step).ceil() * step);
        Self { low, high, step, from_mm: 0.0, to_mm: 0.0 }
    }

    const fn between(self, [from_mm, to_mm]: [f64; 2]) -> Self {
        Self { from_mm, to_mm, ..self }
    }

    /// Where a value lies on paper.
    pub(super) fn at(self, value: f64) -> f64 {
        self.from_mm + (value - self.low) / (self.high - self.low) * (self.to_mm - self.from_mm)
    }

    /// Both ends of the scale.
    pub(super) const fn ends(self) -> [f64; 2] {
        [self.low, self.high]
    }

    /// The step, the ends and what lies between.
    pub(super) fn ticks(self) -> impl Iterator<Item = f64> {
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

impl Chart {
    /// A chart in an area of the page; `right_mm` is kept free for letters at its right.
    pub(super) fn new(area: Area, x: [f64; 2], y: [f64; 2], right_mm: f64) -> Self {
        let corner = area.corner;
        let across = [corner.x_mm + LEFT_MM, corner.x_mm + area.width_mm - right_mm];
        let down = [corner.y_mm + area.height_mm - BELOW_MM, corner.y_mm + ABOVE_MM];
        let steps = |length: f64, each: f64| (length.abs() / each).floor().clamp(2.0, 10.0);
        Self {
            x: Scale::new(x, steps(across[1] - across[0], 13.0)).between(across),
            y: Scale::new(y, steps(down[0] - down[1], 9.0)).between(down),
            left_mm: corner.x_mm,
        }
    }

    /// A place of the chart on paper.
    pub(super) fn point(&self, x: f64, y: f64) -> PaperPoint {
        PaperPoint::new(self.x.at(x), self.y.at(y))
    }

    /// Where its left and right, and its lower and upper edge lie.
    pub(super) const fn edges(&self) -> ([f64; 2], [f64; 2]) {
        ([self.x.from_mm, self.x.to_mm], [self.y.from_mm, self.y.to_mm])
    }

    /// Base line of the heading.
    pub(super) fn heading_base(&self) -> f64 {
        self.y.to_mm - ABOVE_MM + 4.2
    }

    /// Grid, numbers, the heading above and the words of the axis below.
    pub(super) fn frame(&self, heading: &str, below: &str) -> Vec<Mark> {
        let (across, down) = self.edges();
        let bold = Hand { bold: true, ..BODY };
        let mut marks = Vec::new();
        for value in self.x.ticks() {
            let x = self.x.at(value);
            marks.push(line([x; 2], down, (RULE, 0.12, None)));
            let number = words::number(value, 2);
            marks.push(letters((x, down[0] + 4.2), number, SMALL, (Anchor::Middle, SOFT_INK)));
        }
        for value in self.y.ticks() {
            let y = self.y.at(value);
            marks.push(line(across, [y; 2], (RULE, 0.12, None)));
            let number = words::number(value, 2);
            marks.push(letters((across[0] - 1.6, y + 1.1), number, SMALL, (Anchor::End, SOFT_INK)));
        }
        let top = (self.left_mm, self.heading_base());
        marks.push(letters(top, heading.to_owned(), bold, (Anchor::Start, INK)));
        let foot = (f64::midpoint(across[0], across[1]), down[0] + 8.6);
        marks.push(letters(foot, below.to_owned(), SMALL, (Anchor::Middle, INK)));
        marks
    }
}

/// Colour, width and dashes of a line.
pub(super) type Pen = (Colour, f64, Option<[f64; 2]>);

pub(super) fn line([left, right]: [f64; 2], [from, to]: [f64; 2], pen: Pen) -> Mark {
    path(vec![PaperPoint::new(left, from), PaperPoint::new(right, to)], pen)
}

pub(super) fn path(points: Vec<PaperPoint>, (colour, width_mm, dash_mm): Pen) -> Mark {
    let stroke = Some(Stroke { colour, width_mm, dash_mm });
    Mark::Shape(Shape { outlines: vec![Outline::Line(points)], fill: None, stroke })
}

pub(super) fn letters(
    (x_mm, y_mm): (f64, f64),
    words: String,
    hand: Hand,
    (anchor, colour): (Anchor, Colour),
) -> Mark {
    Mark::Lettering(Lettering::level(PaperPoint::new(x_mm, y_mm), words, hand, (anchor, colour)))
}

/// Marks of one kind at some places.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dot {
    /// A filled disc.
    Disc,
    /// A triangle.
    Triangle,
    /// An open square.
    Square,
}

impl Dot {
    /// Such marks, each with a rim, so that those that meet are still told apart.
    pub(super) fn at(self, places: &[PaperPoint], radius_mm: f64, colour: Colour) -> Vec<Mark> {
        let (fill, rim, width_mm) = match self {
            Self::Disc | Self::Triangle => (colour, PAPER, 0.2),
            Self::Square => (PAPER, colour, 0.4),
        };
        let stroke = Some(Stroke { colour: rim, width_mm, dash_mm: None });
        let one = |at: &PaperPoint| {
            let outlines = vec![self.outline(*at, radius_mm)];
            Mark::Shape(Shape { outlines, fill: Some(fill), stroke })
        };
        places.iter().map(one).collect()
    }

    fn outline(self, at: PaperPoint, radius_mm: f64) -> Outline {
        match self {
            Self::Disc => Outline::Disc { centre: at, radius_mm },
            Self::Triangle => around(at, radius_mm, &[(0.0, -1.2), (1.05, 0.8), (-1.05, 0.8)]),
            Self::Square => {
                let corners = [(-0.85, -0.85), (0.85, -0.85), (0.85, 0.85), (-0.85, 0.85)];
                around(at, radius_mm, &corners)
            }
        }
    }
}

fn around(at: PaperPoint, radius_mm: f64, corners: &[(f64, f64)]) -> Outline {
    let corner =
        |(x, y): &(f64, f64)| PaperPoint::new(at.x_mm + x * radius_mm, at.y_mm + y * radius_mm);
    Outline::Ring(corners.iter().map(corner).collect())
}
