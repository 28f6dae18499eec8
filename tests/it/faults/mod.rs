//! Bad inputs, one row each: what a file holds, the exit code and what the message must say.
//!
//! The letters and numbers are those of the project's list of faults: A syntax, B shapes,
//! C coordinates and units, D numbers, E tables. One case a line, so that the list can be read
//! beside the table; what a case needs built stands above it.

mod case;

use std::{fs, path::PathBuf};

use catchwire::read::{Inputs, Request};

use self::case::{
    Case, NOTES, Outcome, SQUARE, STOPS, WARNS, block, blocks, check, collection, counts, feature,
    rows, square, square_with, written,
};

const INNER: &str =
    "[[-120.0008,44.0002],[-120.0006,44.0002],[-120.0006,44.0004],[-120.0008,44.0002]]";
const CROSSING: &str =
    "[[-120.0007,44.0001],[-120.0005,44.0002],[-120.0006,44.0005],[-120.0007,44.0001]]";
const FAR: &str = "[[-119.9,44.0],[-119.8,44.0],[-119.8,44.1],[-119.9,44.0]]";
const MOVED: &str =
    "[[-120.0014,44.0],[-120.0004,44.0],[-120.0004,44.001],[-120.0014,44.001],[-120.0014,44.0]]";
const TABLE: &str = "row,vine,shoots\n1,1,20\n1,2,18\n";

fn utf_16_le(text: &str) -> Vec<u8> {
    text.encode_utf16().flat_map(u16::to_le_bytes).collect()
}

fn with_mark(mark: [u8; 2], bytes: Vec<u8>) -> Vec<u8> {
    mark.into_iter().chain(bytes).collect()
}

/// The square with its name in Latin-1.
fn latin_1() -> Vec<u8> {
    let text = square_with("{\"name\":\"Clo?\"}").into_bytes();
    text.into_iter().map(|byte| if byte == b'?' { 0xe9 } else { byte }).collect()
}

fn square_in(crs: &str) -> String {
    let member = format!("\"crs\":{{\"type\":\"name\",\"properties\":{{\"name\":\"{crs}\"}}}},");
    square().replace("\"features\"", &format!("{member}\"features\""))
}

fn two_features_in_lines() -> String {
    let outline = feature("{\"role\":\"block\",\"name\":\"A\"}", "Polygon", &format!("[{SQUARE}]"));
    let control = feature("{\"role\":\"control\",\"name\":\"P1\"}", "Point", "[-120.0005,44.0005]");
    format!("{outline}\n{control}\n")
}

