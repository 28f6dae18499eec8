//! Layouts for the tests of the estate, made without laying anything out.

use geo::line_string;

use crate::{
    frame::RowPoint,
    layout::{Layout, Panel, Piece, Quantities, Row, Vine},
    names::IdDigits,
};

/// Rows 2.4 m apart with vines 1.2 m apart, four to a panel.
pub(super) fn grid(rows: u32, vines: u32) -> Layout {
    let mut layout = empty(rows, vines);
    for row in 1..=rows {
        add_row(&mut layout, row, vines);
    }
    layout
}

fn add_row(layout: &mut Layout, row: u32, vines: u32) {
    let across_m = 2.4 * f64::from(row);
    let along = |vine: u32| 1.2 * (f64::from(vine) - 0.5);
    let path = |from: f64, to: f64| line_string![(x: from, y: across_m), (x: to, y: across_m)];
    let (piece, first, first_panel) =
        (layout.pieces.len(), layout.vines.len(), layout.panels.len());
    for vine in 1..=vines {
        let panel = layout.panels.len();
        let index = layout.vines.len();
        let at = RowPoint { along_m: along(vine), across_m };
        if (vine - 1).is_multiple_of(4) {
            let path = path(along(vine) - 0.6, along(vine) + 4.2);
            let number = (vine - 1) / 4 + 1;
            layout.panels.push(Panel { row, panel: number, piece, vines: index..index, path });
        }
        let panel = if (vine - 1).is_multiple_of(4) { panel } else { panel - 1 };
        layout.panels[panel].vines.end = index + 1;
        layout.vines.push(Vine { row, vine, piece, panel, at, chainage_m: at.along_m });
    }
    let (vine_range, panels) = (first..layout.vines.len(), first_panel..layout.panels.len());
    let length_m = 1.2 * f64::from(vines);
    layout.pieces.push(Piece {
        row,
        letter: None,
        path: path(0.0, length_m),
        length_m,
        relief: None,
        vines: vine_range,
        panels,
        clear_m: None,
    });
    layout.rows.push(Row { number: row, across_m, pieces: piece..piece + 1 });
}

fn empty(rows: u32, vines: u32) -> Layout {
    Layout {
        rows: Vec::new(),
        pieces: Vec::new(),
        vines: Vec::new(),
        panels: Vec::new(),
        posts: Vec::new(),
        digits: IdDigits::for_greatest(rows, vines, vines / 4),
        left_out: Vec::new(),
        quantities: Quantities::default(),
    }
}
