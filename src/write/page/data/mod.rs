//! What the script of the page reads: places in whole centimetres, numbers in tenths, nothing twice
//! and nothing that is not used. `block.js` says how it is unpacked.

mod pieces;
mod runs;

use std::collections::BTreeMap;

use serde::Serialize;

use self::{
    pieces::{Piece, pieces},
    runs::{runs, spans},
};
use super::{
    MapPage,
    html::{script_json, visible},
    numbers::reading,
};
use crate::{
    error::Error,
    names::capital,
    picture::ScreenLayer,
    write::properties::{SetMean, in_words, means, zone_in_short},
};

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Data<'a> {
    mm: f64,
    digits: [usize; 3],
    gap: [i32; 2],
    unit: String,
    pieces: Vec<Piece>,
    zone: Vec<i64>,
    zones: Vec<ZoneData<'a>>,
    layers: Vec<LayerData<'a>>,
}

/// What is said and never drawn.
#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
struct Numbers {
    status: BTreeMap<&'static str, Vec<usize>>,
    counted: Vec<usize>,
    shoots: Vec<Option<usize>>,
    low: Vec<Option<usize>>,
    high: Vec<Option<usize>>,
    off: Vec<Option<i64>>,
    values: Vec<Vec<Option<i64>>>,
    panel_means: Vec<Option<Range>>,
    row_means: BTreeMap<u32, Option<Range>>,
}

/// A mean and both ends of its interval, tenths in the reader's unit.
type Range = [Option<i64>; 3];

#[derive(Debug, Serialize)]
struct ZoneData<'a> {
    id: &'a str,
    name: Option<String>,
    verdict: &'static str,
    said: String,
}

#[derive(Debug, Serialize)]
struct LayerData<'a> {
    id: &'static str,
    short: &'static str,
    unit: &'a str,
    decimals: u8,
    signed: bool,
    /// Where the measurements say little, as runs; none where they say something of every vine.
    little: Vec<i64>,
    classes: &'a [(&'static str, String)],
    /// The class of every vine, a letter each from `0` on.
    of: String,
    /// First vine and number of vines of each measurement.
    measured: Vec<usize>,
}

/// What is drawn, and what is only said, as JSON that can stand in script elements.
///
/// # Errors
/// A fault of the program: it cannot be written.
pub(super) fn data(page: &MapPage<'_>) -> Result<[String; 2], Error> {
    Ok([json(&drawn(page))?, json(&said(page))?])
}

fn json(data: &impl Serialize) -> Result<String, Error> {
    let json = serde_json::to_string(data)
        .map_err(|error| Error::Unexpected(format!("no data for the page: {error}")))?;
    Ok(script_json(&json))
}

fn drawn<'a>(page: &MapPage<'a>) -> Data<'a> {
    let (evidence, maps) = (page.thinned.evidence, page.maps);
    let zone = evidence.zones.of_vine.iter();
    let zone = zone.map(|zone| zone.and_then(|zone| i64::try_from(zone).ok()).unwrap_or(-1));
    Data {
        mm: maps.unit_per_cm,
        digits: evidence.layout.digits.widths(),
        gap: maps.gaps_cm,
        unit: format!("{} of canopy", reading(page.units).unit),
        pieces: pieces(evidence.layout, &maps.places_cm),
        zone: runs(zone),
        zones: zones(page),
        layers: maps.layers.iter().map(layer).collect(),
    }
}

fn said(page: &MapPage<'_>) -> Numbers {
    let records = &page.thinned.evidence.joined.vines;
    let known = shoots(page);
    let end =
        |at: usize| known.iter().map(move |known| known.and_then(|(_, ends)| Some(ends?[at])));
    Numbers {
        status: statuses(page),
        counted: (0..records.len()).filter(|&vine| records[vine].counted).collect(),
        shoots: known.iter().map(|known| known.map(|(shoots, _)| shoots)).collect(),
        low: end(0).collect(),
        high: end(1).collect(),
        off: (0..records.len()).map(|vine| page.thinned.remove(vine).map(tenths)).collect(),
        values: page.maps.layers.iter().map(values).collect(),
        panel_means: panel_means(page),
        row_means: row_means(page),
    }
}

/// Whole shoots of every vine, and how far the ends of their interval lie below and above.
fn shoots(page: &MapPage<'_>) -> Vec<Option<(usize, Option<[usize; 2]>)>> {
    let evidence = page.thinned.evidence;
    let one = |(vine, record): (usize, &crate::join::VineRecord)| {
        let found = evidence.estimate.shoots.shoots_of(vine, record.canopy_m)?;
        let ends = |[low, high]: [usize; 2]| {
            [found.expected.saturating_sub(low), high.saturating_sub(found.expected)]
        };
        (!record.status.is_missing()).then(|| (found.expected, found.between90.map(ends)))
    };
    evidence.joined.vines.iter().enumerate().map(one).collect()
}

