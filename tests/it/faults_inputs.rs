//! Bad maps in the other formats, one row each: what a file holds, and what the message must say.
//!
//! The letters and numbers are those of the project's list of faults where it has the case: C
//! coordinates and units, F archives and XML.

use std::{fmt::Write as _, fs};

use catchwire::{
    finding::Severity,
    read::{Inputs, Request},
};

use crate::{
    inputs::{geopackage, gpx, kml, put, shapes, zip},
    support::folder,
};

/// What must come of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Outcome {
    /// Stops as wrong input.
    Stops,
    /// Goes on, with a finding of this severity that says the words.
    Tells(Severity),
}

const STOPS: Outcome = Outcome::Stops;
const WARNS: Outcome = Outcome::Tells(Severity::Warning);
const NOTES: Outcome = Outcome::Tells(Severity::Note);

type Case = (&'static str, Vec<u8>, &'static str, Outcome, &'static [&'static str]);

fn case(
    number: &'static str,
    bytes: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    (number, bytes.into(), "", outcome, says)
}

/// The same, with a grid passed as `--crs`.
fn with_crs(case: Case, crs: &'static str) -> Case {
    let (number, bytes, _, outcome, says) = case;
    (number, bytes, crs, outcome, says)
}

fn complaint((number, bytes, crs, outcome, says): &Case) -> Option<String> {
    let folder = folder();
    let blocks = put(folder.path(), "blocks", bytes);
    let crs = (!crs.is_empty()).then(|| (*crs).to_owned());
    let request = Request { blocks, crs, ..Request::default() };
    let result = Inputs::read(&request);
    let holds = |text: &str| says.iter().all(|words| text.contains(words));
    let wrong = match (&result, outcome) {
        (Err(error), Outcome::Stops) => error.exit_code() != 3 || !holds(&error.to_string()),
        (Ok((_, findings)), Outcome::Tells(severity)) => {
            !findings.iter().any(|f| f.severity == *severity && holds(&f.to_string()))
        }
        (Ok(_), Outcome::Stops) | (Err(_), Outcome::Tells(_)) => true,
    };
    let beside = fs::read_dir(folder.path()).expect("the folder").count();
    assert_eq!(beside, 1, "{number}: something appeared beside the input");
    let came = match result {
        Ok((_, findings)) => format!("{findings:#?}"),
        Err(error) => format!("exit {}: {error}", error.exit_code()),
    };
    wrong.then(|| format!("{number}: wanted {outcome:?} {says:?}, but {came}"))
}

fn check(cases: &[Case]) {
    let complaints: Vec<String> = cases.iter().filter_map(complaint).collect();
    assert!(complaints.is_empty(), "\n{}\n", complaints.join("\n"));
}

fn placemark(inside: &str) -> String {
    format!("<kml><Document><Placemark>{inside}</Placemark></Document></kml>")
}

fn ring(coordinates: &str) -> String {
    format!(
        "<Polygon><outerBoundaryIs><LinearRing><coordinates>{coordinates}</coordinates>\
         </LinearRing></outerBoundaryIs></Polygon>"
    )
}

const SQUARE: &str = "5,44 5.001,44 5.001,44.001 5,44.001 5,44";

