//! Numbers and lengths of rows, lettered along the row beyond its ends.

use geo::Coord;

use crate::{
    error::Error,
    frame::RowPoint,
    picture::{
        Anchor, Hand, Lettering, Mark, Outline, PaperPoint, Shape,
        boxes::{Boxed, Edge, edges, holds},
        colours::{INK, PAPER},
        lettering::width_mm,
        map::{Area, Placement},
        planting::{
            drawing::{Drawing, RowDrawn, RowEnd, path},
            rows::Sizes,
        },
        words,
    },
    units::Degrees,
};

/// Where not every row is numbered, every so many-th is.
const STEPS: [u32; 7] = [5, 10, 20, 50, 100, 200, 500];
/// A number moves out by so many millimetres at most to find free paper.
const OUTWARD_STEPS: i32 = 24;
/// Nearer than this it stands at the row.
const CLOSE_STEPS: i32 = 3;
/// Paper between the end of a row and its number.
const GAP_MM: f64 = 1.6;

/// The lettering of rows.
struct RowWords<'a> {
    drawing: &'a Drawing<'a>,
    placement: &'a Placement,
    area: Area,
    /// What is never lettered over.
    lines: Vec<Edge>,
    /// What is lettered over only where there is no other paper.
    borders: Vec<Edge>,
    outline: Vec<Edge>,
    hand: Hand,
    /// Whether lettering at the near and the far ends is tried within the outline before beyond it.
    inside_first: [bool; 2],
    lettered: Lettered,
}

/// The lettering of rows and the paper that it takes.
#[derive(Debug, Clone, Default)]
pub(super) struct Lettered {
    /// What is drawn.
    pub(super) marks: Vec<Mark>,
    /// The paper it takes.
    pub(super) taken: Vec<Boxed>,
    /// The first vine of the first row, where that row's name found no paper.
    pub(super) row_1_without_name: Option<RowPoint>,
}

/// Numbers at both ends of the rows, lengths at the far one, as many as there is room for.
///
/// # Errors
/// When a letter has no shape.
pub(super) fn row_words(
    drawing: &Drawing<'_>,
    (placement, sizes): (&Placement, &Sizes),
    area: Area,
) -> Result<Lettered, Error> {
    let (hand, every) = hand_and_step(sizes.row_gap);
    let lines = lines(drawing, placement);
    let outline = edges(&placement.polygon(&drawing.site.outline));
    let mut borders = outline.clone();
    for around in &drawing.around {
        borders.extend(edges(&placement.polygon(around)));
    }
    let lettered = Lettered::default();
    let inside_first = [true; 2];
    let mut lettering = RowWords {
        drawing,
        placement,
        area,
        lines,
        borders,
        outline,
        hand,
        inside_first,
        lettered,
    };
    let rows: Vec<&RowDrawn> = chosen(&drawing.rows, every).collect();
    lettering.inside_first = lettering.fits_inside(&rows)?;
    for row in rows {
        lettering.letter(row)?;
    }
    Ok(lettering.lettered)
}

/// Every row where they lie far enough apart on paper, else every fifth, tenth …
fn hand_and_step(row_gap: f64) -> (Hand, u32) {
    let hand = |size_mm| Hand { size_mm, bold: false };
    match row_gap {
        gap if gap >= 3.9 => (hand(3.2), 1),
        gap if gap >= 2.9 => (hand(2.5), 1),
        gap => {
            let far_enough = |step: &u32| f64::from(*step) * gap >= 4.0;
            (hand(3.0), STEPS.into_iter().find(far_enough).unwrap_or(1000))
        }
    }
}

/// The first row, the last, and between them the round ones that do not crowd these.
fn chosen(rows: &[RowDrawn], every: u32) -> impl Iterator<Item = &RowDrawn> {
    let ends = [rows.first(), rows.last()].map(|row| row.map_or(0, |row| row.number));
    let round = move |row: &&RowDrawn| {
        let near = ends.map(|end| f64::from(end.abs_diff(row.number)) < 0.85 * f64::from(every));
        row.number.is_multiple_of(every) && near == [false, false]
    };
    let between = rows.iter().filter(round);
    let last = rows.last().filter(|_| rows.len() > 1);
    rows.first().into_iter().chain(last).chain(between)
}

/// Rows and their anchors on paper.
fn lines(drawing: &Drawing<'_>, placement: &Placement) -> Vec<Edge> {
    let place = |at| {
        let at = placement.point(at);
        Coord { x: at.x_mm, y: at.y_mm }
    };
    let pieces = drawing.layout.pieces.iter().flat_map(|piece| {
        let path: Vec<Coord<f64>> = path(piece).map(place).collect();
        path.windows(2).map(|pair| [pair[0], pair[1]]).collect::<Vec<_>>()
    });
    let posts = drawing.layout.posts.iter().map(|post| [place(post.at); 2]);
    let tied = drawing
        .rows
        .iter()
        .flat_map(|row| row.ends.map(|end| [place(end.outermost), place(end.inward)]));
    pieces.chain(posts).chain(tied).collect()
}

