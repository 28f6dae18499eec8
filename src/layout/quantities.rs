//! Lengths and numbers for the whole block.

/// Lengths and numbers for the whole block.
#[derive(Debug, Clone, PartialEq)]
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