#[rustfmt::skip]
fn a_syntax() -> Vec<Case> {
    let whole = square();
    let cut = &whole[..whole.find("North").expect("the name") + 3];
    let gone = "[\n{\"type\":\"Feature\",\"id\":\"gone\",\"properties\":{},\"geometry\":null},\n";
    let lines = two_features_in_lines();
    let deep = format!("{{\"type\":\"FeatureCollection\",\"features\":{}", "[".repeat(200));
    vec![
        blocks("A1", "", STOPS, &["blocks.geojson", "empty"]),
        blocks("A1 blanks", " \n\t", STOPS, &["empty"]),
        blocks("A2", cut, STOPS, &["line 2", "cut off"]),
        blocks("A3", whole.replace("}}\n]", "}},\n]"), STOPS, &["line 2", "column", "comma"]),
        blocks("A4", format!("{whole} x"), STOPS, &["line 3", "after the end"]),
        blocks("A5", format!("\u{feff}{whole}"), Outcome::Accepts, &[]),
        blocks("A6", with_mark([0xff, 0xfe], utf_16_le(&whole)), NOTES, &["UTF-16"]),
        blocks("A7", latin_1(), STOPS, &["0xE9", "offset", "UTF-8", "line 2"]),
        blocks("A8", whole.replace("44.001", "NaN"), STOPS, &["NaN", "line 2"]),
        blocks("A8 Infinity", whole.replace("44.001", "-Infinity"), STOPS, &["line 2"]),
        blocks("A9", whole.replace("44.001", "1e400"), STOPS, &["out of range"]),
        blocks("A10", whole.replace("44.001", "\"44.001\""), STOPS, &["must not be in quotes"]),
        blocks("A11", whole.replace("FeatureColl", "featurecoll"), STOPS, &["did you mean `FeatureCollection`"]),
        blocks("A12", format!("[{}]", feature("{}", "Polygon", &format!("[{SQUARE}]"))), STOPS, &["wrap it"]),
        blocks("A13", whole.replace("\"coordinates\":", "\"coordinates\":[],\"coordinates\":"), STOPS, &["\"coordinates\"", "twice"]),
        blocks("A13 property", square_with("{\"name\":\"A\",\"name\":\"B\"}"), STOPS, &["\"name\"", "twice"]),
        blocks("A13 escaped", square_with("{\"name\":\"A\",\"n\\u0061me\":\"B\"}"), STOPS, &["\"name\"", "twice"]),
        blocks("A14", deep, STOPS, &["nested"]),
        blocks("A14 10 M", "[".repeat(10_000_000), STOPS, &["nested"]),
        blocks("A16", square_with("{\"name\":\"a\\ud800b\"}"), STOPS, &["escape"]),
        blocks("A16 zero", square_with("{\"name\":\"a\\u0000b\"}"), STOPS, &["zero character"]),
        blocks("A17", whole.replace("[\n", gone), WARNS, &["gone", "without a geometry"]),
        blocks("A18 lines", lines.clone(), NOTES, &["sequence of 2"]),
        blocks("A18 RFC 8142", lines.replace("{\"type\":\"Feature\"", "\u{1e}{\"type\":\"Feature\""), NOTES, &["sequence of 2"]),
        blocks("A19 TopoJSON", "{\"type\":\"Topology\",\"objects\":{},\"arcs\":[]}", STOPS, &["TopoJSON", "ogr2ogr"]),
        blocks("A19 Esri", "{\"geometryType\":\"esriGeometryPolygon\",\"features\":[]}", STOPS, &["Esri JSON", "ogr2ogr"]),
        blocks("A20", square_in("urn:ogc:def:crs:EPSG::32610"), STOPS, &["32610", "--crs"]),
        blocks("A20 WGS84", square_in("urn:ogc:def:crs:OGC:1.3:CRS84"), Outcome::Accepts, &[]),
        blocks("A22 null", square_with("null"), Outcome::Accepts, &[]),
        blocks("A22 none", whole.replace("\"properties\":{\"name\":\"North\"},", ""), Outcome::Accepts, &[]),
        blocks("A23", "<!DOCTYPE html><html><body>Sign in", STOPS, &["web page"]),
        blocks("A other", "row,vine\n1,2\n", STOPS, &["not GeoJSON"]),
        blocks("A no type", "{\"features\":[]}", STOPS, &["no \"type\"", "features"]),
        blocks("A no block", "{\"type\":\"FeatureCollection\",\"features\":[]}", STOPS, &["no block"]),
    ]
}

