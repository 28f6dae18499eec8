//! Several years side by side: a map of shoot density for each of the last ones, all in the same
//! classes, and below them the means of the zones year by year with their intervals.

mod chart;
mod legend;
mod maps;

use crate::{
    error::Error,
    picture::{
        Caption, Mark, PaperPoint, Scene,
        classes::{Classes, Limits},
        density,
        drawings::HeatMap,
        furniture::{Furniture, SMALL},
        heading::{head, rule},
        in_black::in_black,
        lettering::{printable, wrap},
        map::Area,
        page::MARGIN_MM,
        style::Ink,
        subject::Subject,
        words,
    },
    plan::{Evidence, Plan},
    season::{Comparison, Part},
};

/// A year that is drawn.
#[derive(Debug, Clone, Copy)]
pub struct SeasonYearMap<'a> {
    /// The year.
    pub year: i16,
    /// What was found out from its counts.
    pub evidence: Evidence<'a>,
    /// Its plan.
    pub plan: &'a Plan,
}

/// Most maps beside each other.
const MOST_MAPS: usize = 4;
/// Where what is below the head begins.
const TOP_MM: f64 = 18.0;
/// Height of what is below the maps.
const BELOW_MM: f64 = 74.0;
/// Paper between the maps and what is below them.
const APART_MM: f64 = 3.0;
/// Width of the legend.
const LEGEND_MM: f64 = 84.0;
/// Paper between legend and chart.
const GUTTER_MM: f64 = 8.0;

/// A year's map with the classes that all of them share.
struct YearMap {
    year: i16,
    subject: Subject,
}

