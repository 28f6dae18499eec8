//! Counts as they come back from the field: through a spreadsheet, as a workbook, from phones. Each
//! must join as the clean table does, or be refused with words.

use std::{fs, path::Path};

use crate::support::{Run, catchwire, folder, plain_block::block, put};

mod journals;
mod workbooks;

/// Heads of the clean table.
const HEADS: [&str; 6] = ["block", "id", "date", "counted_length_m", "shoots", "note"];

/// The clean table: every kind of cell that a spreadsheet touches.
fn clean() -> Vec<[String; 6]> {
    let of_vine = |at: usize| {
        let [row, vine] = [1 + at % 18, 1 + 7 * at % 35];
        let note = if at == 3 { "crowded, é" } else { "" };
        let id = format!("R{row:03}V{vine:03}");
        let length = if at.is_multiple_of(2) { "0.5" } else { "1" };
        ["North", &id, "2026-05-25", length, &(9 + at % 5).to_string(), note].map(str::to_owned)
    };
    (0..24).map(of_vine).collect()
}

/// The cells with a delimiter between them; a cell that holds it is quoted.
fn text(delimiter: &str, cell: impl Fn(usize, &str) -> String) -> String {
    let heads = HEADS.map(str::to_owned);
    let lines = [heads].into_iter().chain(clean()).enumerate().map(|(at, cells)| {
        let cells = cells.iter().enumerate().map(|(column, own)| {
            let own = if at == 0 { own.clone() } else { cell(column, own) };
            if own.contains(delimiter) { format!("\"{own}\"") } else { own }
        });
        cells.collect::<Vec<_>>().join(delimiter)
    });
    lines.map(|line| line + "\n").collect()
}

fn plain(delimiter: &str) -> String {
    text(delimiter, |_, own| own.to_owned())
}

/// Runs `thin` on a table of counts beside the clean block.
fn thin(folder: &Path, counts: &[&Path], options: &[&str]) -> Run {
    let block = put(folder, "block.geojson", &block("North", [50.0, 40.0], false));
    let out = folder.join("out");
    let mut words: Vec<_> = ["thin".into(), block.into_os_string()].into();
    words.push("--counts".into());
    words.extend(counts.iter().map(|path| path.as_os_str().to_owned()));
    words.extend(["--out".into(), out.into_os_string()]);
    words.extend(["--write", "counts-joined.csv", "--force"].map(Into::into));
    words.extend(options.iter().map(Into::into));
    catchwire(words)
}

/// What was joined, without where it was read and how it was written: `counts-joined.csv` up to
/// its raw cells.
fn joined(folder: &Path) -> Vec<Vec<String>> {
    let out = fs::read_dir(folder.join("out")).expect("the output").flatten().next().expect("one");
    let mut lines = csv::Reader::from_path(out.path().join("counts-joined.csv")).expect("a table");
    let heads = lines.headers().expect("heads").clone();
    let own: Vec<usize> = ["id", "how", "shoots_per_m"]
        .map(|head| heads.iter().position(|one| one == head).unwrap_or_else(|| panic!("{heads:?}")))
        .to_vec();
    let lines = lines.records().map(|line| line.expect("a line"));
    lines.map(|line| own.iter().map(|&at| line[at].to_owned()).collect()).collect()
}

/// What the clean table joins to.
fn wanted() -> Vec<Vec<String>> {
    let folder = folder();
    let counts = put(folder.path(), "counts.csv", &plain(","));
    thin(folder.path(), &[&counts], &[]).done();
    let wanted = joined(folder.path());
    assert_eq!(wanted.len(), clean().len());
    wanted
}

fn write(folder: &Path, name: &str, bytes: &[u8]) -> std::path::PathBuf {
    let path = folder.join(name);
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    fs::write(&path, bytes).expect("a written file");
    path
}

fn utf_16(text: &str, mark: bool, bytes_of: fn(u16) -> [u8; 2]) -> Vec<u8> {
    let mark = mark.then_some('\u{feff}').into_iter();
    let letters: String = mark.chain(text.chars()).collect();
    letters.encode_utf16().flat_map(bytes_of).collect()
}

