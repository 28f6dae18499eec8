//! The two charts: counted against foretold, and differences by distance.

use super::{
    chart::{Chart, Dot, letters, line, path},
    sentences::{reach_words, round_length},
};
use crate::{
    error::Error,
    estimate::variogram::{Bin, Variogram},
    picture::{
        Anchor, Colour, Mark, PaperPoint,
        colours::{INK, SOFT_INK, above_target, below_target},
        furniture::SMALL,
        lettering::width_mm,
        map::Area,
        words::{self, Reading},
    },
    units::{METRES_PER_FOOT, Metres, ReadingUnits},
};

/// Steps of the drawn curve.
const STEPS: u16 = 120;
/// More counts than this have smaller dots.
const MANY: usize = 300;

/// Counted against what the others foretold: on the line it was foretold exactly.
pub(super) fn scatter(foretold: &[[f64; 2]], reading: &Reading, area: Area) -> Vec<Mark> {
    let values = || foretold.iter().flatten().map(|value| value * reading.factor);
    let low = values().fold(f64::MAX, f64::min);
    let high = values().fold(f64::MIN, f64::max);
    let chart = Chart::new(area, [low, high], [low, high], 3.0);
    let mut marks = chart.frame("Counted (upwards) and foretold", "foretold from the other counts");
    let ([left, right], [bottom, top]) = (chart.x.ends(), chart.y.ends());
    let (least, most) = (left.max(bottom), right.min(top));
    marks.push(path(
        vec![chart.point(least, least), chart.point(most, most)],
        (SOFT_INK, 0.4, None),
    ));
    let places: Vec<PaperPoint> = foretold
        .iter()
        .map(|[foretold, counted]| chart.point(foretold * reading.factor, counted * reading.factor))
        .collect();
    let radius_mm = if places.len() > MANY { 0.6 } else { 1.0 };
    marks.extend(Dot::Disc.at(&places, radius_mm, below_target()[1]));
    let above = (chart.edges().0[0], chart.edges().1[1] - 2.0);
    let words = format!("{}; the line: counted as foretold", reading.unit);
    marks.push(letters(above, words, SMALL, (Anchor::Start, SOFT_INK)));
    marks
}

/// How a variogram is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// Points and curve.
    Plain,
    /// Numbers of pairs, the half mean square at the right, directions apart.
    Full,
}

/// Typical differences by distance, with the fitted curve.
pub(super) fn variogram(
    drawn: &Variogram,
    (reading, units): (&Reading, ReadingUnits),
    area: Area,
    detail: Detail,
) -> Result<Vec<Mark>, Error> {
    let length = match units {
        ReadingUnits::Metric => 1.0,
        ReadingUnits::Us => 1.0 / METRES_PER_FOOT,
    };
    let differ = |gamma: f64| (2.0 * gamma.max(0.0)).sqrt() * reading.factor;
    let full = detail == Detail::Full;
    let bins = || drawn.all.iter().chain(drawn.by_way.iter().flatten().flatten().filter(|_| full));
    let curve = differ(drawn.curve(drawn.rules.cutoff_m));
    let high = bins().map(|bin| differ(bin.gamma)).fold(curve, f64::max);
    let far = drawn.rules.cutoff_m * length;
    let chart = Chart::new(area, [0.0, far], [0.0, high], if full { 20.0 } else { 3.0 });
    let below = format!("{} from one count to the other", full_unit(units));
    let heading = format!("How much two counts differ, {}", reading.unit);
    let mut marks = chart.frame(&heading, &below);
    let at = |metres: f64, gamma: f64| chart.point(metres * length, differ(gamma));
    marks.extend(reach(drawn, &chart, (length, units))?);
    let steps = (1..=STEPS).map(|step| f64::from(step) / f64::from(STEPS) * drawn.rules.cutoff_m);
    let points = steps.map(|metres| at(metres, drawn.curve(metres)));
    let start = at(0.0, drawn.curve(0.0));
    marks.push(path(std::iter::once(start).chain(points).collect(), (INK, 0.55, None)));
    let dots = |bins: &[Bin]| -> Vec<PaperPoint> {
        bins.iter().map(|bin| at(bin.distance_m, bin.gamma)).collect()
    };
    if let Some([along, across]) = drawn.by_way.as_ref().filter(|_| full) {
        marks.extend(Dot::Triangle.at(&dots(along), 1.2, below_target()[1]));
        marks.extend(Dot::Square.at(&dots(across), 1.2, above_target()[1]));
    }
    marks.extend(Dot::Disc.at(&dots(&drawn.all), 1.15, INK));
    if full {
        marks.extend(half_squares(&chart));
        marks.extend(pairs(drawn, &chart, length));
        marks.extend(samples(drawn, &chart)?);
    }
    Ok(marks)
}

