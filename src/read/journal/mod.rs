//! Journals of the count sheet on a phone -> the [`Table`]s that the page itself would write.
//!
//! A journal holds everything that was tapped on a phone, and the places of its sheet. Journals of
//! one plan are put together as the page does it: the same entries count once, however many
//! journals bring them.

mod entry;
mod merge;
mod plans;
mod written;

pub(super) use self::{
    plans::{OfPlan, tell_several},
    written::is_journal,
};

use self::merge::{Entry, held};
use super::table::{Row, Table};
use crate::finding::{Finding, Findings, Place};

/// Digits of a plan that people are shown, as on the page.
const PLAN_DIGITS: usize = 8;

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

impl Sheet {
    fn short_plan(&self) -> &str {
        self.plan.get(..PLAN_DIGITS).unwrap_or(&self.plan)
    }

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
    let plan = journal.sheet.short_plan();
    let what = format!("this journal belongs to another plan: block `{block}`, plan {plan}");
    let names: Vec<String> = blocks.iter().take(6).map(|name| format!("`{name}`")).collect();
    Err(Finding::fault(journal.place.clone(), what)
        .because(format!("the blocks of this run are {}", names.join(", ")))
        .mend(format!("name the block file of `{block}`, or leave this journal out")))
}

/// Journals of one plan.
struct Plan {
    sheet: Sheet,
    entries: Vec<(Entry, Place)>,
    files: Vec<String>,
}

impl Plan {
    /// Its first digits and its files, for people.
    fn told(&self) -> String {
        format!("{} ({})", self.sheet.short_plan(), self.files.join(", "))
    }
}

/// The table of each plan, in the order in which their first journals came.
pub(super) fn tables_of(journals: Vec<Journal>, findings: &mut Findings) -> Vec<Table> {
    let mut plans: Vec<Plan> = Vec::new();
    for Journal { sheet, entries, place } in journals {
        let files = vec![place.file.clone().unwrap_or_default()];
        match plans.iter_mut().find(|known| known.sheet.plan == sheet.plan) {
            None => plans.push(Plan { sheet, entries, files }),
            Some(known) if known.sheet == sheet => {
                known.entries.extend(entries);
                known.files.extend(files);
            }
            Some(known) => {
                let what = "it is of the same plan as others, and its places are not theirs";
                findings.push(
                    Finding::fault(place, what)
                        .because(format!("the others: {}", known.told()))
                        .mend("save them again on the phones that counted"),
                );
            }
        }
    }
    plans.into_iter().map(|plan| table_of(&plan.sheet, plan.entries, findings)).collect()
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
