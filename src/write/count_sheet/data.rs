//! What the page is told: the plan and its places, as JSON. `format.js` says what every key is.

use serde::Serialize;

use super::CountSheet;
use crate::{
    error::Error,
    sample::{COMMON_PLACES, RowEnd, Stop, counted_vines, piece_letter, way},
    units::{ReadingUnits, plain_number},
    write::csv,
};

/// All of it.
#[derive(Debug, Serialize)]
pub(super) struct Data<'a> {
    format: u8,
    plan: &'a str,
    block: &'a str,
    file: &'a str,
    units: &'static str,
    posts: bool,
    columns: &'a [String],
    common: usize,
    pub(super) places: Vec<Place>,
    words: serde_json::Map<String, serde_json::Value>,
}

/// A place to count.
#[derive(Debug, Serialize)]
pub(super) struct Place {
    cells: Vec<String>,
    stop: usize,
    row: u32,
    panel: u32,
    vines: [u32; 2],
    piece: Option<String>,
    window: Option<String>,
    start: Option<f64>,
    length: Option<f64>,
    walk: Option<f64>,
    end: Option<&'static str>,
    at: Option<[f64; 2]>,
}

/// # Errors
/// A fault of the program: a line of the table has no stop.
pub(super) fn data<'a>(sheet: &CountSheet<'a>) -> Result<Data<'a>, Error> {
    let places = (0..sheet.table.rows.len()).map(|line| place(sheet, line));
    Ok(Data {
        format: 1,
        plan: sheet.plan,
        block: sheet.block,
        file: sheet.folder,
        units: match sheet.units {
            ReadingUnits::Us => "us",
            ReadingUnits::Metric => "metric",
        },
        posts: sheet.layout.pieces.iter().all(|piece| piece.letter.is_none()),
        columns: &sheet.table.heads,
        common: COMMON_PLACES,
        places: places
            .collect::<Option<_>>()
            .ok_or_else(|| Error::Unexpected("a line of the count sheet has no stop".to_owned()))?,
        words: serde_json::Map::new(),
    })
}

fn place(sheet: &CountSheet<'_>, line: usize) -> Option<Place> {
    let cells: Vec<String> = sheet.table.rows.get(line)?.iter().map(csv::plain_cell).collect();
    let cell = |column: &str| {
        let at = sheet.table.heads.iter().position(|head| head == column)?;
        cells.get(at).filter(|cell| !cell.is_empty())
    };
    let length = |column: &str| {
        let of = |unit: &str| cell(&format!("{column}_{unit}"));
        of("m").or_else(|| of("ft")).and_then(|number| plain_number(number))
    };
    let number: usize = cell("stop")?.parse().ok()?;
    let stop = sheet.stops.get(number.checked_sub(1)?)?;
    let window = cell("window").cloned();
    let (walk, end) = walked(sheet, (number, stop), window.as_deref());
    let (panel, layout) = (&sheet.layout.panels[stop.panel], sheet.layout);
    Some(Place {
        stop: number,
        row: panel.row,
        panel: panel.panel,
        vines: counted_vines(stop, layout),
        piece: piece_letter(stop, layout),
        start: length("window_start"),
        length: length("counted_length"),
        window,
        walk,
        end,
        at: sheet.places.get(line).copied().flatten(),
        cells,
    })
}

/// The way from the place before: metres, and where its row is left.
fn walked(
    sheet: &CountSheet<'_>,
    (number, stop): (usize, &Stop),
    window: Option<&str>,
) -> (Option<f64>, Option<&'static str>) {
    if window.is_some_and(|window| window != "a") {
        return (Some(0.0), None);
    }
    let before = number.checked_sub(2).and_then(|before| sheet.stops.get(before));
    let Some(leg) = before.map(|before| way(before, stop, sheet.layout)) else {
        return (None, None);
    };
    let end = leg.leaves.map(|end| match end {
        RowEnd::First => "first",
        RowEnd::Last => "last",
    });
    (Some((10.0 * leg.metres).round() / 10.0), end)
}
