//! `rows.geojson`: a line for every piece of a row.

use super::{
    ground::{Ground, MAP_DECIMALS, letter},
    property::Properties,
};
use crate::{
    frame::Site,
    layout::{Layout, Piece, Relief},
    write::{
        Column,
        Kind::{Integer, Number, Text},
        Layer,
    },
};

/// Every piece of a row, end post to end post, running the way vine numbers grow.
pub fn rows(site: &Site, layout: &Layout) -> Layer {
    let ground = Ground::new(site, layout);
    let pieces = layout.pieces.iter();
    let things = pieces.map(|piece| {
        let facts = RowFacts { ground: ground.clone(), piece };
        (ground.line(&piece.path), facts)
    });
    properties().layer("rows", MAP_DECIMALS, things)
}

pub(super) struct RowFacts<'a> {
    ground: Ground<'a>,
    piece: &'a Piece,
}

impl RowFacts<'_> {
    fn relief(&self, fact: impl Fn(&Relief) -> f64) -> Option<f64> {
        self.piece.relief.as_ref().map(fact)
    }
}

pub(super) fn columns() -> Vec<Column> {
    properties().columns().to_vec()
}

fn properties<'a>() -> Properties<'a, RowFacts<'a>> {
    Properties::<'a, RowFacts<'a>>::new()
        .column("id", Text, "", "the piece's id, such as R012 or R012a")
        .is(|row| row.ground.layout.digits.piece(row.piece.row, row.piece.letter))
        .column("block", Text, "", "the block's name")
        .is(|row| row.ground.block.clone())
        .column("row", Integer, "", "the row's number")
        .is(|row| row.piece.row)
        .column("piece", Text, "", "the piece's letter; null for a row in one piece")
        .is(|row| letter(row.piece))
        .column("cultivar", Text, "", "the cultivar; null when the block names none")
        .is(|row| row.ground.cultivar_of_row(row.piece.row))
        .column("vines", Integer, "places", "places for vines, empty ones too")
        .is(|row| row.piece.vines.len())
        .column("panels", Integer, "panels", "panels, post to post")
        .is(|row| row.piece.panels.len())
        .column("length_m", Number(3), "metres", "end post to end post, level")
        .is(|row| row.piece.length_m)
        .column("clear_start_m", Number(3), "metres", "least clear length before its start")
        .is(|row| row.piece.clear_m.map(|clear| clear[0]))
        .column("clear_end_m", Number(3), "metres", "least clear length beyond its end")
        .is(|row| row.piece.clear_m.map(|clear| clear[1]))
        .column("length_ground_m", Number(3), "metres", "end post to end post along the ground")
        .is(|row| row.relief(|relief| relief.length_m))
        .column("slope_along_pct", Number(2), "percent", "mean rise the way vine numbers grow")
        .is(|row| row.relief(|relief| relief.along * 100.0))
        .column("slope_along_max_pct", Number(2), "percent", "steepest along it, without a sign")
        .is(|row| row.relief(|relief| relief.along_most * 100.0))
        .column("slope_across_pct", Number(2), "percent", "mean rise towards the next row")
        .is(|row| row.relief(|relief| relief.across * 100.0))
        .column("fall_m", Number(2), "metres", "height of the way down along it that falls most")
        .is(|row| row.relief(|relief| relief.fall_m))
}
