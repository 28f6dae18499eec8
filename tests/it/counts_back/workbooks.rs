//! Counts in workbooks of a spreadsheet.

use std::{
    fmt::Write as _,
    io::{Cursor, Read as _, Write as _},
};

use rust_xlsxwriter::{Format, Formula, Workbook, Worksheet};
use zip::{ZipArchive, ZipWriter, write::SimpleFileOptions};

use super::{HEADS, clean, joined, thin, wanted, write};
use crate::support::{folder, skipped};

/// A cell as a spreadsheet keeps it: numbers as numbers, dates as dates.
fn put_cell(sheet: &mut Worksheet, (row, column): (u32, u16), text: &str) {
    let date = Format::new().set_num_format("dd/mm/yyyy");
    let made = match column {
        _ if text.is_empty() => return,
        2 => {
            let mut parts = text.split('-').map(|part| part.parse::<u16>().expect("a date"));
            let [year, month, day] = [parts.next(), parts.next(), parts.next()].map(Option::unwrap);
            let [month, day] = [month, day].map(|part| u8::try_from(part).expect("a date"));
            let day = rust_xlsxwriter::ExcelDateTime::from_ymd(year, month, day).expect("a day");
            sheet.write_datetime_with_format(row, column, &day, &date)
        }
        3 | 4 => sheet.write_number(row, column, text.parse::<f64>().expect("a number")),
        _ => sheet.write_string(row, column, text),
    };
    made.map(|_| ()).expect("a cell");
}

/// The clean table from a row on.
fn fill(sheet: &mut Worksheet, from: u32) {
    for (column, head) in (0..).zip(HEADS) {
        sheet.write_string(from, column, head).expect("a head");
    }
    for (row, cells) in (from + 1..).zip(clean()) {
        for (column, text) in (0..).zip(&cells) {
            put_cell(sheet, (row, column), text);
        }
    }
}

fn bytes(mut book: Workbook) -> Vec<u8> {
    book.save_to_buffer().expect("a workbook")
}

/// The clean table in a workbook, with something done to its sheet.
fn book(name: &str, change: impl Fn(&mut Worksheet)) -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet().set_name(name).expect("a name");
    fill(sheet, 0);
    change(sheet);
    bytes(book)
}

/// The workbook with a part of it written anew.
fn with_part(book: &[u8], part: &str, change: impl Fn(&str) -> String) -> Vec<u8> {
    let mut read = ZipArchive::new(Cursor::new(book)).expect("a workbook");
    let mut made = ZipWriter::new(Cursor::new(Vec::new()));
    let names: Vec<String> = names_of(&read);
    for name in names {
        let mut text = String::new();
        read.by_name(&name).expect("a part").read_to_string(&mut text).expect("text");
        let text = if name == part { change(&text) } else { text };
        made.start_file(name, SimpleFileOptions::default()).expect("a part");
        made.write_all(text.as_bytes()).expect("a part");
    }
    made.finish().expect("a workbook").into_inner()
}

fn names_of(archive: &ZipArchive<Cursor<&[u8]>>) -> Vec<String> {
    archive.file_names().map(|name| name.expect("a name").into_owned()).collect()
}

const SHEET: &str = "xl/worksheets/sheet1.xml";

/// Days from the first to the second way of counting dates.
/// Source: ECMA-376, part 1, 18.17.4.1.
const DAYS_TO_1904: u32 = 1462;

fn in_1904(book: &[u8]) -> Vec<u8> {
    let day = 46167;
    let shifted = with_part(book, SHEET, |text| {
        text.replace(&format!("<v>{day}</v>"), &format!("<v>{}</v>", day - DAYS_TO_1904))
    });
    with_part(&shifted, "xl/workbook.xml", |text| {
        text.replace("<workbookPr ", "<workbookPr date1904=\"1\" ")
    })
}

