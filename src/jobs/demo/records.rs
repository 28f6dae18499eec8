//! Lines of a field book: named cells, printed as a CSV table.

use std::{collections::BTreeMap, fmt::Display};

/// One line of a field book: a cell for every column that it has something for.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Record(BTreeMap<&'static str, String>);

impl Record {
    /// The record with one more cell.
    #[must_use]
    pub(super) fn with(mut self, column: &'static str, value: impl Display) -> Self {
        self.0.insert(column, value.to_string());
        self
    }

    /// The text of a cell, empty where the record says nothing.
    pub(super) fn cell(&self, column: &str) -> &str {
        self.0.get(column).map_or("", String::as_str)
    }
}

/// A table with a header, one line a record. No cell of the estate holds a comma or a quote.
pub(super) fn table(columns: &[&'static str], records: &[Record]) -> String {
    let mut text = columns.join(",");
    text.push('\n');
    for record in records {
        let cells: Vec<&str> = columns.iter().map(|column| record.cell(column)).collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_has_a_cell_for_every_column() {
        let record = Record::default().with("shoots", 17).with("block", "South Brae");
        assert_eq!(
            table(&["block", "vine", "shoots"], &[record]),
            "block,vine,shoots\nSouth Brae,,17\n"
        );
    }
}