#[rustfmt::skip]
fn b_rings() -> Vec<Case> {
    let ring = |corners: &str| block(&format!("[{corners}]"));
    let hole = |corners: &str| block(&format!("[{SQUARE},{corners}]"));
    let repeated = SQUARE.replace("[-120.0,44.0],", "[-120.0,44.0],[-120.0,44.0],");
    let spike = SQUARE.replace("[-120.0,44.001],", "[-120.0,44.002],[-120.0,44.001],");
    let seam = SQUARE.replace("[[-120.001,44.0],", "[[-120.002,44.0],").replace(",[-120.001,44.0]]", ",[-120.001,44.0],[-120.002,44.0]]");
    vec![
        blocks("B24", ring("[[-120.001],[-120.0,44.0],[-120.0,44.001]]"), STOPS, &["one number", "line 2"]),
        blocks("B25", ring("[[-120.001,44.0],[-120.0,44.0],[-120.0,44.001],[-120.001,44.001]]"), WARNS, &["not closed"]),
        blocks("B26", ring("[[-120.001,44.0],[-120.0,44.0],[-120.001,44.0]]"), STOPS, &["three"]),
        blocks("B27", block("[]"), STOPS, &["empty"]),
        blocks("B27 ring", ring("[]"), STOPS, &["empty"]),
        blocks("B28", ring("[[-120.001,44.0],[-120.0,44.001],[-120.0,44.0],[-120.001,44.001],[-120.001,44.0]]"), STOPS, &["crosses", "longitude -120.0005000, latitude 44.0005000"]),
        blocks("B29 repeated", ring(&repeated), WARNS, &["1 repeated corner", "area changed by 0.00 m²"]),
        blocks("B29 spike", ring(&spike), WARNS, &["1 spike", "area changed"]),
        blocks("B29 seam", ring(&seam), WARNS, &["1 spike", "area changed"]),
        blocks("B30 outside", hole(FAR), STOPS, &["hole 1 lies outside"]),
        blocks("B30 overlap", block(&format!("[{SQUARE},{INNER},{CROSSING}]")), STOPS, &["hole 1 and hole 2 overlap"]),
        blocks("B31", ring("[[-120.001,44.0],[-120.001,44.001],[-120.0,44.001],[-120.0,44.0],[-120.001,44.0]]"), Outcome::Accepts, &[]),
        blocks("B40 tiny", ring("[[-120.0,44.0],[-119.9999999,44.0],[-119.9999999,44.0000001],[-120.0,44.0]]"), STOPS, &["ha", "--allow-unusual"]),
        blocks("B40 huge", ring("[[-121.0,44.0],[-120.0,44.0],[-120.0,45.0],[-121.0,45.0],[-121.0,44.0]]"), STOPS, &["ha", "--allow-unusual"]),
        blocks("B43", ring("[[179.999,44.0],[-179.999,44.0],[-179.999,44.001],[179.999,44.001],[179.999,44.0]]"), STOPS, &["180°"]),
        blocks("B44", ring("[[0.0,89.99],[90.0,89.99],[90.0,90.0],[0.0,89.99]]"), STOPS, &["pole"]),
        blocks("B45", ring(&SQUARE.replace("-120.0,44.0]", "-120.0,44.0,312.5]")), NOTES, &["heights", "elevation"]),
        blocks("B empty hole", hole("[]"), NOTES, &["empty inner ring"]),
    ]
}

