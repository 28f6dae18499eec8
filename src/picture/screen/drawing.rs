//! The still drawing: zones filled and hatched by their verdict, rows, what was counted, words.
//!
//! Classes are for the page: `moved` is enlarged, `data-at` keeps its size, `ground`, `zone`, `rows`
//! and `dots` give way to the vines.

use std::fmt::Write as _;

use super::{foot::foot, sheet::Sheet};
use crate::{
    error::Error,
    frame::RowPoint,
    picture::{
        Colour, Mark, Outline, PaperPoint,
        colours::{
            GROUND, KEPT_OUT, NEUTRAL, NO_ESTIMATE, PAPER, RULE, SOFT_INK, above_target,
            below_target,
        },
        furniture::Furniture,
        ground_words::{ground_names, row_numbers},
        labels::Labels,
        looks::Size,
        marks::{lines, measured, measured_places, rings},
        subject::Subject,
        svg::{elements, escaped, path_data, rounded},
        zone_mark::ZoneMark,
    },
    plan::{Evidence, Plan, Verdict},
};

/// The drawing as an SVG element.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn drawing(
    subject: &Subject,
    (evidence, plan): (Evidence<'_>, &Plan),
    sheet: &Sheet,
) -> Result<String, Error> {
    let moved = [
        ground(subject, sheet),
        zones(subject, plan, sheet),
        rows(evidence, sheet),
        dots(subject, sheet),
        borders(subject, sheet),
        words(subject, sheet)?,
    ];
    Ok(format!(
        "{}<g class=\"moved\">{}</g>{}{}</svg>",
        head(subject, sheet),
        moved.concat(),
        cross(sheet),
        foot(sheet, subject.units),
    ))
}

fn head(subject: &Subject, sheet: &Sheet) -> String {
    let zone = |zone: &ZoneMark| format!("{}: {}", zone.name, zone.words);
    let zones: Vec<String> = subject.zones.iter().map(zone).collect();
    let (width, ground) = (rounded(sheet.width_mm), rounded(sheet.height_mm));
    let height = rounded(sheet.height_mm + super::foot::HEIGHT_MM);
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{}\" height=\"{}\" data-ground=\"{ground}\" \
         role=\"img\" aria-labelledby=\"map-title map-words\"><title id=\"map-title\">{}: map of the \
         zones</title><desc id=\"map-words\">{}. The table of zones says more.</desc>{}",
        rounded(10.0 * width),
        rounded(10.0 * height),
        escaped(&subject.block),
        escaped(&zones.join("; ")),
        hatches(),
    )
}

/// A fill for every verdict, told apart without colour: slanting lines, none, dots, a net.
fn hatches() -> String {
    let [orange, _, brown] = above_target();
    let [_, blue] = below_target();
    let slanting = format!("<path d=\"M0 1H2\" stroke=\"{brown}\" stroke-width=\".5\"/>");
    let dots = format!("<circle cx=\"1\" cy=\"1\" r=\".42\" fill=\"{blue}\"/>");
    let net = format!("<path d=\"M0 1H2M1 0V2\" stroke=\"{NO_ESTIMATE}\" stroke-width=\".14\"/>");
    let hatch = |verdict: Verdict, ground: Colour, lines: &str| {
        format!(
            "<pattern id=\"h-{}\" width=\"2\" height=\"2\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate(45)\"><path d=\"M0 0H2V2H0Z\" fill=\"{ground}\"/>{lines}\
             </pattern>",
            verdict.word(),
        )
    };
    let all = [
        hatch(Verdict::Overcrowded, orange, &slanting),
        hatch(Verdict::OnTarget, NEUTRAL, ""),
        hatch(Verdict::UnderTarget, PAPER, &dots),
        hatch(Verdict::Undecided, PAPER, &net),
    ];
    format!("<defs>{}</defs>", all.concat())
}

fn ground(subject: &Subject, sheet: &Sheet) -> String {
    let area = |shape, fill: Colour| {
        let path = path_data(&rings(&sheet.placement.polygon(shape)));
        format!(
            "<path class=\"ground\" d=\"{path}\" fill=\"{fill}\" fill-rule=\"evenodd\" \
             stroke=\"{RULE}\" stroke-width=\".3\"/>"
        )
    };
    let kept_out = subject.keep_outs.iter().map(|(_, shape)| area(shape, KEPT_OUT));
    std::iter::once(area(&subject.outline, GROUND)).chain(kept_out).collect()
}

fn zones(subject: &Subject, plan: &Plan, sheet: &Sheet) -> String {
    let mut drawn = String::new();
    for (at, (zone, plan)) in subject.zones.iter().zip(&plan.zones).enumerate() {
        let path = path_data(&rings(&sheet.placement.polygon(&zone.shape)));
        let verdict = plan.verdict.word();
        let _ = write!(
            drawn,
            "<path class=\"zone\" data-zone=\"{at}\" d=\"{path}\" fill=\"url(#h-{verdict})\" \
             fill-rule=\"evenodd\"/>"
        );
    }
    drawn
}

