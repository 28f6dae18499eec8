//! Entries of several phones put together: which counts hold. Pure, and the same rules as in
//! `write/count_sheet/journal.js`; a test holds the two together.

use std::collections::{BTreeMap, BTreeSet, btree_map};

use crate::finding::{Finding, Findings, Place};

/// What an entry may say of a place, in the page's order.
pub(super) const VALUES: [&str; 10] = [
    "shoots",
    "primary",
    "secondary",
    "base",
    "suckers",
    "shoot_length",
    "canopy_length",
    "status",
    "note",
    "skip",
];
/// Those that are counted.
pub(super) const COUNTED: &[&str] = &["shoots", "primary", "secondary", "base", "suckers"];

/// Something that was tapped.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Entry {
    /// The phone's eight digits.
    pub(super) device: String,
    /// Its number on that phone, from 1.
    pub(super) seq: u64,
    /// When, as ISO 8601 by the clock of the phone.
    pub(super) at: String,
    /// Who counted.
    pub(super) who: String,
    /// What was done.
    pub(super) act: Act,
}

/// What an entry does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Act {
    /// Takes back an entry of the same phone.
    Undoes(u64),
    /// Says what was counted at a place; nothing where the count is taken back.
    Counts {
        /// The stop, and its window behind a slash.
        place: String,
        /// By [`VALUES`], empty where nothing was said.
        values: Vec<String>,
    },
}

impl Entry {
    /// `1a2b3c4d-12`, which no other entry is called.
    pub(super) fn name(&self) -> String {
        format!("{}-{}", self.device, self.seq)
    }

    fn is_done(&self) -> bool {
        let Act::Counts { values, .. } = &self.act else { return false };
        // All shoots, one of their parts, or a reason for not counting.
        let told = |name: &str| value(values, name).is_some();
        ["shoots", "primary", "secondary", "base", "skip"].into_iter().any(told)
    }
}

fn value<'a>(values: &'a [String], name: &str) -> Option<&'a str> {
    let at = VALUES.iter().position(|known| *known == name)?;
    values.get(at).map(String::as_str).filter(|text| !text.is_empty())
}

/// The heads of the sheet, with those that it lacks before `note`.
pub(super) fn heads(columns: &[String], us: bool) -> Vec<String> {
    let own = VALUES.iter().filter(|name| **name != "skip").map(|name| column(name, us));
    let wanted = own.chain(["date".to_owned(), "counted_by".to_owned()]);
    let lacking: Vec<String> = wanted.filter(|head| !columns.contains(head)).collect();
    let at = columns.iter().position(|head| head == "note").unwrap_or(columns.len());
    [&columns[..at], &lacking, &columns[at..]].concat()
}

/// The column of a value; lengths carry their unit in its name.
fn column(name: &str, us: bool) -> String {
    match name {
        "shoot_length" => format!("{name}_{}", if us { "in" } else { "cm" }),
        "canopy_length" => format!("{name}_{}", if us { "ft" } else { "m" }),
        other => other.to_owned(),
    }
}

/// What an entry says in a column, `None` where the place says it.
pub(super) fn value_at<'a>(entry: &'a Entry, head: &str, us: bool) -> Option<&'a str> {
    let Act::Counts { values, .. } = &entry.act else { return None };
    match head {
        // The day by the clock of the phone.
        "date" => entry.at.get(..10),
        "counted_by" => Some(&entry.who),
        _ => {
            let name = VALUES.iter().find(|name| column(name, us) == head)?;
            Some(value(values, name).unwrap_or_default())
        }
    }
}

/// The counts that hold, in the order of the places: the place's index, the entry and where it was
/// read. On one phone the last one wins; at the first `common` places, which everybody counts, the
/// last one of each person.
pub(super) fn held(
    entries: Vec<(Entry, Place)>,
    places: &[String],
    common: usize,
    findings: &mut Findings,
) -> Vec<(usize, Entry, Place)> {
    let entries = each_once(entries, findings);
    let undoes = entries.values().filter_map(|(entry, _)| match entry.act {
        Act::Undoes(seq) => Some((entry.device.clone(), seq)),
        Act::Counts { .. } => None,
    });
    let undone: BTreeSet<(String, u64)> = undoes.collect();
    let index: BTreeMap<&str, usize> =
        places.iter().enumerate().map(|(at, key)| (key.as_str(), at)).collect();
    let mut slots: BTreeMap<usize, Vec<Slot>> = BTreeMap::new();
    for (entry, place) in entries.into_values() {
        let Act::Counts { place: key, .. } = &entry.act else { continue };
        let Some(&at) = index.get(key.as_str()) else { continue };
        if undone.contains(&(entry.device.clone(), entry.seq)) {
            continue;
        }
        let who = (at < common).then(|| entry.who.clone());
        let of_place = slots.entry(at).or_default();
        match of_place
            .iter_mut()
            .find(|(known, own, _)| own.device == entry.device && *known == who)
        {
            Some(slot) => *slot = (who, entry, place),
            None => of_place.push((who, entry, place)),
        }
    }
    let all =
        slots.into_iter().flat_map(|(at, slots)| slots.into_iter().map(move |slot| (at, slot)));
    all.map(|(at, (_, entry, place))| (at, entry, place))
        .filter(|(_, entry, _)| entry.is_done())
        .collect()
}

/// What one phone says of a place, by person where everybody counts.
type Slot = (Option<String>, Entry, Place);

/// Every entry once, by its number and then its phone; another one of the same name is told and
/// left out.
fn each_once(
    entries: Vec<(Entry, Place)>,
    findings: &mut Findings,
) -> BTreeMap<(u64, String), (Entry, Place)> {
    let mut known: BTreeMap<(u64, String), (Entry, Place)> = BTreeMap::new();
    for (entry, place) in entries {
        match known.entry((entry.seq, entry.device.clone())) {
            btree_map::Entry::Vacant(free) => {
                free.insert((entry, place));
            }
            btree_map::Entry::Occupied(own) if own.get().0 == entry => {}
            btree_map::Entry::Occupied(own) => {
                let (_, first) = own.get();
                let what =
                    format!("differs from that of {}", first.file.as_deref().unwrap_or_default());
                let finding = Finding::warning(place, what)
                    .because("an entry never changes on a phone; this one is left out")
                    .mend("leave out the journal that was changed");
                findings.push(finding);
            }
        }
    }
    known
}