fn several_sheets() -> Vec<u8> {
    let mut book = Workbook::new();
    let about = book.add_worksheet().set_name("Read me").expect("a name");
    about.write_string(0, 0, "note").expect("a cell");
    about.write_string(1, 0, "Counted in two mornings").expect("a cell");
    fill(book.add_worksheet().set_name("Shoots 2026").expect("a name"), 0);
    let old = book.add_worksheet().set_name("Old").expect("a name");
    fill(old, 0);
    old.set_hidden(true);
    bytes(book)
}

/// A block's name merged over all its rows, as people do to spare typing.
fn merged() -> Vec<u8> {
    book("Counts", |sheet| {
        sheet.merge_range(1, 0, 24, 0, "North", &Format::new()).expect("a merge");
    })
}

fn untidy() -> Vec<u8> {
    let mut book = Workbook::new();
    let sheet = book.add_worksheet();
    sheet.merge_range(0, 0, 0, 5, "Counts of the north block", &Format::new()).expect("a merge");
    fill(sheet, 3);
    sheet.set_row_hidden(7).expect("a hidden row");
    sheet.write_string(30, 1, "Total").expect("a cell");
    sheet.write_formula(30, 4, Formula::new("=SUM(E5:E28)").set_result("262")).expect("a cell");
    // Formatted down to the end, as whole columns are.
    sheet.write_blank(1_048_575, 5, &Format::new().set_bold()).expect("a cell");
    sheet.write_formula(5, 6, Formula::new("=B2&\"\"").set_result("")).expect("a cell");
    bytes(book)
}

#[test]
fn a_workbook_joins_as_the_clean_table_does() {
    let formula = book("Counts", |sheet| {
        for (row, cells) in (1..).zip(clean()) {
            let formula = Formula::new("=4+5").set_result(&cells[4]);
            sheet.write_formula(row, 4, formula).expect("a formula");
        }
    });
    let plain = book("Counts", |_| {});
    let cases = [
        ("plain", plain.clone(), "sheet `Counts` is read"),
        ("days from 1904", in_1904(&plain), "sheet `Counts`"),
        ("formulas", formula, "sheet `Counts`"),
        ("several sheets", several_sheets(), "sheet `Shoots 2026`"),
        ("merged", merged(), "Counts!A2"),
        ("untidy", untidy(), "totals"),
    ];
    let wanted = wanted();
    for (name, bytes, said) in cases {
        let folder = folder();
        let counts = write(folder.path(), "counts.xlsx", &bytes);
        let run = thin(folder.path(), &[&counts], &[]).done();
        assert_eq!(joined(folder.path()), wanted, "{name}");
        let told = run.stdout + &run.stderr;
        assert!(told.contains(said), "{name}: `{said}` is not in\n{told}");
    }
}

/// The clean table with the days as a form on a phone keeps them, with their time.
fn with_times() -> Vec<u8> {
    book("Counts", |sheet| {
        let format = Format::new().set_num_format("yyyy-mm-dd hh:mm");
        for row in 1..=24 {
            // 25 May 2026, 14:24.
            sheet.write_number_with_format(row, 2, 46167.6, &format).expect("a date");
        }
    })
}

#[test]
fn a_time_of_day_behind_a_date_is_told_once() {
    let folder = folder();
    let counts = write(folder.path(), "counts.xlsx", &with_times());
    let run = thin(folder.path(), &[&counts], &[]).done();
    assert_eq!(joined(folder.path()), wanted());
    let told = run.stdout + &run.stderr;
    assert_eq!(told.matches("24 dates with a time of day").count(), 1, "{told}");
}

fn bomb() -> Vec<u8> {
    with_part(&book("Counts", |_| {}), "xl/sharedStrings.xml", |text| {
        text.replace("</sst>", &format!("<si><t>{}</t></si></sst>", "0".repeat(64 << 20)))
    })
}

fn endless() -> Vec<u8> {
    with_part(&book("Counts", |_| {}), SHEET, |text| {
        let mut rows = String::new();
        for row in 30..260_000 {
            let _ = write!(rows, "<row r=\"{row}\"><c><v>{}</v></c></row>", row % 9);
        }
        text.replace("</sheetData>", &format!("{rows}</sheetData>"))
    })
}