/// The last years that have an estimate, at most four, side by side; `None` where none has.
///
/// # Errors
/// Only by a fault of the program.
pub fn season_scene(
    years: &[SeasonYearMap<'_>],
    comparison: &Comparison,
    caption: &Caption,
) -> Result<Option<Scene>, Error> {
    let maps = year_maps(years, comparison, caption);
    let (Some(first), Some(last)) = (maps.first(), maps.last()) else { return Ok(None) };
    let [short, long] = caption.paper.sides_mm();
    let paper_mm = [long, short];
    let quantity = "shoots by year";
    let unit = words::shoots(caption.units).unit;
    let subtitle = if first.year == last.year {
        format!("{} of canopy, {}", crate::names::capital(&unit), last.year)
    } else {
        let capital = crate::names::capital(&unit);
        format!(
            "{capital} of canopy, {} to {}; zones are those of {}",
            first.year, last.year, last.year
        )
    };
    let block = &last.subject.block;
    let mut marks = head((block, quantity), &subtitle, paper_mm)?;
    let (foot, foot_mm) = foot(paper_mm)?;
    let whole = Area {
        corner: PaperPoint::new(MARGIN_MM, MARGIN_MM + TOP_MM),
        width_mm: paper_mm[0] - 2.0 * MARGIN_MM,
        height_mm: paper_mm[1] - 2.0 * MARGIN_MM - TOP_MM - foot_mm,
    };
    let (drawn, legend, below_mm) = fitted(&maps, whole)?;
    marks.extend(drawn.marks);
    let y_mm = whole.corner.y_mm + whole.height_mm - below_mm + APART_MM;
    marks.extend(legend.at(PaperPoint::new(MARGIN_MM, y_mm)));
    let left = MARGIN_MM + LEGEND_MM + GUTTER_MM;
    let area = Area {
        corner: PaperPoint::new(left, y_mm),
        width_mm: paper_mm[0] - MARGIN_MM - left,
        height_mm: below_mm - APART_MM - 2.0,
    };
    marks.extend(chart::chart(&names(comparison, last), comparison, caption.units, area)?);
    marks.extend(foot);
    Ok(Some(Scene { paper_mm, title: format!("{block}: {quantity}"), marks }))
}

/// The maps and their legend, and the height of what is below the maps: more than usual where the
/// legend needs it.
fn fitted(maps: &[YearMap], whole: Area) -> Result<(maps::Drawn, Furniture, f64), Error> {
    let drawn = |below_mm: f64| -> Result<(maps::Drawn, Furniture, f64), Error> {
        let above = Area { height_mm: whole.height_mm - below_mm, ..whole };
        let drawn = maps::draw(maps, above)?;
        let legend = legend::legend(maps, (&drawn.placement, drawn.size), LEGEND_MM)?;
        Ok((drawn, legend, below_mm))
    };
    let usual = drawn(BELOW_MM)?;
    let needed = usual.1.height_mm + APART_MM;
    if needed > BELOW_MM { drawn(needed) } else { Ok(usual) }
}

const CAUTION: &str = "An estimate: each year from its own counts alone. A change says nothing of its cause. Check on \
     the vines before cutting. Local advice goes first.";

fn foot(paper_mm: [f64; 2]) -> Result<(Vec<Mark>, f64), Error> {
    let width = paper_mm[0] - 2.0 * MARGIN_MM;
    let height =
        3.0 + 1.32 * SMALL.size_mm * crate::maths::float(wrap(CAUTION, SMALL, width)?.len());
    let top = paper_mm[1] - MARGIN_MM - height;
    let mut text = Furniture::default();
    text.paragraph(CAUTION, SMALL, (width, super::colours::INK))?;
    let marks = text.at(PaperPoint::new(MARGIN_MM, top + 2.0));
    Ok((std::iter::once(rule(paper_mm, top)).chain(marks).collect(), height))
}

/// The subjects of the years that have an estimate, in one set of classes, with the latest zones.
fn year_maps(
    years: &[SeasonYearMap<'_>],
    comparison: &Comparison,
    caption: &Caption,
) -> Vec<YearMap> {
    let drawn = years.iter().filter(|year| surface(year).iter().any(Option::is_some));
    let mut drawn: Vec<&SeasonYearMap<'_>> = drawn.collect();
    drawn.drain(..drawn.len().saturating_sub(MOST_MAPS));
    let surfaces: Vec<f64> = drawn.iter().flat_map(|year| surface(year)).flatten().collect();
    let Some(limits) = density::limits(&surfaces, caption.units) else { return Vec::new() };
    let zones = years.last().and_then(|latest| subject(latest, caption)).map(|own| own.zones);
    let one = |year: &&SeasonYearMap<'_>| {
        let mut subject = subject(year, caption)?;
        subject.classes = classes(year, limits, caption)?;
        subject.zones = zones.clone()?;
        for (zone, part) in subject.zones.iter_mut().zip(&comparison.parts) {
            zone.words = mean_words(part, year.year, caption);
        }
        Some(YearMap { year: year.year, subject })
    };
    drawn.iter().filter_map(one).collect()
}

fn subject(year: &SeasonYearMap<'_>, caption: &Caption) -> Option<Subject> {
    Subject::of(HeatMap::ShootDensity, year.evidence, year.plan, caption)
}

fn surface(year: &SeasonYearMap<'_>) -> Vec<Option<f64>> {
    let vines = year.evidence.estimate.shoots.vines.iter();
    vines.map(|vine| vine.map(|vine| vine.surface_per_m)).collect()
}

fn classes(year: &SeasonYearMap<'_>, limits: Limits, caption: &Caption) -> Option<Classes> {
    let targets = density::targets(year.evidence, year.plan);
    let records = &year.evidence.joined.vines;
    let classes =
        density::classes_within(&surface(year), &targets, records, (caption.units, limits))?;
    Some(match caption.style.ink {
        Ink::Colour => classes,
        Ink::Black => in_black(classes),
    })
}

/// The mean of a part in a year: `23.5/m`.
fn mean_words(part: &Part, year: i16, caption: &Caption) -> String {
    let reading = words::shoots(caption.units);
    let mean = part.years.iter().find(|own| own.year == year).and_then(|own| own.shoots);
    mean.map_or_else(
        || "no estimate".to_owned(),
        |mean| format!("{:.1}{}", mean.per_m * reading.factor, reading.short),
    )
}

/// The names of the parts under the chart.
fn names(comparison: &Comparison, last: &YearMap) -> Vec<String> {
    let name = |part: &Part| {
        let zone = part.zone.and_then(|zone| last.subject.zones.get(zone));
        zone.map_or_else(|| "block".to_owned(), |zone| printable(&zone.name))
    };
    comparison.parts.iter().map(name).collect()
}
