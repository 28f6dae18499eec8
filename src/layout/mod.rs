//! Rows, vines, posts and panels of a block.
//!
//! Takes a [`Site`], gives a [`Layout`]. Never reads a file, never asks the earth, never looks at a
//! count: whether a vine stands at a place is settled later, in `join`.
//!
//! What the next stage need not worry about: rows, vines and panels are in the order of their
//! numbers, every vine belongs to exactly one panel, a panel's vines are neighbours on one piece of
//! row, and every place is finite, in metres along and across the rows.

mod along;
mod clearance;
mod lines;
mod listed;
mod numbering;
mod offset;
mod panels;
mod pieces;
mod planned;
mod quantities;
mod standing;
mod strand;
mod told;

use std::ops::Range;

use geo::{LineString, MultiPolygon};

use self::{pieces::Ground, planned::StrandsByRow};
use crate::{
    block::ListedRow,
    error::Error,
    finding::Findings,
    frame::{RowPoint, Site, SiteKeepOut, StandingRow},
    names::{BlockName, IdDigits, PieceLetter},
    settings::RowRules,
};

pub use quantities::Quantities;

/// The rows, vines, posts and panels of a block.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Rows by number.
    pub rows: Vec<Row>,
    /// Pieces of rows, by row and from vine 1's end.
    pub pieces: Vec<Piece>,
    /// Vine places by row and number.
    pub vines: Vec<Vine>,
    /// Panels by row and number.
    pub panels: Vec<Panel>,
    /// Posts by row and piece.
    pub posts: Vec<Post>,
    /// How ids are printed.
    pub digits: IdDigits,
    /// Pieces of row that were too short to plant: where they lie and how long they are.
    pub left_out: Vec<LeftOut>,
    /// Lengths and numbers for the whole block.
    pub quantities: Quantities,
}

/// A row.
#[derive(Debug, Clone)]
pub struct Row {
    /// Its number.
    pub number: u32,
    /// Metres across, of its line; the mean for a row that bends.
    pub across_m: f64,
    /// Its pieces, as indices into [`Layout::pieces`].
    pub pieces: Range<usize>,
}

/// A piece of a row, end post to end post.
#[derive(Debug, Clone)]
pub struct Piece {
    /// The row's number.
    pub row: u32,
    /// Its letter; none when the row is in one piece.
    pub letter: Option<PieceLetter>,
    /// End post to end post, from vine 1's end, metres along and across.
    pub path: LineString<f64>,
    /// Metres from end post to end post.
    pub length_m: f64,
    /// Its vines, as indices into [`Layout::vines`].
    pub vines: Range<usize>,
    /// Its panels, as indices into [`Layout::panels`].
    pub panels: Range<usize>,
    /// The least clear length across the row's whole swath, beyond each anchor, metres; `None`
    /// where nothing limits it or it was not asked.
    pub clear_m: Option<[f64; 2]>,
}

/// A vine place.
#[derive(Debug, Clone, PartialEq)]
pub struct Vine {
    /// The row's number.
    pub row: u32,
    /// Its number in the row, from 1.
    pub vine: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Its panel, as an index into [`Layout::panels`].
    pub panel: usize,
    /// Where it stands.
    pub at: RowPoint,
    /// Metres from the first post of its row, along the row.
    pub chainage_m: f64,
}

/// Post to post: what a crew can find.
#[derive(Debug, Clone)]
pub struct Panel {
    /// The row's number.
    pub row: u32,
    /// Its number in the row, from 1.
    pub panel: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Its vines, as indices into [`Layout::vines`].
    pub vines: Range<usize>,
    /// The row's own line from post to post, metres along and across; two points or more.
    pub path: LineString<f64>,
}

/// A post or an anchor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Post {
    /// What it is.
    pub kind: PostKind,
    /// The row's number.
    pub row: u32,
    /// Its piece, as an index into [`Layout::pieces`].
    pub piece: usize,
    /// Where it stands.
    pub at: RowPoint,
}

/// What a post is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PostKind {
    /// At the end of a piece of row.
    End,
    /// Between two panels.
    Line,
    /// The tie-back anchor of an end post.
    Anchor,
}

/// A usable piece of row that is too short to plant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOut {
    /// Its middle.
    pub at: RowPoint,
    /// Metres between its ends.
    pub length_m: f64,
}

/// What the layout takes of a [`Site`]: the block on its plane, without the globe.
#[derive(Debug, Clone, Copy)]
pub struct Plot<'a> {
    /// The block's name.
    pub name: &'a BlockName,
    /// The outline, metres along and across.
    pub outline: &'a MultiPolygon<f64>,
    /// Ground that is not planted.
    pub keep_outs: &'a [SiteKeepOut],
    /// Rows that stand, as surveyed.
    pub standing_rows: &'a [StandingRow],
    /// A line without a number along a row, for `row_anchor` `row-line`.
    pub row_line: Option<&'a LineString<f64>>,
    /// The grower's own list of rows.
    pub row_list: &'a [(ListedRow, Option<RowPoint>)],
    /// Vine positions taken as they are.
    pub given_vines: &'a [(u32, u32, RowPoint)],
    /// The rules of the rows.
    pub rules: &'a RowRules,
}

impl<'a> From<&'a Site> for Plot<'a> {
    fn from(site: &'a Site) -> Self {
        Self {
            name: &site.name,
            outline: &site.outline,
            keep_outs: &site.keep_outs,
            standing_rows: &site.standing_rows,
            row_line: None,
            row_list: &site.row_list,
            given_vines: &site.given_vines,
            rules: &site.rules,
        }
    }
}

/// Lays out a block.
///
/// # Errors
/// When no row fits, a list of rows contradicts itself, or the block would hold more vines than the
/// limit.
///
/// # Source
/// The clearance rule and the keys of a block are those of `docs/formats.md`; the scan line is
/// described in `docs/methods.md`.
pub fn lay_out(site: &Site) -> Result<(Layout, Findings), Error> {
    lay_out_plot(&Plot::from(site))
}

/// Lays out a block that is given on its plane.
///
/// # Errors
/// As [`lay_out`].
pub fn lay_out_plot(plot: &Plot) -> Result<(Layout, Findings), Error> {
    let rows = rows_of(plot)?;
    let mut findings = rows.findings.clone();
    let layout = numbering::numbered(plot, rows);
    findings.extend(told::about(plot, &layout));
    Ok((layout, findings))
}

/// Rows before vines and panels have numbers.
#[derive(Debug, Clone, Default)]
struct Rows {
    strands: StrandsByRow,
    left_out: Vec<LeftOut>,
    findings: Findings,
}

/// The rows by what is known best: given vines, the grower's list, surveyed lines, the outline.
fn rows_of(plot: &Plot) -> Result<Rows, Error> {
    if !plot.given_vines.is_empty() {
        let (strands, findings) = standing::given(plot)?;
        return Ok(Rows { strands, findings, ..Rows::default() });
    }
    let ground = Ground::of(plot);
    let (surveyed, findings) = standing::surveyed(plot, &ground);
    let mut rows = if !plot.row_list.is_empty() {
        listed::lay_by_list(plot, &ground, &surveyed)?
    } else if surveyed.is_empty() {
        planned::lay_by_outline(plot, &ground)?
    } else {
        let around = planned::lay_around(plot, &ground, &standing::known(&surveyed))?;
        Rows { strands: numbering::together(surveyed, around.strands), ..around }
    };
    rows.findings.extend(findings);
    Ok(rows)
}
