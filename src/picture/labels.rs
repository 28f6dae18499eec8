//! Where labels of zones stand: inside their zone, or led out to free paper; never on each other.

use geo::{Coord, MultiPolygon};

use crate::{
    error::Error,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape, Stroke,
        colours::{INK, PAPER},
        lettering::{shorten, width_mm},
        map::{Area, extent},
    },
};

/// The name of a zone.
const NAME: Hand = Hand { size_mm: 4.2, bold: true };
/// Its value or verdict.
const WORDS: Hand = Hand { size_mm: 3.4, bold: false };
/// Paper around the lettering.
const PADDING_MM: f64 = 0.9;
/// Steps of the search, each way.
const STEPS: i32 = 40;

/// A label to be placed.
#[derive(Debug, Clone)]
pub(super) struct Label {
    lines: Vec<(String, Hand)>,
    width_mm: f64,
    height_mm: f64,
}

/// A rectangle given by its middle and half its sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Boxed {
    middle: Coord<f64>,
    half: Coord<f64>,
}

impl Boxed {
    /// The rectangle around a middle.
    pub(super) fn new(middle: PaperPoint, width_mm: f64, height_mm: f64) -> Self {
        let middle = Coord { x: middle.x_mm, y: middle.y_mm };
        Self { middle, half: Coord { x: width_mm / 2.0, y: height_mm / 2.0 } }
    }

    /// True when two rectangles share paper.
    pub(super) fn overlaps(&self, other: &Self) -> bool {
        (self.middle.x - other.middle.x).abs() < self.half.x + other.half.x
            && (self.middle.y - other.middle.y).abs() < self.half.y + other.half.y
    }

    /// True when it lies wholly in an area.
    pub(super) fn is_within(&self, area: &Area) -> bool {
        let middle = area.middle();
        (self.middle.x - middle.x_mm).abs() + self.half.x <= area.width_mm / 2.0
            && (self.middle.y - middle.y_mm).abs() + self.half.y <= area.height_mm / 2.0
    }

    /// True when a segment has any part inside (Liang & Barsky 1984).
    fn is_crossed(&self, from: Coord<f64>, to: Coord<f64>) -> bool {
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let axes = [
            (from.x - self.middle.x, to.x - from.x, self.half.x),
            (from.y - self.middle.y, to.y - from.y, self.half.y),
        ];
        for (start, way, half) in axes {
            if way.abs() < 1e-12 {
                if start.abs() >= half {
                    return false;
                }
                continue;
            }
            let (one, other) = ((-half - start) / way, (half - start) / way);
            enter = enter.max(one.min(other));
            leave = leave.min(one.max(other));
        }
        enter < leave
    }
}

/// The edges of a shape.
fn edges(shape: &MultiPolygon<f64>) -> Vec<[Coord<f64>; 2]> {
    let rings =
        shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()));
    rings.flat_map(|ring| ring.0.windows(2).map(|pair| [pair[0], pair[1]])).collect()
}

fn holds(edges: &[[Coord<f64>; 2]], at: Coord<f64>) -> bool {
    let crossings = edges.iter().filter(|[from, to]| {
        (from.y > at.y) != (to.y > at.y)
            && at.x < from.x + (at.y - from.y) / (to.y - from.y) * (to.x - from.x)
    });
    crossings.count() % 2 == 1
}

fn distance_to_edges(edges: &[[Coord<f64>; 2]], at: Coord<f64>) -> f64 {
    let squared = edges.iter().map(|[from, to]| {
        let way = *to - *from;
        let length = way.x * way.x + way.y * way.y;
        let share = if length > 0.0 {
            (((at.x - from.x) * way.x + (at.y - from.y) * way.y) / length).clamp(0.0, 1.0)
        } else {
            0.0
        };
        let off = Coord { x: at.x - from.x - share * way.x, y: at.y - from.y - share * way.y };
        off.x * off.x + off.y * off.y
    });
    squared.fold(f64::INFINITY, f64::min).sqrt()
}

