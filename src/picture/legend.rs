//! The legend: every class that a map can show, how it looks, what it says, how many vines it has.

use crate::{
    error::Error,
    picture::{
        Anchor, Mark, Outline, PaperPoint, Shape, Stroke,
        classes::{Band, Class, Look},
        colours::{INK, KEPT_OUT, NO_ESTIMATE, RULE, SOFT_INK},
        furniture::{BODY, Furniture, HEADING, SMALL},
        lettering::{self, wrap},
        looks::{Size, little_known, looks},
        marks,
        subject::Subject,
        words,
    },
};

/// Height of a class.
const ROW_MM: f64 = 6.4;
/// Width of the swatches and of the gap after them.
const SWATCH_MM: f64 = 11.0;
const GAP_MM: f64 = 3.0;
/// What the numbers at the end of each line count.
const VINES: &str = "vines";
/// Width that a target beside the classes takes.
const BAND_MM: f64 = 7.0;

/// The ladder of classes with its notes, `width_mm` wide.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn ladder(subject: &Subject, size: Size, width_mm: f64) -> Result<Furniture, Error> {
    let mut legend = Furniture::default();
    let classes = &subject.classes;
    let tally = width_mm - lettering::width_mm(VINES, SMALL)?;
    legend.letter((width_mm, 1.05 * HEADING.size_mm), VINES, SMALL, (Anchor::End, SOFT_INK));
    legend.paragraph(&classes.heading, HEADING, (tally - GAP_MM, INK))?;
    legend.space(1.0);
    let top = legend.height_mm;
    let indent = if classes.band.is_some() { BAND_MM } else { 0.0 };
    for class in classes.ladder.iter().rev() {
        row(&mut legend, class, size, [indent, width_mm])?;
    }
    if let Some(band) = &classes.band {
        legend.marks.push(bracket(band, classes.ladder.len(), top));
    }
    legend.space(1.5);
    for note in classes.notes.iter().chain([&subject.method]) {
        legend.paragraph(note, SMALL, (width_mm, SOFT_INK))?;
    }
    Ok(legend)
}

/// What is beside the ladder: vines without a class, counts, zones, ground.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn others(subject: &Subject, size: Size, width_mm: f64) -> Result<Furniture, Error> {
    let mut legend = Furniture::default();
    let indent = if subject.classes.band.is_some() { BAND_MM } else { 0.0 };
    for class in &subject.classes.beside {
        row(&mut legend, class, size, [indent, width_mm])?;
    }
    little_row(&mut legend, subject, size, [indent, width_mm]);
    measured_rows(&mut legend, subject, size, [indent, width_mm]);
    ground_rows(&mut legend, subject, [indent, width_mm]);
    Ok(legend)
}

fn row(
    legend: &mut Furniture,
    class: &Class,
    size: Size,
    [indent, width]: [f64; 2],
) -> Result<(), Error> {
    let middle = legend.height_mm + ROW_MM / 2.0;
    legend.marks.extend(swatch(class.look, size, [indent, middle]));
    let start = indent + SWATCH_MM + GAP_MM;
    let tally = words::grouped(class.vines);
    let room = width - start - lettering::width_mm(&tally, BODY)? - GAP_MM;
    let whole = class.words();
    let lines = wrap(&whole, BODY, room)?;
    let base = ROW_MM / 2.0 + 0.36 * BODY.size_mm;
    legend.letter((width, base), tally, BODY, (Anchor::End, INK));
    for (at, line) in lines.iter().enumerate() {
        let below = crate::maths::float(at) * 1.25 * BODY.size_mm;
        legend.letter((start, base + below), line.clone(), BODY, (Anchor::Start, INK));
    }
    legend.space(ROW_MM + crate::maths::float(lines.len() - 1) * 1.25 * BODY.size_mm);
    Ok(())
}

/// Vines as they look on the map.
pub(super) fn swatch(look: Look, size: Size, at: [f64; 2]) -> Vec<Mark> {
    let (places, size) = sampled(size, at);
    looks(&places, look, size)
}

/// Grey vines that paper shows through.
pub(super) fn slashed_swatch(size: Size, at: [f64; 2]) -> Vec<Mark> {
    let (places, size) = sampled(size, at);
    let mut marks = looks(&places, Look::Solid(NO_ESTIMATE), size);
    marks.push(little_known(&places, size));
    marks
}

/// A few vines in a row, as large as on the map if that is neither too small nor too large to read.
fn sampled(size: Size, [x, y]: [f64; 2]) -> (Vec<Vec<PaperPoint>>, Size) {
    let point = |share: f64| PaperPoint::new(x + share * SWATCH_MM, y);
    match size {
        Size::Disc(radius) => {
            let places = [0.17, 0.5, 0.83].map(|share| vec![point(share)]).to_vec();
            (places, Size::Disc(radius.clamp(1.2, 1.7)))
        }
        Size::Strip(width) => {
            (vec![vec![point(0.0), point(1.0)]], Size::Strip(width.clamp(1.6, 3.6)))
        }
    }
}

