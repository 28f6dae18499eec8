//! Lines of cells, of a text or of a sheet -> a [`Table`]: finds the header, tells what it skips.

use super::table::{Row, Table, column_name};
use crate::{
    finding::{Finding, Findings, Place},
    names::{agreeing, number_of},
};

/// The header is looked for in so many rows; above it stand notes.
pub(super) const HEADER_WITHIN: usize = 30;
/// What stands in the first cell of a row of totals.
const TOTALS: &[&str] = &["total", "totals", "grand total", "subtotal", "sum", "mean", "average"];

/// A line of cells that nothing has been made of.
#[derive(Debug)]
pub(super) struct Record {
    /// The cells as written.
    pub(super) cells: Vec<String>,
    /// File and line.
    pub(super) place: Place,
}

impl Record {
    fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// The table that lines make, whose columns are among the `known` ones.
///
/// # Errors
/// No line of column names, or a name twice.
pub(super) fn table_of_records(
    records: Vec<Record>,
    file: &Place,
    known: &[&str],
    findings: &mut Findings,
) -> Result<Table, Finding> {
    let (index, table) = header_of(&records, file, known)?;
    tell_notes(&records[..index], file, findings);
    Ok(fill(table, records.into_iter().skip(index + 1), findings))
}

/// How many cells are known column names.
pub(super) fn known_among(cells: &[String], known: &[&str]) -> usize {
    cells.iter().filter(|cell| known.contains(&cell.as_str())).count()
}

/// The line with the most known column names, and how many; the first of equals.
pub(super) fn header_among(records: &[Record], known: &[&str]) -> Option<(usize, usize)> {
    let scores = records.iter().take(HEADER_WITHIN).enumerate();
    let scores = scores.map(|(index, record)| (index, known_among(&names(record), known)));
    let better = |best: Option<(usize, usize)>, one: (usize, usize)| {
        if one.1 > best.map_or(0, |(_, most)| most) { Some(one) } else { best }
    };
    scores.fold(None, better)
}

fn names(record: &Record) -> Vec<String> {
    record.cells.iter().map(|cell| column_name(cell)).collect()
}

/// The row with the most known column names, and a table with these columns and no rows.
fn header_of(records: &[Record], file: &Place, known: &[&str]) -> Result<(usize, Table), Finding> {
    let Some((index, _)) = header_among(records, known) else {
        return Err(no_header(records, file, known));
    };
    let columns = names(&records[index]);
    let place = records[index].place.clone();
    for (at, column) in columns.iter().enumerate() {
        if !column.is_empty() && columns[..at].contains(column) {
            return Err(Finding::fault(place, format!("the column `{column}` stands twice"))
                .because(format!("columns found: {}", columns.join(", ")))
                .mend("rename or delete one of the two"));
        }
    }
    Ok((index, Table { columns, rows: Vec::new(), place }))
}

fn no_header(records: &[Record], file: &Place, known: &[&str]) -> Finding {
    let found = records.iter().find(|record| !record.is_blank());
    let found = found.map_or_else(String::new, |record| {
        let cells: Vec<String> =
            record.cells.iter().take(12).map(|c| c.chars().take(30).collect()).collect();
        cells.join(", ")
    });
    if found.trim_start().starts_with('<') {
        return Finding::fault(file.clone(), "this is a web page or XML, not a table")
            .because("some programs name a web page .xls when they save a table")
            .mend("open it in a spreadsheet and save it as .xlsx or as CSV (UTF-8)");
    }
    Finding::fault(file.clone(), "no row with column names")
        .because(format!("the first row holds: {found}"))
        .mend(format!("name the columns in a first row: {}", known.join(", ")))
}

fn tell_notes(above: &[Record], file: &Place, findings: &mut Findings) {
    let notes = above.iter().filter(|record| !record.is_blank()).count();
    if notes > 0 {
        let are = agreeing(notes, "is", "are");
        let what = format!("{} above the column names {are} skipped", number_of(notes, "line"));
        findings.push(Finding::note(file.clone(), what));
    }
}

fn fill(mut table: Table, records: impl Iterator<Item = Record>, findings: &mut Findings) -> Table {
    for record in records {
        if record.is_blank() {
            continue;
        }
        if is_total(&record, &table) {
            let what = "a row of totals is skipped";
            findings.push(Finding::note(record.place, what));
            continue;
        }
        match fitted(record, table.columns.len()) {
            Ok(row) => table.rows.push(row),
            Err(finding) => findings.push(finding),
        }
    }
    table
}

/// The first cell says so, and none of the columns that name a place has anything else.
fn is_total(record: &Record, table: &Table) -> bool {
    let word = |cell: &str| {
        TOTALS.contains(&cell.trim().trim_end_matches(':').trim_end().to_lowercase().as_str())
    };
    let mut filled = record.cells.iter().filter(|cell| !cell.trim().is_empty());
    let places = ["id", "row", "vine", "panel"].into_iter().filter_map(|name| table.column(name));
    let mut place_cells = places.filter_map(|at| record.cells.get(at));
    filled.next().is_some_and(|cell| word(cell))
        && place_cells.all(|cell| cell.trim().is_empty() || word(cell))
}

fn fitted(mut record: Record, columns: usize) -> Result<Row, Finding> {
    while record.cells.len() > columns && record.cells.last().is_some_and(|c| c.trim().is_empty()) {
        record.cells.pop();
    }
    if record.cells.len() != columns {
        let cells = number_of(record.cells.len(), "cell");
        let what = format!("{cells} where there are {}", number_of(columns, "column"));
        return Err(Finding::fault(record.place, what)
            .because("the cells cannot be told to their columns")
            .mend("put a text that holds the separator, or a decimal comma, in quotes"));
    }
    Ok(Row { cells: record.cells.into_iter().map(unescaped).collect(), place: record.place })
}

/// A text without the `'` that keeps a spreadsheet from computing it: tables that this program
/// writes have it before such a text.
fn unescaped(cell: String) -> String {
    let leads = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    match cell.strip_prefix('\'').filter(|rest| rest.starts_with(leads)) {
        Some(rest) => rest.to_owned(),
        None => cell,
    }
}
