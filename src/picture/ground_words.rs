//! Words on the map itself: numbers of rows, names of ground that is not planted.

use geo::{Centroid as _, Coord};

use crate::{
    error::Error,
    frame::Site,
    layout::Layout,
    picture::{
        Anchor, Lettering, Mark, PaperPoint,
        boxes::{Boxed, Edge, edges},
        colours::SOFT_INK,
        furniture::SMALL,
        lettering::width_mm,
        looks::Size,
        map::{Area, Placement, extent},
        subject::{RowEnds, Spot, Subject, row_ends, spots},
        zone_mark::ZoneMark,
    },
    units::Metres,
};

/// Numbers of rows in steps of one of these.
const STEPS: [u32; 8] = [1, 5, 10, 20, 50, 100, 200, 500];

/// A number moves out by so many millimetres at most, less one, to find free paper.
const OUTWARD_STEPS: i32 = 13;

/// Words and the paper that they take.
pub(super) type Words = (Vec<Mark>, Vec<Boxed>);

/// Rows to number, and what their numbers must not cover.
#[derive(Debug, Clone, Copy)]
pub(super) struct NumberedRows<'a> {
    /// The rows.
    pub(super) rows: &'a [RowEnds],
    /// All vines.
    pub(super) vines: &'a [Spot],
    /// The zones.
    pub(super) zones: &'a [ZoneMark],
    /// The word before the first number.
    pub(super) row: &'a str,
    /// Other lines on the paper.
    pub(super) lines: &'a [Edge],
    /// Metres across and along the rows from vine to vine.
    pub(super) gaps_m: [f64; 2],
}

impl<'a> From<&'a Subject> for NumberedRows<'a> {
    fn from(subject: &'a Subject) -> Self {
        let Subject { rows, vines, zones, gaps_m, .. } = subject;
        Self { rows, vines, zones, row: "row", lines: &[], gaps_m: *gaps_m }
    }
}

/// Numbers of rows beyond their first vine, as many as there is room for.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_numbers(
    subject: &NumberedRows<'_>,
    (placement, size): (&Placement, Size),
    area: Area,
) -> Result<Words, Error> {
    let every = step(subject, placement)?;
    let ground = planted(subject, placement);
    let (mut marks, mut taken) = (Vec::new(), Vec::<Boxed>::new());
    let mut first: Option<Boxed> = None;
    for (at, row) in subject.rows.iter().enumerate() {
        if at > 0 && row.number % every != 0 {
            continue;
        }
        let words = match subject.row {
            "" => row.number.to_string(),
            word if taken.is_empty() => format!("{word} {}", row.number),
            _ => row.number.to_string(),
        };
        let width = width_mm(&words, SMALL)?;
        let place = |further: i32| {
            let place = beyond(row, (placement, size), (width, f64::from(further)));
            (place, Boxed::new(place, width + 0.8, SMALL.size_mm + 0.4))
        };
        // "row 1" is wide: a number that follows too soon would be pushed out of the line.
        if first.is_some_and(|first| first.with_margin(0.8).overlaps(&place(0).1)) {
            continue;
        }
        let free = |boxed: &Boxed| {
            let covered = ground.iter().any(|[from, to]| boxed.is_crossed(*from, *to));
            !covered && !taken.iter().any(|other| other.overlaps(boxed))
        };
        let mut places = (0..OUTWARD_STEPS).map(place);
        let found = places.find(|(_, boxed)| boxed.is_within(&area) && free(boxed));
        if let Some((place, boxed)) = found {
            if at == 0 {
                first = Some(boxed);
            }
            taken.push(boxed);
            marks.push(centred(words, place));
        }
    }
    Ok((marks, taken))
}

