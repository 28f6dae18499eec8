//! The grower's own list of rows.

use super::{cells::Cells, homes::home, positions::named_degrees, table::Table};
use crate::{
    block::{Block, ListedRow},
    finding::{Finding, Findings},
    geodesy::LonLat,
};

/// Every column of a list of rows.
pub(super) const COLUMNS: &[&str] =
    &["block", "row", "vines", "first_panel_vines", "cultivar", "lon_deg", "lat_deg"];
const GREATEST_NUMBER: u32 = 1_000_000;

/// Puts a list of rows on its blocks.
pub(super) fn list_rows(table: &Table, blocks: &mut [Block], findings: &mut Findings) {
    table.tell_unknown_columns(COLUMNS, findings);
    for column in ["row", "vines"] {
        if table.column(column).is_none() {
            findings.push(
                Finding::fault(table.place.clone(), format!("the column `{column}` is missing"))
                    .because(format!("columns found: {}", table.columns.join(", ")))
                    .mend("a list of rows needs `row` and `vines`"),
            );
            return;
        }
    }
    for row in &table.rows {
        let mut cells = Cells::new(table, row, findings);
        let listed = listed_row(&mut cells);
        let block = cells.text("block");
        let Some(listed) = listed else { continue };
        if let Some(index) = home(block.as_deref(), blocks, &row.place, findings) {
            add_row(&mut blocks[index], listed, findings);
        }
    }
}

fn listed_row(cells: &mut Cells<'_>) -> Option<ListedRow> {
    let row = required(cells, "row", 0);
    let vines = required(cells, "vines", 1);
    let first_panel_vines = cells.whole("first_panel_vines", 1, GREATEST_NUMBER);
    let start = start_of(cells);
    let cultivar = cells.text("cultivar");
    let place = cells.place().clone();
    if cells.faulty {
        return None;
    }
    Some(ListedRow { row: row?, vines: vines?, first_panel_vines, cultivar, start, place })
}

fn required(cells: &mut Cells<'_>, column: &str, least: u32) -> Option<u32> {
    if cells.text(column).is_none() {
        cells.fault(column, "the cell is empty".to_owned(), "write a whole number");
    }
    cells.whole(column, least, GREATEST_NUMBER)
}

fn start_of(cells: &mut Cells<'_>) -> Option<LonLat> {
    let lon = cells.number("lon_deg", -1e9, 1e9);
    let lat = cells.number("lat_deg", -1e9, 1e9);
    match (lon, lat) {
        (Some(lon), Some(lat)) => match named_degrees(lon, lat, cells.place()) {
            Ok(at) => Some(at),
            Err(finding) => {
                cells.fault("lon_deg", finding.what, &finding.mend);
                None
            }
        },
        (None, None) => None,
        _ => {
            if !cells.faulty {
                let what = "one of longitude and latitude is missing".to_owned();
                cells.fault("lon_deg", what, "give both, or neither");
            }
            None
        }
    }
}

fn add_row(block: &mut Block, listed: ListedRow, findings: &mut Findings) {
    if block.row_list.iter().any(|earlier| earlier.row == listed.row) {
        let what = format!("row {} stands twice in the list", listed.row);
        findings.push(Finding::fault(listed.place, what).mend("keep one of the two lines"));
        return;
    }
    block.row_list.push(listed);
}