#[rustfmt::skip]
fn b_features() -> Vec<Case> {
    let role = |role: &str, kind: &str, coordinates: &str| {
        feature(&format!("{{\"role\":\"{role}\",\"name\":\"{role}\"}}"), kind, coordinates)
    };
    let polygon = |corners: &str| feature("{}", "Polygon", &format!("[{corners}]"));
    let parts = |other: &str| collection(&[feature("{}", "MultiPolygon", &format!("[[{SQUARE}],[{other}]]"))]);
    let outline = feature("{\"role\":\"block\",\"name\":\"North\"}", "Polygon", &format!("[{SQUARE}]"));
    let with = |other: String| collection(&[outline.clone(), other]);
    let second = |corners: &str, name: &str| {
        with(feature(&format!("{{\"role\":\"block\",\"name\":\"{name}\"}}"), "Polygon", &format!("[{corners}]")))
    };
    let keep_out = |key: &str| {
        with(feature(&format!("{{\"role\":\"keep-out\",{key}}}"), "Polygon", &format!("[{INNER}]")))
    };
    let line = |properties: &str, coordinates: &str| with(feature(properties, "LineString", coordinates));
    let geometries = "{\"type\":\"Feature\",\"properties\":{\"role\":\"block\"},\"geometry\":{\"type\":\"GeometryCollection\",\"geometries\":[]}}";
    vec![
        blocks("B32", parts("[[-120.003,44.0],[-120.002,44.0],[-120.002,44.001],[-120.003,44.0]]"), NOTES, &["2 parts", "numbered across"]),
        blocks("B32 overlap", parts(MOVED), STOPS, &["part 1 and part 2 overlap"]),
        blocks("B33 point", collection(&[feature("{}", "Point", "[-120.0,44.0]")]), STOPS, &["Point", "polygon"]),
        blocks("B33 line", collection(&[role("block", "LineString", "[[-120.0,44.0],[-120.0,44.1]]")]), STOPS, &["LineString", "polygon"]),
        blocks("B34", geometries, STOPS, &["GeometryCollection"]),
        blocks("B38", second(MOVED, "South"), WARNS, &["m² also belong to block \"North\""]),
        blocks("B39", second(SQUARE, "South"), STOPS, &["same outline as block \"North\""]),
        blocks("B name twice", second(MOVED, "North"), STOPS, &["called \"North\" too"]),
        blocks("B far", second(&SQUARE.replace("-120", "-117"), "South"), WARNS, &["100 km"]),
        blocks("B role", with(role("keepout", "Polygon", &format!("[{INNER}]"))), STOPS, &["no role `keepout`", "did you mean `keep-out`"]),
        blocks("B no roles", collection(&[polygon(SQUARE), polygon(MOVED)]), STOPS, &["no role"]),
        blocks("B off", with(role("keep-out", "Polygon", &format!("[{FAR}]"))), WARNS, &["keep-out lies off"]),
        blocks("B turning", keep_out("\"turning\":\"maybe\""), STOPS, &["`turning`", "not understood"]),
        blocks("B clearance", keep_out("\"clearance\":\"2 furlongs\""), STOPS, &["`clearance`", "no unit"]),
        blocks("B which block", keep_out("\"block\":\"Nroth\""), STOPS, &["no block \"Nroth\"", "did you mean `North`"]),
        blocks("B zone", with(feature("{\"role\":\"zone\"}", "Polygon", &format!("[{INNER}]"))), STOPS, &["zone without a name"]),
        blocks("B row", line("{\"role\":\"row-line\",\"row\":1.5}", "[[-120.0005,44.0],[-120.0005,44.001]]"), STOPS, &["`row`", "1.5"]),
        blocks("B short line", line("{\"role\":\"row-line\"}", "[[-120.0005,44.0],[-120.0005,44.0]]"), STOPS, &["two different points"]),
        blocks("B no role", line("{}", "[[-120.0005,44.0],[-120.0005,44.001]]"), WARNS, &["LineString without a role"]),
        blocks("B key", square_with("{\"row_spacng\":2.5}"), WARNS, &["row_spacng", "did you mean `row_spacing`"]),
        blocks("B other key", square_with("{\"OBJECTID\":2}"), NOTES, &["OBJECTID", "not used"]),
    ]
}

#[rustfmt::skip]
fn c_coordinates_and_units() -> Vec<Case> {
    let at = |x: f64, y: f64| {
        let (east, north) = (x + x.abs() * 1e-5, y + y.abs() * 1e-5);
        block(&format!("[[[{x},{y}],[{east},{y}],[{east},{north}],[{x},{y}]]]"))
    };
    let key = |key: &str| square_with(&format!("{{{key}}}"));
    vec![
        blocks("C46", at(44.0, -120.0), STOPS, &["swapped", "--swap-axes"]),
        blocks("C48", at(724_113.0, 4_886_792.0), STOPS, &["looks like UTM", "--crs"]),
        blocks("C49", at(-13_358_338.0, 5_465_442.0), STOPS, &["3857", "--crs"]),
        blocks("C50", at(0.0, 0.0), STOPS, &["Gulf of Guinea"]),
        counts("C46 columns", "row,vine,shoots,lon_deg,lat_deg\n1,1,12,44.0005,-120.0\n", STOPS, &["columns look swapped"]),
        counts("C47", "row,vine,shoots,lon_deg,lat_deg\n1,1,12,44.0005,-80.0\n", WARNS, &["1 km"]),
        counts("C48 columns", "row,vine,shoots,lon_deg,lat_deg\n1,1,12,724113,4886792\n", STOPS, &["degrees on WGS84"]),
        counts("C half", "row,vine,shoots,lon_deg,lat_deg\n1,1,12,-120,\n", STOPS, &["one of longitude and latitude"]),
        blocks("C53", key("\"row_spacing\":\"2,4m\",\"vine_spacing\":\"8'\""), Outcome::Accepts, &[]),
        blocks("C53 degrees", key("\"row_spacing\":\"2.4°\""), STOPS, &["row_spacing", "2.4°"]),
        blocks("C54", key("\"row_bearing\":\"17°30'\""), Outcome::Accepts, &[]),
        blocks("C54 NaN", key("\"row_bearing\":\"NaN\""), STOPS, &["row_bearing", "NaN"]),
        blocks("C55", key("\"north\":\"magnetic\",\"date\":\"1/5/2026\""), STOPS, &["date", "2026-05-01"]),
        blocks("C word", key("\"row_anchor\":\"center-ish\""), STOPS, &["row_anchor", "most-vines"]),
        blocks("C target", key("\"target\":\"3-5\""), STOPS, &["target", "per ft"]),
        blocks("C year", key("\"planted\":21"), STOPS, &["planted", "2021"]),
        blocks("C plantings", key("\"plantings\":[{\"rows\":\"x\"}]"), STOPS, &["plantings", "planting 1"]),
        blocks("C plantings key", key("\"plantings\":[{\"rows\":\"odd\",\"cultivr\":\"x\"}]"), STOPS, &["cultivr", "did you mean `cultivar`"]),
        blocks("C missing", key("\"missing\":[\"R1V2\",\"12\"]"), STOPS, &["missing", "`12`"]),
    ]
}

