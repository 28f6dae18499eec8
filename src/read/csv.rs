//! A delimited text -> a [`Table`]: finds delimiter and header, tells what it skips.

use ::csv::{ReaderBuilder, StringRecord};

use super::{
    records::{HEADER_WITHIN, Record, known_among, table_of_records},
    table::{Table, column_name},
};
use crate::finding::{Finding, Findings, Place};

/// A longer cell is no cell: a quote was lost or the file is something else.
const LONGEST_CELL: usize = 100_000;
const DELIMITERS: [u8; 4] = [b',', b';', b'\t', b'|'];

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
    table_of_records(records_of(body, delimiter, file, first_line)?, file, known, findings)
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