/// Vines that are not simply present, by their status.
fn statuses(page: &MapPage<'_>) -> BTreeMap<&'static str, Vec<usize>> {
    let mut by_status: BTreeMap<&'static str, Vec<usize>> = BTreeMap::new();
    for (vine, record) in page.thinned.evidence.joined.vines.iter().enumerate() {
        by_status.entry(record.status.word()).or_default().push(vine);
    }
    by_status.remove("present");
    by_status
}

fn zones<'a>(page: &MapPage<'a>) -> Vec<ZoneData<'a>> {
    let zones = page.thinned.evidence.zones.zones.iter().zip(&page.thinned.plan.zones);
    let zone = |(at, (zone, plan)): (usize, (&'a crate::zones::Zone, &crate::plan::ZonePlan))| {
        let verdict = in_words(plan.verdict);
        let said = zone_in_short(page.thinned, at, page.units);
        let said = visible(&format!("{}. {said}", capital(verdict)));
        ZoneData { id: &zone.id, name: zone.name.as_deref().map(visible), verdict, said }
    };
    zones.enumerate().map(zone).collect()
}

/// Of every panel that has a place.
fn panel_means(page: &MapPage<'_>) -> Vec<Option<Range>> {
    let panels = page.thinned.evidence.layout.panels.iter();
    let panels = panels.filter(|panel| !panel.vines.is_empty());
    let sets: Vec<_> = panels.map(|panel| page.thinned.present(panel.vines.clone())).collect();
    set_means(page, &sets)
}

/// Of every row.
fn row_means(page: &MapPage<'_>) -> BTreeMap<u32, Option<Range>> {
    let layout = page.thinned.evidence.layout;
    let vines = |row: &crate::layout::Row| {
        let pieces = layout.pieces[row.pieces.clone()].iter();
        page.thinned.present(pieces.flat_map(|piece| piece.vines.clone()))
    };
    let sets: Vec<_> = layout.rows.iter().map(vines).collect();
    layout.rows.iter().map(|row| row.number).zip(set_means(page, &sets)).collect()
}

fn set_means(page: &MapPage<'_>, sets: &[Vec<(usize, f64)>]) -> Vec<Option<Range>> {
    let factor = reading(page.units).factor;
    let words = |mean: SetMean| {
        let ends = mean.has_error().then(|| mean.ends90());
        let part = |per_m: f64| tenths(per_m * factor);
        [Some(part(mean.per_m)), ends.map(|ends| part(ends[0])), ends.map(|ends| part(ends[1]))]
    };
    let means = means(&page.thinned.evidence.estimate.shoots, sets);
    means.into_iter().map(|mean| mean.map(words)).collect()
}

fn layer(layer: &ScreenLayer) -> LayerData<'_> {
    let letter = |class: &usize| char::from(b'0'.saturating_add(u8::try_from(*class).unwrap_or(0)));
    LayerData {
        id: layer.id,
        short: layer.spoken.what,
        unit: &layer.spoken.unit,
        decimals: layer.spoken.decimals,
        signed: layer.spoken.signed,
        little: little(&layer.little),
        classes: &layer.looks,
        of: layer.of_vine.iter().map(letter).collect(),
        measured: layer.measured.iter().flat_map(|vines| spans(vines)).collect(),
    }
}

fn little(of_vine: &[bool]) -> Vec<i64> {
    if of_vine.contains(&true) {
        runs(of_vine.iter().map(|little| i64::from(*little)))
    } else {
        Vec::new()
    }
}

/// The values of a map, whole numbers of the last digit that is said.
fn values(layer: &ScreenLayer) -> Vec<Option<i64>> {
    let power = 10_f64.powi(i32::from(layer.spoken.decimals));
    layer.values.iter().map(|value| value.map(|value| rounded(value * power))).collect()
}

fn tenths(value: f64) -> i64 {
    rounded(10.0 * value)
}

#[expect(clippy::cast_possible_truncation, reason = "what vines carry stays far below 2⁵³")]
fn rounded(value: f64) -> i64 {
    value.round() as i64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tenths_are_rounded_to_the_nearest() {
        assert_eq!((tenths(-0.26), tenths(12.34)), (-3, 123));
    }
}