#[rustfmt::skip]
fn d_numbers() -> Vec<Case> {
    let shoots = |cell: &str| format!("row,vine,shoots\n1,1,20\n3,4,{cell}\n");
    let refused = ["3.5", "-2", "−2", "1e3", "9999", "12+", "½", "٣", "l2", "inf", "NaN", "+7", "1 2", "0x1", "1O"];
    let mut cases: Vec<Case> = refused
        .iter()
        .map(|cell| counts("D63", shoots(cell), STOPS, &["counts.csv", "line 3", "`shoots`", "whole number"]))
        .collect();
    cases.extend([
        counts("D63 look-alike", shoots("1О"), STOPS, &["U+041E", "looks like O or 0"]),
        counts("D63 spreadsheet", shoots("12.0"), Outcome::Accepts, &[]),
        counts("D length", "row,vine,shoots,counted_length_ft\n1,1,5,-1\n", STOPS, &["counted_length_ft", "no number"]),
        counts("D two units", "row,vine,shoots,counted_length_ft,counted_length_m\n1,1,5,1,0.3\n", STOPS, &["as well as"]),
        counts("D parts", "row,vine,shoots,primary,secondary,base\n1,1,9,5,2,1\n", STOPS, &["add up to 8"]),
        counts("D no primary", "row,vine,primary,secondary\n1,1,,2\n", STOPS, &["without the primary"]),
        counts("D dead buds", "row,vine,buds,buds_dead\n1,1,9,10\n", STOPS, &["10 dead buds of 9"]),
        counts("D status", "row,vine,status\n1,1,dead\n", STOPS, &["no status `dead`", "missing"]),
        counts("D on nothing", "row,vine,shoots,status\n1,1,5,missing\n", STOPS, &["missing vine"]),
        counts("D date", "row,vine,shoots,date\n1,1,5,05/12/2026\n", STOPS, &["line 2", "`date`", "2026-12-05 or 2026-05-12", "year-month-day"]),
        counts("D date forms", "row,vine,shoots,date\n1,1,5,1 June 2026\n1,2,5,2026/06/01\n1,3,5,1-Jun-2026\n", Outcome::Accepts, &[]),
        counts("D date time", "row,vine,shoots,date\n1,1,5,2026-06-01T00:00:00\n1,2,5,2026-06-01 14:30\n", NOTES, &["line 2", "2 dates with a time of day"]),
        counts("D date serial", "row,vine,shoots,date\n1,1,5,46174\n", STOPS, &["line 2", "`46174` is a number of days", "write 2026-06-01"]),
        counts("D leap day", "row,vine,shoots,date\n1,1,5,2026-02-29\n", STOPS, &["date"]),
        counts("D vine 0", "row,vine,shoots\n1,0,5\n", STOPS, &["`vine`"]),
        counts("D weight", "row,vine,pruning_weight_kg\n1,1,900\n", STOPS, &["pruning_weight_kg"]),
    ]);
    cases
}

