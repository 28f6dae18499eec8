//! One entry of a journal, held to what the page writes.

use std::collections::BTreeSet;

use jiff::Timestamp;
use serde_json::{Map, Value};

use super::merge::{Act, COUNTED, Entry, VALUES};

/// The page's boxes hold less.
const LONGEST_TEXT: usize = 500;
/// Numbers above it are not exact on the page (2^53 - 1).
const GREATEST_NUMBER: u64 = 9_007_199_254_740_991;
/// Reasons for not counting.
const SKIPS: &[&str] = &["missing", "dead", "young", "replant", "renewal", "out", "other"];

/// An entry with what belongs to it and nothing else.
///
/// # Errors
/// What is wrong with it.
pub(super) fn entry_of(value: &Value, places: &BTreeSet<String>) -> Result<Entry, String> {
    let own = value.as_object().ok_or("it is no object")?;
    let device = text(own, "device").filter(|it| is_device(it)).ok_or("`device` is none")?;
    let seq = whole(own, "seq").ok_or("`seq` is no whole number above 0")?;
    let at = text(own, "at").filter(|at| is_moment(at)).ok_or("`at` is no moment")?;
    let who = text(own, "who").filter(|who| is_short(who)).ok_or("`who` is no short text")?;
    let act = match own.get("undoes") {
        Some(_) => Act::Undoes(whole(own, "undoes").ok_or("`undoes` is no whole number above 0")?),
        None => counted(own, places)?,
    };
    Ok(Entry { device: device.to_owned(), seq, at: at.to_owned(), who: who.to_owned(), act })
}

fn counted(own: &Map<String, Value>, places: &BTreeSet<String>) -> Result<Act, String> {
    let place = text(own, "place").filter(|key| places.contains(*key));
    let place = place.ok_or("`place` is none of its sheet")?;
    let given = own.get("values").and_then(Value::as_object).ok_or("`values` is no object")?;
    let value = |name: &str| {
        let own = text(given, name).filter(|it| !it.is_empty() && is_short(it));
        own.unwrap_or_default().to_owned()
    };
    let values = VALUES.map(value);
    for (name, own) in VALUES.iter().zip(&values).filter(|(_, own)| !own.is_empty()) {
        let digits = own.len() <= 4 && own.bytes().all(|byte| byte.is_ascii_digit());
        if COUNTED.contains(name) && !digits {
            return Err(format!("`{name}` is no whole number from 0 to 9999"));
        }
        if *name == "skip" && !SKIPS.contains(&own.as_str()) {
            return Err("`skip` is no reason of the page".to_owned());
        }
    }
    Ok(Act::Counts { place: place.to_owned(), values: values.to_vec() })
}

fn text<'a>(own: &'a Map<String, Value>, key: &str) -> Option<&'a str> {
    own.get(key).and_then(Value::as_str)
}

fn whole(own: &Map<String, Value>, key: &str) -> Option<u64> {
    own.get(key).and_then(Value::as_u64).filter(|number| (1..=GREATEST_NUMBER).contains(number))
}

/// Eight hexadecimal digits, as a phone draws them.
fn is_device(text: &str) -> bool {
    text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
}

/// `2026-05-25T14:32:00.000+02:00`.
fn is_moment(text: &str) -> bool {
    let form = text.as_bytes().get(10) == Some(&b'T');
    form && text.is_ascii() && text.len() <= 35 && text.parse::<Timestamp>().is_ok()
}

/// As the page measures it: in units of UTF-16.
fn is_short(text: &str) -> bool {
    text.encode_utf16().count() <= LONGEST_TEXT
}