#[test]
#[rustfmt::skip]
fn xml_that_is_no_sound_map() {
    let with = |inside: &str| placemark(&format!("{inside}{}", ring(SQUARE)));
    let latin_1 = |declared: &str| {
        let text = with("<name>Clo@</name><ExtendedData><Data name=\"soil\"><value>peat</value></Data></ExtendedData>").replace("<kml>", &format!("<?xml version=\"1.0\" encoding=\"{declared}\"?><kml>"));
        text.into_bytes().into_iter().map(|byte| if byte == b'@' { 0xe9 } else { byte }).collect::<Vec<u8>>()
    };
    let nested = |depth: usize| format!("<kml>{}{}{}</kml>", "<Folder>".repeat(depth), ring(SQUARE), "</Folder>".repeat(depth));
    check(&[
        case("F80", "<!DOCTYPE kml [<!ENTITY a \"b\"><!ENTITY c \"&a;&a;\">]><kml>&c;</kml>", STOPS, &["DTD"]),
        case("F81", "<!DOCTYPE kml [<!ENTITY a SYSTEM \"file:///etc/passwd\">]><kml>&a;</kml>", STOPS, &["DTD"]),
        case("F81 without a DTD", with("<name>&a;</name>"), STOPS, &["`&a;`"]),
        case("F86 spaces", placemark(&ring(&SQUARE.replace(',', ", "))), NOTES, &["spaces after the commas"]),
        case("F86 lat first", placemark(&ring("44,-120 44,-119.999 44.001,-119.999 44,-120")), STOPS, &["--swap-axes"]),
        case("F87", "<kml><Document><NetworkLink><Link><href>http://127.0.0.1/a.kml</href></Link></NetworkLink></Document></kml>", STOPS, &["kept elsewhere"]),
        case("F87 beside", with("").replace("<Document>", "<Document><NetworkLink/>"), NOTES, &["not followed (1)"]),
        case("F88", nested(20_000), STOPS, &["in each other"]),
        case("F89 Latin-1 declared UTF-8", latin_1("UTF-8"), STOPS, &["0xE9", "UTF-8"]),
        case("F89 no such set", latin_1("martian"), STOPS, &["martian"]),
        case("F declared Latin-1", latin_1("ISO-8859-1").into_iter().chain(*b"<!-- -->").collect::<Vec<u8>>(), NOTES, &["unknown key"]),
        case("F cut", &kml()[..kml().len() / 2], STOPS, &["cut off", "line"]),
        case("F cut gpx", &gpx()[..gpx().len() / 2], STOPS, &["line"]),
        case("F other XML", "<svg xmlns=\"x\"/>", STOPS, &["<svg>", "KML"]),
        case("F empty point", placemark("<Point></Point>"), STOPS, &["no block"]),
        case("F no geometry", with("").replace("</Document>", "<Placemark><name>X</name></Placemark></Document>"), WARNS, &["\"X\"", "without a geometry"]),
        case("F one number", placemark(&ring("5 6 7")), STOPS, &["`5`", "line 1"]),
        case("F holes only", placemark("<Polygon><innerBoundaryIs><LinearRing><coordinates>5,44 5.001,44 5.001,44.001 5,44</coordinates></LinearRing></innerBoundaryIs></Polygon>"), STOPS, &["line 1", "without an outer boundary", "first hole", "<outerBoundaryIs>"]),
        case("F attribute", with("<Data name=\"&nothing;\"/>"), STOPS, &["an attribute is no sound XML", "line 1", "; "]),
        case("F no number", placemark(&ring("5,fourty 6,7")), STOPS, &["5,fourty"]),
        case("F infinity", placemark(&ring("inf,44 5,44 5,45")), STOPS, &["inf,44"]),
        case("F null island", placemark(&ring("0,0 0.001,0 0,0.001 0,0")), STOPS, &["Gulf of Guinea"]),
        case("F key", with("<description>row_bearing: north-ish</description>"), STOPS, &["row_bearing", "north-ish"]),
        case("F near key", with("<description>row_bering: 14</description>"), WARNS, &["did you mean `row_bearing`"]),
        case("F said twice", with("<description>type: hybrid\ntype: native</description>"), WARNS, &["said twice"]),
        case("F height", placemark(&ring(&SQUARE.replace(' ', ",12 "))), NOTES, &["heights"]),
        case("F bow-tie", placemark(&ring("5,44 5.001,44.001 5.001,44 5,44.001 5,44")), STOPS, &["crosses", "longitude 5.0005"]),
        case("F gpx latitude", gpx().replacen("lat=\"56", "lat=\"x56", 1), STOPS, &["`lat`", "x56"]),
        case("F waypoints only", "<gpx><wpt lat=\"44\" lon=\"5\"><name>A</name></wpt></gpx>", STOPS, &["a Point where the outline", "track"]),
        case("F waypoint", gpx().replace("<trk>", "<wpt lat=\"56.07\" lon=\"-5.76\"><name>Pin</name></wpt><trk>"), NOTES, &["a waypoint", "control point"]),
        case("F nameless waypoint", gpx().replace("<trk>", "<wpt lat=\"56.07\" lon=\"-5.76\"/><trk>"), WARNS, &["without a name"]),
    ]);
}

