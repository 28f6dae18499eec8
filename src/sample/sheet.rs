//! What a count sheet says, on a phone's screen and on paper: the places in words, and what to do.

use super::Stop;
use crate::{
    layout::Layout,
    units::{Metres, ReadingUnits},
};

/// So many of the first places are counted by everybody, so that people can be compared.
pub const COMMON_PLACES: usize = 5;

/// A line of a count sheet: a stop, or a stretch of its vine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetLine {
    /// The number of the stop in the walk, from 1.
    pub stop: usize,
    /// The row's number.
    pub row: u32,
    /// Where it is: `Row 4, vines 33 to 36`.
    pub place: String,
    /// Where in the row, and which stretch: `panel 9`.
    pub detail: String,
    /// One vine is counted; else all of the panel together.
    pub single: bool,
}

/// The lines of a sheet, in the order of the walk.
pub fn sheet_lines(
    stops: &[Stop],
    layout: &Layout,
    window: Option<Metres>,
    units: ReadingUnits,
) -> Vec<SheetLine> {
    let length = |metres: Metres| match units {
        ReadingUnits::Us => format!("{} ft", (10.0 * metres.feet()).round() / 10.0),
        ReadingUnits::Metric => format!("{} m", (100.0 * metres.metres()).round() / 100.0),
    };
    let lines = stops.iter().enumerate().flat_map(|(at, stop)| {
        let stretches: Vec<String> = match window {
            Some(window) if !stop.windows.is_empty() => (stop.windows.iter().zip(["a", "b"]))
                .map(|(start, name)| {
                    let (start, long) = (length(*start), length(window));
                    format!(", stretch {name}: {start} off the trunk, {long} long")
                })
                .collect(),
            _ => vec![String::new()],
        };
        stretches.into_iter().map(move |stretch| line(at + 1, stop, layout, &stretch))
    });
    lines.collect()
}

fn line(number: usize, stop: &Stop, layout: &Layout, stretch: &str) -> SheetLine {
    let panel = &layout.panels[stop.panel];
    let letter = piece_letter(stop, layout).unwrap_or_default();
    let vines = match counted_vines(stop, layout) {
        [first, last] if first == last => format!("vine {first}"),
        [first, last] => format!("vines {first} to {last}"),
    };
    SheetLine {
        stop: number,
        row: panel.row,
        place: format!("Row {}{letter}, {vines}", panel.row),
        detail: format!("panel {}{stretch}", panel.panel),
        single: stop.vine.is_some(),
    }
}

/// The least and the greatest number of the vines that are counted together.
pub fn counted_vines(stop: &Stop, layout: &Layout) -> [u32; 2] {
    let of_panel = layout.panels[stop.panel].vines.clone();
    let counted = stop.vine.map_or(of_panel, |vine| vine..vine + 1);
    let numbers = layout.vines[counted].iter().map(|vine| vine.vine);
    numbers.fold([u32::MAX, 0], |[least, most], vine| [least.min(vine), most.max(vine)])
}

/// The letter of the piece of row, where a row has several.
pub fn piece_letter(stop: &Stop, layout: &Layout) -> Option<String> {
    let first = layout.panels[stop.panel].vines.start;
    layout.pieces.get(layout.vines.get(first)?.piece)?.letter.map(|letter| letter.to_string())
}

/// What somebody with the sheet has to do.
pub fn what_to_do(lines: &[SheetLine]) -> Vec<String> {
    let stretches = lines.iter().any(|line| line.detail.contains("stretch"));
    let stretch =
        if stretches { " Count only the stretch that stands beside the place." } else { "" };
    let [find, all] = if lines.iter().all(|line| line.single) {
        [
            "its panel between the posts, and the vine: both are counted from vine 1’s end.",
            "the vine",
        ]
    } else {
        [
            "the panel between its posts, counted from vine 1’s end.",
            "all vines of the place together",
        ]
    };
    let common = COMMON_PLACES.min(lines.last().map_or(0, |line| line.stop));
    vec![
        format!("Walk the places in their order. Find the row by its number, then {find}"),
        format!(
            "Count every shoot on {all}, and write the number in its box. Write 0 if there is none; \
             leave the box empty if you did not count.{stretch}"
        ),
        "If no vine stands there, or it is dead or young, write that in the note instead of a \
         number."
            .to_owned(),
        format!("Everybody who counts counts the first {common} places."),
        "Leave no mark on the vines: who thins them must not see which ones were counted."
            .to_owned(),
        "Mind the ground, posts and wires. Do not enter a sprayed block before its posted time has \
         passed; in heat, drink and rest."
            .to_owned(),
    ]
}