/// What labels must keep clear of, and where they have come to stand.
#[derive(Debug, Clone)]
pub(super) struct Labels {
    area: Area,
    outline: Vec<[Coord<f64>; 2]>,
    taken: Vec<Boxed>,
    leaders: Vec<[Coord<f64>; 2]>,
    spared: Vec<Coord<f64>>,
    marks: Vec<Mark>,
}

impl Labels {
    /// Labels over a map: `outline` is the block on paper, `taken` what else is lettered, `spared`
    /// the marks that a label had better not hide.
    pub(super) fn new(
        area: Area,
        outline: &MultiPolygon<f64>,
        taken: Vec<Boxed>,
        spared: &[PaperPoint],
    ) -> Self {
        let spared = spared.iter().map(|at| Coord { x: at.x_mm, y: at.y_mm }).collect();
        Self { area, outline: edges(outline), taken, leaders: vec![], spared, marks: vec![] }
    }

    /// The labels as marks.
    pub(super) fn into_marks(self) -> Vec<Mark> {
        self.marks
    }

    /// Places a label: inside its zone, else led out of the block; if neither has room, its name
    /// alone.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn place(
        &mut self,
        shape: &MultiPolygon<f64>,
        name: &str,
        words: &str,
    ) -> Result<(), Error> {
        let zone = edges(shape);
        let Some(anchor) = deepest(shape, &zone) else { return Ok(()) };
        for lines in [&[(name, NAME), (words, WORDS)][..], &[(name, NAME)]] {
            let label = Label::new(lines)?;
            if let Some(at) = self.inside(shape, &zone, &label) {
                self.put(&label, at);
                return Ok(());
            }
            if let Some(at) = self.outside(&label, anchor) {
                self.lead(anchor, at);
                self.put(&label, at);
                return Ok(());
            }
        }
        // No free paper at all: better on something than left out.
        self.put(&Label::new(&[(name, NAME)])?, anchor);
        Ok(())
    }

    fn inside(
        &self,
        shape: &MultiPolygon<f64>,
        zone: &[[Coord<f64>; 2]],
        label: &Label,
    ) -> Option<Coord<f64>> {
        let fits = |at: &Coord<f64>| {
            let place = label.at(*at);
            holds(zone, *at)
                && !zone.iter().any(|[from, to]| place.is_crossed(*from, *to))
                && self.is_free(&place)
        };
        let score = |at: &Coord<f64>| {
            let place = label.at(*at);
            let hidden = self.spared.iter().filter(|mark| place.is_crossed(**mark, **mark)).count();
            let hidden = super::words::real(hidden);
            distance_to_edges(zone, *at).min(3.0 * label.height_mm) - 4.0 * hidden
        };
        grid(shape)
            .into_iter()
            .filter(fits)
            .map(|at| (score(&at), at))
            .max_by(|one, other| one.0.total_cmp(&other.0))
            .map(|(_, at)| at)
    }

    fn outside(&self, label: &Label, anchor: Coord<f64>) -> Option<Coord<f64>> {
        let half = Coord { x: label.width_mm / 2.0, y: label.height_mm / 2.0 };
        let corner = self.area.corner;
        let spots = steps().flat_map(|x| steps().map(move |y| (x, y))).map(|(x, y)| Coord {
            x: corner.x_mm + half.x + x * (self.area.width_mm - 2.0 * half.x),
            y: corner.y_mm + half.y + y * (self.area.height_mm - 2.0 * half.y),
        });
        let fits = |at: &Coord<f64>| {
            let place = label.at(*at);
            !holds(&self.outline, *at)
                && !self.outline.iter().any(|[from, to]| place.is_crossed(*from, *to))
                && self.is_free(&place)
                && !self.taken.iter().any(|taken| taken.is_crossed(anchor, *at))
        };
        let away = |at: &Coord<f64>| (at.x - anchor.x).hypot(at.y - anchor.y);
        spots.filter(fits).min_by(|one, other| away(one).total_cmp(&away(other)))
    }

    fn is_free(&self, place: &Boxed) -> bool {
        !self.taken.iter().any(|taken| taken.overlaps(place))
            && !self.leaders.iter().any(|[from, to]| place.is_crossed(*from, *to))
    }

    fn lead(&mut self, anchor: Coord<f64>, label: Coord<f64>) {
        let point = |at: Coord<f64>| PaperPoint::new(at.x, at.y);
        let line = Outline::Line(vec![point(anchor), point(label)]);
        for (colour, width_mm) in [(PAPER, 1.0), (INK, 0.35)] {
            let stroke = Some(Stroke { colour, width_mm, dash_mm: None });
            let outlines = vec![line.clone()];
            self.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
        }
        let dot = Outline::Disc { centre: point(anchor), radius_mm: 0.7 };
        let stroke = Some(Stroke { colour: PAPER, width_mm: 0.3, dash_mm: None });
        self.marks.push(Mark::Shape(Shape { outlines: vec![dot], fill: Some(INK), stroke }));
        self.leaders.push([anchor, label]);
    }

    fn put(&mut self, label: &Label, at: Coord<f64>) {
        self.taken.push(label.at(at));
        self.marks.extend(label.marks(at));
    }
}