/// A walk around a square of 100 m, as a track whose last side ends early or late.
fn walk(last: f64, extra: &[(f64, f64)], cut: Option<usize>) -> String {
    let side = 100.0;
    let mut points = Vec::new();
    for (from, step) in
        [((0.0, 0.0), (1.0, 0.0)), ((side, 0.0), (0.0, 1.0)), ((side, side), (-1.0, 0.0))]
    {
        points.extend((0..10).map(|k| {
            let along = side / 10.0 * f64::from(k);
            (from.0 + step.0 * along, from.1 + step.1 * along)
        }));
    }
    points.extend([(0.0, side), (0.0, side / 2.0), (0.0, last)]);
    points.splice(15..15, extra.iter().copied());
    let mut text = String::from("<gpx><trk><name>Walk</name><trkseg>");
    for (index, (x, y)) in points.iter().enumerate() {
        if cut == Some(index) {
            text.push_str("</trkseg><trkseg>");
        }
        let (lon, lat) = (5.0 + x / 80_083.0, 44.0 + y / 111_120.0);
        write!(text, "<trkpt lat=\"{lat:.8}\" lon=\"{lon:.8}\"/>").expect("a text grows");
    }
    text + "</trkseg></trk></gpx>"
}

#[test]
#[rustfmt::skip]
fn walked_boundaries() {
    let stood = [(102.0, 41.0), (98.0, 43.0), (101.0, 38.0), (99.0, 44.5)];
    check(&[
        case("walk closed", walk(0.0, &[], None), NOTES, &["read as an outline"]),
        case("walk with a gap", walk(12.0, &[], None), WARNS, &["12.0 m of it were not walked", "388 m walked"]),
        case("walk left open", walk(60.0, &[], None), STOPS, &["does not close", "60.0 m are missing"]),
        case("walk in two segments", walk(1.0, &[], Some(12)), WARNS, &["2 segments", "11.0 m of it"]),
        case("walk stood still", walk(0.0, &stood, None), WARNS, &["cut off a walked boundary", "m²"]),
        case("walk of an eight", walk(0.0, &[(-80.0, 45.0), (-80.0, 55.0)], None), STOPS, &["crosses"]),
        case("straight line", placemark("<LineString><coordinates>5,44 5.01,44</coordinates></LineString>"), STOPS, &["does not close", "row"]),
        case("walk around a pond", walk(9.0, &[], None).replace("<trkseg>", "<type>Keep-out</type><trkseg>").replace("<gpx>", &gpx().replace("</gpx>", "").replace("<?xml version=\"1.0\"?>", "")), WARNS, &["\"Walk\"", "9.0 m of it"]),
        case("line beside a walk", walk(0.0, &[], None).replace("</gpx>", "<rte><rtept lat=\"44\" lon=\"5\"/><rtept lat=\"44.0005\" lon=\"5\"/></rte></gpx>"), WARNS, &["left out", "row-line"]),
    ]);
}

/// A zip whose one entry has these flags set in both of its heads.
fn flagged(flags: u8) -> Vec<u8> {
    let mut bytes = zip(&[("doc.kml", kml().as_bytes())]);
    let central = bytes.windows(4).position(|four| four == b"PK\x01\x02").expect("a list");
    bytes[6] |= flags;
    bytes[central + 8] |= flags;
    bytes
}

