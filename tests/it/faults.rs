//! Bad inputs, one row each: what a file holds, the exit code and what the message must say.
//!
//! The letters and numbers are those of the project's list of faults: A syntax, B shapes,
//! C coordinates and units, D numbers, E tables.

use std::{fs, path::PathBuf};

use catchwire::{
    finding::Severity,
    read::{Inputs, Request},
};

/// Which file of the request the bytes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum File {
    Blocks,
    Counts,
    Rows,
}

/// What must come of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// Stops with this exit code.
    Stops(u8),
    /// Goes on, with a finding of this severity that says the words.
    Tells(Severity),
    /// Goes on, with nothing to say.
    Accepts,
}

/// One bad input.
struct Case {
    number: &'static str,
    file: File,
    bytes: Vec<u8>,
    outcome: Outcome,
    /// Words that the message, or the finding, must hold.
    says: &'static [&'static str],
}

const STOPS: Outcome = Outcome::Stops(3);
const WARNS: Outcome = Outcome::Tells(Severity::Warning);
const NOTES: Outcome = Outcome::Tells(Severity::Note);

const SQUARE: &str =
    "[[-120.001,44.0],[-120.0,44.0],[-120.0,44.001],[-120.001,44.001],[-120.001,44.0]]";

fn feature(properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        "{{\"type\":\"Feature\",\"properties\":{properties},\
         \"geometry\":{{\"type\":\"{kind}\",\"coordinates\":{coordinates}}}}}"
    )
}

fn collection(features: &[String]) -> String {
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}", features.join(",\n"))
}

fn block(coordinates: &str) -> String {
    collection(&[feature("{\"name\":\"North\"}", "Polygon", coordinates)])
}

fn square() -> String {
    block(&format!("[{SQUARE}]"))
}

fn square_with(properties: &str) -> String {
    collection(&[feature(properties, "Polygon", &format!("[{SQUARE}]"))])
}

fn case(
    number: &'static str,
    file: File,
    bytes: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    Case { number, file, bytes: bytes.into(), outcome, says }
}

/// A file of blocks.
fn blocks(
    number: &'static str,
    text: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    case(number, File::Blocks, text, outcome, says)
}

/// A table of counts.
fn counts(
    number: &'static str,
    text: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    case(number, File::Counts, text, outcome, says)
}

fn read(case: &Case) -> Result<(Inputs, catchwire::finding::Findings), catchwire::error::Error> {
    let folder = tempfile::tempdir().expect("a folder for the case");
    let write = |name: &str, bytes: &[u8]| -> PathBuf {
        let path = folder.path().join(name);
        fs::File::create(&path)
            .and_then(|mut f| std::io::Write::write_all(&mut f, bytes))
            .expect("a file");
        path
    };
    let mut request = Request::default();
    let square = square();
    let own = |file: File| (case.file == file).then_some(case.bytes.as_slice());
    request.blocks = write("blocks.geojson", own(File::Blocks).unwrap_or(square.as_bytes()));
    if let Some(bytes) = own(File::Counts) {
        request.counts = vec![write("counts.csv", bytes)];
    }
    if let Some(bytes) = own(File::Rows) {
        request.rows = Some(write("rows.csv", bytes));
    }
    Inputs::read(&request)
}

/// What is wrong with how a case came out, if anything.
fn complaint(case: &Case) -> Option<String> {
    let holds = |text: &str| case.says.iter().all(|words| text.contains(words));
    let result = read(case);
    let wrong = match (&result, case.outcome) {
        (Err(error), Outcome::Stops(code)) => {
            error.exit_code() != code || !holds(&error.to_string())
        }
        (Ok((_, findings)), Outcome::Tells(severity)) => {
            !findings.iter().any(|f| f.severity == severity && holds(&f.to_string()))
        }
        (Ok((_, findings)), Outcome::Accepts) => !findings.is_empty(),
        (Ok(_), Outcome::Stops(_)) | (Err(_), Outcome::Tells(_) | Outcome::Accepts) => true,
    };
    let came = match result {
        Ok((_, findings)) => {
            let told: Vec<String> =
                findings.iter().map(|f| format!("{:?}: {f}", f.severity)).collect();
            format!("accepted, telling {told:#?}")
        }
        Err(error) => format!("exit {}: {error}", error.exit_code()),
    };
    wrong.then(|| format!("{}: wanted {:?} {:?}, but {came}", case.number, case.outcome, case.says))
}

