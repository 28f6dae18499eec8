//! A delimited text -> a [`Table`]: finds delimiter and header, tells what it skips.

use ::csv::{ReaderBuilder, StringRecord};

use super::table::{Row, Table, column_name};
use crate::finding::{Finding, Findings, Place};

/// The header is looked for in so many rows; above it stand notes.
const HEADER_WITHIN: usize = 30;
/// A longer cell is no cell: a quote was lost or the file is something else.
const LONGEST_CELL: usize = 100_000;
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];
/// What stands in the first cell of a row of totals.
const TOTALS: &[&str] = &["total", "totals", "grand total", "subtotal", "sum", "mean", "average"];

/// Reads a delimited text whose columns are among the `known` ones.
///
/// # Errors
/// What makes the text no table: a quote without end, a zero byte, no header, a header twice.
pub(super) fn table_of(
    text: &str,
    file: &Place,
    known: &[&str],
    findings: &mut Findings,
) -> Result<Table, Finding> {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    if let Some(at) = text.find('\0') {
        return Err(Finding::fault(file.at_line(line_of(&text, at)), "a zero byte in the text")
            .mend("save the file again as CSV (UTF-8)"));
    }
    let (body, first_line) = without_separator_line(&text);
    let delimiter = delimiter_of(body, known);
    refuse_open_quote(body, delimiter, first_line, file)?;
    if delimiter != b',' {
        let what = format!("cells are separated by {}", name_of(delimiter));
        findings.push(Finding::note(file.clone(), what));
    }
    let records = records_of(body, delimiter, file, first_line)?;
    let (index, table) = header_of(&records, file, known)?;
    tell_notes(&records[..index], file, findings);
    Ok(fill(table, records.into_iter().skip(index + 1), findings))
}

/// Some spreadsheets write `sep=;` in the first line.
fn without_separator_line(text: &str) -> (&str, u64) {
    match text.split_once('\n') {
        Some((first, rest)) if first.to_lowercase().starts_with("sep=") => (rest, 2),
        _ => (text, 1),
    }
}

fn line_of(text: &str, at: usize) -> u64 {
    1 + text[..at].matches('\n').count() as u64
}

fn name_of(delimiter: u8) -> String {
    match delimiter {
        b'\t' => "tabs".to_owned(),
        other => format!("`{}`", char::from(other)),
    }
}

/// The delimiter under which most column names are known ones.
fn delimiter_of(text: &str, known: &[&str]) -> u8 {
    let score = |delimiter: u8| {
        let lines = text.lines().take(HEADER_WITHIN);
        let cells = |line: &str| -> Vec<String> {
            line.split(char::from(delimiter))
                .map(|cell| column_name(cell.trim_matches('"')))
                .collect()
        };
        lines.map(|line| known_among(&cells(line), known)).max().unwrap_or(0)
    };
    // The first of equals: a comma unless another is better.
    let mut best = (DELIMITERS[0], score(DELIMITERS[0]));
    for delimiter in &DELIMITERS[1..] {
        if score(*delimiter) > best.1 {
            best = (*delimiter, score(*delimiter));
        }
    }
    best.0
}

fn known_among(cells: &[String], known: &[&str]) -> usize {
    cells.iter().filter(|cell| known.contains(&cell.as_str())).count()
}

/// A quote that opens a cell and is never closed would swallow the rest of the file.
fn refuse_open_quote(
    text: &str,
    delimiter: u8,
    first_line: u64,
    file: &Place,
) -> Result<(), Finding> {
    let (mut line, mut cell_starts, mut opened) = (first_line, true, None);
    let mut bytes = text.bytes().peekable();
    while let Some(byte) = bytes.next() {
        line += u64::from(byte == b'\n');
        match (opened, byte) {
            (Some(_), b'"') if bytes.peek() == Some(&b'"') => {
                bytes.next();
            }
            (Some(_), b'"') => opened = None,
            (None, b'"') if cell_starts => opened = Some(line),
            (Some(_) | None, _) => {}
        }
        cell_starts = opened.is_none() && (byte == delimiter || byte == b'\n');
    }
    let Some(opened) = opened else { return Ok(()) };
    Err(Finding::fault(file.at_line(opened), "a quote opened on this line is never closed")
        .because("everything after it would be one cell")
        .mend("close it, or double a quote that belongs to the text: 5\"\""))
}

struct Record {
    cells: Vec<String>,
    place: Place,
}

impl Record {
    fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

fn records_of(
    text: &str,
    delimiter: u8,
    file: &Place,
    first_line: u64,
) -> Result<Vec<Record>, Finding> {
    let mut reader = ReaderBuilder::new()
        .delimiter(delimiter)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut records = Vec::new();
    for record in reader.records() {
        let record: StringRecord = record.map_err(|error| unreadable(file, &error))?;
        let line = first_line - 1 + record.position().map_or(1, |at| line_after_blanks(text, at));
        let place = file.at_line(line);
        if let Some(cell) = record.iter().find(|cell| cell.len() > LONGEST_CELL) {
            let what = format!("a cell of {} letters", cell.chars().count());
            return Err(Finding::fault(place, what).mend("check the quotes around it"));
        }
        records.push(Record { cells: record.iter().map(str::to_owned).collect(), place });
    }
    Ok(records)
}

fn unreadable(file: &Place, error: &::csv::Error) -> Finding {
    Finding::fault(file.clone(), "the table cannot be read as CSV")
        .because(error.to_string())
        .mend("save the sheet as CSV (UTF-8) again")
}

/// The line of a record: the crate tells where it began to look, which is before blank lines.
fn line_after_blanks(text: &str, at: &::csv::Position) -> u64 {
    let start = usize::try_from(at.byte()).unwrap_or(usize::MAX);
    let rest = text.as_bytes().get(start..).unwrap_or_default();
    at.line() + rest.iter().take_while(|byte| **byte == b'\n').count() as u64
}

/// The row with the most known column names, and a table with these columns and no rows.
fn header_of(records: &[Record], file: &Place, known: &[&str]) -> Result<(usize, Table), Finding> {
    let names = |record: &Record| -> Vec<String> {
        record.cells.iter().map(|cell| column_name(cell)).collect()
    };
    let mut best: Option<(usize, usize)> = None;
    for (index, record) in records.iter().take(HEADER_WITHIN).enumerate() {
        let score = known_among(&names(record), known);
        if score > best.map_or(0, |(_, score)| score) {
            best = Some((index, score));
        }
    }
    let Some((index, _)) = best else { return Err(no_header(records, file, known)) };
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
    Finding::fault(file.clone(), "no row with column names")
        .because(format!("the first row holds: {found}"))
        .mend(format!("name the columns in a first row: {}", known.join(", ")))
}

fn tell_notes(above: &[Record], file: &Place, findings: &mut Findings) {
    let notes = above.iter().filter(|record| !record.is_blank()).count();
    if notes > 0 {
        let what = format!("{notes} lines above the column names are skipped");
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
        let what = format!("{} cells where there are {columns} columns", record.cells.len());
        return Err(Finding::fault(record.place, what)
            .because("the cells cannot be told to their columns")
            .mend("put a text that holds the separator, or a decimal comma, in quotes"));
    }
    Ok(Row { cells: record.cells, place: record.place })
}
