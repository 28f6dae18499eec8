//! The means of the zones and of the block, year by year, with their 90 % intervals.

use crate::{
    error::Error,
    maths::float,
    picture::{
        Anchor, Colour, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        classes::Limits,
        colours::{INK, PAPER, RULE, SOFT_INK},
        furniture::{BODY, SMALL},
        lettering::shorten,
        map::Area,
        words,
    },
    season::{Comparison, Part, PartYear},
    units::ReadingUnits,
};

/// Paper above the chart for its heading.
const ABOVE_MM: f64 = 8.0;
/// Paper at its left for numbers.
const LEFT_MM: f64 = 9.0;
/// Paper below it for years and names.
const BELOW_MM: f64 = 11.0;
/// Most steps of its scale.
const MOST_STEPS: usize = 8;
/// Farthest apart that two years of a part stand.
const MOST_APART_MM: f64 = 12.0;

/// A chart in an area of the page; `names` are those of the parts.
pub(super) fn chart(
    names: &[String],
    comparison: &Comparison,
    units: ReadingUnits,
    area: Area,
) -> Result<Vec<Mark>, Error> {
    let factor = words::shoots(units).factor;
    let ends: Vec<f64> = (comparison.parts.iter())
        .flat_map(|part| part.years.iter().filter_map(|year| year.shoots))
        .flat_map(|mean| [mean.lo90 * factor, mean.hi90 * factor])
        .collect();
    let Some(limits) = Limits::around(&ends, 0.25, MOST_STEPS) else { return Ok(Vec::new()) };
    let chart = Chart { area, limits, factor };
    let mut marks = chart.frame();
    let wide = (area.width_mm - LEFT_MM) / float(comparison.parts.len());
    for (at, (part, name)) in comparison.parts.iter().zip(names).enumerate() {
        let middle = area.corner.x_mm + LEFT_MM + (float(at) + 0.5) * wide;
        marks.extend(chart.part(part, name, (middle, wide))?);
    }
    Ok(marks)
}

struct Chart {
    area: Area,
    limits: Limits,
    factor: f64,
}

impl Chart {
    fn foot(&self) -> f64 {
        self.area.corner.y_mm + self.area.height_mm - BELOW_MM
    }

    /// Where a value of the scale lies.
    fn y(&self, value: f64) -> f64 {
        let height = self.area.height_mm - ABOVE_MM - BELOW_MM;
        let whole = self.limits.step * float(self.limits.classes);
        self.foot() - (value - self.limits.start) / whole * height
    }

    /// Heading, grid and numbers.
    fn frame(&self) -> Vec<Mark> {
        let corner = self.area.corner;
        let bold = Hand { bold: true, ..BODY };
        let heading = "Means by year with their 90 % ranges";
        let mut marks =
            vec![letters((corner.x_mm, corner.y_mm + 4.0), heading, bold, (Anchor::Start, INK))];
        let ends = [corner.x_mm + LEFT_MM, corner.x_mm + self.area.width_mm];
        for at in 0..=self.limits.classes {
            let value = self.limits.start + self.limits.step * float(at);
            let y = self.y(value);
            marks.push(line(ends.map(|x| PaperPoint::new(x, y)).to_vec(), (RULE, 0.12)));
            let at = (ends[0] - 1.6, y + 1.1);
            let number = words::number(value, 2);
            marks.push(letters(at, &number, SMALL, (Anchor::End, SOFT_INK)));
        }
        marks
    }

    fn part(
        &self,
        part: &Part,
        name: &str,
        (middle, wide): (f64, f64),
    ) -> Result<Vec<Mark>, Error> {
        let apart = (wide / (float(part.years.len()) + 0.6)).min(MOST_APART_MM);
        let x = |at: usize| middle + (float(at) - 0.5 * (float(part.years.len()) - 1.0)) * apart;
        let bold = Hand { bold: true, ..SMALL };
        let name = shorten(name, bold, wide - 2.0)?;
        let foot = self.foot();
        let mut marks = vec![letters((middle, foot + 9.2), &name, bold, (Anchor::Middle, INK))];
        let means = part.years.iter().enumerate().filter_map(|(at, year)| {
            let mean = year.shoots?;
            Some(PaperPoint::new(x(at), self.y(mean.per_m * self.factor)))
        });
        let means: Vec<PaperPoint> = means.collect();
        if means.len() > 1 {
            marks.push(line(means, (SOFT_INK, 0.3)));
        }
        for (at, year) in part.years.iter().enumerate() {
            marks.extend(self.year(year, x(at), at + 1 == part.years.len()));
        }
        Ok(marks)
    }

    /// A year: its range, its mean, filled for the latest, and its number below.
    fn year(&self, year: &PartYear, x: f64, is_latest: bool) -> Vec<Mark> {
        let below = format!("{}", year.year);
        let mut marks =
            vec![letters((x, self.foot() + 4.4), &below, SMALL, (Anchor::Middle, SOFT_INK))];
        let Some(mean) = year.shoots else { return marks };
        let at = |value: f64| PaperPoint::new(x, self.y(value * self.factor));
        marks.push(line(vec![at(mean.lo90), at(mean.hi90)], (INK, 0.5)));
        let disc = Outline::Disc { centre: at(mean.per_m), radius_mm: 1.3 };
        let stroke = Some(Stroke { colour: INK, width_mm: 0.4, dash_mm: None });
        let fill = Some(if is_latest { INK } else { PAPER });
        marks.push(Mark::Shape(Shape { outlines: vec![disc], fill, stroke }));
        marks
    }
}

fn letters(
    (x_mm, y_mm): (f64, f64),
    words: &str,
    hand: Hand,
    (anchor, colour): (Anchor, Colour),
) -> Mark {
    Mark::Lettering(Lettering::level(PaperPoint::new(x_mm, y_mm), words, hand, (anchor, colour)))
}

fn line(points: Vec<PaperPoint>, (colour, width_mm): (Colour, f64)) -> Mark {
    let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
    Mark::Shape(Shape { outlines: vec![Outline::Line(points)], fill: None, stroke })
}
