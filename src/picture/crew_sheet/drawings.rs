//! What stays and what goes, drawn: to be understood without a word.
//!
//! What stays is filled, what goes is open and crossed, so that a black-and-white copy tells both.
//! Every drawing stands in a field 40 wide and 30 high, in millimetres times a scale.

use crate::picture::{
    Colour, Mark, Outline, PaperPoint, Shape, Stroke,
    colours::{INK, NEUTRAL, PAPER},
};

/// The field that a drawing stands in, before it is scaled.
pub(super) const FIELD: [f64; 2] = [40.0, 30.0];
/// Where the cordon lies below the field's head.
const CORDON: f64 = 21.0;
/// As much of the field as shoots on a cordon take.
pub(super) const TALLEST: f64 = CORDON + 3.0;

/// Makes a drawing at a scale.
pub(super) type Draw = fn(f64) -> Vec<Mark>;

/// What becomes of a shoot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Stays,
    Goes,
}

/// A drawing that is being made.
#[derive(Debug)]
struct Drawing {
    scale: f64,
    marks: Vec<Mark>,
}

/// Fruitful shoots, evenly apart.
pub(super) fn stays(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    for x in [6.0, 15.0, 24.0, 33.0] {
        drawing.shoot((x, CORDON), (15.0, 0.8), (Fate::Stays, true));
    }
    drawing.span(15.0, 24.0, 27.0);
    drawing.tick(37.0, 1.5);
    drawing.marks
}

/// Two shoots of one bud, the weaker crossed.
pub(super) fn doubles(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    drawing.spur(17.0);
    drawing.shoot((17.0, CORDON - 2.5), (15.5, -3.0), (Fate::Stays, true));
    drawing.shoot((17.8, CORDON - 2.5), (13.5, 9.5), (Fate::Goes, false));
    drawing.cross((25.2, 9.0), 5.0);
    drawing.marks
}

/// Two shoots of one bud, both kept: crop after a frost.
pub(super) fn doubles_stay(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    drawing.spur(17.0);
    drawing.shoot((17.0, CORDON - 2.5), (15.5, -3.0), (Fate::Stays, true));
    drawing.shoot((17.8, CORDON - 2.5), (13.5, 9.5), (Fate::Stays, true));
    drawing.tick(37.0, 1.5);
    drawing.marks
}

/// A shoot from the trunk and one that hangs down, both crossed.
pub(super) fn base(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.trunk(12.0);
    drawing.cordon(10.2, 40.0);
    drawing.shoot((18.0, CORDON), (14.5, 0.6), (Fate::Stays, true));
    drawing.shoot((13.0, 28.5), (12.0, -9.5), (Fate::Goes, false));
    drawing.shoot((29.0, CORDON + 1.0), (-7.5, 6.0), (Fate::Goes, false));
    drawing.cross((5.0, 19.5), 5.0);
    drawing.cross((33.2, 25.6), 4.0);
    drawing.marks
}

/// A short thin shoot without clusters between two fruitful ones, crossed.
pub(super) fn weak(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    drawing.shoot((9.0, CORDON), (15.5, 0.6), (Fate::Stays, true));
    drawing.shoot((20.0, CORDON), (9.0, 0.4), (Fate::Goes, false));
    drawing.shoot((31.0, CORDON), (15.0, 0.6), (Fate::Stays, true));
    drawing.cross((20.3, 15.0), 4.6);
    drawing.marks
}

/// A shoot near the head of the vine, ringed: it stays, to renew the cordon.
pub(super) fn renewal(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.trunk(20.0);
    drawing.cordon(0.0, 40.0);
    for x in [4.0, 34.0] {
        drawing.shoot((x, CORDON), (13.0, 0.6), (Fate::Stays, true));
    }
    drawing.shoot((20.0, CORDON), (13.5, 0.6), (Fate::Stays, false));
    drawing.ring(20.4, 14.0, 9.0);
    drawing.tick(37.0, 1.5);
    drawing.marks
}

