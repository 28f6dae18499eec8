//! Texts -> values of keys; what does not fit says which forms would.

use std::str::FromStr;

use geojson::JsonValue;

use super::keys::text_of;
use crate::{block::ShortestRow, names::PlaceId};

/// A value that parses itself.
pub(super) fn parsed<T: FromStr>(text: &str) -> Result<T, String>
where
    T::Err: ToString,
{
    text.parse::<T>().map_err(|error| error.to_string())
}

/// True or false.
pub(super) fn yes_or_no(text: &str) -> Result<bool, String> {
    // Tables of maps write a switch as a number.
    let (yes, no) = (["true", "yes", "1"], ["false", "no", "0"]);
    let all = yes.into_iter().zip(no).flat_map(|(yes, no)| [(yes, true), (no, false)]);
    word(text, &all.collect::<Vec<_>>())
}

/// A word of a list, in either case, `_` for `-` allowed.
pub(super) fn word<T: Copy>(text: &str, words: &[(&str, T)]) -> Result<T, String> {
    let plain = text.trim().to_lowercase().replace('_', "-");
    words.iter().find(|(word, _)| *word == plain).map(|(_, value)| *value).ok_or_else(|| {
        let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        format!("`{text}` is not understood; write one of {}", words.join(", "))
    })
}

/// A whole number; `12.0` is one too.
pub(super) fn whole(text: &str) -> Result<u32, String> {
    let plain = text.trim();
    let digits = plain.strip_suffix(".0").unwrap_or(plain);
    let sound = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    sound
        .then(|| digits.parse::<u32>().ok())
        .flatten()
        .filter(|number| *number <= 1_000_000)
        .ok_or_else(|| format!("`{text}` is no whole number from 0 to 1000000; write digits only"))
}

/// A number of vines, or a length.
pub(super) fn shortest(text: &str) -> Result<ShortestRow, String> {
    let plain = text.trim().to_lowercase();
    match plain.strip_suffix("vines").or_else(|| plain.strip_suffix("vine")) {
        Some(number) => whole(number.trim()).map(ShortestRow::Vines),
        None => parsed(text).map(ShortestRow::Length),
    }
}

/// A short text without control characters.
pub(super) fn free_text(text: &str) -> Result<String, String> {
    let text = text.trim();
    match text.chars().find(|c| c.is_control()) {
        Some(c) => Err(format!("a control character (U+{:04X}); delete it", u32::from(c))),
        None if text.chars().count() > 200 => Err("more than 200 letters; shorten it".to_owned()),
        None => Ok(text.to_owned()),
    }
}

/// Curtains of canopy.
pub(super) fn curtains(text: &str) -> Result<u32, String> {
    let message = || format!("`{text}` curtains; a vine has 1, or 2 where its canopy is divided");
    whole(text).ok().filter(|number| (1..=4).contains(number)).ok_or_else(message)
}

/// A year of planting.
pub(super) fn year(text: &str) -> Result<i16, String> {
    let message = || format!("`{text}` is no year of planting; write such as 2021");
    text.trim().parse::<i16>().ok().filter(|year| (1700..=2200).contains(year)).ok_or_else(message)
}

/// Ids of vines: a JSON list, or separated by commas.
pub(super) fn missing(text: &str) -> Result<Vec<String>, String> {
    let ids = match serde_json::from_str::<Vec<JsonValue>>(text) {
        Ok(values) => values.iter().map(text_of).collect(),
        Err(_) if text.trim_start().starts_with('[') => {
            return Err("no list of ids; write [\"R012V034\"]".to_owned());
        }
        Err(_) => text.split([',', ';', ' ']).map(str::to_owned).collect::<Vec<_>>(),
    };
    let ids: Vec<String> =
        ids.into_iter().map(|id| id.trim().to_owned()).filter(|id| !id.is_empty()).collect();
    match ids.iter().find(|id| !matches!(id.parse(), Ok(PlaceId::Vine { .. }))) {
        Some(id) => Err(format!("`{id}` is no id of a vine; write such as R012V034")),
        None => Ok(ids),
    }
}
