//! Lengths and numbers for the whole block.

use geo::Area;

use super::{Layout, Plot, PostKind};
use crate::maths::float;

/// Square metres in a hectare.
pub(super) const M2_PER_HA: f64 = 10_000.0;

/// Lengths and numbers for the whole block.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Quantities {
    /// Rows with at least one vine place.
    pub rows: usize,
    /// Vine places.
    pub vines: usize,
    /// End posts.
    pub posts_end: usize,
    /// Line posts.
    pub posts_line: usize,
    /// Tie-back anchors.
    pub anchors: usize,
    /// Metres of row, end post to end post, all pieces.
    pub row_length_m: f64,
    /// Shortest, median and longest row, metres.
    pub row_lengths_m: [f64; 3],
    /// Hectares of planted ground: row length times row spacing.
    pub planted_ha: f64,
    /// Hectares inside the outline.
    pub block_ha: f64,
    /// Vine places per hectare of planted ground.
    pub vines_per_ha: f64,
    /// The least clear length beyond any row's end across its whole swath, metres.
    pub least_clear_m: Option<f64>,
}

/// The quantities of a layout.
pub(super) fn of(plot: &Plot, layout: &Layout) -> Quantities {
    let posts = |kind| layout.posts.iter().filter(|post| post.kind == kind).count();
    let lengths = row_lengths(layout);
    let row_length_m: f64 = lengths.iter().sum();
    let planted_ha = row_length_m * plot.rules.row_spacing.metres() / M2_PER_HA;
    let vines = layout.vines.len();
    let clear = layout.pieces.iter().filter_map(|piece| piece.clear_m).flatten();
    Quantities {
        rows: lengths.len(),
        vines,
        posts_end: posts(PostKind::End),
        posts_line: posts(PostKind::Line),
        anchors: posts(PostKind::Anchor),
        row_length_m,
        row_lengths_m: shortest_median_longest(lengths),
        planted_ha,
        block_ha: plot.outline.unsigned_area() / M2_PER_HA,
        vines_per_ha: if planted_ha > 0.0 { float(vines) / planted_ha } else { 0.0 },
        least_clear_m: clear.min_by(f64::total_cmp),
    }
}

/// Metres of every row that holds a vine place.
fn row_lengths(layout: &Layout) -> Vec<f64> {
    let pieces = layout.rows.iter().map(|row| &layout.pieces[row.pieces.clone()]);
    let planted = pieces.filter(|pieces| pieces.iter().any(|piece| !piece.vines.is_empty()));
    planted.map(|pieces| pieces.iter().map(|piece| piece.length_m).sum()).collect()
}

/// Of any lengths; zeros without any.
pub(super) fn shortest_median_longest(mut lengths: Vec<f64>) -> [f64; 3] {
    lengths.sort_by(f64::total_cmp);
    let [Some(shortest), Some(longest)] = [lengths.first(), lengths.last()] else {
        return [0.0; 3];
    };
    let half = lengths.len() / 2;
    let median = lengths[half].midpoint(lengths[(lengths.len() - 1) / 2]);
    [*shortest, median, *longest]
}
