//! The grower's own list of rows, and vine positions taken as they are.

use super::{
    block_features::no_such_block,
    cells::Cells,
    geojson::{Document, Feature},
    keys::unknown_key,
    positions::Axes,
    role_features::point_of,
    table::Table,
};
use crate::{
    block::{Block, GivenVine, ListedRow},
    finding::{Finding, Findings, Place},
    geodesy::LonLat,
    names::PlaceId,
};
use geo::{Contains, Point};

/// Every column of a list of rows.
pub(super) const COLUMNS: &[&str] =
    &["block", "row", "vines", "first_panel_vines", "cultivar", "lon_deg", "lat_deg"];
const VINE_KEYS: &[&str] = &["block", "id", "row", "vine"];
const GREATEST_NUMBER: u32 = 1_000_000;

/// Puts a list of rows on its blocks.
pub(super) fn list_rows(table: &Table, axes: &Axes, blocks: &mut [Block], findings: &mut Findings) {
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
        let listed = listed_row(&mut cells, axes);
        let block = cells.text("block");
        let Some(listed) = listed else { continue };
        if let Some(index) = home(block.as_deref(), blocks, &row.place, findings) {
            add_row(&mut blocks[index], listed, findings);
        }
    }
}

fn listed_row(cells: &mut Cells<'_>, axes: &Axes) -> Option<ListedRow> {
    let row = required(cells, "row", 0);
    let vines = required(cells, "vines", 0);
    let first_panel_vines = cells.whole("first_panel_vines", 1, GREATEST_NUMBER);
    let start = start_of(cells, axes);
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

fn start_of(cells: &mut Cells<'_>, axes: &Axes) -> Option<LonLat> {
    let lon = cells.number("lon_deg", -1e9, 1e9);
    let lat = cells.number("lat_deg", -1e9, 1e9);
    match (lon, lat) {
        (Some(lon), Some(lat)) => match axes.pair(lon, lat, cells.place()) {
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

/// The block that a record names, or the only one.
fn home(
    name: Option<&str>,
    blocks: &[Block],
    place: &Place,
    findings: &mut Findings,
) -> Option<usize> {
    match name {
        Some(name) => {
            let found = blocks.iter().position(|block| block.name.as_str() == name.trim());
            if found.is_none() && !blocks.is_empty() {
                findings.push(no_such_block(name, blocks, place));
            }
            found
        }
        None if blocks.len() == 1 => Some(0),
        None => {
            if !blocks.is_empty() {
                let what = "no block is named, where there are several";
                findings.push(
                    Finding::fault(place.at_field("block"), what)
                        .mend("add a `block` to every record"),
                );
            }
            None
        }
    }
}

/// Puts vine positions on their blocks: by name, else on the block around them.
pub(super) fn take_vines(
    document: &Document,
    axes: &Axes,
    blocks: &mut [Block],
    findings: &mut Findings,
) {
    let mut told = std::collections::BTreeSet::new();
    for feature in &document.features {
        for name in feature.properties.keys() {
            if !VINE_KEYS.contains(&name.as_str()) && told.insert(name.clone()) {
                findings.push(unknown_key(name, VINE_KEYS, &feature.place));
            }
        }
        match vine_of(feature, axes) {
            Ok(vine) => put_vine(feature, vine, blocks, findings),
            Err(finding) => findings.push(finding),
        }
    }
    blocks.iter().for_each(|block| refuse_same_vines(block, findings));
}

fn vine_of(feature: &Feature, axes: &Axes) -> Result<GivenVine, Finding> {
    let at = point_of(feature, axes)?;
    let number = |key: &str| -> Result<Option<u32>, Finding> {
        let Some(text) = super::block_features::property(&feature.properties, key) else {
            return Ok(None);
        };
        let number = text.trim().parse::<u32>().ok().filter(|n| *n <= GREATEST_NUMBER);
        let fault = || {
            Finding::fault(feature.place.at_field(key), format!("`{text}` is no whole number"))
                .mend("write digits only")
        };
        number.map(Some).ok_or_else(fault)
    };
    let by_id = super::block_features::property(&feature.properties, "id")
        .or_else(|| feature.id.clone())
        .and_then(|id| id.parse::<PlaceId>().ok());
    let (row, vine) = match (number("row")?, number("vine")?, by_id) {
        (Some(row), Some(vine), _) => (row, vine),
        (_, _, Some(PlaceId::Vine { row, vine })) => (row, vine),
        _ => {
            return Err(Finding::fault(feature.place.clone(), "a vine without row and number")
                .mend("give it `row` and `vine`, or an `id` such as R012V034"));
        }
    };
    Ok(GivenVine { row, vine, at })
}

fn put_vine(feature: &Feature, vine: GivenVine, blocks: &mut [Block], findings: &mut Findings) {
    let name = super::block_features::property(&feature.properties, "block");
    let around = blocks
        .iter()
        .position(|block| block.outline.contains(&Point::new(vine.at.lon(), vine.at.lat())));
    let index = match (&name, around) {
        (None, Some(index)) => Some(index),
        _ => home(name.as_deref(), blocks, &feature.place, findings),
    };
    if let Some(index) = index {
        blocks[index].vines.push(vine);
    }
}

fn refuse_same_vines(block: &Block, findings: &mut Findings) {
    let mut seen = std::collections::BTreeSet::new();
    for vine in &block.vines {
        if !seen.insert((vine.row, vine.vine)) {
            let what = format!(
                "vine {} of row {} of block \"{}\" has two positions",
                vine.vine, vine.row, block.name
            );
            findings.push(Finding::fault(Place::default(), what).mend("keep one of the two"));
        }
    }
}
