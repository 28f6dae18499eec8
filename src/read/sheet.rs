//! One sheet of a workbook -> lines of cells as text, as a table of text would have them.

use std::{collections::BTreeMap, io::Cursor};

use calamine::{DataRef, Dimensions, ExcelDateTime, Xlsx};

use super::{records::Record, table::Table, workbook::unreadable};
use crate::finding::{Finding, Findings, Place};

/// More rows with something in them are no list of counts.
const MOST_ROWS: usize = 200_000;
/// More cells with something in them are no list of counts.
const MOST_CELLS: usize = 4_000_000;
/// The most bytes of text.
const MOST_BYTES: usize = 256 << 20;
/// Columns of a value that may stand for the several rows it is merged over.
const MAY_SPAN: &[&str] = &["block", "row", "panel", "date", "visit", "counted_by"];
/// Whole numbers up to here have no fraction that got lost (2^53).
const MOST_EXACT: f64 = 9_007_199_254_740_992.0;

/// What stands in a sheet.
#[derive(Debug)]
pub(super) struct Sheet {
    /// Its name.
    pub(super) name: String,
    /// Its rows that are not empty, in their order.
    pub(super) records: Vec<Record>,
    /// Cells that say nothing, if they belong to the table.
    pub(super) odd: Vec<OddCell>,
}

/// A cell whose value is none: an error of a formula, `TRUE`, a value merged over several rows.
#[derive(Debug)]
pub(super) struct OddCell {
    row: u64,
    column: usize,
    place: Place,
    what: String,
    mend: &'static str,
    /// A fault only outside columns that may span rows.
    spans: bool,
}

type Rows = BTreeMap<u32, BTreeMap<u32, String>>;

/// Reads a sheet.
///
/// # Errors
/// A damaged sheet, or one with more rows or cells than any list of counts.
pub(super) fn sheet_of(
    book: &mut Xlsx<Cursor<&[u8]>>,
    name: &str,
    file: &Place,
) -> Result<Sheet, Finding> {
    let own = file.in_feature(format!("sheet `{name}`"));
    let (mut rows, mut odd) = (Rows::new(), Vec::new());
    let (mut cells, mut bytes) = (0, 0_usize);
    let mut reader = book.worksheet_cells_reader(name).map_err(|error| unreadable(&own, &error))?;
    while let Some(cell) =
        reader.next_cell_with_formula_metadata().map_err(|error| unreadable(&own, &error))?
    {
        let (row, column) = cell.pos;
        let (text, wrong) = text_of(&cell.value, cell.formula.is_some());
        if let Some((what, mend)) = wrong {
            odd.push(odd_cell(&own, name, (row, column), what, mend));
        }
        if !text.is_empty() {
            cells += 1;
            bytes = bytes.saturating_add(text.len());
            rows.entry(row).or_default().insert(column, text);
        }
        if rows.len() > MOST_ROWS || cells > MOST_CELLS || bytes > MOST_BYTES {
            return Err(too_many(own));
        }
    }
    drop(reader);
    let merged = book.merge_cells_by_sheet_name(name).map_err(|error| unreadable(&own, &error))?;
    for merge in merged {
        odd.extend(spread(&mut rows, &mut cells, merge, (&own, name))?);
    }
    let records = records(rows, &own)?;
    Ok(Sheet { name: name.to_owned(), records, odd })
}

fn too_many(place: Place) -> Finding {
    let what = format!("more than {MOST_ROWS} rows or {MOST_CELLS} cells hold something");
    Finding::fault(place, what)
        .because("no list of counts is so long")
        .mend("delete what is no record, or save the sheet as CSV (UTF-8)")
}

/// A row as long as the sheet's widest, so that its cells belong to their columns.
fn records(rows: Rows, sheet: &Place) -> Result<Vec<Record>, Finding> {
    let width = rows.values().filter_map(|row| row.keys().next_back()).max();
    let width = width.map_or(0, |&last| last as usize + 1);
    // Empty cells take room too: a stray cell far to the right would make every row that long.
    if rows.len().saturating_mul(width) > MOST_CELLS {
        return Err(Finding::fault(
            sheet.clone(),
            format!("{} rows of {width} columns", rows.len()),
        )
        .because("no list of counts is so wide")
        .mend("delete the cell that stands far to the right, or save the sheet as CSV (UTF-8)"));
    }
    let rows = rows.into_iter().map(|(row, cells)| {
        let mut texts = Vec::new();
        for (column, text) in cells {
            texts.resize(column as usize, String::new());
            texts.push(text);
        }
        texts.resize(width, String::new());
        Record { cells: texts, place: sheet.at_line(u64::from(row) + 1) }
    });
    Ok(rows.collect())
}