/// Every piece of row from post to post.
fn rows(evidence: Evidence<'_>, sheet: &Sheet) -> String {
    let point =
        |at: &geo::Coord<f64>| sheet.placement.point(RowPoint { along_m: at.x, across_m: at.y });
    let line =
        |piece: &crate::layout::Piece| Outline::Line(piece.path.coords().map(point).collect());
    let lines: Vec<Outline> = evidence.layout.pieces.iter().map(line).collect();
    let path = path_data(&lines);
    format!(
        "<path class=\"rows line\" d=\"{path}\" fill=\"none\" stroke=\"{SOFT_INK}\" \
         stroke-opacity=\".45\" stroke-width=\".6\"/>"
    )
}

fn dots(subject: &Subject, sheet: &Sheet) -> String {
    let places = measured_places(subject, &sheet.placement);
    format!("<g class=\"dots\">{}</g>", elements(&measured(&places, Size::Strip(1.0))))
}

/// The lines around zones, with a halo; broken where another planting grows. The outline of a zone
/// that interlocks with others is seen only while it is pointed at or chosen.
fn borders(subject: &Subject, sheet: &Sheet) -> String {
    let placement = &sheet.placement;
    let drawn = |class: &str| {
        let path = |(at, zone): (usize, &ZoneMark)| {
            let other = if zone.planting % 2 == 1 { " other" } else { "" };
            let borders = path_data(&lines(&placement.lines(&zone.borders)));
            border(&format!("{class}{other}"), at, &borders)
        };
        subject.zones.iter().enumerate().map(path).collect::<String>()
    };
    let interlocking = subject.zones.iter().enumerate().filter(|(_, zone)| zone.interlocks);
    let whole = interlocking
        .map(|(at, zone)| border("whole", at, &path_data(&rings(&placement.polygon(&zone.shape)))));
    drawn("under") + &drawn("over") + &whole.collect::<String>()
}

fn border(class: &str, zone: usize, path: &str) -> String {
    format!("<path class=\"border {class}\" data-zone=\"{zone}\" d=\"{path}\" fill=\"none\"/>")
}

/// Row numbers, names of ground that is not planted, labels of zones.
fn words(subject: &Subject, sheet: &Sheet) -> Result<String, Error> {
    let placement = &sheet.placement;
    let size = Size::at(placement, subject.gaps_m);
    let (numbers, mut taken) = row_numbers(&subject.into(), (placement, size), sheet.area())?;
    let (names, named) = ground_names(subject, placement)?;
    taken.extend(named);
    let mut drawn: String = numbers.into_iter().chain(names).map(|mark| kept(vec![mark])).collect();
    let spared: Vec<PaperPoint> =
        measured_places(subject, placement).into_iter().flatten().collect();
    let outline = placement.polygon(&subject.outline);
    let mut labels = Labels::new(sheet.area(), &outline, taken, &spared);
    for zone in &subject.zones {
        labels.place(&placement.polygon(&zone.shape), zone)?;
        drawn.push_str(&label(labels.take_marks()));
    }
    Ok(drawn)
}

/// A label: the line that leads it out grows with the map, its plate and words do not.
fn label(mut marks: Vec<Mark>) -> String {
    let plate = marks.iter().rposition(|mark| matches!(mark, Mark::Shape(_)));
    let plate = marks.split_off(plate.unwrap_or(0));
    elements(&marks) + &kept(plate)
}

/// Marks that keep their size when the map is enlarged.
fn kept(marks: Vec<Mark>) -> String {
    let Some(at) = marks.first().and_then(middle) else { return elements(&marks) };
    let about = PaperPoint::new(-at.x_mm, -at.y_mm);
    let marks: Vec<Mark> = Furniture { marks, height_mm: 0.0 }.at(about).collect();
    let (x, y) = (rounded(at.x_mm), rounded(at.y_mm));
    format!("<g data-at=\"{x} {y}\" transform=\"translate({x} {y})\">{}</g>", elements(&marks))
}

/// The middle of a plate, or where lettering is held.
fn middle(mark: &Mark) -> Option<PaperPoint> {
    match mark {
        Mark::Lettering(lettering) => Some(lettering.at),
        Mark::Shape(shape) => match shape.outlines.first()? {
            Outline::Ring(corners) | Outline::Line(corners) => {
                let (one, other) = (corners.first()?, corners.get(2)?);
                let half = f64::midpoint;
                Some(PaperPoint::new(half(one.x_mm, other.x_mm), half(one.y_mm, other.y_mm)))
            }
            Outline::Disc { centre, .. } => Some(*centre),
        },
    }
}

/// What marks the middle for those who move the map by keys.
fn cross(sheet: &Sheet) -> String {
    let (x, y) = (rounded(sheet.width_mm / 2.0), rounded(sheet.height_mm / 2.0));
    format!(
        "<path class=\"cross\" d=\"M{x} {y}m-3 0h6m-3 -3v6\" fill=\"none\" stroke=\"#0b57d0\" \
         stroke-width=\".5\"/>"
    )
}
