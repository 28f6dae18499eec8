//! The legend: every class that a map can show, how it looks, what it says, how many vines it has.

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        classes::{Band, Class, Look},
        colours::{Colour, INK, KEPT_OUT, RULE, SOFT_INK},
        lettering::{self, wrap},
        marks::{self, Size},
        subject::Subject,
        words,
    },
};

/// A heading.
pub(super) const HEADING: Hand = Hand { size_mm: 4.2, bold: true };
/// What is read.
pub(super) const BODY: Hand = Hand { size_mm: 3.6, bold: false };
/// What explains.
pub(super) const SMALL: Hand = Hand { size_mm: 3.2, bold: false };

/// Height of a class.
const ROW_MM: f64 = 6.4;
/// Width of the swatches and of the gap after them.
const SWATCH_MM: f64 = 11.0;
const GAP_MM: f64 = 3.0;
/// What the numbers at the end of each line count.
const VINES: &str = "vines";
/// Width that a target beside the classes takes.
const BAND_MM: f64 = 7.0;

/// Some furniture of a page with its height, from its own upper left corner.
#[derive(Debug, Clone, Default)]
pub(super) struct Furniture {
    /// What is drawn.
    pub(super) marks: Vec<Mark>,
    /// Its height, millimetres.
    pub(super) height_mm: f64,
}

impl Furniture {
    /// Adds lettering whose base line lies `base_mm` below the furniture's foot.
    pub(super) fn letter(
        &mut self,
        (x_mm, base_mm): (f64, f64),
        words: impl Into<String>,
        hand: Hand,
        (anchor, colour): (Anchor, Colour),
    ) {
        let at = PaperPoint::new(x_mm, self.height_mm + base_mm);
        let words = words.into();
        self.marks.push(Mark::Lettering(Lettering { at, words, hand, anchor, colour }));
    }

    /// Adds a paragraph below.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn paragraph(
        &mut self,
        words: &str,
        hand: Hand,
        (width_mm, colour): (f64, Colour),
    ) -> Result<(), Error> {
        for line in wrap(words, hand, width_mm)? {
            self.letter((0.0, 1.05 * hand.size_mm), line, hand, (Anchor::Start, colour));
            self.height_mm += 1.32 * hand.size_mm;
        }
        Ok(())
    }

    /// Adds free paper below.
    pub(super) fn space(&mut self, height_mm: f64) {
        self.height_mm += height_mm;
    }

    /// Adds other furniture below.
    pub(super) fn below(&mut self, other: Self) {
        let foot = PaperPoint::new(0.0, self.height_mm);
        self.height_mm += other.height_mm;
        self.marks.extend(other.at(foot));
    }

    /// Its marks with the corner at a place.
    pub(super) fn at(self, corner: PaperPoint) -> impl Iterator<Item = Mark> {
        self.marks.into_iter().map(move |mark| shifted(mark, corner.x_mm, corner.y_mm))
    }
}

fn shifted(mark: Mark, x_mm: f64, y_mm: f64) -> Mark {
    let point = |at: PaperPoint| PaperPoint::new(at.x_mm + x_mm, at.y_mm + y_mm);
    match mark {
        Mark::Lettering(lettering) => {
            Mark::Lettering(Lettering { at: point(lettering.at), ..lettering })
        }
        Mark::Shape(shape) => {
            let moved = |outline| match outline {
                Outline::Line(points) => Outline::Line(points.into_iter().map(point).collect()),
                Outline::Ring(points) => Outline::Ring(points.into_iter().map(point).collect()),
                Outline::Disc { centre, radius_mm } => {
                    Outline::Disc { centre: point(centre), radius_mm }
                }
            };
            Mark::Shape(Shape {
                outlines: shape.outlines.into_iter().map(moved).collect(),
                ..shape
            })
        }
    }
}

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
    let whole = if class.meaning.is_empty() {
        class.limits.clone()
    } else {
        format!("{}: {}", class.limits, class.meaning)
    };
    let lines = wrap(&whole, BODY, room)?;
    let base = ROW_MM / 2.0 + 0.36 * BODY.size_mm;
    legend.letter((width, base), tally, BODY, (Anchor::End, INK));
    for (at, line) in lines.iter().enumerate() {
        let below = words::real(at) * 1.25 * BODY.size_mm;
        legend.letter((start, base + below), line.clone(), BODY, (Anchor::Start, INK));
    }
    legend.space(ROW_MM + words::real(lines.len() - 1) * 1.25 * BODY.size_mm);
    Ok(())
}

/// Vines as they look on the map.
fn swatch(look: Look, size: Size, [x, y]: [f64; 2]) -> Vec<Mark> {
    match size {
        Size::Disc(radius) => {
            let radius = radius.clamp(1.2, 1.7);
            let centres =
                [0.17, 0.5, 0.83].map(|share| vec![PaperPoint::new(x + share * SWATCH_MM, y)]);
            marks::looks(&centres, look, Size::Disc(radius))
        }
        Size::Strip(width) => {
            let width = width.clamp(1.6, 3.6);
            let ends = vec![PaperPoint::new(x, y), PaperPoint::new(x + SWATCH_MM, y)];
            marks::looks(&[ends], look, Size::Strip(width))
        }
    }
}

/// The target beside the ladder of classes, whose highest stands at the top.
fn bracket(band: &Band, classes: usize, top: f64) -> Mark {
    let rungs = words::real(classes);
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