/// A crowded stretch.
pub(super) fn before(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    for (at, x) in [4.0, 8.0, 11.5, 15.5, 20.0, 24.0, 28.0, 31.5, 36.0].into_iter().enumerate() {
        let goes = at % 3 != 1;
        let (fate, tall) = if goes { (Fate::Goes, 10.0) } else { (Fate::Stays, 15.0) };
        let lean = if at % 2 == 0 { -2.0 } else { 1.2 };
        drawing.shoot((x, CORDON), (tall, lean), (fate, !goes));
    }
    drawing.marks
}

/// The same thinned.
pub(super) fn after(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.cordon(0.0, 40.0);
    for x in [8.0, 20.0, 31.5] {
        drawing.shoot((x, CORDON), (15.0, 1.2), (Fate::Stays, true));
    }
    drawing.tick(37.0, 1.5);
    drawing.marks
}

/// An arrow downward, in the middle of a field's width.
pub(super) fn arrow(scale: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.line(&[(20.0, 1.0), (20.0, 5.0)], (INK, 1.2), None);
    drawing.fill(&[(17.4, 4.6), (20.0, 8.6), (22.6, 4.6)], INK);
    drawing.marks
}

/// One shoot that stays, its base in the corner: for the ruler.
pub(super) fn upright(scale: f64, height: f64) -> Vec<Mark> {
    let mut drawing = Drawing::new(scale);
    drawing.shoot((0.0, 0.0), (height, 0.4), (Fate::Stays, true));
    drawing.marks
}

impl Drawing {
    const fn new(scale: f64) -> Self {
        Self { scale, marks: Vec::new() }
    }

    fn at(&self, (x, y): (f64, f64)) -> PaperPoint {
        PaperPoint::new(x * self.scale, y * self.scale)
    }

    fn line(&mut self, points: &[(f64, f64)], (colour, width): (Colour, f64), dash: Option<f64>) {
        let outlines = vec![Outline::Line(points.iter().map(|&point| self.at(point)).collect())];
        let dash_mm = dash.map(|dash| [dash * self.scale, 0.7 * dash * self.scale]);
        let stroke = Some(Stroke { colour, width_mm: width * self.scale, dash_mm });
        self.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
    }

    fn fill(&mut self, points: &[(f64, f64)], colour: Colour) {
        let outlines = vec![Outline::Ring(points.iter().map(|&point| self.at(point)).collect())];
        let stroke = Some(Stroke { colour: INK, width_mm: 0.3 * self.scale, dash_mm: None });
        self.marks.push(Mark::Shape(Shape { outlines, fill: Some(colour), stroke }));
    }

    fn disc(&mut self, (x, y): (f64, f64), radius: f64, colour: Colour) {
        let outlines =
            vec![Outline::Disc { centre: self.at((x, y)), radius_mm: radius * self.scale }];
        let stroke = Some(Stroke { colour: INK, width_mm: 0.25 * self.scale, dash_mm: None });
        self.marks.push(Mark::Shape(Shape { outlines, fill: Some(colour), stroke }));
    }

    /// Old wood along the wire.
    fn cordon(&mut self, from: f64, to: f64) {
        self.line(&[(from, CORDON), (to, CORDON)], (INK, 3.0), None);
        self.line(&[(from, CORDON), (to, CORDON)], (NEUTRAL, 2.2), None);
    }

    fn trunk(&mut self, x: f64) {
        self.line(&[(x, CORDON), (x, 30.0)], (INK, 3.6), None);
        self.line(&[(x, CORDON), (x, 30.0)], (NEUTRAL, 2.8), None);
    }

    fn spur(&mut self, x: f64) {
        self.line(&[(x, CORDON), (x, CORDON - 3.0)], (INK, 2.0), None);
        self.line(&[(x, CORDON), (x, CORDON - 3.0)], (NEUTRAL, 1.2), None);
    }

