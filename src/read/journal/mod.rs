//! Journals of the count sheet on a phone -> the [`Table`]s that the page itself would write.
//!
//! A journal holds everything that was tapped on a phone, and the places of its sheet. Journals of
//! one plan are put together as the page does it: the same entries count once, however many
//! journals bring them.

mod entry;
mod merge;

use std::collections::BTreeMap;

use serde::Deserialize;
use serde_json::Value;

use self::{
    entry::entry_of,
    merge::{Entry, held},
};
use super::{
    source::Source,
    table::{Row, Table},
};
use crate::finding::{Finding, Findings, Place};

/// What the page writes into a journal to say that it is one.
const KIND: &str = "counts journal";
/// The only form of journals that there is.
const FORMAT: u32 = 1;
/// Before this many letters a journal has said what it is.
const SAID_WITHIN: usize = 200;
/// Digits of a plan that people are shown, as on the page.
const PLAN_DIGITS: usize = 8;

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

/// The sheet that a journal belongs to.
#[derive(Debug, PartialEq, Eq)]
struct Sheet {
    plan: String,
    block: String,
    us: bool,
    common: usize,
    columns: Vec<String>,
    places: Vec<Vec<String>>,
}

/// One journal.
#[derive(Debug)]
pub(super) struct Journal {
    sheet: Sheet,
    entries: Vec<(Entry, Place)>,
    place: Place,
}

/// True for a text that says it is a journal, whole or cut off.
pub(super) fn is_journal(source: &Source) -> bool {
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
    pub(super) fn read(source: &Source, findings: &mut Findings) -> Result<Self, Finding> {
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
        let known: Vec<String> = sheet.places.iter().map(|cells| sheet.key(cells)).collect();
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

    fn short_plan(&self) -> &str {
        self.sheet.plan.get(..PLAN_DIGITS).unwrap_or(&self.sheet.plan)
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

impl Sheet {
    fn cell<'a>(&self, cells: &'a [String], column: &str) -> &'a str {
        let at = self.columns.iter().position(|own| own == column);
        at.and_then(|at| cells.get(at)).map_or("", String::as_str)
    }

    /// How an entry names a place: its stop, and its window where it has one.
    fn key(&self, cells: &[String]) -> String {
        match [self.cell(cells, "stop"), self.cell(cells, "window")] {
            [stop, ""] => stop.to_owned(),
            [stop, window] => format!("{stop}/{window}"),
        }
    }
}

/// Refuses a journal whose block is none of these.
///
/// # Errors
/// The names of its block and plan, and those of the blocks.
pub(super) fn refuse_other_block(journal: &Journal, blocks: &[&str]) -> Result<(), Finding> {
    let plain = |name: &str| name.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
    let own = plain(&journal.sheet.block);
    if blocks.is_empty() || blocks.iter().any(|block| plain(block) == own) {
        return Ok(());
    }
    let block = &journal.sheet.block;
    let plan = journal.short_plan();
    let what = format!("this journal belongs to another plan: block `{block}`, plan {plan}");
    let names: Vec<String> = blocks.iter().take(6).map(|name| format!("`{name}`")).collect();
    Err(Finding::fault(journal.place.clone(), what)
        .because(format!("the blocks of this run are {}", names.join(", ")))
        .mend(format!("name the block file of `{block}`, or leave this journal out")))
}

/// The table of each plan, in the order in which their first journals came.
pub(super) fn tables_of(journals: Vec<Journal>, findings: &mut Findings) -> Vec<Table> {
    let mut plans: Vec<(Sheet, Vec<(Entry, Place)>, Vec<String>)> = Vec::new();
    for Journal { sheet, entries, place } in journals {
        let file = place.file.clone().unwrap_or_default();
        let Some(known) = plans.iter_mut().find(|(known, ..)| known.plan == sheet.plan) else {
            plans.push((sheet, entries, vec![file]));
            continue;
        };
        if known.0 == sheet {
            known.1.extend(entries);
            known.2.push(file);
        } else {
            let what =
                format!("journals of one plan have other places than {}", known.2.join(", "));
            findings.push(
                Finding::fault(place, what).mend("save them again on the phones that counted"),
            );
        }
    }
    tell_several_plans(
        &plans.iter().map(|(sheet, _, files)| (sheet, files)).collect::<Vec<_>>(),
        findings,
    );
    plans.into_iter().map(|(sheet, entries, _)| table_of(&sheet, entries, findings)).collect()
}

/// Two plans of one block: counts of an older sheet may have come along by mistake.
fn tell_several_plans(plans: &[(&Sheet, &Vec<String>)], findings: &mut Findings) {
    let mut by_block: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (sheet, files) in plans {
        let plan = sheet.plan.get(..PLAN_DIGITS).unwrap_or(&sheet.plan);
        let told = format!("{plan} ({})", files.join(", "));
        by_block.entry(&sheet.block).or_default().push(told);
    }
    for (block, plans) in by_block.into_iter().filter(|(_, plans)| plans.len() > 1) {
        let what = format!("journals of {} plans of block `{block}`", plans.len());
        let finding = Finding::warning(Place::field("--counts"), what)
            .because(format!(
                "they are {}; each is put together by itself, and all count",
                plans.join(", ")
            ))
            .mend("leave out those of a sheet that was replaced");
        findings.push(finding);
    }
}

/// What the page would write as a table of the entries together.
fn table_of(sheet: &Sheet, entries: Vec<(Entry, Place)>, findings: &mut Findings) -> Table {
    let place = entries.first().map(|(_, place)| Place { feature: None, ..place.clone() });
    let columns = merge::heads(&sheet.columns, sheet.us);
    let keys: Vec<String> = sheet.places.iter().map(|cells| sheet.key(cells)).collect();
    let held = held(entries, &keys, sheet.common, findings);
    let rows = held.iter().map(|(at, entry, place)| Row {
        cells: columns
            .iter()
            .map(|head| match merge::value_at(entry, head, sheet.us) {
                Some(value) => value.to_owned(),
                None => sheet.cell(&sheet.places[*at], head).to_owned(),
            })
            .collect(),
        place: place.clone(),
    });
    Table { rows: rows.collect(), place: place.unwrap_or_default(), columns }
}