#[test]
#[rustfmt::skip]
fn archives_that_mean_no_good() {
    let text = kml();
    let one = |name: &'static str| zip(&[(name, text.as_bytes())]);
    let many: Vec<String> = (0..1001).map(|number| format!("{number}.txt")).collect();
    let many: Vec<(&str, &[u8])> = many.iter().map(|name| (name.as_str(), b"x".as_slice())).collect();
    let huge = vec![b' '; 40 * 1024 * 1024];
    check(&[
        case("F82", zip(&[("doc.kml", &huge)]), STOPS, &["too large unpacked"]),
        case("F83 up", one("../../doc.kml"), STOPS, &["leads out of the archive"]),
        case("F83 absolute", one("/doc.kml"), STOPS, &["leads out"]),
        case("F83 drive", one("C:\\doc.kml"), STOPS, &["leads out"]),
        case("F84", zip(&many), STOPS, &["1001 files"]),
        case("F85 encrypted", flagged(1), STOPS, &["encrypted"]),
        case("F85 cut", &one("doc.kml")[..200], STOPS, &["cut off or damaged"]),
        case("F85 empty", zip(&[]), STOPS, &["without a map"]),
        case("E workbook", zip(&[("[Content_Types].xml", b"<x/>"), ("xl/workbook.xml", b"<x/>")]), STOPS, &["workbook", "CSV"]),
        case("F no map", zip(&[("readme.txt", b"hello")]), STOPS, &["readme.txt", "doc.kml"]),
        case("F linked inside", zip(&[("doc.kml", b"<kml><NetworkLink><Link><href>in/a.kml</href></Link></NetworkLink><NetworkLink/></kml>"), ("in/a.kml", text.as_bytes())]), NOTES, &["not followed (1)"]),
        case("F two maps", zip(&[("a.kml", text.as_bytes()), ("b.kml", b"<kml/>")]), NOTES, &["only a.kml is read", "b.kml"]),
    ]);
}