fn shoots_of(cell: &str) -> String {
    format!("row\tvine\tshoots\n1\t1\t{cell}\n")
}

/// Bytes without a meaning, the first of which begins no letter of UTF-8.
fn noise() -> Vec<u8> {
    let mixed = (0..4096_u32).map(|at| (at * at * 31 + at * 7 + 11) % 256);
    [0x80].into_iter().chain(mixed.filter_map(|byte| u8::try_from(byte).ok())).collect()
}

#[rustfmt::skip]
fn e_tables() -> Vec<Case> {
    let german = "\u{feff}row;vine;shoots;counted_length_m\n1;1;20;1,5\n";
    let latin_1 = b"row,vine,shoots,note\n1,1,20,Clo\xe9\n".to_vec();
    let open_quote = "row,vine,shoots,note\n1,1,20,\"good\"\n1,2,20,\"ends\nnever\n1,3,4,x\n";
    let long = format!("row,vine,shoots,note\n1,1,2,{}\n", "x".repeat(10_000_000));
    vec![
        counts("E65", german, NOTES, &["separated by `;`"]),
        counts("E65 comma", german, NOTES, &["decimal commas"]),
        counts("E65 tabs", TABLE.replace(',', "\t"), NOTES, &["tabs"]),
        counts("E65 sep=", format!("sep=;\n{}", TABLE.replace(',', ";")), NOTES, &["`;`"]),
        counts("E66", with_mark([0xff, 0xfe], utf_16_le(TABLE)), NOTES, &["UTF-16LE"]),
        counts("E66 no mark", utf_16_le(TABLE), NOTES, &["UTF-16LE"]),
        counts("E67", latin_1, STOPS, &["0xE9", "line 2", "--encoding"]),
        counts("E69", "id,shoots\n12-Mar,20\n", STOPS, &["spreadsheet", "date"]),
        counts("E69 number", "id,shoots\n1.2E+05,20\n", STOPS, &["spreadsheet"]),
        counts("E70", open_quote, STOPS, &["line 3", "never closed"]),
        counts("E71", "row,vine,shoots\n1,1,20\n1,2\n1,3,4\n", STOPS, &["line 3", "2 cells", "3 columns"]),
        counts("E71 more", "row,vine,shoots\n1,1,2,4\n", STOPS, &["line 2", "4 cells"]),
        counts("E72 twice", "row,vine,shoots,Shoots\n1,1,2,4\n", STOPS, &["`shoots` stands twice"]),
        counts("E72 none", "a,b\n1,2\n", STOPS, &["a, b", "name the columns"]),
        counts("E72 where", "vine,shoots\n1,2\n", STOPS, &["columns found: vine, shoots", "`row`"]),
        counts("E72 what", "row,vine,note\n1,2,x\n", STOPS, &["what was counted"]),
        counts("E74 notes", format!("Counts of the north block\nby Ann\n\n{TABLE}"), NOTES, &["2 lines above"]),
        counts("E74 total", format!("{TABLE}\n\nTotal,,38\n"), NOTES, &["line 6", "totals"]),
        counts("E74 blanks", "row,vine,shoots\n\n1,1,20\n,,\n1,2,18\n", Outcome::Accepts, &[]),
        counts("E75 NUL", "row,vine,shoots\n1,1,2\0\n", STOPS, &["line 2", "zero byte"]),
        counts("E75 cell", long, STOPS, &["line 2", "10000000 letters"]),
        counts("E76", TABLE.replace('\n', "\r"), Outcome::Accepts, &[]),
        counts("E78 spaces", "row,vine,shoots\n1,\u{a0}1\u{200b},\u{ff12}\u{ff10}\n", Outcome::Accepts, &[]),
        counts("E78 id", "id,shoots\nR\u{41e}01V001,20\n", STOPS, &["U+041E"]),
        counts("E cut workbook", "PK\u{3}\u{4}xxxx", STOPS, &["cut off or damaged"]),
        counts("E old workbook", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec(), STOPS, &["old workbook", ".xlsx", "CSV"]),
        counts("D63 decimals", shoots_of("12,00"), NOTES, &["decimal commas"]),
        counts("D63 thousands", shoots_of("\"1,000\""), STOPS, &["whole number"]),
        counts("E nothing", "row,vine,shoots\n", WARNS, &["line 1", "no record below the column names", "fill in the rows"]),
        counts("E noise", noise(), STOPS, &["neither text nor a format", "0x80 0x0B", "copy it again"]),
        counts("E web page", "<html><table><tr><td>row</td></tr></table></html>", STOPS, &["web page", ".xlsx"]),
        counts("E no measure", "row,vine,shoot\n1,1,20\n", STOPS, &["columns found"]),
        counts("E column", "row,vine,shoots,counted_lenght_ft\n1,1,20,\n", WARNS, &["did you mean `counted_length_ft`"]),
        rows("E row twice", "row,vines\n1,20\n1,21\n", STOPS, &["rows.csv", "row 1 stands twice"]),
        rows("E no vines", "row,wines\n1,20\n", STOPS, &["`vines` is missing"]),
        rows("E empty cell", "row,vines\n1,\n", STOPS, &["line 2", "empty"]),
        rows("E rows", "row,vines,cultivar\n1,20,Rondo\n2,21,\n", Outcome::Accepts, &[]),
    ]
}

