//! Furniture of a page: marks that are moved together, and the hands it is lettered in.

use crate::{
    error::Error,
    picture::{
        Anchor, Colour, Hand, Lettering, Mark, Outline, PaperPoint, Shape,
        colours::{INK, SOFT_INK},
        lettering::{self, shorten, wrap},
    },
};

/// A heading.
pub(super) const HEADING: Hand = Hand { size_mm: 4.2, bold: true };
/// What is read.
pub(super) const BODY: Hand = Hand { size_mm: 3.6, bold: false };
/// What explains.
pub(super) const SMALL: Hand = Hand { size_mm: 3.2, bold: false };

/// How large titles, headings and small print stand beside the words of a body, on paper and on
/// screens.
#[cfg(test)]
pub(crate) fn type_scale() -> [(&'static str, f64); 3] {
    let beside_body = |hand: Hand| hand.size_mm / BODY.size_mm;
    [
        ("title", beside_body(super::heading::TITLE)),
        ("heading", beside_body(HEADING)),
        ("small", beside_body(SMALL)),
    ]
}

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
        self.marks.push(Mark::Lettering(Lettering::level(at, words, hand, (anchor, colour))));
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

    /// Adds a line below with words at its start and at its end, both shortened where they would
    /// meet; the end has at least a third.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn pair(
        &mut self,
        (start, end): (&str, &str),
        hand: Hand,
        width_mm: f64,
    ) -> Result<(), Error> {
        let gap = hand.size_mm;
        let most = (width_mm - gap - lettering::width_mm(start, hand)?).max(width_mm / 3.0);
        let end = shorten(end, hand, most)?;
        let left = width_mm - gap - lettering::width_mm(&end, hand)?;
        let base = 1.05 * hand.size_mm;
        self.letter((0.0, base), shorten(start, hand, left)?, hand, (Anchor::Start, SOFT_INK));
        self.letter((width_mm, base), end, hand, (Anchor::End, INK));
        self.height_mm += 1.38 * hand.size_mm;
        Ok(())
    }

    /// Adds words below that explain a symbol `swatch_mm` wide, and gives the middle of the symbol.
    ///
    /// # Errors
    /// When a letter has no shape.
    pub(super) fn explained(
        &mut self,
        words: &str,
        swatch_mm: f64,
        width_mm: f64,
    ) -> Result<PaperPoint, Error> {
        let middle = PaperPoint::new(swatch_mm / 2.0, self.height_mm + 0.7 * SMALL.size_mm);
        let start = swatch_mm + 3.0;
        for line in wrap(words, SMALL, width_mm - start)? {
            self.letter((start, 1.05 * SMALL.size_mm), line, SMALL, (Anchor::Start, INK));
            self.height_mm += 1.32 * SMALL.size_mm;
        }
        self.height_mm += 0.4;
        Ok(middle)
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
