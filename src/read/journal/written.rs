//! A file of the phone -> a [`Journal`], whole or cut off.

use std::collections::BTreeSet;

use serde::Deserialize;
use serde_json::Value;

use super::{Journal, Sheet, entry::entry_of};
use crate::{
    finding::{Finding, Findings, Place},
    read::source::Source,
};

/// What the page writes into a journal to say that it is one.
const KIND: &str = "counts journal";
/// The only form of journals that there is.
const FORMAT: u32 = 1;
/// Before this many letters a journal has said what it is.
const SAID_WITHIN: usize = 200;
/// A journal as the page writes it.
#[derive(Debug, Deserialize)]
struct Written {
    format: u32,
    plan: String,
    block: String,
    units: Option<String>,
    common: Option<usize>,
    columns: Option<Vec<String>>,
    places: Option<Vec<Vec<String>>>,
    entries: Vec<Value>,
}

/// True for a text that says it is a journal, whole or cut off.
pub(in crate::read) fn is_journal(source: &Source) -> bool {
    let text = recoverable(source).unwrap_or_default();
    let head: String = text.trim_start().chars().take(SAID_WITHIN).collect();
    head.starts_with('{') && head.contains(&format!("\"{KIND}\""))
}

/// The text up to where its last letter may be cut.
fn recoverable(source: &Source) -> Option<&str> {
    let bytes = source.bytes().strip_prefix(b"\xef\xbb\xbf").unwrap_or(source.bytes());
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text),
        Err(error) if error.error_len().is_none() => {
            std::str::from_utf8(bytes.get(..error.valid_up_to())?).ok()
        }
        Err(_) => None,
    }
}

impl Journal {
    /// Reads a journal; of one that is cut off, all whole entries.
    ///
    /// # Errors
    /// What is no journal of the page, or cut off before its first entry.
    pub(in crate::read) fn read(source: &Source, findings: &mut Findings) -> Result<Self, Finding> {
        let place = source.place();
        let text = recoverable(source).unwrap_or_default();
        let written = match serde_json::from_str(text) {
            Ok(written) => written,
            Err(error) if error.is_eof() => recovered(text, &place, findings)?,
            Err(error) => return Err(damaged(&place, &error)),
        };
        Self::of(written, place)
    }

    fn of(written: Written, place: Place) -> Result<Self, Finding> {
        if written.format != FORMAT {
            let what = format!("a journal of form {}, not {FORMAT}", written.format);
            return Err(Finding::fault(place, what)
                .mend("use the version of this program that made the count sheet"));
        }
        let sheet = Sheet {
            us: written.units.as_deref() == Some("us"),
            common: written.common.unwrap_or(0),
            columns: written.columns.ok_or_else(|| no_places(&place))?,
            places: written.places.ok_or_else(|| no_places(&place))?,
            plan: written.plan,
            block: written.block,
        };
        if sheet.places.iter().any(|cells| cells.len() != sheet.columns.len()) {
            return Err(Finding::fault(place, "a place of the journal has not one cell a column")
                .mend("save the journal again on the phone"));
        }
        let known: BTreeSet<String> = sheet.places.iter().map(|cells| sheet.key(cells)).collect();
        let entries = written.entries.iter().enumerate().map(|(at, value)| {
            let entry = entry_of(value, &known).map_err(|why| {
                let place = place.in_feature(format!("entry {}", at + 1));
                Finding::fault(place, "this is no entry of a count sheet")
                    .because(why)
                    .mend("save the journal again on the phone, and do not change it")
            })?;
            let place = place.in_feature(format!("entry {}", entry.name()));
            Ok((entry, place))
        });
        let entries = entries.collect::<Result<_, Finding>>()?;
        Ok(Self { sheet, entries, place })
    }
}

fn no_places(place: &Place) -> Finding {
    Finding::fault(place.clone(), "the journal does not bring the places of its sheet")
        .mend("save it again on the phone, or save the counts as a file there and name that")
}

fn damaged(place: &Place, error: &serde_json::Error) -> Finding {
    let place = place.at_line(error.line() as u64);
    Finding::fault(place, "the journal is damaged")
        .because(error.to_string())
        .mend("save it again on the phone, or save the counts as a file there and name that")
}

/// The whole entries of a journal that is cut off.
fn recovered(text: &str, place: &Place, findings: &mut Findings) -> Result<Written, Finding> {
    let mend = "save it again on the phone: a newer journal of it may be read beside this one";
    let (end, whole) = last_entry(text);
    let written: Option<Written> =
        (whole > 0).then(|| serde_json::from_str(&format!("{}]}}", &text[..end])).ok()).flatten();
    let Some(written) = written else {
        return Err(Finding::fault(place.clone(), "the journal is cut off before its first entry")
            .mend("save it again on the phone"));
    };
    let rest = text[end..].trim_start_matches([',', ']', '}']).trim();
    let (place, what) = if rest.is_empty() {
        (place.clone(), format!("the journal is cut off after entry {whole}"))
    } else {
        let place = place.in_feature(format!("entry {}", whole + 1));
        (place, "the journal is cut off in this entry, which is left out".to_owned())
    };
    let why = format!("the {whole} before it are whole and are read");
    findings.push(Finding::warning(place, what).because(why).mend(mend));
    Ok(written)
}

/// Where the last whole entry ends, and how many there are: the entries are the only objects that
/// stand in a list of the journal itself, and the last of what it holds.
fn last_entry(text: &str) -> (usize, usize) {
    let (mut depth, mut quoted, mut escaped) = (0_usize, false, false);
    let mut found = (0, 0);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' => escaped = true,
            b'"' => quoted = !quoted,
            _ if quoted => {}
            b'{' | b'[' => depth += 1,
            b'}' | b']' => {
                depth = depth.saturating_sub(1);
                if byte == b'}' && depth == 2 {
                    found = (at + 1, found.1 + 1);
                }
            }
            _ => {}
        }
    }
    found
}
