//! `layout.json`: lengths and numbers of a block, and its frame.

use serde::Serialize;

use super::materials::{MaterialLine, lines};
use crate::{
    error::Error,
    frame::{Site, TerrainFacts},
    layout::{Layout, Materials, Piece, wire_m},
    write::{FrameRecord, layers::rounded, run_record::pretty},
};

/// What `layout.json` says; its fields are listed in docs/formats.md.
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
    /// One wire from anchor to anchor, along the ground where its heights are known; times the
    /// number of wires for an order.
    wire_m: f64,
    planted_ha: f64,
    block_ha: f64,
    vines_per_ha: f64,
    shortest_row_m: f64,
    median_row_m: f64,
    longest_row_m: f64,
    least_clear_m: Option<f64>,
    left_out_pieces: Vec<LeftOutPiece>,
    /// Null without an elevation model.
    terrain: Option<TerrainReport<'a>>,
    materials: Vec<MaterialLine>,
    frame: FrameRecord,
}

/// The ground inside the outline, as an elevation model has it.
#[derive(Debug, Serialize)]
struct TerrainReport<'a> {
    source: &'a str,
    cell_m: f64,
    support_m: f64,
    covered_pct: f64,
    lowest_m: Option<f64>,
    highest_m: Option<f64>,
    mean_slope_pct: Option<f64>,
    steepest_pct: Option<f64>,
    row_length_ground_m: f64,
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
        terrain: site.terrain.as_ref().map(|terrain| terrain_report(terrain.facts(), layout)),
        materials: lines(materials),
        frame: FrameRecord::of(&site.frame),
    })
}

fn terrain_report<'a>(facts: &'a TerrainFacts, layout: &Layout) -> TerrainReport<'a> {
    let percent = |share: f64| rounded(share * 100.0, 2);
    TerrainReport {
        source: &facts.source,
        cell_m: rounded(facts.cell.metres(), 3),
        support_m: rounded(facts.support.metres(), 3),
        covered_pct: percent(facts.covered_share),
        lowest_m: facts.heights_m.map(|[lowest, _]| rounded(lowest, 2)),
        highest_m: facts.heights_m.map(|[_, highest]| rounded(highest, 2)),
        mean_slope_pct: facts.slopes.map(|[mean, _]| percent(mean)),
        steepest_pct: facts.slopes.map(|[_, steepest]| percent(steepest)),
        row_length_ground_m: rounded(layout.pieces.iter().map(Piece::ground_length_m).sum(), 3),
    }
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