    /// A shoot from its base: how high it grows (down, below 0) and how far its tip leans.
    fn shoot(
        &mut self,
        base: (f64, f64),
        (height, lean): (f64, f64),
        (fate, fruitful): (Fate, bool),
    ) {
        let on = |t: f64| (base.0 + lean * t * t.sqrt(), base.1 - height * t);
        let stem: Vec<(f64, f64)> = (0..=8).map(|step| on(f64::from(step) / 8.0)).collect();
        let dash = (fate == Fate::Goes).then_some(1.2);
        self.line(&stem, (INK, if fate == Fate::Goes { 0.6 } else { 0.9 }), dash);
        let size = 0.2 * height.abs() + 0.9;
        let leaf = if fate == Fate::Goes { PAPER } else { INK };
        for (at, t) in [0.42, 0.6, 0.78, 0.95].into_iter().enumerate() {
            let side = if at % 2 == 0 { 1.0 } else { -1.0 };
            self.leaf(on(t), side, size * (1.15 - 0.35 * t), (height.signum(), leaf));
        }
        if fruitful {
            self.cluster(on(0.34), -1.0);
            self.cluster(on(0.52), 1.0);
        }
    }

    /// A leaf with three points, away from its stem.
    fn leaf(&mut self, (x, y): (f64, f64), side: f64, size: f64, (up, colour): (f64, Colour)) {
        let outline = [
            (0.0, 0.0),
            (0.35, 0.42),
            (0.62, 0.3),
            (0.78, 0.55),
            (1.25, 0.3),
            (1.0, 0.08),
            (1.1, -0.22),
            (0.7, -0.18),
            (0.45, -0.42),
        ];
        let points = outline.map(|(a, b)| (x + side * size * a, y - up * size * b));
        self.fill(&points, colour);
    }

    /// A flower cluster hanging beside its stem.
    fn cluster(&mut self, (x, y): (f64, f64), side: f64) {
        for (a, b) in [(0.9, 0.2), (1.7, 0.2), (1.3, 0.9), (1.0, 1.5), (1.5, 1.6), (1.3, 2.2)] {
            self.disc((x + side * a, y + b), 0.5, PAPER);
        }
    }

    /// Thin enough that what is crossed is seen through it.
    fn cross(&mut self, (x, y): (f64, f64), r: f64) {
        let strokes = [[(x - r, y - r), (x + r, y + r)], [(x - r, y + r), (x + r, y - r)]];
        for (colour, width) in [(PAPER, 1.7), (INK, 1.0)] {
            for stroke in &strokes {
                self.line(stroke, (colour, width), None);
            }
        }
    }

    fn tick(&mut self, x: f64, y: f64) {
        let stroke = [(x - 3.0, y), (x - 1.0, y + 2.4), (x + 2.4, y - 3.0)];
        for (colour, width) in [(PAPER, 3.0), (INK, 1.5)] {
            self.line(&stroke, (colour, width), None);
        }
    }

    fn ring(&mut self, x: f64, y: f64, radius: f64) {
        let outlines =
            vec![Outline::Disc { centre: self.at((x, y)), radius_mm: radius * self.scale }];
        let stroke = Some(Stroke { colour: INK, width_mm: 0.8 * self.scale, dash_mm: None });
        self.marks.push(Mark::Shape(Shape { outlines, fill: None, stroke }));
    }

    /// How far two stand apart.
    fn span(&mut self, from: f64, to: f64, y: f64) {
        self.line(&[(from + 1.0, y), (to - 1.0, y)], (INK, 0.7), None);
        self.fill(&[(from, y), (from + 2.0, y - 1.3), (from + 2.0, y + 1.3)], INK);
        self.fill(&[(to, y), (to - 2.0, y - 1.3), (to - 2.0, y + 1.3)], INK);
        for x in [from, to] {
            self.line(&[(x, CORDON + 1.8), (x, y + 1.8)], (INK, 0.4), None);
        }
    }
}
