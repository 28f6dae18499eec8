//! What a tape must read between stakes: lengths, sides and diagonals of the block of rows.

use super::{Layout, Piece, Row, strand::length};
use crate::units::Metres;

/// A distance to measure between two end posts.
#[derive(Debug, Clone, PartialEq)]
pub struct TapeCheck {
    /// What it is: `row`, `side` or `diagonal`.
    pub what: &'static str,
    /// Where the tape starts, such as `R001 near end post`.
    pub from: String,
    /// Where it ends.
    pub to: String,
    /// What it must read, held level.
    pub length: Metres,
}

/// How far rows lie from one another, square to them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AcrossCheck {
    /// The one row.
    pub from: u32,
    /// The other row.
    pub to: u32,
    /// From line to line.
    pub length: Metres,
}

/// First and last row, both sides and both diagonals between their end posts.
///
/// Where rows are counted from alternate ends, diagonals still cross: ends are told apart by where
/// they lie, not by where vine 1 stands.
pub fn tape_checks(layout: &Layout) -> Vec<TapeCheck> {
    let Some((first, last)) = layout.rows.first().zip(layout.rows.last()) else {
        return Vec::new();
    };
    let corners = |row: &Row| -> Option<[Corner; 2]> {
        let pieces = &layout.pieces[row.pieces.clone()];
        let [near, far] =
            [corner(layout, pieces.first()?, true)?, corner(layout, pieces.last()?, false)?];
        Some(if near.at.x <= far.at.x { [near, far] } else { [far, near] })
    };
    let Some([low, high]) = corners(first) else { return Vec::new() };
    let mut checks = vec![check("row", &low, &high)];
    if let Some([other_low, other_high]) = corners(last).filter(|_| last.number != first.number) {
        checks.push(check("row", &other_low, &other_high));
        checks.push(check("side", &low, &other_low));
        checks.push(check("side", &high, &other_high));
        checks.push(check("diagonal", &low, &other_high));
        checks.push(check("diagonal", &high, &other_low));
    }
    checks
}

/// The first row to the next, and to the last.
pub fn across_checks(layout: &Layout) -> Vec<AcrossCheck> {
    let Some((first, others)) = layout.rows.split_first() else { return Vec::new() };
    let ends = [others.first(), others.last().filter(|_| others.len() > 1)];
    let check = |other: &Row| AcrossCheck {
        from: first.number,
        to: other.number,
        length: Metres::new((other.across_m - first.across_m).abs()),
    };
    ends.into_iter().flatten().map(check).collect()
}

/// An end post with its long name.
struct Corner {
    at: geo::Coord<f64>,
    id: String,
}

fn corner(layout: &Layout, piece: &Piece, near: bool) -> Option<Corner> {
    let at = if near { piece.path.0.first() } else { piece.path.0.last() };
    let id = layout.digits.piece(piece.row, piece.letter);
    Some(Corner { at: *at?, id: format!("{id} {} end post", if near { "near" } else { "far" }) })
}

fn check(what: &'static str, from: &Corner, to: &Corner) -> TapeCheck {
    TapeCheck {
        what,
        from: from.id.clone(),
        to: to.id.clone(),
        length: Metres::new(length(from.at, to.at)),
    }
}
