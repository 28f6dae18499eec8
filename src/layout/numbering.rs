//! Numbers: rows, pieces, vines and panels, counted from vine 1's end.
//!
//! `vine_1` says only from which end a grower counts: no vine and no end post moves by it. Panels
//! are counted from vine 1 as well, so that a first panel with fewer vines is the grower's first.

use std::collections::BTreeMap;

use geo::{Coord, LineString};

use super::{
    Layout, Panel, Piece, Plot, Post, PostKind, Quantities, Row, Rows, Vine,
    panels::{Sizes, panels_of},
    planned::StrandsByRow,
    quantities, relief, standing,
    strand::{Strand, coord, row_point},
    tape::Tape,
};
use crate::{
    block::VineOne,
    names::{IdDigits, PieceLetter},
};

/// Whether the vines of a row are counted from its far end.
pub(super) const fn counts_from_far_end(vine_1: VineOne, row: u32) -> bool {
    match vine_1 {
        VineOne::Start => false,
        VineOne::End => true,
        VineOne::Serpentine => row.is_multiple_of(2),
    }
}

/// Gives every row, piece, vine and panel its number and every post its place in the list.
pub(super) fn numbered(plot: &Plot, rows: Rows) -> Layout {
    let first_panels = plot.row_list.iter();
    let first_panels = first_panels.filter_map(|(row, _)| Some((row.row, row.first_panel_vines?)));
    let mut register = Register::new(plot, first_panels.collect());
    for (number, strands) in rows.strands {
        register.row(number, strands);
    }
    let Register { mut layout, greatest, .. } = register;
    layout.left_out = rows.left_out;
    layout.digits = IdDigits::for_greatest(greatest.row, greatest.vine, greatest.panel);
    layout.quantities = quantities::of(plot, &layout);
    layout
}

/// The greatest numbers given so far.
#[derive(Debug, Clone, Copy, Default)]
struct Greatest {
    row: u32,
    vine: u32,
    panel: u32,
}

/// A layout in the making.
struct Register<'p> {
    plot: &'p Plot<'p>,
    first_panels: BTreeMap<u32, u32>,
    layout: Layout,
    greatest: Greatest,
}

/// Where the count of a row stands.
#[derive(Debug, Clone, Copy)]
struct RowCount {
    number: u32,
    vines: u32,
    panels: u32,
    /// The row's first post.
    first_post: Coord<f64>,
}

impl<'p> Register<'p> {
    fn new(plot: &'p Plot<'p>, first_panels: BTreeMap<u32, u32>) -> Self {
        let layout = Layout {
            rows: Vec::new(),
            pieces: Vec::new(),
            vines: Vec::new(),
            panels: Vec::new(),
            posts: Vec::new(),
            digits: IdDigits::for_greatest(0, 0, 0),
            left_out: Vec::new(),
            quantities: Quantities::default(),
        };
        Self { plot, first_panels, layout, greatest: Greatest::default() }
    }

    fn row(&mut self, number: u32, mut strands: Vec<Strand>) {
        let given = strands.iter().any(|strand| strand.numbers.is_some());
        if !given && counts_from_far_end(self.plot.rules.vine_1, number) {
            strands = strands.into_iter().rev().map(Strand::reversed).collect();
        }
        let across_m = standing::across(&strands);
        let first_post = strands.first().map_or(Coord::zero(), |strand| coord(strand.at(0.0)));
        let from = self.layout.pieces.len();
        let cut = strands.len() > 1;
        let mut count = RowCount { number, vines: 0, panels: 0, first_post };
        for (index, strand) in strands.iter().enumerate() {
            let letter = u16::try_from(index).unwrap_or(u16::MAX);
            self.piece(strand, cut.then(|| PieceLetter::of(letter)), &mut count);
        }
        self.layout.rows.push(Row { number, across_m, pieces: from..self.layout.pieces.len() });
        self.greatest.row = self.greatest.row.max(number);
        self.greatest.panel = self.greatest.panel.max(count.panels);
    }

    fn piece(&mut self, strand: &Strand, letter: Option<PieceLetter>, count: &mut RowCount) {
        let piece = self.layout.pieces.len();
        let (vines, panels) = (self.layout.vines.len(), self.layout.panels.len());
        let before = self.before(strand, count.first_post);
        let stretches = panels_of(strand, self.sizes(*count));
        let line_posts: Vec<f64> = stretches.iter().skip(1).map(|panel| panel.part.low).collect();
        let panels_before = count.panels;
        for stretch in stretches {
            count.panels = panels_before + stretch.before + 1;
            let from = self.layout.vines.len();
            for place in stretch.vines {
                self.vine(strand, place, before, count);
            }
            self.layout.panels.push(Panel {
                row: count.number,
                panel: count.panels,
                piece,
                vines: from..self.layout.vines.len(),
                path: strand.part(stretch.part),
            });
        }
        self.posts(strand, &line_posts, count.number);
        self.layout.pieces.push(Piece {
            row: count.number,
            letter,
            path: strand.path.clone(),
            length_m: strand.level_length_m(),
            relief: self.plot.terrain.and_then(|terrain| relief::of(&strand.path, terrain)),
            vines: vines..self.layout.vines.len(),
            panels: panels..self.layout.panels.len(),
            clear_m: strand.clear_m,
        });
    }

    /// Metres from the row's first post to that of a strand.
    fn before(&self, strand: &Strand, first_post: Coord<f64>) -> f64 {
        let level_m = (strand.at(0.0).along_m - first_post.x).abs();
        let way = LineString::from(vec![first_post, coord(strand.at(0.0))]);
        Tape::of(self.plot, &way).tape_m(level_m)
    }

    fn sizes(&self, count: RowCount) -> Sizes {
        let rules = self.plot.rules;
        let listed = self.first_panels.get(&count.number).copied();
        let others = rules.vines_per_panel;
        // Only the row's first panel is special, not that of a later piece.
        let first = listed.unwrap_or(rules.first_panel_vines);
        Sizes { first: if count.panels == 0 { first } else { others }, others }
    }

    fn vine(&mut self, strand: &Strand, place: usize, before: f64, count: &mut RowCount) {
        let given = strand.numbers.as_ref().map(|numbers| numbers[place]);
        count.vines = given.unwrap_or(count.vines + 1);
        self.greatest.vine = self.greatest.vine.max(count.vines);
        let chainage = strand.vines[place];
        self.layout.vines.push(Vine {
            row: count.number,
            vine: count.vines,
            piece: self.layout.pieces.len(),
            panel: self.layout.panels.len(),
            at: strand.at(chainage),
            chainage_m: before + chainage,
        });
    }

    fn posts(&mut self, strand: &Strand, line_posts: &[f64], row: u32) {
        let piece = self.layout.pieces.len();
        let mut push = |kind, at| self.layout.posts.push(Post { kind, row, piece, at });
        let ends = [strand.path.0.first(), strand.path.0.last()];
        for end in ends.into_iter().flatten() {
            push(PostKind::End, row_point(*end));
        }
        for chainage in line_posts {
            push(PostKind::Line, strand.at(*chainage));
        }
        for anchor in strand.anchors.iter().flatten() {
            push(PostKind::Anchor, *anchor);
        }
    }
}

/// Strands of both, by row; where both have a row the first one's stand.
pub(super) fn together(mut first: StrandsByRow, others: StrandsByRow) -> StrandsByRow {
    for (number, strands) in others {
        first.entry(number).or_insert(strands);
    }
    first
}