fn check(cases: &[Case]) {
    assert!(!cases.is_empty());
    let complaints: Vec<String> = cases.iter().filter_map(complaint).collect();
    assert!(complaints.is_empty(), "\n{}\n", complaints.join("\n"));
}

#[test]
fn a_syntax() {
    let whole = square();
    let cut = &whole[..whole.find("North").unwrap() + 3];
    let utf_16: Vec<u8> =
        [0xff, 0xfe].into_iter().chain(whole.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let mut latin_1 = square_with("{\"name\":\"Clo?\"}").into_bytes();
    let at = latin_1.iter().position(|b| *b == b'?').unwrap();
    latin_1[at] = 0xe9;
    let deep = format!("{{\"type\":\"FeatureCollection\",\"features\":{}", "[".repeat(200));
    let lines = format!(
        "{}\n{}\n",
        feature("{\"role\":\"block\",\"name\":\"A\"}", "Polygon", &format!("[{SQUARE}]")),
        feature("{\"role\":\"control\",\"name\":\"P1\"}", "Point", "[-120.0005,44.0005]")
    );
    let sequence = lines.replace("{\"type\":\"Feature\"", "\u{1e}{\"type\":\"Feature\"");
    check(&[
        blocks("A1", "", STOPS, &["blocks.geojson", "empty"]),
        blocks("A1 blanks", " \n\t", STOPS, &["empty"]),
        blocks("A2", cut, STOPS, &["line 2", "cut off"]),
        blocks("A3", whole.replace("}}\n]", "}},\n]"), STOPS, &["line 2", "column"]),
        blocks("A4", format!("{whole} x"), STOPS, &["line 3", "after the end"]),
        blocks("A5", format!("\u{feff}{whole}"), Outcome::Accepts, &[]),
        blocks("A6", utf_16, NOTES, &["UTF-16"]),
        blocks("A7", latin_1, STOPS, &["0xE9", "offset", "UTF-8"]),
        blocks("A8", whole.replace("44.001", "NaN"), STOPS, &["NaN", "line 2"]),
        blocks("A8", whole.replace("44.001", "-Infinity"), STOPS, &["line 2"]),
        blocks("A9", whole.replace("44.001", "1e400"), STOPS, &["out of range"]),
        blocks("A10", whole.replace("44.001", "\"44.001\""), STOPS, &["must not be in quotes"]),
        blocks("A11", whole.replace("FeatureColl", "featurecoll"), STOPS, &["did you mean `FeatureCollection`"]),
        blocks("A12", format!("[{}]", feature("{}", "Polygon", &format!("[{SQUARE}]"))), STOPS, &["wrap it"]),
        blocks("A13", whole.replace("\"coordinates\":", "\"coordinates\":[],\"coordinates\":"), STOPS, &["\"coordinates\"", "twice"]),
        blocks("A13", square_with("{\"name\":\"A\",\"name\":\"B\"}"), STOPS, &["\"name\"", "twice"]),
        blocks("A13 escaped", square_with("{\"name\":\"A\",\"n\\u0061me\":\"B\"}"), STOPS, &["\"name\"", "twice"]),
        blocks("A14", deep, STOPS, &["nested"]),
        blocks("A14 10 M", "[".repeat(10_000_000), STOPS, &["nested"]),
        blocks("A16", square_with("{\"name\":\"a\\ud800b\"}"), STOPS, &["escape"]),
        blocks("A16", square_with("{\"name\":\"a\\u0000b\"}"), STOPS, &["zero character"]),
        blocks("A17", whole.replace("[\n", "[\n{\"type\":\"Feature\",\"id\":\"gone\",\"properties\":{},\"geometry\":null},\n"), WARNS, &["gone", "without a geometry"]),
        blocks("A18 lines", lines, NOTES, &["sequence of 2"]),
        blocks("A18 RFC 8142", sequence, NOTES, &["sequence of 2"]),
        blocks("A19 TopoJSON", "{\"type\":\"Topology\",\"objects\":{},\"arcs\":[]}", STOPS, &["TopoJSON", "ogr2ogr"]),
        blocks("A19 Esri", "{\"geometryType\":\"esriGeometryPolygon\",\"features\":[]}", STOPS, &["Esri JSON", "ogr2ogr"]),
        blocks("A20", whole.replace("\"features\"", "\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"urn:ogc:def:crs:EPSG::32610\"}},\"features\""), STOPS, &["32610", "--crs"]),
        blocks("A20 WGS84", whole.replace("\"features\"", "\"crs\":{\"type\":\"name\",\"properties\":{\"name\":\"urn:ogc:def:crs:OGC:1.3:CRS84\"}},\"features\""), Outcome::Accepts, &[]),
        blocks("A22 null", square_with("null"), Outcome::Accepts, &[]),
        blocks("A22 none", whole.replace("\"properties\":{\"name\":\"North\"},", ""), Outcome::Accepts, &[]),
        blocks("A23", "<!DOCTYPE html><html><body>Sign in", STOPS, &["web page"]),
    ]);
}

#[test]
fn b_shapes() {
    let polygon = |rings: &str| block(rings);
    let role = |role: &str, kind: &str, coordinates: &str| {
        feature(&format!("{{\"role\":\"{role}\",\"name\":\"{role}\"}}"), kind, coordinates)
    };
    let outline =
        feature("{\"role\":\"block\",\"name\":\"North\"}", "Polygon", &format!("[{SQUARE}]"));
    let with = |other: String| collection(&[outline.clone(), other]);
    let hole = |ring: &str| polygon(&format!("[{SQUARE},{ring}]"));
    let inner = "[[-120.0008,44.0002],[-120.0006,44.0002],[-120.0006,44.0004],[-120.0008,44.0002]]";
    let crossing =
        "[[-120.0007,44.0001],[-120.0005,44.0002],[-120.0006,44.0005],[-120.0007,44.0001]]";
    let moved = SQUARE.replace("-120.0,", "-120.0004,").replace("-120.001,", "-120.0014,");
    let two_blocks = |other: &str, name: &str| {
        with(feature(
            &format!("{{\"role\":\"block\",\"name\":\"{name}\"}}"),
            "Polygon",
            &format!("[{other}]"),
        ))
    };
    check(&[
        blocks(
            "B24",
            polygon("[[[-120.001],[-120.0,44.0],[-120.0,44.001]]]"),
            STOPS,
            &["one number", "line 2"],
        ),
        blocks(
            "B25",
            polygon("[[[-120.001,44.0],[-120.0,44.0],[-120.0,44.001],[-120.001,44.001]]]"),
            WARNS,
            &["not closed"],
        ),
        blocks(
            "B26",
            polygon("[[[-120.001,44.0],[-120.0,44.0],[-120.001,44.0]]]"),
            STOPS,
            &["three"],
        ),
        blocks("B27", polygon("[]"), STOPS, &["empty"]),
        blocks("B27 ring", polygon("[[]]"), STOPS, &["empty"]),
        blocks(
            "B28",
            polygon(
                "[[[-120.001,44.0],[-120.0,44.001],[-120.0,44.0],[-120.001,44.001],[-120.001,44.0]]]",
            ),
            STOPS,
            &["crosses", "longitude -120.0005000, latitude 44.0005000"],
        ),
        blocks(
            "B29 repeated",
            polygon(&format!(
                "[{}]",
                SQUARE.replace("[-120.0,44.0],", "[-120.0,44.0],[-120.0,44.0],")
            )),
            WARNS,
            &["1 repeated corner", "area changed by 0.00 m²"],
        ),
        blocks(
            "B29 spike",
            polygon(&format!(
                "[{}]",
                SQUARE.replace("[-120.0,44.001],", "[-120.0,44.002],[-120.0,44.001],")
            )),
            WARNS,
            &["1 spike", "area changed"],
        ),
        blocks(
            "B30 outside",
            hole("[[-119.9,44.0],[-119.8,44.0],[-119.8,44.1],[-119.9,44.0]]"),
            STOPS,
            &["hole 1 lies outside"],
        ),
        blocks(
            "B30 overlap",
            polygon(&format!("[{SQUARE},{inner},{crossing}]")),
            STOPS,
            &["hole 1 and hole 2 overlap"],
        ),
        blocks(
            "B31",
            polygon(
                "[[[-120.001,44.0],[-120.001,44.001],[-120.0,44.001],[-120.0,44.0],[-120.001,44.0]]]",
            ),
            Outcome::Accepts,
            &[],
        ),
        blocks(
            "B32",
            collection(&[feature(
                "{}",
                "MultiPolygon",
                &format!(
                    "[[{SQUARE}],[[[-120.003,44.0],[-120.002,44.0],[-120.002,44.001],[-120.003,44.0]]]]"
                ),
            )]),
            Outcome::Accepts,
            &[],
        ),
        blocks(
            "B33",
            collection(&[feature("{}", "Point", "[-120.0,44.0]")]),
            STOPS,
            &["Point", "polygon"],
        ),
        blocks(
            "B33",
            collection(&[role("block", "LineString", "[[-120.0,44.0],[-120.0,44.1]]")]),
            STOPS,
            &["LineString", "polygon"],
        ),
        blocks(
            "B34",
            "{\"type\":\"Feature\",\"properties\":{\"role\":\"block\"},\"geometry\":{\"type\":\"GeometryCollection\",\"geometries\":[]}}",
            STOPS,
            &["GeometryCollection"],
        ),
        blocks("B38", two_blocks(&moved, "South"), WARNS, &["m² also belong to block \"North\""]),
        blocks("B39", two_blocks(SQUARE, "South"), STOPS, &["same outline as block \"North\""]),
        blocks(
            "B40 tiny",
            polygon(
                "[[[-120.0,44.0],[-119.9999999,44.0],[-119.9999999,44.0000001],[-120.0,44.0]]]",
            ),
            STOPS,
            &["ha", "--allow-unusual"],
        ),
        blocks(
            "B40 huge",
            polygon("[[[-121.0,44.0],[-120.0,44.0],[-120.0,45.0],[-121.0,45.0],[-121.0,44.0]]]"),
            STOPS,
            &["ha", "--allow-unusual"],
        ),
        blocks(
            "B43",
            polygon(
                "[[[179.999,44.0],[-179.999,44.0],[-179.999,44.001],[179.999,44.001],[179.999,44.0]]]",
            ),
            STOPS,
            &["180°"],
        ),
        blocks(
            "B44",
            polygon("[[[0.0,89.99],[90.0,89.99],[90.0,90.0],[0.0,89.99]]]"),
            STOPS,
            &["pole"],
        ),
        blocks(
            "B45",
            polygon(&format!("[{}]", SQUARE.replace("-120.0,44.0]", "-120.0,44.0,312.5]"))),
            NOTES,
            &["heights", "elevation"],
        ),
        blocks("empty hole", hole("[]"), NOTES, &["empty inner ring"]),
        blocks("a name twice", two_blocks(&moved, "North"), STOPS, &["called \"North\" too"]),
        blocks(
            "a role misspelt",
            with(role("keepout", "Polygon", &format!("[{inner}]"))),
            STOPS,
            &["no role `keepout`", "did you mean `keep-out`"],
        ),
        blocks(
            "no roles",
            collection(&[
                feature("{}", "Polygon", &format!("[{SQUARE}]")),
                feature("{}", "Polygon", &format!("[{moved}]")),
            ]),
            STOPS,
            &["no role"],
        ),
        blocks(
            "off the block",
            with(role(
                "keep-out",
                "Polygon",
                "[[[-119.9,44.0],[-119.8,44.0],[-119.8,44.1],[-119.9,44.0]]]",
            )),
            WARNS,
            &["keep-out lies off"],
        ),
        blocks(
            "a key misspelt",
            square_with("{\"row_spacng\":2.5}"),
            WARNS,
            &["row_spacng", "did you mean `row_spacing`"],
        ),
    ]);
}

#[test]
fn c_coordinates_and_units() {
    let at = |x: f64, y: f64| {
        let (east, north) = (x + x.abs() * 1e-5, y + y.abs() * 1e-5);
        block(&format!("[[[{x},{y}],[{east},{y}],[{east},{north}],[{x},{y}]]]"))
    };
    check(&[
        blocks("C46", at(44.0, -120.0), STOPS, &["swapped", "--swap-axes"]),
        blocks("C48", at(724_113.0, 4_886_792.0), STOPS, &["looks like UTM", "--crs"]),
        blocks("C49", at(-13_358_338.0, 5_465_442.0), STOPS, &["3857", "--crs"]),
        blocks("C50", at(0.0, 0.0), STOPS, &["Gulf of Guinea"]),
        counts("C47", "row,vine,shoots,lon_deg,lat_deg\n1,1,12,44.0005,-80.0\n", WARNS, &["1 km"]),
        blocks(
            "C53",
            square_with("{\"row_spacing\":\"2,4m\",\"vine_spacing\":\"8'\"}"),
            Outcome::Accepts,
            &[],
        ),
        blocks("C53", square_with("{\"row_spacing\":\"2.4°\"}"), STOPS, &["row_spacing", "2.4°"]),
        blocks("C54", square_with("{\"row_bearing\":\"17°30'\"}"), Outcome::Accepts, &[]),
        blocks("C54", square_with("{\"row_bearing\":\"NaN\"}"), STOPS, &["row_bearing", "NaN"]),
        blocks(
            "C55",
            square_with("{\"north\":\"magnetic\",\"date\":\"1/5/2026\"}"),
            STOPS,
            &["date", "2026-05-01"],
        ),
        blocks(
            "a word",
            square_with("{\"row_anchor\":\"center-ish\"}"),
            STOPS,
            &["row_anchor", "most-vines"],
        ),
        blocks("a target", square_with("{\"target\":\"3-5\"}"), STOPS, &["target", "per ft"]),
        blocks(
            "plantings",
            square_with("{\"plantings\":[{\"rows\":\"x\"}]}"),
            STOPS,
            &["plantings", "planting 1"],
        ),
        blocks(
            "missing",
            square_with("{\"missing\":[\"R1V2\",\"12\"]}"),
            STOPS,
            &["missing", "12"],
        ),
    ]);
}

#[test]
fn d_numbers() {
    let shoots = |cell: &str| format!("row,vine,shoots\n1,1,20\n3,4,{cell}\n");
    let mut cases = Vec::new();
    for cell in
        ["3.5", "-2", "−2", "1e3", "9999", "12+", "½", "٣", "l2", "inf", "NaN", "+7", "1 2", "0x1"]
    {
        cases.push(counts(
            "D63",
            shoots(cell),
            STOPS,
            &["counts.csv", "line 3", "`shoots`", "whole number"],
        ));
    }
    cases.push(counts("D63", shoots("1O"), STOPS, &["whole number"]));
    cases.push(counts("D63 look-alike", shoots("1О"), STOPS, &["U+041E", "looks like O or 0"]));
    cases.push(counts("D63 spreadsheet", shoots("12.0"), Outcome::Accepts, &[]));
    cases.push(counts(
        "length",
        "row,vine,shoots,counted_length_ft\n1,1,5,-1\n",
        STOPS,
        &["counted_length_ft", "no number"],
    ));
    cases.push(counts(
        "two units",
        "row,vine,shoots,counted_length_ft,counted_length_m\n1,1,5,1,0.3\n",
        STOPS,
        &["as well as"],
    ));
    cases.push(counts(
        "parts",
        "row,vine,shoots,primary,secondary,base\n1,1,9,5,2,1\n",
        STOPS,
        &["add up to 8"],
    ));
    cases.push(counts(
        "dead buds",
        "row,vine,buds,buds_dead\n1,1,9,10\n",
        STOPS,
        &["10 dead buds of 9"],
    ));
    cases.push(counts(
        "status",
        "row,vine,status\n1,1,dead\n",
        STOPS,
        &["no status `dead`", "missing"],
    ));
    cases.push(counts(
        "shoots on nothing",
        "row,vine,shoots,status\n1,1,5,missing\n",
        STOPS,
        &["missing vine"],
    ));
    cases.push(counts(
        "date",
        "row,vine,shoots,date\n1,1,5,05/12/2026\n",
        STOPS,
        &["date", "year-month-day"],
    ));
    cases.push(counts("vine 0", "row,vine,shoots\n1,0,5\n", STOPS, &["`vine`"]));
    check(&cases);
}

#[test]
fn e_tables() {
    let table = "row,vine,shoots\n1,1,20\n1,2,18\n";
    let german = "\u{feff}row;vine;shoots;counted_length_m\n1;1;20;1,5\n";
    let utf_16: Vec<u8> =
        [0xff, 0xfe].into_iter().chain(table.encode_utf16().flat_map(u16::to_le_bytes)).collect();
    let no_mark: Vec<u8> = table.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let latin_1 = b"row,vine,shoots,note\n1,1,20,Clo\xe9\n".to_vec();
    check(&[
        counts("E65", german, NOTES, &["separated by `;`"]),
        counts("E65", german, NOTES, &["decimal commas"]),
        counts("E65 tabs", table.replace(',', "\t"), NOTES, &["tabs"]),
        counts("E65 sep=", format!("sep=;\n{}", table.replace(',', ";")), NOTES, &["`;`"]),
        counts("E66", utf_16, NOTES, &["UTF-16LE"]),
        counts("E66 no mark", no_mark, NOTES, &["UTF-16LE"]),
        counts("E67", latin_1, STOPS, &["0xE9", "line 2", "--encoding"]),
        counts("E69", "id,shoots\n12-Mar,20\n", STOPS, &["spreadsheet", "date"]),
        counts("E69", "id,shoots\n1.2E+05,20\n", STOPS, &["spreadsheet"]),
        counts(
            "E70",
            "row,vine,shoots,note\n1,1,20,\"good\"\n1,2,20,\"ends\nnever\n1,3,4,x\n",
            STOPS,
            &["line 3", "never closed"],
        ),
        counts(
            "E71",
            "row,vine,shoots\n1,1,20\n1,2\n1,3,4\n",
            STOPS,
            &["line 3", "2 cells", "3 columns"],
        ),
        counts("E71", "row,vine,shoots\n1,1,2,4\n", STOPS, &["line 2", "4 cells"]),
        counts("E72 twice", "row,vine,shoots,Shoots\n1,1,2,4\n", STOPS, &["`shoots` stands twice"]),
        counts("E72 none", "a,b\n1,2\n", STOPS, &["a, b", "name the columns"]),
        counts("E72 where", "vine,shoots\n1,2\n", STOPS, &["columns found: vine, shoots", "`row`"]),
        counts("E72 what", "row,vine,note\n1,2,x\n", STOPS, &["what was counted"]),
        counts(
            "E74 notes",
            format!("Counts of the north block\nby Ann\n\n{table}"),
            NOTES,
            &["2 lines above"],
        ),
        counts("E74 total", format!("{table}\n\nTotal,,38\n"), NOTES, &["line 6", "totals"]),
        counts("E74 blanks", "row,vine,shoots\n\n1,1,20\n,,\n1,2,18\n", Outcome::Accepts, &[]),
        counts("E75 NUL", "row,vine,shoots\n1,1,2\0\n", STOPS, &["line 2", "zero byte"]),
        counts(
            "E75 cell",
            format!("row,vine,shoots,note\n1,1,2,{}\n", "x".repeat(10_000_000)),
            STOPS,
            &["line 2", "10000000 letters"],
        ),
        counts("E76", table.replace('\n', "\r"), Outcome::Accepts, &[]),
        counts(
            "E78 spaces",
            "row,vine,shoots\n1,\u{a0}1\u{200b},\u{ff12}\u{ff10}\n",
            Outcome::Accepts,
            &[],
        ),
        counts("E78 id", "id,shoots\nR\u{41e}01V001,20\n", STOPS, &["U+041E"]),
        counts("E workbook", "PK\u{3}\u{4}xxxx", STOPS, &["workbook", "CSV"]),
        counts("E column", "row,vine,shoot\n1,1,20\n", STOPS, &["columns found"]),
        counts(
            "E column",
            "row,vine,shoots,counted_lenght_ft\n1,1,20,\n",
            WARNS,
            &["did you mean `counted_length_ft`"],
        ),
        case(
            "rows",
            File::Rows,
            "row,vines\n1,20\n1,21\n",
            STOPS,
            &["rows.csv", "row 1 stands twice"],
        ),
        case("rows", File::Rows, "row,wines\n1,20\n", STOPS, &["`vines` is missing"]),
        case("rows", File::Rows, "row,vines\n1,\n", STOPS, &["line 2", "empty"]),
        case("rows", File::Rows, "row,vines,cultivar\n1,20,Rondo\n2,21,\n", Outcome::Accepts, &[]),
    ]);
}