impl RowWords<'_> {
    /// Whether most rows have their words between their ends and the outline, near and far.
    fn fits_inside(&self, rows: &[&RowDrawn]) -> Result<[bool; 2], Error> {
        let mut inside = [0, 0];
        for row in rows {
            for (at, end) in row.ends.iter().enumerate() {
                let words = if at == 0 { row.number.to_string() } else { self.far_words(row) };
                let run = self.run(end, words, self.hand)?;
                let close = (0..CLOSE_STEPS).map(|out| run.at(f64::from(out)).1);
                let fits = close.into_iter().any(|boxed| !self.on_border(&boxed));
                inside[at] += usize::from(fits);
            }
        }
        Ok(inside.map(|fitting| 5 * fitting >= 4 * rows.len()))
    }

    fn far_words(&self, row: &RowDrawn) -> String {
        let length = words::row_length(row.length_m, self.drawing.notes.units);
        format!("{} · {length}", row.number)
    }

    fn letter(&mut self, row: &RowDrawn) -> Result<(), Error> {
        let first = self.drawing.rows.first().is_some_and(|first| first.number == row.number);
        let number = row.number.to_string();
        let hand = Hand { bold: first, ..self.hand };
        let [near, far] = row.ends;
        let [near_inside, far_inside] = self.inside_first;
        let name = if first { format!("row {number}") } else { number.clone() };
        let named = self.place(&self.run(&near, name, hand)?, near_inside);
        if first && !named {
            self.lettered.row_1_without_name = Some(near.vine);
        }
        let long = self.run(&far, self.far_words(row), hand)?;
        if !self.place(&long, far_inside) {
            let short = self.run(&far, number, hand)?;
            self.place(&short, far_inside);
        }
        Ok(())
    }

    /// Words outward from the end of a row.
    fn run(&self, end: &RowEnd, words: String, hand: Hand) -> Result<Run, Error> {
        let (at, inward) = (self.placement.point(end.outermost), self.placement.point(end.inward));
        let (x, y) = (at.x_mm - inward.x_mm, at.y_mm - inward.y_mm);
        let length = x.hypot(y).max(1e-9);
        Run::new((at, [x / length, y / length]), words, hand)
    }

    /// Letters a run where it finds free paper, if it does. Where only a border is in the way, that
    /// is masked.
    fn place(&mut self, run: &Run, inside_first: bool) -> bool {
        let places = || (0..OUTWARD_STEPS).map(|out| run.at(f64::from(out)));
        let beyond = |boxed: &Boxed| !holds(&self.outline, boxed.middle);
        let clear = |boxed: &Boxed| self.is_free(boxed) && !self.on_border(boxed);
        let outside = || places().find(|(_, boxed)| beyond(boxed) && clear(boxed));
        let anywhere = || places().find(|(_, boxed)| clear(boxed));
        let found = if inside_first { anywhere() } else { outside().or_else(anywhere) };
        let masking = found.is_none();
        let found = found.or_else(|| places().find(|(_, boxed)| self.is_free(boxed)));
        let Some((mark, boxed)) = found else { return false };
        self.lettered.marks.extend(masking.then(|| mask(&boxed)));
        self.lettered.marks.push(mark);
        self.lettered.taken.push(boxed);
        true
    }

    fn is_free(&self, boxed: &Boxed) -> bool {
        boxed.is_within(&self.area)
            && !self.lettered.taken.iter().any(|other| other.overlaps(boxed))
            && !is_crossed(boxed, &self.lines)
    }

    fn on_border(&self, boxed: &Boxed) -> bool {
        is_crossed(boxed, &self.borders)
    }
}

fn is_crossed(boxed: &Boxed, edges: &[Edge]) -> bool {
    edges.iter().any(|[from, to]| boxed.is_crossed(*from, *to))
}

/// Blank paper under some lettering.
fn mask(boxed: &Boxed) -> Mark {
    let corners = boxed.corners().map(|at| PaperPoint::new(at.x, at.y));
    let outlines = vec![Outline::Ring(corners.to_vec())];
    Mark::Shape(Shape { outlines, fill: Some(PAPER), stroke: None })
}

/// Words that run along a row, outward from its end.
struct Run {
    words: String,
    width: f64,
    end: PaperPoint,
    way: [f64; 2],
    turn: Degrees,
    hand: Hand,
}

impl Run {
    fn new((end, way): (PaperPoint, [f64; 2]), words: String, hand: Hand) -> Result<Self, Error> {
        let turn = Degrees::from_radians(way[1].atan2(way[0])).degrees();
        // Lettering is read from the left, or from below.
        let backward = !(-90.1..89.9).contains(&turn);
        let turn = if backward { turn - 180.0 * turn.signum() } else { turn };
        let width = width_mm(&words, hand)?;
        Ok(Self { words, width, end, way, turn: Degrees::new(turn), hand })
    }

    /// The words so many millimetres further out than they need be.
    fn at(&self, further: f64) -> (Mark, Boxed) {
        let (size, end) = (self.hand.size_mm, self.end);
        let reach = GAP_MM + further + self.width / 2.0;
        let middle =
            PaperPoint::new(end.x_mm + reach * self.way[0], end.y_mm + reach * self.way[1]);
        let (sine, cosine) = self.turn.radians().sin_cos();
        let base =
            PaperPoint::new(middle.x_mm - 0.36 * size * sine, middle.y_mm + 0.36 * size * cosine);
        let level = Lettering::level(base, self.words.clone(), self.hand, (Anchor::Middle, INK));
        let boxed = Boxed::new(middle, self.width + 0.8, 0.95 * size).turned(self.turn);
        (Mark::Lettering(Lettering { turn: self.turn, ..level }), boxed)
    }
}