#[test]
#[rustfmt::skip]
fn shapefiles_and_databases() {
    const NAD_27: &[u8] = b"GEOGCS[\"GCS_North_American_1927\",DATUM[\"D_North_American_1927\",SPHEROID[\"Clarke_1866\",6378206.4,294.9786982]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
    const WGS_84: &[u8] = b"GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
    const UTM_10: &[u8] = b"PROJCS[\"WGS_1984_UTM_Zone_10N\",GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]],PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"False_Easting\",500000.0],PARAMETER[\"False_Northing\",0.0],PARAMETER[\"Central_Meridian\",-123.0],PARAMETER[\"Scale_Factor\",0.9996],PARAMETER[\"Latitude_Of_Origin\",0.0],UNIT[\"Meter\",1.0]]";
    const FILES: &[u8] = b"BOUNDCRS[SOURCECRS[GEOGCRS[\"x\"]],PARAMETERFILE[\"a\",\"/etc/passwd\"]]";
    let degrees = [(-120.001, 44.0), (-120.0, 44.0), (-120.0, 44.001), (-120.001, 44.001), (-120.001, 44.0)];
    let metres = [(740_000.0, 4_876_000.0), (740_100.0, 4_876_000.0), (740_100.0, 4_876_100.0), (740_000.0, 4_876_100.0), (740_000.0, 4_876_000.0)];
    let feet = metres.map(|(x, y)| (x / 0.3048, y / 0.3048));
    let packed = |corners: &[(f64, f64)], grid: &[u8]| {
        let (shp, dbf) = shapes(corners);
        zip(&[("a.shp", &shp), ("a.dbf", &dbf), ("a.prj", grid)])
    };
    let swapped = metres.map(|(x, y)| (y, x));
    let bare = |corners: &[(f64, f64)]| shapes(corners).0;
    let cut_table = {
        let (shp, dbf) = shapes(&degrees);
        zip(&[("a.shp", &shp), ("a.dbf", &dbf[..dbf.len() - 30])])
    };
    let folder = folder();
    let database = |name: &str, srs: i32, corners: &[(f64, f64)]| {
        let path = folder.path().join(name);
        geopackage(&path, srs, corners);
        fs::read(path).expect("the database")
    };
    let empty = folder.path().join("empty.db");
    rusqlite::Connection::open(&empty).and_then(|db| db.execute_batch("CREATE TABLE a (b)")).expect("a database");
    let member = |code: &str| {
        let text = crate::inputs::geojson_of(&metres);
        text.replacen('{', &format!("{{\"crs\":{{\"type\":\"name\",\"properties\":{{\"name\":\"urn:ogc:def:crs:EPSG::{code}\"}}}},"), 1)
    };
    check(&[
        with_crs(case("C20 the same", member("32610"), NOTES, &["EPSG:32610", "WGS84"]), "EPSG:32610"),
        with_crs(case("C20 another", member("32611"), STOPS, &["EPSG:32610", "EPSG:32611"]), "EPSG:32610"),
        case("short names", packed(&degrees, b""), NOTES, &["row_bearin", "`row_bearing`"]),
        case("no prj", packed(&degrees, b""), NOTES, &["no .prj", "WGS84"]),
        case("no prj in metres", bare(&metres), STOPS, &["UTM", "--crs"]),
        case("no table", bare(&degrees), WARNS, &["no .dbf"]),
        case("prj", packed(&metres, UTM_10), NOTES, &["EPSG:32610", "WGS84"]),
        case("prj on another datum", packed(&degrees, NAD_27), NOTES, &["EPSG:4267", "m (PROJ)"]),
        case("prj that is none", packed(&metres, b"hello"), STOPS, &["no coordinate system", "--crs"]),
        case("prj that names files", packed(&metres, FILES), STOPS, &["no coordinate system"]),
        with_crs(case("prj and the same --crs", packed(&metres, UTM_10), NOTES, &["EPSG:32610"]), "EPSG:32610"),
        with_crs(case("prj and another --crs", packed(&metres, UTM_10), STOPS, &["EPSG:32610", "EPSG:32611"]), "EPSG:32611"),
        with_crs(case("prj in degrees, numbers in metres", packed(&metres, WGS_84), STOPS, &[".prj", "longitude and latitude", "EPSG:32610", "no degrees", "ogr2ogr -a_srs"]), "EPSG:32610"),
        with_crs(case("prj in degrees, --crs for bearings", packed(&degrees, WGS_84), NOTES, &["EPSG:32610"]), "EPSG:32610"),
        with_crs(case("gpkg in degrees, numbers in metres", database("d", 4326, &metres), STOPS, &["srs_id", "longitude and latitude", "EPSG:32610"]), "EPSG:32610"),
        with_crs(case("prj that is none, --crs", packed(&metres, b"hello"), WARNS, &["--crs is used"]), "EPSG:32610"),
        with_crs(case("C swapped", bare(&swapped), STOPS, &["northing stands first", "--swap-axes"]), "EPSG:32610"),
        with_crs(case("C52 feet", bare(&feet), STOPS, &["look like feet", "EPSG:32610"]), "EPSG:32610"),
        case("C52 feet in a prj", packed(&feet, UTM_10), STOPS, &["look like feet", "EPSG:32610"]),
        case("cut table", cut_table, STOPS, &["table is damaged"]),
        case("cut shapes", &bare(&degrees)[..150], STOPS, &["cut off or damaged"]),
        case("gpkg", database("a", 32630, &[(329_000.0, 6_218_000.0), (329_100.0, 6_218_000.0), (329_100.0, 6_218_100.0), (329_000.0, 6_218_000.0)]), NOTES, &["EPSG:32630", "layer \"blocks\""]),
        with_crs(case("gpkg and another --crs", database("b", 32630, &metres), STOPS, &["EPSG:32630", "EPSG:32610"]), "EPSG:32610"),
        case("gpkg cut", &database("c", 4326, &degrees)[..9000], STOPS, &["database is cut off or damaged"]),
        case("no gpkg", fs::read(&empty).expect("the database"), STOPS, &["without a layer"]),
    ]);
}
