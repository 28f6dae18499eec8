//! `counts-joined.csv` and `unjoined.csv`: every record of the field, as it was written down.

use super::{
    audit::AuditedBlock,
    thinned::{LENGTH_DECIMALS, Thinned},
};
use crate::{
    counts::Count,
    join::{FoundBy, JoinedRecord, UnjoinedRecord},
    plan::Evidence,
    write::{Column, Kind, Table, Value},
};

/// What is added to a record that found its place; its own cells follow.
pub(super) const JOINED: &[Column] = &[
    Column::new("block", Kind::Text, "", "the block's name"),
    Column::new("row", Kind::Integer, "", "the row's number"),
    Column::new("vine", Kind::Integer, "", "the vine's number; empty for a whole panel"),
    Column::new("panel", Kind::Integer, "", "the panel's number in the row"),
    Column::new("id", Kind::Text, "", "id of the vine, or of the panel for a whole panel"),
    Column::new(
        "how",
        Kind::Text,
        "",
        "how the place was found: id, row-and-vine, panel or position",
    ),
    Column::new("canopy_m", Kind::Number(3), "metres", "canopy of the vines it is about"),
    Column::new(
        "shoots_per_m",
        Kind::Number(5),
        "shoots per metre of canopy",
        "density counted; empty where no shoots were counted or the count is not used",
    ),
    Column::new("file", Kind::Text, "", "the file it was read from"),
    Column::new("line", Kind::Integer, "", "the line in that file"),
];

/// What is added to a record that found no place; its own cells follow.
pub(super) const UNJOINED: &[Column] = &[
    Column::new("reason", Kind::Text, "", "why it found no place, and how to mend it"),
    Column::new("file", Kind::Text, "", "the file it was read from"),
    Column::new("line", Kind::Integer, "", "the line in that file"),
];

/// Every record that found its place, with its raw cells.
pub fn counts_joined(thinned: &Thinned<'_>) -> Table {
    counts_joined_of(&[thinned])
}

/// The same of the counts before the work, then of the recount.
pub fn counts_joined_twice(block: &AuditedBlock<'_>) -> Table {
    let before = &block.thinned.evidence.joined.records;
    let records = before.iter().chain(&block.after.records);
    joined_table(&records.map(|record| (block.thinned, record)).collect::<Vec<_>>())
}

