//! `layout.json`: lengths and numbers of a block, and its frame.

use serde::Serialize;

use super::materials::{MaterialLine, lines};
use crate::{
    error::Error,
    frame::Site,
    layout::{Layout, Materials, wire_m},
    write::{FrameRecord, layers::rounded, run_record::pretty},
};

/// What `layout.json` says; the fields are those of the contract.
#[derive(Debug, Serialize)]
struct LayoutReport<'a> {
    block: &'a str,
    rows: usize,
    vines: usize,
    panels: usize,
    posts_end: usize,
    posts_line: usize,
    anchors: usize,
    row_length_m: f64,
    /// One wire from anchor to anchor; times the number of wires for an order.
    wire_m: f64,
    planted_ha: f64,
    block_ha: f64,
    vines_per_ha: f64,
    shortest_row_m: f64,
    median_row_m: f64,
    longest_row_m: f64,
    least_clear_m: Option<f64>,
    left_out_pieces: Vec<LeftOutPiece>,
    materials: Vec<MaterialLine>,
    frame: FrameRecord,
}

/// A piece of row that was too short to plant.
#[derive(Debug, Serialize)]
struct LeftOutPiece {
    lon_deg: f64,
    lat_deg: f64,
    length_m: f64,
}

/// The numbers of a layout as the bytes of `layout.json`.
///
/// # Errors
/// A fault of the program: a number that is not finite.
pub fn layout_json(site: &Site, layout: &Layout, materials: &Materials) -> Result<Vec<u8>, Error> {
    let quantities = &layout.quantities;
    let [shortest, median, longest] = quantities.row_lengths_m;
    let millimetres = |length: f64| rounded(length, 3);
    pretty(&LayoutReport {
        block: site.name.as_str(),
        rows: quantities.rows,
        vines: quantities.vines,
        panels: layout.panels.len(),
        posts_end: quantities.posts_end,
        posts_line: quantities.posts_line,
        anchors: quantities.anchors,
        row_length_m: millimetres(quantities.row_length_m),
        wire_m: millimetres(wire_m(layout, &site.rules)),
        planted_ha: rounded(quantities.planted_ha, 6),
        block_ha: rounded(quantities.block_ha, 6),
        vines_per_ha: rounded(quantities.vines_per_ha, 3),
        shortest_row_m: millimetres(shortest),
        median_row_m: millimetres(median),
        longest_row_m: millimetres(longest),
        least_clear_m: quantities.least_clear_m.map(millimetres),
        left_out_pieces: left_out(site, layout),
        materials: lines(materials),
        frame: FrameRecord::of(&site.frame),
    })
}

fn left_out(site: &Site, layout: &Layout) -> Vec<LeftOutPiece> {
    let piece = |piece: &crate::layout::LeftOut| {
        let at = site.frame.to_lon_lat(piece.at);
        LeftOutPiece {
            lon_deg: rounded(at.lon(), 8),
            lat_deg: rounded(at.lat(), 8),
            length_m: rounded(piece.length_m, 3),
        }
    };
    layout.left_out.iter().map(piece).collect()
}
