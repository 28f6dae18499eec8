//! A workbook of a spreadsheet (XLSX) -> a [`Table`], from the one sheet whose columns are known.
//!
//! What would harm is looked for before the crate that reads workbooks sees a byte: sizes once
//! unpacked, references that are no cells. A sheet is read cell by cell, so that a sheet that only
//! claims to be large costs nothing.

use std::io::Cursor;

use calamine::{Reader as _, SheetType, SheetVisible, Xlsx, XlsxError};

use super::{
    archive::Archive,
    records::{header_among, table_of_records},
    sheet::{Sheet, sheet_of},
    source::{Contents, Source},
    table::Table,
};
use crate::finding::{Finding, Findings, Place};

/// So many known column names make a header; a single one may be a word in another sheet.
const SURE_HEADER: usize = 2;
/// The last column of a sheet is XFD, its last row 1 048 576 (ECMA-376, part 1, 18.3.1.73).
const MOST_LETTERS: usize = 3;
const MOST_DIGITS: usize = 7;

/// True for an archive that holds a sheet of some spreadsheet, or an older workbook.
pub(super) fn is_workbook(source: &Source) -> bool {
    source.contents() == Contents::Zip || source.bytes().starts_with(COMPOUND)
}

/// The container of old workbooks, and of encrypted new ones.
const COMPOUND: &[u8] = b"\xd0\xcf\x11\xe0";

/// Reads the sheet whose columns are among the `known` ones.
///
/// # Errors
/// What is no workbook, is encrypted, damaged or too large; no sheet with a header, or several.
pub(super) fn table_of(
    source: &Source,
    known: &[&str],
    findings: &mut Findings,
) -> Result<Table, Finding> {
    let file = source.place();
    if source.contents() != Contents::Zip {
        return Err(no_zip(source));
    }
    look_through(source)?;
    let mut book: Xlsx<_> =
        Xlsx::new(Cursor::new(source.bytes())).map_err(|error| unreadable(&file, &error))?;
    let sheet = fitting(&mut book, &file, known, findings)?;
    let what = format!("sheet `{}` is read", sheet.name);
    findings.push(Finding::note(file.clone(), what));
    let table = table_of_records(sheet.records, &file, known, findings)?;
    for cell in sheet.odd {
        cell.tell(&table, known, findings);
    }
    Ok(table)
}

fn no_zip(source: &Source) -> Finding {
    let encrypted: Vec<u8> = "EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let place = source.place();
    if source.bytes().windows(encrypted.len()).any(|bytes| bytes == encrypted) {
        return Finding::fault(place, "the workbook is encrypted with a password")
            .mend("save it without a password, or the sheet as CSV (UTF-8)");
    }
    Finding::fault(place, "this is an old workbook of a spreadsheet (.xls), whatever its name")
        .mend("save it as .xlsx, or the sheet as CSV (UTF-8)")
}

/// Unpacks all that will be read, within limits, and looks for references that are no cells.
fn look_through(source: &Source) -> Result<(), Finding> {
    let file = source.place();
    let mut archive = Archive::open(source.bytes(), &file)?;
    if archive.named("xl/workbook.xml").is_none() {
        return Err(other_archive(&archive, &file));
    }
    for name in [archive.ending(".xml"), archive.ending(".rels")].concat() {
        let text = archive.read(&name)?;
        let wrong = name.contains("/worksheets/").then(|| wrong_reference(&text)).flatten();
        if let Some(reference) = wrong {
            return Err(Finding::fault(
                file.in_feature(name),
                format!("`{reference}` names no cell of a sheet"),
            )
            .because("the workbook is damaged, or made to harm")
            .mend("open it in a spreadsheet and save it again"));
        }
    }
    Ok(())
}

fn other_archive(archive: &Archive<'_>, file: &Place) -> Finding {
    if archive.named("content.xml").is_some() {
        return Finding::fault(file.clone(), "this is an OpenDocument spreadsheet (.ods)")
            .mend("save it as .xlsx, or the sheet as CSV (UTF-8)");
    }
    if archive.named("xl/workbook.bin").is_some() {
        return Finding::fault(file.clone(), "this is a binary workbook (.xlsb)")
            .mend("save it as .xlsx, or the sheet as CSV (UTF-8)");
    }
    Finding::fault(file.clone(), "this zip archive holds no workbook of a spreadsheet")
        .because(format!("it holds: {}", archive.some_names()))
        .mend(
            "save the sheet as .xlsx or as CSV (UTF-8); a packed map is read as the block file or \
             by --vines",
        )
}