/// Numbers of the rows of a block whose outline is drawn and whose zones are not.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn ground_numbers(
    (site, layout): (&Site, &Layout),
    row: &str,
    placement: &Placement,
    area: Area,
) -> Result<Vec<Mark>, Error> {
    let gaps_m = [site.rules.row_spacing, site.rules.vine_spacing].map(Metres::metres);
    let (rows, vines) = (row_ends(layout), spots(layout));
    let lines = edges(&placement.polygon(&site.outline));
    let subject =
        NumberedRows { rows: &rows, vines: &vines, zones: &[], lines: &lines, row, gaps_m };
    Ok(row_numbers(&subject, (placement, Size::at(placement, gaps_m)), area)?.0)
}

/// The step at which neighbouring numbers stand clear of each other.
fn step(subject: &NumberedRows<'_>, placement: &Placement) -> Result<u32, Error> {
    let gap = placement.mm(subject.gaps_m[0]);
    let greatest = subject.rows.last().map_or(0, |row| row.number);
    let width = width_mm(&greatest.to_string(), SMALL)? + 1.6;
    let upright = subject.rows.first().map_or(1.0, |row| {
        let (first, last) = (placement.point(row.first), placement.point(row.last));
        let (x, y) = (first.x_mm - last.x_mm, first.y_mm - last.y_mm);
        (y / x.hypot(y).max(1e-9)).abs()
    });
    // Beside upright rows numbers stand abreast, beside level ones above each other.
    let room = (width * upright).max(6.0);
    Ok(STEPS.into_iter().find(|step| f64::from(*step) * gap >= room).unwrap_or(1000))
}

/// What a number must not cover: vines, the borders of zones, other lines.
fn planted(subject: &NumberedRows<'_>, placement: &Placement) -> Vec<Edge> {
    let vines = subject.vines.iter().map(|vine| {
        let place = placement.point(vine.at);
        [Coord { x: place.x_mm, y: place.y_mm }; 2]
    });
    let zones = subject.zones.iter().flat_map(|zone| edges(&placement.polygon(&zone.shape)));
    vines.chain(zones).chain(subject.lines.iter().copied()).collect()
}

/// Soft words with their middle at a place.
fn centred(words: String, middle: PaperPoint) -> Mark {
    let at = PaperPoint::new(middle.x_mm, middle.y_mm + 0.36 * SMALL.size_mm);
    Mark::Lettering(Lettering::level(at, words, SMALL, (Anchor::Middle, SOFT_INK)))
}

fn beyond(
    row: &RowEnds,
    (placement, size): (&Placement, Size),
    (width, further_mm): (f64, f64),
) -> PaperPoint {
    let (first, last) = (placement.point(row.first), placement.point(row.last));
    let (x, y) = (first.x_mm - last.x_mm, first.y_mm - last.y_mm);
    let length = x.hypot(y).max(1e-9);
    let (x, y) = (x / length, y / length);
    let radius = match size {
        Size::Disc(radius) => radius,
        Size::Strip(_) => 1.0,
    };
    let reach =
        further_mm + radius + 1.4 + (x * width / 2.0).abs() + (y * SMALL.size_mm / 2.0).abs();
    PaperPoint::new(first.x_mm + reach * x, first.y_mm + reach * y)
}

/// Names of ground that is not planted, where they fit on it.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn ground_names(subject: &Subject, placement: &Placement) -> Result<Words, Error> {
    let (mut marks, mut taken) = (Vec::new(), Vec::new());
    for (name, ground) in &subject.keep_outs {
        let ground = placement.polygon(ground);
        let (Some(name), Some(extent), Some(middle)) = (name, extent(&ground), ground.centroid())
        else {
            continue;
        };
        let width = width_mm(name, SMALL)?;
        if width <= 0.8 * extent.width() && 1.5 * SMALL.size_mm <= extent.height() {
            let middle = PaperPoint::new(middle.x(), middle.y());
            taken.push(Boxed::new(middle, width, SMALL.size_mm));
            marks.push(centred(name.clone(), middle));
        }
    }
    Ok((marks, taken))
}
