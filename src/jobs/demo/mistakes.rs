//! Mistakes of a hurried hand in the invented field book: each is one that the tool must catch, and
//! none of them stops the job.

use super::{
    blocks::{SOUTH_BRAE, TARN_FIELD},
    records::Record,
};

/// Puts the mistakes into a block's counts.
pub(super) fn add_mistakes(block: &str, records: &mut Vec<Record>) {
    match block {
        SOUTH_BRAE => {
            lose_zeros(records, 12);
            slip_a_key(records, 15);
            count_twice(records, 18);
            records.push(count_at("R061V012", 19).with("note", "row 61?"));
            records.push(count_at("R004V017", 18));
        }
        TARN_FIELD => misspell_block(records, 20),
        _ => {}
    }
}

fn count_at(id: &str, shoots: u32) -> Record {
    Record::default()
        .with("block", SOUTH_BRAE)
        .with("id", id)
        .with("date", "2026-06-10")
        .with("visit", "before")
        .with("shoots", shoots)
        .with("counted_by", "crew A")
}

/// `R005V044` becomes `R5V44`, as some programs do to what looks like a number.
fn lose_zeros(records: &mut [Record], at: usize) {
    change(records, at, "id", |id| {
        let digits = id.split(['R', 'V']).map(|part| part.trim_start_matches('0'));
        let parts: Vec<&str> = digits.collect();
        format!("R{}V{}", parts.get(1).unwrap_or(&""), parts.get(2).unwrap_or(&""))
    });
}

/// 21 shoots become 210.
fn slip_a_key(records: &mut [Record], at: usize) {
    change(records, at, "shoots", |shoots| format!("{shoots}0"));
}

/// The same vine, visit and day once more, with four shoots more.
fn count_twice(records: &mut Vec<Record>, at: usize) {
    let Some(record) = records.get(at).cloned() else { return };
    let shoots: u32 = record.cell("shoots").parse().unwrap_or(0);
    records.push(record.with("shoots", shoots + 4).with("counted_by", "crew B"));
}

fn misspell_block(records: &mut [Record], at: usize) {
    change(records, at, "block", |name| name.replace("Field", "Feild"));
}

fn change(
    records: &mut [Record],
    at: usize,
    column: &'static str,
    to: impl FnOnce(&str) -> String,
) {
    if let Some(record) = records.get_mut(at) {
        let changed = to(record.cell(column));
        *record = record.clone().with(column, changed);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zeros_are_lost_and_keys_slip() {
        let mut records = vec![Record::default().with("id", "R005V044").with("shoots", 21)];
        lose_zeros(&mut records, 0);
        slip_a_key(&mut records, 0);
        count_twice(&mut records, 0);
        assert_eq!(records[0].cell("id"), "R5V44");
        assert_eq!(records[0].cell("shoots"), "210");
        assert_eq!(records[1].cell("shoots"), "214");
    }
}