/// Words for a fault, and how to mend it.
type Wrong = (String, &'static str);

/// The text that a table of text would have in its place, and what is wrong with it.
fn text_of(value: &DataRef<'_>, formula: bool) -> (String, Option<Wrong>) {
    match value {
        DataRef::Int(number) => (number.to_string(), None),
        DataRef::Float(number) => (number_text(*number), None),
        DataRef::String(text) | DataRef::DurationIso(text) | DataRef::DateTimeIso(text) => {
            (text.clone(), None)
        }
        DataRef::SharedString(text) => ((*text).to_owned(), None),
        DataRef::DateTime(moment) => (moment_text(moment), None),
        DataRef::Bool(flag) => {
            let text = if *flag { "TRUE" } else { "FALSE" };
            let what = format!("the cell holds {text}, which is neither a number nor a word");
            (text.to_owned(), Some((what, "type what was meant")))
        }
        DataRef::Error(error) => {
            let what = format!("the cell holds the error {error}");
            (error.to_string(), Some((what, "mend its formula, or type the value")))
        }
        DataRef::Empty if formula => {
            let what = "the cell holds a formula that nothing has reckoned yet".to_owned();
            (String::new(), Some((what, "open the workbook in a spreadsheet and save it again")))
        }
        DataRef::Empty => (String::new(), None),
    }
}

/// 12, not 12.0.
fn number_text(number: f64) -> String {
    if number.fract().abs() < f64::MIN_POSITIVE && number.abs() < MOST_EXACT {
        // Adding zero takes the sign off a zero.
        format!("{:.0}", number + 0.0)
    } else {
        number.to_string()
    }
}

/// A date as ISO 8601, with its time of day if it has one; a time or a length of time as hours and
/// minutes.
fn moment_text(moment: &ExcelDateTime) -> String {
    let days = moment.as_f64();
    if moment.is_duration() || days < 1.0 {
        let minutes = (days * 24.0 * 60.0).round();
        let hours = (minutes / 60.0).floor();
        return format!("{hours:.0}:{:02.0}", minutes - 60.0 * hours);
    }
    let (year, month, day, hour, minute, ..) = moment.to_ymd_hms_milli();
    let date = format!("{year:04}-{month:02}-{day:02}");
    if (hour, minute) == (0, 0) { date } else { format!("{date} {hour:02}:{minute:02}") }
}

/// Gives every row below the first of a merged range its value; tells where one value must not
/// stand for several records.
fn spread(
    rows: &mut Rows,
    cells: &mut usize,
    merge: Dimensions,
    (sheet, name): (&Place, &str),
) -> Result<Option<OddCell>, Finding> {
    let ((first, column), (last, _)) = (merge.start, merge.end);
    let Some(text) = rows.get(&first).and_then(|row| row.get(&column)).cloned() else {
        return Ok(None);
    };
    if last <= first {
        return Ok(None);
    }
    for (_, row) in rows.range_mut(first + 1..=last) {
        row.insert(column, text.clone());
        *cells += 1;
        if *cells > MOST_CELLS {
            return Err(too_many(sheet.clone()));
        }
    }
    let what = format!("the cell is merged over rows {} to {}", first + 1, last + 1);
    let mend = "split the cell, and give each record its own value";
    Ok(Some(OddCell { spans: true, ..odd_cell(sheet, name, (first, column), what, mend) }))
}

fn odd_cell(
    sheet: &Place,
    name: &str,
    (row, column): (u32, u32),
    what: String,
    mend: &'static str,
) -> OddCell {
    let reference = format!("{name}!{}{}", letters(column), u64::from(row) + 1);
    let place = Place { feature: Some(reference), ..sheet.clone() };
    OddCell { row: u64::from(row) + 1, column: column as usize, place, what, mend, spans: false }
}

/// `A` for 0, `Z` for 25, `AA` for 26.
fn letters(column: u32) -> String {
    let (mut rest, mut text) = (column + 1, Vec::new());
    while rest > 0 {
        let digit = u8::try_from((rest - 1) % 26).unwrap_or(0);
        text.insert(0, char::from(b'A' + digit));
        rest = (rest - 1) / 26;
    }
    text.into_iter().collect()
}

impl OddCell {
    /// Tells the cell if it stands below the header in a column that is read.
    pub(super) fn tell(self, table: &Table, known: &[&str], findings: &mut Findings) {
        let below = table.place.line.is_some_and(|header| self.row > header);
        let column = table.columns.get(self.column).filter(|name| known.contains(&name.as_str()));
        let Some(column) = column.filter(|_| below) else { return };
        let place = self.place.at_field(column);
        findings.push(if self.spans && MAY_SPAN.contains(&column.as_str()) {
            Finding::note(place, self.what).because("its value is taken for each of these rows")
        } else {
            Finding::fault(place, self.what).mend(self.mend)
        });
    }
}

#[cfg(test)]
mod tests {
    use calamine::ExcelDateTimeType;

    use super::*;

    #[test]
    fn cells_are_what_a_table_of_text_would_have() {
        for (number, text) in [
            (12.0, "12"),
            (-3.0, "-3"),
            (0.0, "0"),
            (-0.0, "0"),
            (2.4, "2.4"),
            (120_000.0, "120000"),
            (10.0, "10"),
        ] {
            assert_eq!(number_text(number), text);
        }
        let day = |days, is_1904| {
            moment_text(&ExcelDateTime::new(days, ExcelDateTimeType::DateTime, is_1904))
        };
        // 25 May 2026 is day 46 167 of the years from 1900 and 44 705 of those from 1904
        // (ECMA-376, part 1, 18.17.4.1: the two differ by 1462 days).
        assert_eq!([day(46167.0, false), day(44705.0, true)], ["2026-05-25", "2026-05-25"]);
        assert_eq!(day(46167.6, false), "2026-05-25 14:24");
        assert_eq!(day(0.5, false), "12:00");
    }

    #[test]
    fn columns_have_the_letters_of_a_sheet() {
        let names = [0, 25, 26, 701, 702, 16383].map(letters);
        assert_eq!(names, ["A", "Z", "AA", "ZZ", "AAA", "XFD"]);
    }
}
