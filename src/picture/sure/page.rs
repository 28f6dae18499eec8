//! The page of plain words.

use super::{
    SureCaption,
    charts::{Detail, scatter, variogram},
    sentences::{
        alike, bias, cannot, counted, coverage, observers, of_a_vine, of_the_block, one_vine,
    },
};
use crate::{
    error::Error,
    estimate::sure::Sure,
    finding::Finding,
    names::capital,
    picture::{
        Anchor, Hand, Mark, PaperPoint, Scene,
        colours::{INK, RULE, SOFT_INK},
        furniture::{BODY, Furniture, HEADING, SMALL},
        lettering::{printable, shorten, width_mm},
        map::Area,
        page::MARGIN_MM,
        sure::chart::{letters, line},
        words::{self, Reading},
    },
    units::ReadingUnits,
};

/// The title.
const TITLE: Hand = Hand { size_mm: 6.4, bold: true };
/// Height of title and subtitle.
const HEAD_MM: f64 = 17.0;
/// Paper between the charts.
const GUTTER_MM: f64 = 8.0;
/// Least and greatest height of the charts.
const CHART_MM: [f64; 2] = [52.0, 104.0];
/// More zones than this are told by their widest and narrowest range.
const MOST_ZONES: usize = 8;
/// What the page must not be taken for.
const CAUTION: &str = "An estimate from counts on some vines. Look at the vines before cutting. \
                       Local advice goes first. Nothing here speaks of slopes, heat or where machines \
                       can go: judge these on the day.";

/// The page, for PDF and PNG.
///
/// # Errors
/// Only by a fault of the program.
pub fn how_sure_scene(sure: &Sure, caption: &SureCaption<'_>) -> Result<Scene, Error> {
    let paper_mm = caption.paper.sides_mm();
    let inside = paper_mm[0] - 2.0 * MARGIN_MM;
    let (mut marks, top) = head(caption, "how sure are we", sure, paper_mm)?;
    let mut foot = Furniture::default();
    foot.paragraph(CAUTION, SMALL, (inside, INK))?;
    let foot_top = paper_mm[1] - MARGIN_MM - foot.height_mm;
    let said = said(sure, caption, inside)?;
    let words_top = top + said.height_mm + 3.0;
    let least = warnings(sure, inside, f64::MAX)?.height_mm;
    let left = foot_top - 4.0 - words_top;
    let shown = !sure.foretold.is_empty();
    let chart_mm = if shown { (left - least).clamp(CHART_MM[0], CHART_MM[1]) } else { 0.0 };
    marks.extend(said.at(PaperPoint::new(MARGIN_MM, top)));
    if shown {
        let row = Area {
            corner: PaperPoint::new(MARGIN_MM, words_top),
            width_mm: inside,
            height_mm: chart_mm - 3.0,
        };
        marks.extend(charts(sure, caption, row)?);
    }
    let doubts = warnings(sure, inside, left - chart_mm)?;
    marks.extend(doubts.at(PaperPoint::new(MARGIN_MM, words_top + chart_mm)));
    marks.extend(paper_area(paper_mm, foot_top - 1.5));
    marks.extend(foot.at(PaperPoint::new(MARGIN_MM, foot_top)));
    let title = format!("{}: how sure are we", printable(caption.block));
    Ok(Scene { paper_mm, title, marks })
}

/// Title and subtitle with a line below, and where the rest of the page begins.
pub(super) fn head(
    caption: &SureCaption<'_>,
    what: &str,
    sure: &Sure,
    paper_mm: [f64; 2],
) -> Result<(Vec<Mark>, f64), Error> {
    let inside = paper_mm[0] - 2.0 * MARGIN_MM;
    let rest = format!(": {what}");
    let name = printable(caption.block);
    let name = shorten(&name, TITLE, inside - width_mm(&rest, TITLE)?)?;
    let date = caption.date.map_or_else(
        || "without a date".to_owned(),
        |date| format!("as of {}", words::date(date, caption.units)),
    );
    let counts = words::count_of(sure.counts, "count", "counts");
    let unit = capital(&words::shoots(caption.units).unit);
    let under = shorten(&format!("{unit} of canopy, {counts}, {date}"), BODY, inside)?;
    let marks = vec![
        letters((MARGIN_MM, MARGIN_MM + 5.4), format!("{name}{rest}"), TITLE, (Anchor::Start, INK)),
        letters((MARGIN_MM, MARGIN_MM + 11.6), under, BODY, (Anchor::Start, SOFT_INK)),
        line([MARGIN_MM, MARGIN_MM + inside], [MARGIN_MM + 14.4; 2], (RULE, 0.25, None)),
    ];
    Ok((marks, MARGIN_MM + HEAD_MM))
}

/// The line above the foot of a page.
pub(super) fn paper_area([width, _]: [f64; 2], y: f64) -> Vec<Mark> {
    vec![line([MARGIN_MM, width - MARGIN_MM], [y; 2], (RULE, 0.25, None))]
}

/// Everything that is said in words.
fn said(sure: &Sure, caption: &SureCaption<'_>, inside: f64) -> Result<Furniture, Error> {
    let mut said = Furniture::default();
    for (heading, paragraphs) in sure_sections(sure, caption.zones, caption.units) {
        title(&mut said, heading);
        for words in &paragraphs {
            said.paragraph(words, BODY, (inside, INK))?;
        }
        said.space(1.2);
    }
    Ok(said)
}