/// The target beside the ladder of classes, whose highest stands at the top.
fn bracket(band: &Band, classes: usize, top: f64) -> Mark {
    let rungs = crate::maths::float(classes);
    let height = |rung: f64| top + (rungs - rung.clamp(0.0, rungs)) * ROW_MM;
    let (upper, lower) = (height(band.ends[1]), height(band.ends[0]));
    let x = BAND_MM - 1.8;
    let mut points = vec![PaperPoint::new(x, upper), PaperPoint::new(x, lower)];
    if band.ends[1] <= rungs {
        points.insert(0, PaperPoint::new(x + 1.3, upper));
    }
    if band.ends[0] >= 0.0 {
        points.push(PaperPoint::new(x + 1.3, lower));
    }
    let stroke = Some(Stroke { colour: INK, width_mm: 0.5, dash_mm: None });
    let outlines = vec![Outline::Line(points)];
    Mark::Shape(Shape { outlines, fill: None, stroke })
}

/// How vines look of which little is known, where there are any.
fn little_row(legend: &mut Furniture, subject: &Subject, size: Size, [indent, width]: [f64; 2]) {
    let little = subject.little.iter().filter(|little| **little).count();
    if little > 0 {
        let at = [indent, legend.height_mm + ROW_MM / 2.0];
        legend.marks.extend(slashed_swatch(size, at));
        let words = format!("{} say little here", subject.sources);
        plain_row(legend, &words, &words::grouped(little), [indent, width]);
    }
}

fn measured_rows(legend: &mut Furniture, subject: &Subject, size: Size, [indent, width]: [f64; 2]) {
    let panels = subject.measured.iter().filter(|vines| vines.len() > 1).count();
    let single = subject.measured.len() - panels;
    let kinds = [
        (format!("{} vine", subject.verb), single, 0.0),
        (format!("panel {} as a whole", subject.verb), panels, 4.0),
    ];
    for (words, number, reach) in kinds.into_iter().filter(|(_, number, _)| *number > 0) {
        let middle = PaperPoint::new(indent + SWATCH_MM / 2.0, legend.height_mm + ROW_MM / 2.0);
        let ends = [-reach, reach].map(|x| PaperPoint::new(middle.x_mm + x, middle.y_mm));
        legend.marks.extend(marks::measured(&[ends.to_vec()], size));
        plain_row(legend, &words, &words::grouped(number), [indent, width]);
    }
}

/// Zones and ground that is not planted, where there are any.
fn ground_rows(legend: &mut Furniture, subject: &Subject, [indent, width]: [f64; 2]) {
    for (planting, words) in subject.zone_words.iter().enumerate() {
        let zones = subject
            .zones
            .iter()
            .filter(|zone| zone.planting == planting || subject.zone_words.len() == 1);
        let zones = words::count_of(zones.count(), "zone", "zones");
        if !zones.starts_with("0 ") {
            let outlines = vec![sample(legend.height_mm, indent)];
            let stroke = Some(marks::zone_stroke(planting));
            legend.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
            plain_row(legend, words, &zones, [indent, width]);
        }
    }
    if !subject.keep_outs.is_empty() {
        let outlines = vec![sample(legend.height_mm, indent)];
        let stroke = Some(Stroke { colour: RULE, width_mm: 0.2, dash_mm: None });
        legend.marks.push(Mark::Shape(Shape { outlines, fill: Some(KEPT_OUT), stroke }));
        plain_row(legend, "not planted", "", [indent, width]);
    }
}

/// A piece of ground in the row that begins at a height.
fn sample(height: f64, indent: f64) -> Outline {
    let (left, right) = (indent + 1.0, indent + SWATCH_MM - 1.0);
    let (top, bottom) = (height + 1.4, height + ROW_MM - 1.4);
    let corners = [(left, top), (right, top), (right, bottom), (left, bottom)];
    Outline::Ring(corners.map(|(x, y)| PaperPoint::new(x, y)).to_vec())
}

fn plain_row(legend: &mut Furniture, words: &str, tally: &str, [indent, width]: [f64; 2]) {
    let base = ROW_MM / 2.0 + 0.36 * BODY.size_mm;
    legend.letter((indent + SWATCH_MM + GAP_MM, base), words, BODY, (Anchor::Start, INK));
    legend.letter((width, base), tally, BODY, (Anchor::End, INK));
    legend.space(ROW_MM);
}