/// The first value of `r` or `ref` that is no cell, no row and no range of cells in order: numbers
/// of more digits would run over where they are reckoned.
fn wrong_reference(xml: &[u8]) -> Option<String> {
    let starts = |name: &'static [u8]| {
        let found = xml.windows(name.len()).enumerate().filter(move |(_, bytes)| *bytes == name);
        found.map(move |(at, _)| at + name.len())
    };
    let names: [&'static [u8]; 2] = [b"r", b"ref"];
    for name in names {
        for at in starts(name) {
            let alone =
                xml.get(at.wrapping_sub(name.len() + 1)).is_some_and(u8::is_ascii_whitespace);
            let rest = xml[at..].trim_ascii_start();
            let Some(rest) = rest.strip_prefix(b"=").filter(|_| alone) else { continue };
            let Some((quote, rest)) = rest.trim_ascii_start().split_first() else { continue };
            let value = rest.split(|byte| byte == quote).next().unwrap_or_default();
            if matches!(quote, b'"' | b'\'') && !is_reference(value) {
                return Some(String::from_utf8_lossy(value).chars().take(40).collect());
            }
        }
    }
    None
}

/// True for `C7`, `12`, `B2:D9`.
fn is_reference(value: &[u8]) -> bool {
    let cell = |part: &[u8]| {
        let letters = part.iter().take_while(|byte| byte.is_ascii_alphabetic()).count();
        let digits = &part[letters..];
        let sound = letters <= MOST_LETTERS
            && (1..=MOST_DIGITS).contains(&digits.len())
            && digits.iter().all(u8::is_ascii_digit);
        let number = |bytes: &[u8]| bytes.iter().fold(0_u64, |sum, &b| 256 * sum + u64::from(b));
        let upper = part[..letters].to_ascii_uppercase();
        sound.then(|| [number(&upper), number(digits.trim_ascii())])
    };
    let parts: Vec<_> = value.split(|byte| *byte == b':').map(cell).collect();
    match parts[..] {
        [Some(_)] => true,
        [Some([column, row]), Some([last_column, last_row])] => {
            column <= last_column && row <= last_row
        }
        _ => false,
    }
}

/// The one visible sheet with a header; a word of the columns in another sheet makes it no header.
fn fitting(
    book: &mut Xlsx<Cursor<&[u8]>>,
    file: &Place,
    known: &[&str],
    findings: &mut Findings,
) -> Result<Sheet, Finding> {
    let own = book.sheets_metadata().to_vec();
    let (mut sheets, mut heads) = (Vec::new(), Vec::new());
    for sheet in own.iter().filter(|sheet| sheet.typ == SheetType::WorkSheet) {
        if sheet.visible != SheetVisible::Visible {
            let what = format!("the hidden sheet `{}` is not read", sheet.name);
            findings.push(Finding::note(file.clone(), what));
            continue;
        }
        let sheet = sheet_of(book, &sheet.name, file)?;
        let score = header_among(&sheet.records, known).map_or(0, |(_, score)| score);
        heads.push((sheet.name.clone(), score));
        sheets.push((sheet, score));
    }
    let least = if sheets.iter().any(|(_, score)| *score >= SURE_HEADER) { SURE_HEADER } else { 1 };
    let mut fitting: Vec<Sheet> =
        sheets.into_iter().filter(|(_, score)| *score >= least).map(|(sheet, _)| sheet).collect();
    match (fitting.pop(), fitting.is_empty()) {
        (Some(sheet), true) => Ok(sheet),
        (Some(last), false) => Err(several(&fitting, &last, file)),
        (None, _) => Err(no_sheet(&heads, file, known)),
    }
}

fn several(others: &[Sheet], last: &Sheet, file: &Place) -> Finding {
    let names: Vec<String> =
        others.iter().chain([last]).map(|sheet| format!("`{}`", sheet.name)).collect();
    Finding::fault(file.clone(), format!("{} sheets hold a table", names.len()))
        .because(format!("they are {}", names.join(", ")))
        .mend("put the records into one sheet, hide the others, or save each as a file of its own")
}

fn no_sheet(heads: &[(String, usize)], file: &Place, known: &[&str]) -> Finding {
    let names: Vec<String> = heads.iter().map(|(name, _)| format!("`{name}`")).collect();
    Finding::fault(file.clone(), "no sheet has a row with column names")
        .because(format!("the sheets are {}", names.join(", ")))
        .mend(format!("name the columns in a first row: {}", known.join(", ")))
}

/// What the crate that reads workbooks says, for people.
pub(super) fn unreadable(file: &Place, error: &XlsxError) -> Finding {
    Finding::fault(file.clone(), "the workbook is damaged")
        .because(error.to_string())
        .mend("open it in a spreadsheet and save it again, or save the sheet as CSV (UTF-8)")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn references_that_are_no_cells_are_found_before_they_are_reckoned_with() {
        for sound in ["C7", "XFD1048576", "12", "B2:D9", "A1"] {
            assert!(is_reference(sound.as_bytes()), "{sound}");
        }
        for wrong in ["", "A", "A99999999", "AAAA1", "D9:B2", "A9:B2", "A1:B2:C3", "é1", "A-1"] {
            assert!(!is_reference(wrong.as_bytes()), "{wrong}");
        }
        assert_eq!(wrong_reference(b"<row r=\"1\"><c r='A1' s=\"9999999999\"/></row>"), None);
        assert_eq!(wrong_reference(b"<c r = \"A99999999999\">").as_deref(), Some("A99999999999"));
        assert_eq!(wrong_reference(b"<mergeCell ref=\"B3:A1\"/>").as_deref(), Some("B3:A1"));
    }
}