const fn full_unit(units: ReadingUnits) -> &'static str {
    match units {
        ReadingUnits::Metric => "metres",
        ReadingUnits::Us => "feet",
    }
}

/// How far vines resemble each other, in the lane above the chart.
fn reach(
    drawn: &Variogram,
    chart: &Chart,
    (length, units): (f64, ReadingUnits),
) -> Result<Vec<Mark>, Error> {
    let (across, down) = chart.edges();
    let reach_m = drawn.reach_m();
    let base = down[1] - 2.0;
    if reach_m * length > chart.x.ends()[1] {
        let words = if drawn.is_everywhere() {
            "resemblance over the whole block".to_owned()
        } else {
            format!("resemblance farther, to {}", reach_words(reach_m, units))
        };
        return Ok(vec![letters((across[0], base), words, SMALL, (Anchor::Start, INK))]);
    }
    // The line stands where its words say.
    let x = chart.x.at(round_length(Metres::new(reach_m), units)).min(across[1]);
    let short = reach_words(reach_m, units);
    let long = format!("resemblance ends at {short}");
    let room = across[1] - x - 1.5;
    let words = if width_mm(&long, SMALL)? <= room { long } else { short };
    let (place, anchor) = if width_mm(&words, SMALL)? <= room {
        (x + 1.5, Anchor::Start)
    } else {
        (x - 1.5, Anchor::End)
    };
    Ok(vec![
        line([x; 2], [down[0], down[1] - 5.0], (SOFT_INK, 0.4, Some([1.6, 1.1]))),
        letters((place, base), words, SMALL, (anchor, INK)),
    ])
}

/// At the right of each line the half mean square, as variograms are drawn elsewhere.
fn half_squares(chart: &Chart) -> impl Iterator<Item = Mark> {
    let (across, _) = chart.edges();
    chart.y.ticks().map(move |value| {
        let number = words::number(0.5 * value * value, 1);
        let at = (across[1] + 1.6, chart.y.at(value) + 1.1);
        letters(at, number, SMALL, (Anchor::Start, SOFT_INK))
    })
}

/// How many pairs each point rests on, below the points.
fn pairs(drawn: &Variogram, chart: &Chart, length: f64) -> Vec<Mark> {
    let (across, down) = chart.edges();
    let width = drawn.rules.width_m;
    let number = |bin: &Bin| {
        let middle = ((bin.distance_m / width - 1e-9).ceil().max(1.0) - 0.5) * width;
        let at = (chart.x.at(middle * length), down[0] + 13.6);
        letters(at, words::grouped(bin.pairs), SMALL, (Anchor::Middle, SOFT_INK))
    };
    let mut marks: Vec<Mark> = drawn.all.iter().map(number).collect();
    let name = "pairs".to_owned();
    marks.push(letters((across[0] - 1.6, down[0] + 13.6), name, SMALL, (Anchor::End, SOFT_INK)));
    marks
}

/// What the marks are, at the right of the heading.
fn samples(drawn: &Variogram, chart: &Chart) -> Result<Vec<Mark>, Error> {
    let [blue, brown] = [below_target()[1], above_target()[1]];
    let all: [(&str, Option<(Dot, Colour)>); 4] = [
        ("pairs across the rows", Some((Dot::Square, brown))),
        ("pairs along the rows", Some((Dot::Triangle, blue))),
        ("all pairs", Some((Dot::Disc, INK))),
        ("fitted", None),
    ];
    let base = chart.heading_base();
    let mut right = chart.edges().0[1] + 18.0;
    let mut marks = Vec::new();
    for (words, dot) in all.into_iter().skip(if drawn.by_way.is_some() { 0 } else { 2 }) {
        marks.push(letters((right, base), words.to_owned(), SMALL, (Anchor::End, INK)));
        let end = right - width_mm(words, SMALL)? - 2.4;
        let y = base - 1.1;
        marks.extend(match dot {
            Some((dot, colour)) => dot.at(&[PaperPoint::new(end, y)], 1.2, colour),
            None => vec![line([end - 6.0, end + 0.8], [y; 2], (INK, 0.55, None))],
        });
        right = end - if dot.is_some() { 5.0 } else { 9.0 };
    }
    Ok(marks)
}