/// What a spreadsheet may do, the bytes, options, and what must be said.
type Mangling = (&'static str, Vec<u8>, &'static [&'static str], &'static str);

fn manglings() -> Vec<Mangling> {
    let comma = |column: usize, own: &str| {
        if column == 3 { own.replace('.', ",") } else { own.to_owned() }
    };
    let odd_spaces = |column: usize, own: &str| match column {
        1 => format!("\u{a0}{own}\u{200b}"),
        4 => own.chars().filter_map(|c| char::from_u32(u32::from(c) + 0xfee0)).collect(),
        _ => own.to_owned(),
    };
    let decimals = |column: usize, own: &str| match column {
        4 => format!("{own},00"),
        _ => comma(column, own),
    };
    let no_zeros = |column: usize, own: &str| {
        if column == 1 {
            own.replace("R00", "R").replace("R0", "R").replace("V00", "V").replace("V0", "V")
        } else {
            own.to_owned()
        }
    };
    let capitals = plain(",").replacen(
        "block,id,date,counted_length_m,shoots,note",
        "Block,ID,Date,Counted Length m,SHOOTS,Note",
        1,
    );
    let totals = format!("Counts of the north block\n\n{}\n,,,,,\nTotal:,,,,280,\n", plain(","));
    let wide = plain(";").replace('\n', ";;\n");
    let german = format!("\u{feff}{}", text(";", comma)).replace('\n', "\r\n");
    let latin_1 = encoding(&plain(";"));
    vec![
        ("byte-order mark, semicolon, decimal comma", german.into(), &[], "decimal commas"),
        ("decimals behind whole numbers", text(";", decimals).into(), &[], "decimal commas"),
        ("tabs in UTF-16LE", utf_16(&text("\t", comma), true, u16::to_le_bytes), &[], "UTF-16LE"),
        ("tabs in UTF-16BE", utf_16(&plain("\t"), true, u16::to_be_bytes), &[], "UTF-16BE"),
        ("UTF-16LE without a mark", utf_16(&plain("\t"), false, u16::to_le_bytes), &[], "UTF-16LE"),
        ("bars", plain("|").into(), &[], "`|`"),
        ("sep=", format!("sep=;\r\n{}", plain(";")).into(), &[], "`;`"),
        ("carriage returns alone", plain(",").replace('\n', "\r").into(), &[], ""),
        ("Latin-1", latin_1, &["--encoding", "windows-1252"], "`;`"),
        ("odd spaces, full-width digits", text(",", odd_spaces).into(), &[], ""),
        ("ids without zeros", text(",", no_zeros).into(), &[], "without its leading zeros"),
        ("heads in capitals", capitals.into(), &[], ""),
        ("notes above, blank rows, a total", totals.into(), &[], "totals"),
        ("empty columns at the end", wide.into(), &[], "`;`"),
    ]
}

/// Every letter of the clean table is one byte in this set.
fn encoding(text: &str) -> Vec<u8> {
    text.chars()
        .map(|letter| u8::try_from(u32::from(letter)).expect("a letter of Latin-1"))
        .collect()
}

#[test]
fn what_a_spreadsheet_does_to_a_table_changes_no_count() {
    let wanted = wanted();
    for (name, bytes, options, said) in manglings() {
        let folder = folder();
        let counts = write(folder.path(), "counts.csv", &bytes);
        let run = thin(folder.path(), &[&counts], options).done();
        assert_eq!(joined(folder.path()), wanted, "{name}");
        let told = run.stdout + &run.stderr;
        assert!(told.contains(said), "{name}: `{said}` is not in\n{told}");
    }
}

#[test]
fn a_table_without_a_record_is_named() {
    let folder = folder();
    let counts = put(folder.path(), "empty.csv", "row,vine,shoots\n");
    let said = ["empty.csv: no record was read", "a record is a row there", "fill in the rows"];
    thin(folder.path(), &[&counts], &[]).refused(5, &said);
}

#[test]
fn many_faults_of_one_kind_are_few_lines_and_hide_no_other() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", &block("North", [50.0, 40.0], false));
    let record = |at: usize| format!("{},{},01/06/2026,9\n", 1 + at % 18, 1 + at / 18);
    let records: String = (0..500).map(record).collect();
    let text = format!("row,vine,date,shoots\n{records}1,30,2026-06-01,many\n");
    let table = put(folder.path(), "counts.csv", &text);
    let words = ["check".into(), block, "--counts".into(), table];
    let run = catchwire(words.iter()).refused(
        3,
        &[
            "counts.csv, line 2, `date`: `01/06/2026` may be 2026-06-01 or 2026-01-06",
            "counts.csv, lines 21 to 501, `date`: 481 more like these",
            "counts.csv, line 502, `shoots`",
            "501 faults in the input",
        ],
    );
    assert!(run.stderr.lines().count() < 25, "{}", run.stderr);
    let json = catchwire(words.iter().chain([&"--json".into()]));
    let report: serde_json::Value = serde_json::from_str(&json.stdout).expect("a report");
    assert_eq!(report["findings"].as_array().map(Vec::len), Some(501));
}

#[test]
fn a_block_whose_name_is_a_number_is_found_without_its_zeros() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", &block("007", [50.0, 40.0], false));
    let table = put(folder.path(), "counts.csv", "block,row,vine,shoots\n7,1,1,12\n007,1,2,13\n");
    let words = ["check".into(), block, "--counts".into(), table];
    let run = catchwire(words.iter()).done();
    let told = run.stdout + &run.stderr;
    assert!(told.contains("`7` is taken for `007`"), "{told}");
}

#[test]
fn a_list_of_rows_may_be_a_workbook() {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", &block("North", [50.0, 40.0], false));
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (column, head) in (0..).zip(["row", "vines"]) {
        sheet.write_string(0, column, head).expect("a head");
    }
    for row in 1..=12 {
        sheet.write_number(row, 0, row).expect("a number");
        sheet.write_number(row, 1, 30).expect("a number");
    }
    let rows = write(folder.path(), "rows.xlsx", &book.save_to_buffer().expect("a workbook"));
    let csv: String =
        (1..=12).fold("row,vines\n".to_owned(), |text, row| text + &format!("{row},30\n"));
    let table = put(folder.path(), "rows.csv", &csv);
    let report = |rows: &Path| {
        let run = catchwire([
            "check".as_ref(),
            block.as_os_str(),
            "--rows".as_ref(),
            rows.as_os_str(),
            "--json".as_ref(),
        ]);
        let report: serde_json::Value = serde_json::from_str(&run.done().stdout).expect("a report");
        report["blocks"].clone()
    };
    assert_eq!(report(&rows), report(&table));
    assert!(report(&table).to_string().contains("360"), "{}", report(&table));
}