/// Workbooks with something wrong in the table, and what must be said.
type Wrong = Vec<(&'static str, Vec<u8>, &'static [&'static str])>;

fn refused(cases: Wrong) {
    for (name, bytes, said) in cases {
        let folder = folder();
        let counts = write(folder.path(), "counts.xlsx", &bytes);
        let run = thin(folder.path(), &[&counts], &[]);
        assert_eq!(run.code, 3, "{name}: {}", run.stderr);
        run.refused(3, said);
    }
}

/// The clean table with another text in a cell.
fn with_text(text: &str, row: u32, column: u16) -> Vec<u8> {
    book("Counts", |sheet| {
        sheet.write_string(row, column, text).expect("a cell");
    })
}

/// The clean table with a formula in E7, changed in the sheet as it is written.
fn with_formula(result: &str, [from, to]: [&str; 2]) -> Vec<u8> {
    let made = book("Counts", |sheet| {
        let formula = Formula::new("=4+5").set_result(result);
        sheet.write_formula(6, 4, formula).expect("a formula");
    });
    with_part(&made, SHEET, |text| {
        assert!(text.contains(from), "{text}");
        text.replace(from, to)
    })
}

#[test]
fn cells_that_say_nothing_are_named() {
    let flag = book("Counts", |sheet| {
        sheet.write_boolean(6, 4, true).expect("a flag");
    });
    let merged = book("Counts", |sheet| {
        sheet.merge_range(6, 4, 8, 4, "12", &Format::new()).expect("a merge");
    });
    let error = with_formula("#REF!", ["<f>", "<f>"]);
    let unreckoned = with_formula("9", ["</f><v>9</v>", "</f>"]);
    let dated = book("Counts", |sheet| put_cell_as_date(sheet, 6, 1));
    refused(vec![
        ("an error", error, &["Counts!E7", "`shoots`", "#REF!"]),
        ("a flag", flag, &["Counts!E7", "TRUE"]),
        ("a formula without a value", unreckoned, &["Counts!E7", "reckoned"]),
        ("merged counts", merged, &["Counts!E7", "rows 7 to 9"]),
        ("an id made a date", dated, &["line 7", "`id`", "spreadsheet"]),
        ("a word", with_text("twelve", 6, 4), &["line 7", "sheet `Counts`", "`shoots`"]),
        ("a head twice", with_text("shoots", 0, 6), &["`shoots` stands twice"]),
    ]);
}

#[test]
fn a_workbook_that_cannot_be_read_is_refused_with_words() {
    let plain = book("Counts", |_| {});
    let mut twice = Workbook::new();
    fill(twice.add_worksheet().set_name("May").expect("a name"), 0);
    fill(twice.add_worksheet().set_name("June").expect("a name"), 0);
    let mut headless = Workbook::new();
    headless.add_worksheet().write_string(0, 0, "x").expect("a cell");
    let ods = with_name(b"application/vnd.oasis.opendocument.spreadsheet");
    let sheet = |from: &str, to: &str| with_part(&plain, SHEET, |text| text.replace(from, to));
    let overflow = sheet("r=\"C7\"", "r=\"C99999999999\"");
    let backwards = sheet("<sheetData>", "<x ref=\"B9:A1\"/><sheetData>");
    let noise: Vec<u8> = (0..2048_u32).filter_map(|at| u8::try_from(at * 167 % 256).ok()).collect();
    let noise = [vec![0xff, 0x9c, 0x03], noise].concat();
    let mut encrypted = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec();
    encrypted.extend([0; 600]);
    encrypted.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    refused(vec![
        ("two sheets", bytes(twice), &["2 sheets hold a table", "`May`, `June`"]),
        ("no heads", bytes(headless), &["no sheet", "`Sheet1`"]),
        ("a bomb", bomb(), &["too large unpacked"]),
        ("no end", endless(), &["200000 rows"]),
        ("a cell beyond all sheets", overflow, &["C99999999999", "names no cell"]),
        ("a range backwards", backwards, &["B9:A1"]),
        ("OpenDocument", ods, &["OpenDocument", ".xlsx"]),
        ("noise", noise, &["counts.xlsx", "named .xlsx", "0x50 0x4B", "save it as .xlsx"]),
        ("encrypted", encrypted, &["encrypted with a password"]),
        ("cut", plain[..plain.len() / 2].to_vec(), &["cut off or damaged"]),
    ]);
}

fn put_cell_as_date(sheet: &mut Worksheet, row: u32, column: u16) {
    let day = rust_xlsxwriter::ExcelDateTime::from_ymd(2026, 3, 12).expect("a day");
    let format = Format::new().set_num_format("d-mmm");
    sheet.write_datetime_with_format(row, column, &day, &format).expect("a date");
}

/// An archive as `OpenDocument` packs it.
fn with_name(kind: &[u8]) -> Vec<u8> {
    let mut made = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, text) in [("mimetype", kind), ("content.xml", &b"<x/>"[..])] {
        made.start_file(name, SimpleFileOptions::default()).expect("a part");
        made.write_all(text).expect("a part");
    }
    made.finish().expect("an archive").into_inner()
}

#[test]
fn a_workbook_cut_or_spoiled_anywhere_ends_with_words() {
    use catchwire::read::{Inputs, Request};
    let plain = book("Counts", |_| {});
    let folder = folder();
    let blocks = write(
        folder.path(),
        "block.geojson",
        crate::support::plain_block::block("North", [50.0, 40.0], false).as_bytes(),
    );
    let read = |bytes: &[u8]| {
        let counts = vec![write(folder.path(), "counts.xlsx", bytes)];
        Inputs::read(&Request { blocks: blocks.clone(), counts, ..Request::default() })
    };
    for at in (0..plain.len()).step_by(37) {
        let error = read(&plain[..at]).expect_err("a cut workbook");
        assert_eq!(error.exit_code(), 3, "{at}: {error}");
    }
    // A spoiled part, packed soundly: what the reader of workbooks makes of it.
    let mut parts = ZipArchive::new(Cursor::new(&plain[..])).expect("a workbook");
    let names: Vec<String> = names_of(&parts);
    for name in names.iter().filter(|name| name.starts_with("xl/")) {
        let mut text = String::new();
        parts.by_name(name).expect("a part").read_to_string(&mut text).expect("text");
        for at in
            (0..text.len()).step_by(1 + text.len() / 40).filter(|&at| text.is_char_boundary(at))
        {
            let spoiled = with_part(&plain, name, |text| text[..at].to_owned());
            if let Err(error) = read(&spoiled) {
                assert_eq!(error.exit_code(), 3, "{name} cut at {at}: {error}");
            }
        }
    }
}

/// A workbook made by another program.
#[test]
fn a_workbook_of_openpyxl_joins_as_the_clean_table_does() {
    let python = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/judges/python");
    if !python.join("openpyxl").is_dir() {
        skipped("no openpyxl: scripts/setup-judges.sh installs it");
        return;
    }
    let folder = folder();
    let made = folder.path().join("counts.xlsx");
    let script = "import sys, csv, datetime, openpyxl\nbook = openpyxl.Workbook()\nsheet = book.active\n\
        for at, line in enumerate(csv.reader(open(sys.argv[1], encoding='utf-8'))):\n    \
        sheet.append(line if at == 0 else [line[0], line[1], datetime.date.fromisoformat(line[2]), \
        float(line[3]), int(line[4]), line[5] or None])\nbook.save(sys.argv[2])\n";
    let table = write(folder.path(), "clean.csv", super::plain(",").as_bytes());
    let run = std::process::Command::new("/usr/bin/python3")
        .env("PYTHONPATH", &python)
        .args(["-c".as_ref(), script.as_ref(), table.as_os_str(), made.as_os_str()])
        .output()
        .expect("python runs");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    thin(folder.path(), &[&made], &[]).done();
    assert_eq!(joined(folder.path()), wanted());
}