impl Label {
    fn new(lines: &[(&str, Hand)]) -> Result<Self, Error> {
        let mut kept = Vec::new();
        let mut widest = 0.0_f64;
        for (words, hand) in lines.iter().filter(|(words, _)| !words.is_empty()) {
            let words = shorten(words, *hand, 45.0)?;
            widest = widest.max(width_mm(&words, *hand)?);
            kept.push((words, *hand));
        }
        let height: f64 = kept.iter().map(|(_, hand)| 1.16 * hand.size_mm).sum();
        Ok(Self {
            lines: kept,
            width_mm: widest + 2.0 * PADDING_MM,
            height_mm: height + 1.2 * PADDING_MM,
        })
    }

    fn at(&self, middle: Coord<f64>) -> Boxed {
        Boxed { middle, half: Coord { x: self.width_mm / 2.0, y: self.height_mm / 2.0 } }
    }

    fn marks(&self, at: Coord<f64>) -> Vec<Mark> {
        let (x, y) = (self.width_mm / 2.0, self.height_mm / 2.0);
        let corners = [(-x, -y), (x, -y), (x, y), (-x, y)];
        let ring = corners.map(|(x, y)| PaperPoint::new(at.x + x, at.y + y)).to_vec();
        let stroke = Some(Stroke { colour: INK, width_mm: 0.25, dash_mm: None });
        let shape = Shape { outlines: vec![Outline::Ring(ring)], fill: Some(PAPER), stroke };
        let mut marks = vec![Mark::Shape(shape)];
        let mut base = at.y - y + 0.6 * PADDING_MM;
        for (words, hand) in &self.lines {
            base += 1.16 * hand.size_mm;
            marks.push(Mark::Lettering(Lettering {
                at: PaperPoint::new(at.x, base - 0.26 * hand.size_mm),
                words: words.clone(),
                hand: *hand,
                anchor: Anchor::Middle,
                colour: INK,
            }));
        }
        marks
    }
}

fn steps() -> impl Iterator<Item = f64> + Clone {
    (0..=STEPS).map(|step| f64::from(step) / f64::from(STEPS))
}

fn grid(shape: &MultiPolygon<f64>) -> Vec<Coord<f64>> {
    let Some(extent) = extent(shape) else { return vec![] };
    let (low, width, height) = (extent.min(), extent.width(), extent.height());
    steps()
        .flat_map(|x| steps().map(move |y| Coord { x: low.x + x * width, y: low.y + y * height }))
        .collect()
}

/// The place of a grid that is deepest inside a shape.
fn deepest(shape: &MultiPolygon<f64>, edges: &[[Coord<f64>; 2]]) -> Option<Coord<f64>> {
    (grid(shape).into_iter().filter(|at| holds(edges, *at)))
        .map(|at| (distance_to_edges(edges, at), at))
        .max_by(|one, other| one.0.total_cmp(&other.0))
        .map(|(_, at)| at)
        .or_else(|| Some(edges.first()?[0]))
}
