//! The maps beside each other, at one scale.

use super::YearMap;
use crate::{
    error::Error,
    maths::float,
    picture::{
        Anchor, Lettering, Mark, PaperPoint,
        colours::INK,
        columns::extremes,
        furniture::HEADING,
        labels::Labels,
        looks::Size,
        map::{Area, Ladder, Placement, Room},
        marks,
        style::Up,
        subject::Subject,
        words::count_of,
    },
    units::Degrees,
};

/// The maps, and how they were placed.
pub(super) struct Drawn {
    pub(super) marks: Vec<Mark>,
    /// That of the first; the others are as large and turned the same way.
    pub(super) placement: Placement,
    pub(super) size: Size,
}

/// Paper between two maps.
const APART_MM: f64 = 5.0;
/// Paper for the year above each map.
const CAPTION_MM: f64 = 8.0;
/// A turned map must be so much larger than one with north up.
const WORTH_TURNING: f64 = 1.3;

/// Draws every year in its part of an area.
pub(super) fn draw(maps: &[YearMap], area: Area) -> Result<Drawn, Error> {
    let nothing = || Error::Unexpected("a block without an extent cannot be drawn".to_owned());
    let first = maps.first().ok_or_else(nothing)?;
    let areas = areas(area, maps.len());
    let subjects: Vec<Subject> = maps.iter().map(|map| map.subject.clone()).collect();
    let ground = extremes(&subjects);
    let up = best_up(&first.subject, &ground, areas[0]);
    let mut marks = Vec::new();
    let mut placed = None;
    for (map, area) in maps.iter().zip(areas) {
        let placement = fit(&map.subject, &ground, up, area).ok_or_else(nothing)?;
        let size = Size::at(&placement, map.subject.gaps_m);
        marks.extend(one(map, (&placement, size), area)?);
        placed.get_or_insert((placement, size));
    }
    let (placement, size) = placed.ok_or_else(nothing)?;
    Ok(Drawn { marks, placement, size })
}

/// Even parts of an area, with room for a caption above each.
fn areas(area: Area, number: usize) -> Vec<Area> {
    let width_mm = (area.width_mm + APART_MM) / float(number) - APART_MM;
    let part = |at: usize| Area {
        corner: PaperPoint::new(
            area.corner.x_mm + float(at) * (width_mm + APART_MM),
            area.corner.y_mm + CAPTION_MM,
        ),
        width_mm,
        height_mm: area.height_mm - CAPTION_MM,
    };
    (0..number).map(part).collect()
}

fn fit(
    subject: &Subject,
    ground: &geo::MultiPoint<f64>,
    up: Degrees,
    area: Area,
) -> Option<Placement> {
    let room = Room { area, units: subject.units, ladder: Ladder::Map };
    Placement::fit(ground, subject.compass, up, room)
}

/// North, unless the rows straight show the block much larger, or as asked.
fn best_up(subject: &Subject, ground: &geo::MultiPoint<f64>, area: Area) -> Degrees {
    let north = Degrees::new(0.0);
    let turns = Placement::turns(subject.compass);
    let scale = |up: Degrees| {
        fit(subject, ground, up, area).map_or(f64::INFINITY, |placement| placement.scale)
    };
    let turned = if scale(turns[1]) < scale(turns[0]) { turns[1] } else { turns[0] };
    match subject.style.up {
        Up::Rows => turns[0],
        Up::Best if scale(turned) * WORTH_TURNING <= scale(north) => turned,
        Up::North | Up::Best => north,
    }
}

fn one(
    map: &YearMap,
    (placement, size): (&Placement, Size),
    area: Area,
) -> Result<Vec<Mark>, Error> {
    let subject = &map.subject;
    let at = PaperPoint::new(area.corner.x_mm, area.corner.y_mm - 3.2);
    let places = count_of(subject.measured.len(), "place counted", "places counted");
    let words = format!("{}: {places}", map.year);
    let caption = Lettering::level(at, words, HEADING, (Anchor::Start, INK));
    let mut marks = vec![Mark::Lettering(caption)];
    marks.extend(marks::ground(subject, placement));
    marks.extend(marks::vines(subject, placement, size));
    marks.extend(marks::zones(subject, placement));
    let measured = marks::measured_places(subject, placement);
    marks.extend(marks::measured(&measured, size));
    let spared: Vec<PaperPoint> = measured.into_iter().flatten().collect();
    let mut labels = Labels::new(area, &placement.polygon(&subject.outline), Vec::new(), &spared);
    for zone in &subject.zones {
        labels.place(&placement.polygon(&zone.shape), zone)?;
    }
    marks.extend(labels.into_marks());
    Ok(marks)
}