/// How sure the estimate is: headings, each with its sentences; only those with something to say.
pub fn sure_sections(
    sure: &Sure,
    zones: &[(String, [f64; 3])],
    units: ReadingUnits,
) -> Vec<(&'static str, Vec<String>)> {
    let reading = words::shoots(units);
    let tested = [one_vine(sure, &reading), coverage(sure), bias(sure, &reading)];
    let may = [of_a_vine(sure, &reading), of_zones(zones, &reading), of_the_block(sure, &reading)];
    let pattern = sure.variogram.as_ref().map(|drawn| alike(drawn, &reading, units));
    let counts: Vec<String> = std::iter::once(counted(sure)).chain(observers(sure)).collect();
    let sections = [
        ("What was counted", counts),
        ("How well a vine is foretold", tested.into_iter().flatten().collect()),
        ("What may be said", may.into_iter().flatten().collect()),
        ("How alike vines are", pattern.into_iter().collect()),
        ("What cannot be known", cannot(sure).into_iter().collect()),
    ];
    sections.into_iter().filter(|(_, found)| !found.is_empty()).collect()
}

fn title(under: &mut Furniture, words: &str) {
    under.letter((0.0, 1.15 * HEADING.size_mm), words, HEADING, (Anchor::Start, INK));
    under.height_mm += 1.5 * HEADING.size_mm;
}

/// What may be said of zones.
fn of_zones(zones: &[(String, [f64; 3])], reading: &Reading) -> Option<String> {
    let read = |per_m: f64| format!("{:.1}", per_m * reading.factor);
    if zones.len() <= MOST_ZONES {
        let each = zones.iter().map(|(id, [mean, low, high])| {
            format!("{id} {} ({} to {})", read(*mean), read(*low), read(*high))
        });
        let each: Vec<String> = each.collect();
        return (!each.is_empty()).then(|| {
            format!("Zones, with the range that should hold nine in ten: {}.", each.join(", "))
        });
    }
    let halves = || zones.iter().map(|(_, [_, low, high])| 0.5 * (high - low));
    let (least, most) = (halves().fold(f64::MAX, f64::min), halves().fold(0.0, f64::max));
    Some(format!(
        "Means of {} zones: give or take {} to {} {}, see zones.csv.",
        zones.len(),
        read(least),
        read(most),
        reading.unit
    ))
}

/// The charts side by side; one alone stands at the left.
fn charts(sure: &Sure, caption: &SureCaption<'_>, row: Area) -> Result<Vec<Mark>, Error> {
    let reading = words::shoots(caption.units);
    let width_mm = 0.5 * (row.width_mm - GUTTER_MM);
    let left = Area { width_mm, ..row };
    let corner = PaperPoint::new(row.corner.x_mm + width_mm + GUTTER_MM, row.corner.y_mm);
    let mut marks = scatter(&sure.foretold, &reading, left);
    if let Some(drawn) = &sure.variogram {
        let right = Area { corner, ..left };
        marks.extend(variogram(drawn, (&reading, caption.units), right, Detail::Plain)?);
    }
    Ok(marks)
}

/// What is doubtful, as far as it has room; the rest is named.
fn warnings(sure: &Sure, inside: f64, room_mm: f64) -> Result<Furniture, Error> {
    let all = &sure.warnings;
    let mut list = Furniture::default();
    title(&mut list, "What to mind");
    if all.is_empty() && sure.counts == 0 {
        list.paragraph("No count of shoots is used: nothing can be said.", BODY, (inside, INK))?;
        return Ok(list);
    }
    if all.is_empty() {
        let none = "The places of the counts, their coverage and those who counted give no cause for \
                    doubt. That is not a proof.";
        list.paragraph(none, BODY, (inside, INK))?;
        return Ok(list);
    }
    let rest_mm = 1.4 * BODY.size_mm;
    for (at, finding) in all.iter().enumerate() {
        let mut next = Furniture::default();
        next.paragraph(&finding_words(finding), BODY, (inside - 4.0, INK))?;
        next.space(0.8);
        let last = at + 1 == all.len();
        if list.height_mm + next.height_mm + if last { 0.0 } else { rest_mm } > room_mm {
            let more = words::count_of(all.len() - at, "warning", "warnings");
            let words = format!("{more} more: thinning.json has every one.");
            list.paragraph(&words, BODY, (inside, INK))?;
            return Ok(list);
        }
        list.letter((0.0, 1.05 * BODY.size_mm), "•", BODY, (Anchor::Start, INK));
        let foot = PaperPoint::new(4.0, list.height_mm);
        list.height_mm += next.height_mm;
        list.marks.extend(next.at(foot));
    }
    Ok(list)
}

/// A finding in sentences that a grower reads.
pub(crate) fn finding_words(finding: &Finding) -> String {
    let parts = [&finding.what, &finding.why, &finding.mend];
    let said = parts.into_iter().filter(|part| !part.is_empty());
    let said: Vec<String> =
        said.map(|part| format!("{}.", capital(&printable(part).replace('`', "")))).collect();
    said.join(" ")
}