#[test]
fn broken_syntax_is_named_with_its_line() {
    check(&a_syntax());
}

#[test]
fn broken_rings_are_mended_or_refused() {
    check(&b_rings());
}

#[test]
fn features_that_cannot_be_meant_are_refused() {
    check(&b_features());
}

#[test]
fn coordinates_and_units_are_not_guessed() {
    check(&c_coordinates_and_units());
}

#[test]
fn numbers_that_nobody_counted_are_refused() {
    check(&d_numbers());
}

#[test]
fn tables_are_read_as_spreadsheets_write_them() {
    check(&e_tables());
}

#[test]
fn one_run_tells_the_faults_of_all_files() {
    let folder = tempfile::tempdir().expect("a folder");
    let request = Request {
        blocks: written(
            &folder,
            "blocks.geojson",
            square_with("{\"row_spacing\":\"x\",\"north\":\"up\"}").as_bytes(),
        ),
        counts: vec![
            written(&folder, "one.csv", b"row,vine,shoots\n1,1,x\n1,2,y\n"),
            written(&folder, "two.csv", b"a,b\n1,2\n"),
        ],
        rows: Some(written(&folder, "rows.csv", b"row\n1\n")),
        ..Request::default()
    };
    let message = Inputs::read(&request).expect_err("six faults").to_string();
    for words in
        ["row_spacing", "north", "one.csv, line 2", "one.csv, line 3", "two.csv", "rows.csv"]
    {
        assert!(message.contains(words), "no {words} in\n{message}");
    }
    let path = folder.path().to_string_lossy().into_owned();
    assert!(!message.contains(&path), "messages name files, not folders");
}

#[test]
fn what_is_no_plain_file_is_refused_before_it_is_opened() {
    let folder = tempfile::tempdir().expect("a folder");
    let fifo = folder.path().join("fifo");
    let made = std::process::Command::new("mkfifo").arg(&fifo).status();
    assert!(made.is_ok_and(|status| status.success()), "mkfifo of coreutils");
    let large = folder.path().join("large.geojson");
    let file = fs::OpenOptions::new().write(true).create_new(true).open(&large).expect("a file");
    file.set_len(201 * 1024 * 1024).expect("a sparse file");
    let cases: [(PathBuf, &str); 5] = [
        (folder.path().join("none.geojson"), "No such file"),
        (folder.path().to_owned(), "is a folder"),
        (fifo, "pipe"),
        (PathBuf::from("/dev/zero"), "device"),
        (large, "larger than 200 MB"),
    ];
    for (blocks, words) in cases {
        let shown = blocks.display().to_string();
        let error = Inputs::read(&Request { blocks, ..Request::default() }).expect_err(words);
        let message = error.to_string();
        assert_eq!(error.exit_code(), 4, "{message}");
        assert!(message.contains(words) && message.contains(&shown), "{message}");
    }
}