/// The same of several seasons, one after the other.
pub fn counts_joined_of(seasons: &[&Thinned<'_>]) -> Table {
    let of_one = |thinned: &&'_ Thinned<'_>| thinned.evidence.joined.records.len();
    let places = seasons.iter().flat_map(|one| (0..of_one(one)).map(move |at| (*one, at)));
    let records = places.map(|(thinned, at)| (thinned, &thinned.evidence.joined.records[at]));
    joined_table(&records.collect::<Vec<_>>())
}

fn joined_table(records: &[(&Thinned<'_>, &JoinedRecord)]) -> Table {
    let raw = RawHeads::of(records.iter().map(|(_, record)| &record.count));
    let rows = records.iter().map(|(thinned, record)| {
        let place = placed(thinned.evidence, record);
        let canopy = thinned.canopy_of(record.vines.iter().copied());
        let mut cells = vec![thinned.evidence.site.name.as_str().into()];
        cells.extend(place);
        cells.push(how(record.how).into());
        cells.push(Value::number(canopy, LENGTH_DECIMALS));
        cells.push(record.shoots_per_m.map_or(Value::Null, |density| Value::number(density, 5)));
        cells.extend(source(&record.count));
        cells.extend(raw.cells(&record.count));
        cells
    });
    Table { name: "counts-joined", rows: rows.collect(), heads: raw.heads_after(JOINED) }
}

/// Every record that found no place, with its raw cells and the reason.
pub fn unjoined(records: &[UnjoinedRecord]) -> Table {
    let raw = RawHeads::of(records.iter().map(|record| &record.count));
    let rows = records.iter().map(|record| {
        let mut cells = vec![record.reason.as_str().into()];
        cells.extend(source(&record.count));
        cells.extend(raw.cells(&record.count));
        cells
    });
    Table { name: "unjoined", rows: rows.collect(), heads: raw.heads_after(UNJOINED) }
}

/// Row, vine, panel and id of a record.
fn placed(evidence: Evidence<'_>, record: &JoinedRecord) -> [Value; 4] {
    let layout = evidence.layout;
    if let Some(panel) = record.panel {
        let panel = &layout.panels[panel];
        let id = layout.digits.panel(panel.row, panel.panel);
        return [panel.row.into(), Value::Null, panel.panel.into(), id.into()];
    }
    let Some(vine) = record.vines.first().map(|&vine| &layout.vines[vine]) else {
        return Default::default();
    };
    let panel = layout.panels[vine.panel].panel;
    let id = layout.digits.vine(vine.row, vine.vine);
    [vine.row.into(), vine.vine.into(), panel.into(), id.into()]
}

const fn how(found: FoundBy) -> &'static str {
    match found {
        FoundBy::Id => "id",
        FoundBy::RowAndVine => "row-and-vine",
        FoundBy::Panel => "panel",
        FoundBy::Position => "position",
    }
}

/// File name and line of a record.
fn source(count: &Count) -> [Value; 2] {
    let file = count.place.file.as_deref().map(crate::write::run_record::file_name);
    let line = count.place.line.and_then(|line| i64::try_from(line).ok());
    [file.into(), line.map_or(Value::Null, Value::Integer)]
}

/// The heads of the raw cells of all files, each once, in the order first met.
struct RawHeads(Vec<String>);

impl RawHeads {
    fn of<'a>(counts: impl Iterator<Item = &'a Count>) -> Self {
        let mut heads: Vec<String> = Vec::new();
        for count in counts {
            for (head, _) in &count.raw {
                if !heads.contains(head) {
                    heads.push(head.clone());
                }
            }
        }
        Self(heads)
    }

    fn cells(&self, count: &Count) -> Vec<Value> {
        let cell = |head: &String| {
            let raw = count.raw.iter().find(|(known, _)| known == head);
            raw.map_or(Value::Null, |(_, text)| text.as_str().into())
        };
        self.0.iter().map(cell).collect()
    }

    /// Our heads, then the raw ones; a raw one that is called like ours says so.
    fn heads_after(&self, ours: &[Column]) -> Vec<String> {
        let raw = self.0.iter().map(|head| {
            if ours.iter().any(|column| column.name == head) {
                format!("{head}_as_written")
            } else {
                head.clone()
            }
        });
        ours.iter().map(|column| column.name.to_owned()).chain(raw).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{finding::Place, write::csv::csv};

    fn record(cells: &[(&str, &str)], line: u64) -> UnjoinedRecord {
        let raw = cells.iter().map(|(head, text)| ((*head).to_owned(), (*text).to_owned()));
        let place = Place::file("/home/someone/counts.csv").at_line(line);
        let count = Count { raw: raw.collect(), place, ..Count::default() };
        UnjoinedRecord { count, reason: "no row 99; the block has rows 1-12".to_owned() }
    }

    #[test]
    fn records_keep_their_cells_as_written_whatever_their_columns_are_called() {
        let records = [
            record(&[("row", "99"), ("shoots", "012"), ("line", "x")], 4),
            record(&[("note", "=1+1"), ("shoots", "-3")], 7),
        ];
        let text = String::from_utf8(csv(&unjoined(&records))).unwrap();
        let expected = "reason,file,line,row,shoots,line_as_written,note\r\n\
            no row 99; the block has rows 1-12,counts.csv,4,99,012,x,\r\n\
            no row 99; the block has rows 1-12,counts.csv,7,,-3,,'=1+1\r\n";
        assert_eq!(text, expected);
    }
}
