//! The same block in every format of maps: the same rows and vines, to the millimetre.

use std::{
    fs,
    io::{Cursor, Write as _},
    path::{Path, PathBuf},
    process::Command,
};

use catchwire::{
    geodesy::{GridTransform, LonLat, distance},
    read::{Inputs, Request},
};
use serde_json::Value;
use shapefile::{
    Point, Polygon, PolygonRing, ShapeWriter,
    dbase::{FieldValue, Record, TableWriterBuilder},
};

use crate::support::{catchwire, folder, json, skipped};

const CORNERS: [(f64, f64); 5] = [
    (-5.765_182, 56.077_694),
    (-5.764_281, 56.077_564),
    (-5.763_921, 56.078_198),
    (-5.764_346, 56.078_427),
    (-5.764_806, 56.078_438),
];
const KEYS: [(&str, &str); 4] = [
    ("row_bearing", "14.5"),
    ("row_spacing", "9 ft"),
    ("vine_spacing", "6 ft"),
    ("type", "hybrid"),
];
/// WGS 84 / UTM zone 30N as Esri's programs write it.
const UTM_30: &str = "PROJCS[\"WGS_1984_UTM_Zone_30N\",GEOGCS[\"GCS_WGS_1984\",\
    DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],\
    PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]],\
    PROJECTION[\"Transverse_Mercator\"],PARAMETER[\"False_Easting\",500000.0],\
    PARAMETER[\"False_Northing\",0.0],PARAMETER[\"Central_Meridian\",-3.0],\
    PARAMETER[\"Scale_Factor\",0.9996],PARAMETER[\"Latitude_Of_Origin\",0.0],UNIT[\"Meter\",1.0]]";

/// The corners of the ring, the first one again at its end.
fn ring() -> Vec<(f64, f64)> {
    CORNERS.iter().chain(CORNERS.first()).copied().collect()
}

fn in_utm((lon, lat): (f64, f64)) -> (f64, f64) {
    let grid = GridTransform::new("EPSG:32630").expect("UTM");
    let plane = grid.from_lon_lat(LonLat::new(lon, lat).expect("degrees")).expect("in the zone");
    (plane.east, plane.north)
}

fn geojson() -> String {
    geojson_of(&ring())
}

pub(super) fn geojson_of(corners: &[(f64, f64)]) -> String {
    let corners: Vec<String> = corners.iter().map(|(x, y)| format!("[{x},{y}]")).collect();
    let keys: Vec<String> = KEYS.iter().map(|(k, v)| format!("\"{k}\":\"{v}\"")).collect();
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":\
         {{\"name\":\"First Block\",{}}},\"geometry\":{{\"type\":\"Polygon\",\
         \"coordinates\":[[{}]]}}}}]}}",
        keys.join(","),
        corners.join(",")
    )
}

pub(super) fn kml() -> String {
    let corners: Vec<String> = ring().iter().map(|(x, y)| format!("{x},{y},12")).collect();
    let data = format!("<Data name=\"{}\"><value>{}</value></Data>", KEYS[0].0, KEYS[0].1);
    let lines: Vec<String> = KEYS[1..].iter().map(|(k, v)| format!("{k}: {v}")).collect();
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document><name>Moor</name><Folder>\
         <name>Blocks</name>\n<Placemark><name>First Block</name>\
         <description><![CDATA[{}]]></description><ExtendedData>{data}</ExtendedData>\
         <Polygon><outerBoundaryIs><LinearRing><coordinates>\n{}\n</coordinates></LinearRing>\
         </outerBoundaryIs></Polygon></Placemark></Folder></Document></kml>",
        lines.join("<br>"),
        corners.join(" ")
    )
}

pub(super) fn gpx() -> String {
    let points: Vec<String> =
        ring().iter().map(|(x, y)| format!("<trkpt lat=\"{y}\" lon=\"{x}\"/>")).collect();
    let lines: Vec<String> = KEYS.iter().map(|(k, v)| format!("{k}: {v}")).collect();
    format!(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"hand\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk><name>First Block</name>\
         <desc>{}</desc><trkseg>\n{}\n</trkseg></trk></gpx>",
        lines.join("\n"),
        points.join("\n")
    )
}

pub(super) fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        let options = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Deflated);
        archive.start_file(*name, options).expect("an entry");
        archive.write_all(bytes).expect("its bytes");
    }
    archive.finish().expect("an archive").into_inner()
}

/// `.shp` and `.dbf` of the block with these corners, wound clockwise.
pub(super) fn shapes(corners: &[(f64, f64)]) -> (Vec<u8>, Vec<u8>) {
    let points = corners.iter().rev().map(|(x, y)| Point::new(*x, *y)).collect();
    let polygon = Polygon::with_rings(vec![PolygonRing::Outer(points)]);
    let (mut shp, mut dbf) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut table = TableWriterBuilder::new();
    let mut record = Record::default();
    for (name, value) in [("name", "First Block")].iter().chain(&KEYS) {
        let field: String = name.chars().take(10).collect();
        table = table.add_character_field(field.as_str().try_into().expect("a name"), 40);
        record.insert(field, FieldValue::Character(Some((*value).to_owned())));
    }
    {
        let mut writer =
            shapefile::Writer::new(ShapeWriter::new(&mut shp), table.build_with_dest(&mut dbf));
        writer.write_shape_and_record(&polygon, &record).expect("a shape");
    }
    (shp.into_inner(), dbf.into_inner())
}

/// A GeoPackage of one layer with the block, in this system.
pub(super) fn geopackage(path: &Path, srs: i32, corners: &[(f64, f64)]) {
    let database = rusqlite::Connection::open(path).expect("a database");
    let organisation = "'EPSG', 4326, 'undefined'), (32630, 'UTM', 'EPSG', 32630, 'undefined')";
    database
        .execute_batch(&format!(
            "CREATE TABLE gpkg_spatial_ref_sys (srs_id INTEGER PRIMARY KEY, srs_name TEXT, \
             organization TEXT, organization_coordsys_id INTEGER, definition TEXT);\
             INSERT INTO gpkg_spatial_ref_sys VALUES (4326, 'WGS', {organisation};\
             CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, \
             geometry_type_name TEXT, srs_id INTEGER, z INTEGER, m INTEGER);\
             INSERT INTO gpkg_geometry_columns VALUES ('blocks', 'geom', 'POLYGON', {srs}, 0, 0);\
             CREATE TABLE blocks (fid INTEGER PRIMARY KEY, geom BLOB, name TEXT, \
             row_bearing REAL, row_spacing TEXT, vine_spacing TEXT, type TEXT, standing BOOLEAN);"
        ))
        .expect("tables");
    let mut blob = b"GP\0\x01".to_vec();
    blob.extend(srs.to_le_bytes());
    blob.push(1);
    blob.extend(
        [3_u32, 1, u32::try_from(corners.len()).expect("few")].map(u32::to_le_bytes).concat(),
    );
    for (x, y) in corners {
        blob.extend([x.to_le_bytes(), y.to_le_bytes()].concat());
    }
    database
        .execute(
            "INSERT INTO blocks VALUES (1, ?1, 'First Block', 14.5, '9 ft', '6 ft', 'hybrid', 0)",
            [blob],
        )
        .expect("a feature");
}

pub(super) fn put(folder: &Path, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.join(name);
    let file = fs::OpenOptions::new().write(true).create_new(true).open(&path);
    file.and_then(|mut file| file.write_all(bytes)).expect("a file of the test");
    path
}

/// Ids and places of the vines that a layout of the file has.
fn vines(file: &Path, options: &[&str]) -> Vec<(String, LonLat)> {
    let out = folder();
    let mut args = vec!["layout".into(), file.to_path_buf(), "--out".into(), out.path().into()];
    args.extend(options.iter().map(PathBuf::from));
    catchwire(args).done();
    let found = json(&out.path().join("first-block").join("vines.geojson"));
    let vine = |feature: &Value| {
        let at = &feature["geometry"]["coordinates"];
        let id = feature["properties"]["id"].as_str().expect("an id").to_owned();
        let degrees = |index: usize| at[index].as_f64().expect("degrees");
        (id, LonLat::new(degrees(0), degrees(1)).expect("a place"))
    };
    found["features"].as_array().expect("vines").iter().map(vine).collect()
}

#[track_caller]
fn same_vines(name: &str, found: &[(String, LonLat)], expected: &[(String, LonLat)]) {
    assert!(expected.len() > 100, "{} vines", expected.len());
    assert_eq!(found.len(), expected.len(), "{name}");
    for ((id, at), (expected_id, expected_at)) in found.iter().zip(expected) {
        assert_eq!(id, expected_id, "{name}");
        let off_mm = distance(*at, *expected_at).metres() * 1000.0;
        assert!(off_mm <= 1.0, "{name}: {id} is {off_mm} mm off");
    }
}

#[test]
fn the_same_block_in_every_format_has_the_same_vines() {
    let folder = folder();
    let (dir, degrees) = (folder.path(), ring());
    let metres: Vec<(f64, f64)> = degrees.iter().map(|corner| in_utm(*corner)).collect();
    let expected = vines(&put(dir, "a.geojson", geojson().as_bytes()), &[]);

    let (shp, dbf) = shapes(&degrees);
    let (utm_shp, utm_dbf) = shapes(&metres);
    let zipped: [(&str, &[u8]); 3] =
        [("in/a.shp", &utm_shp), ("in/a.dbf", &utm_dbf), ("in/a.PRJ", UTM_30.as_bytes())];
    put(dir, "bare.dbf", &dbf);
    put(dir, "utm.dbf", &utm_dbf);
    geopackage(&dir.join("a.gpkg"), 4326, &degrees);
    geopackage(&dir.join("a b?%.gpkg"), 32630, &metres);
    let files = [
        (put(dir, "a.kml", kml().as_bytes()), vec![]),
        (put(dir, "a.kmz", &zip(&[("doc.kml", kml().as_bytes())])), vec![]),
        (put(dir, "kmz-without-ending", &zip(&[("x.kml", kml().as_bytes())])), vec![]),
        (put(dir, "a.gpx", gpx().as_bytes()), vec![]),
        (put(dir, "bare.shp", &shp), vec![]),
        (put(dir, "utm.shp", &utm_shp), vec!["--crs", "EPSG:32630"]),
        (put(dir, "a.zip", &zip(&zipped)), vec![]),
        (dir.join("a.gpkg"), vec![]),
        (dir.join("a b?%.gpkg"), vec![]),
    ];
    for (file, options) in &files {
        same_vines(&file.display().to_string(), &vines(file, options), &expected);
    }
    let beside = fs::read_dir(dir).expect("the folder").count();
    assert_eq!(beside, files.len() + 3, "something appeared beside the inputs");
}

#[test]
fn what_other_programs_make_of_a_sample_is_read_like_the_sample() {
    if Command::new("ogr2ogr").arg("--version").output().is_err() {
        skipped("ogr2ogr is not here");
        return;
    }
    let folder = folder();
    let sample =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/first-block.geojson");
    let expected = vines(&sample, &[]);
    let runs: [(&str, &[&str]); 7] = [
        ("a.kml", &["-f", "KML"]),
        ("b.kml", &["-f", "LIBKML"]),
        ("b.kmz", &["-f", "LIBKML"]),
        ("c.shp", &["-f", "ESRI Shapefile", "-t_srs", "EPSG:32630"]),
        ("d.gpkg", &["-f", "GPKG", "-t_srs", "EPSG:27700"]),
        ("e.gpkg", &["-f", "GPKG"]),
        ("f.gpx", &["-f", "GPX", "-nlt", "LINESTRING", "-dsco", "GPX_USE_EXTENSIONS=YES"]),
    ];
    for (name, options) in runs {
        let file = folder.path().join(name);
        let done = Command::new("ogr2ogr").args(options).arg(&file).arg(&sample).output();
        let done = done.expect("ogr2ogr runs");
        if !done.status.success() {
            let said = String::from_utf8_lossy(&done.stderr);
            skipped(&format!("ogr2ogr cannot write {name} here: {said}"));
            continue;
        }
        let keys: Vec<String> = KEYS
            .iter()
            .flat_map(|(k, v)| [format!("--{}", k.replace('_', "-")), (*v).into()])
            .collect();
        let keys: Vec<&str> = keys.iter().map(String::as_str).collect();
        let options: &[&str] = if name.ends_with("gpx") { &keys } else { &[] };
        let found = vines(&file, options);
        if name == "d.gpkg" {
            // Through the British grid the way back is a few metres off, and said so.
            assert_eq!(found.len(), expected.len(), "{name}");
        } else {
            same_vines(name, &found, &expected);
        }
    }
}

#[test]
fn positions_of_vines_come_in_the_same_formats() {
    let folder = folder();
    let at = (-5.7645, 56.078);
    let placemark = |name: &str| {
        format!(
            "<Placemark><name>{name}</name><Point><coordinates>{},{}</coordinates></Point>\
             </Placemark>",
            at.0, at.1
        )
    };
    let kml = format!("<kml>{}{}</kml>", placemark("R001V001"), placemark("R001V002"));
    let waypoint =
        |name: &str| format!("<wpt lat=\"{}\" lon=\"{}\"><name>{name}</name></wpt>", at.1, at.0);
    let gpx = format!("<gpx>{}{}</gpx>", waypoint("R001V001"), waypoint("R001V002"));
    let blocks = put(folder.path(), "blocks.geojson", geojson().as_bytes());
    for (name, text) in [("vines.kml", kml), ("vines.gpx", gpx)] {
        let vines = Some(put(folder.path(), name, text.as_bytes()));
        let request = Request { blocks: blocks.clone(), vines, ..Request::default() };
        let (inputs, findings) = Inputs::read(&request).expect("two vines");
        assert!(findings.is_empty(), "{name}: {findings:#?}");
        let numbers: Vec<(u32, u32)> =
            inputs.blocks[0].vines.iter().map(|vine| (vine.row, vine.vine)).collect();
        assert_eq!(numbers, [(1, 1), (1, 2)], "{name}");
    }
}

/// A bare shapefile in a folder of its own: its shapes, its table, its grid.
fn bare(dir: &Path, corners: &[(f64, f64)], endings: [&str; 2]) -> PathBuf {
    let (shp, dbf) = shapes(corners);
    put(dir, &format!("a.{}", endings[0]), &dbf);
    put(dir, &format!("a.{}", endings[1]), UTM_30.as_bytes());
    put(dir, "a.shp", &shp)
}

#[test]
fn what_lies_beside_a_shapefile_is_found_in_any_case_and_never_passed_over() {
    let metres: Vec<(f64, f64)> = ring().iter().map(|corner| in_utm(*corner)).collect();
    for endings in [["dbf", "Prj"], ["DbF", "PRJ"]] {
        let folder = folder();
        let blocks = bare(folder.path(), &metres, endings);
        let (inputs, _) = Inputs::read(&Request { blocks, ..Request::default() }).expect("a block");
        assert_eq!(inputs.grid.as_deref(), Some("EPSG:32630"), "{endings:?}");
        assert_eq!(inputs.blocks[0].name.to_string(), "First Block", "{endings:?}");
        assert_eq!(inputs.files.len(), 3, "{endings:?}");
    }
    for ending in ["prj", "dbf", "cpg"] {
        let folder = folder();
        let blocks = bare(folder.path(), &metres, ["dbf", "prj"]);
        let large = folder.path().join(format!("a.{ending}"));
        let large = fs::OpenOptions::new().write(true).create(true).truncate(true).open(large);
        large.and_then(|file| file.set_len(200 * 1024 * 1024 + 1)).expect("a file with a hole");
        let error = Inputs::read(&Request { blocks, ..Request::default() }).expect_err("too large");
        let told = error.to_string();
        assert!(told.contains(&format!("a.{ending}: is larger than 200 MB")), "{told}");
    }
}

#[test]
fn the_texts_of_a_table_are_in_the_set_of_its_cpg_or_of_encoding() {
    let (shp, dbf) = shapes(&ring());
    let at = dbf.windows(5).position(|five| five == b"Block").expect("its name");
    let mut cyrillic = dbf;
    // `Блок ` in KOI8-R and in windows-1251 (The Unicode Consortium's mapping tables).
    let named = |dbf: &mut Vec<u8>, letters: [u8; 5]| dbf[at..at + 5].copy_from_slice(&letters);
    named(&mut cyrillic, [0xe2, 0xcc, 0xcf, 0xcb, b' ']);
    let koi8 = cyrillic.clone();
    named(&mut cyrillic, [0xc1, 0xeb, 0xee, 0xea, b' ']);
    let read = |dbf: &[u8], cpg: Option<&str>, encoding: Option<&str>| {
        let folder = folder();
        put(folder.path(), "a.dbf", dbf);
        if let Some(cpg) = cpg {
            put(folder.path(), "a.cpg", cpg.as_bytes());
        }
        let blocks = put(folder.path(), "a.shp", &shp);
        let encoding = encoding.map(str::to_owned);
        Inputs::read(&Request { blocks, encoding, ..Request::default() })
            .map(|(inputs, findings)| (inputs.blocks[0].name.to_string(), format!("{findings:?}")))
    };
    let name = |dbf: &[u8], cpg, encoding| read(dbf, cpg, encoding).expect("a block").0;
    assert_eq!(name(&koi8, None, Some("koi8-r")), "First Блок");
    assert_eq!(name(&cyrillic, Some("CP1251"), Some("koi8-r")), "First Блок");
    let told = read(&koi8, Some("martian"), None).expect("a block").1;
    assert!(told.contains("`martian`, which is no character set"), "{told}");
    let refused = read(&koi8, None, Some("martian")).expect_err("no such set").to_string();
    assert!(refused.contains("--encoding") && refused.contains("martian"), "{refused}");
}

#[test]
fn a_grid_that_no_register_has_places_the_block_and_is_passed_to_nobody() {
    // UTM but for its meridian.
    let own = UTM_30.replace("WGS_1984_UTM_Zone_30N", "unknown").replace("-3.0]", "-4.0]");
    let metres: Vec<(f64, f64)> = ring().iter().map(|corner| in_utm(*corner)).collect();
    let (shp, dbf) = shapes(&metres);
    let folder = folder();
    let zipped = zip(&[("a.shp", &shp), ("a.dbf", &dbf), ("a.prj", own.as_bytes())]);
    let blocks = put(folder.path(), "a.zip", &zipped);
    let (inputs, findings) = Inputs::read(&Request { blocks, ..Request::default() }).expect("one");
    assert_eq!(inputs.grid, None, "{findings:#?}");
    let corner = inputs.blocks[0].outline.0[0].exterior().0[0];
    assert!((corner.x - (CORNERS[0].0 - 1.0)).abs() < 0.01, "{corner:?}");
}

/// How a file read as blocks comes out: it ends, whatever it is.
fn ends(dir: &Path, name: &str, bytes: &[u8]) {
    let path = put(dir, name, bytes);
    let request = Request { blocks: path.clone(), ..Request::default() };
    if let Err(error) = Inputs::read(&request) {
        assert!((3..=4).contains(&error.exit_code()), "{name} cut at {}: {error}", bytes.len());
    }
    fs::remove_file(path).expect("a file of the test");
}

#[test]
fn a_file_cut_anywhere_neither_panics_nor_hangs() {
    let folder = folder();
    let dir = folder.path();
    geopackage(&dir.join("whole.gpkg"), 4326, &ring());
    let database = fs::read(dir.join("whole.gpkg")).expect("the database");
    let (shp, dbf) = shapes(&ring());
    let kmz = zip(&[("doc.kml", kml().as_bytes())]);
    let zipped = zip(&[("a.shp", &shp), ("a.dbf", &dbf), ("a.prj", UTM_30.as_bytes())]);
    let (kml, gpx) = (kml(), gpx());
    let files: [(&str, &[u8]); 6] = [
        ("a.kml", kml.as_bytes()),
        ("a.gpx", gpx.as_bytes()),
        ("a.kmz", &kmz),
        ("a.zip", &zipped),
        ("a.shp", &shp),
        ("a.gpkg", &database),
    ];
    for (name, bytes) in files {
        let step = (bytes.len() / 120).max(1);
        for end in (0..bytes.len()).step_by(step) {
            ends(dir, name, &bytes[..end]);
            let mut spoiled = bytes.to_vec();
            spoiled[end] ^= 0x55;
            ends(dir, name, &spoiled);
        }
    }
}

/// A square of a hectare whose south-west corner this is, as a KML with the axes as asked.
fn square(lon: f64, lat: f64, swapped: bool) -> String {
    let corners = [(0.0, 0.0), (0.001, 0.0), (0.001, 0.001), (0.0, 0.001), (0.0, 0.0)];
    let tuples = corners.map(|(x, y)| {
        if swapped {
            format!("{},{}", lat + y, lon + x)
        } else {
            format!("{},{}", lon + x, lat + y)
        }
    });
    format!(
        "<kml><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>{}</coordinates>\
         </LinearRing></outerBoundaryIs></Polygon></Placemark></kml>",
        tuples.join(" ")
    )
}

#[test]
fn swapped_axes_within_legal_numbers_are_told_by_the_counts() {
    for (lon, lat) in [(5.0, 44.0), (18.9, -33.9)] {
        let folder = folder();
        let counts = format!("row,vine,shoots,lon_deg,lat_deg\n1,1,12,{lon},{lat}\n");
        let counts = put(folder.path(), "counts.csv", counts.as_bytes());
        for swapped in [false, true] {
            let name = format!("block-{swapped}.kml");
            let blocks = put(folder.path(), &name, square(lon, lat, swapped).as_bytes());
            let mut request =
                Request { blocks, counts: vec![counts.clone()], ..Request::default() };
            let (_, findings) = Inputs::read(&request).expect("legal numbers");
            let told = findings.iter().any(|finding| finding.mend.contains("--swap-axes"));
            assert_eq!(told, swapped, "{lon}, {lat}: {findings:?}");
            if swapped {
                request.swap_axes = true;
                let (inputs, findings) = Inputs::read(&request).expect("as asked");
                assert!(findings.is_empty(), "{findings:?}");
                let corner = inputs.blocks[0].outline.0[0].exterior().0[0];
                assert!((corner.x - lon).abs() < 0.01 && (corner.y - lat).abs() < 0.01);
            }
        }
    }
}

#[test]
fn a_wrong_zone_is_told_by_the_counts_and_by_control_points() {
    let grid = GridTransform::new("EPSG:32611").expect("UTM");
    let known = LonLat::new(-116.9, 46.4).expect("degrees");
    let corners: Vec<(f64, f64)> = [(0.0, 0.0), (0.001, 0.0), (0.001, 0.001), (0.0, 0.0)]
        .iter()
        .map(|(x, y)| {
            let at = LonLat::new(known.lon() + x, known.lat() + y).expect("degrees");
            let plane = grid.from_lon_lat(at).expect("in the zone");
            (plane.east, plane.north)
        })
        .collect();
    let control = format!(
        "{{\"type\":\"Feature\",\"properties\":{{\"role\":\"control\",\"name\":\"Pin\"}},\
         \"geometry\":{{\"type\":\"Point\",\"coordinates\":[{},{}]}}}}]}}",
        known.lon(),
        known.lat()
    );
    let plain = geojson_of(&corners);
    let beside_a_control = plain.strip_suffix("]}").expect("a list").to_owned() + "," + &control;
    let counts =
        format!("row,vine,shoots,lon_deg,lat_deg\n1,1,12,{},{}\n", known.lon(), known.lat());
    let folder = folder();
    let counts = put(folder.path(), "counts.csv", counts.as_bytes());
    let files = [("a.geojson", plain, vec![counts]), ("b.geojson", beside_a_control, vec![])];
    for (name, text, counts) in files {
        let blocks = put(folder.path(), name, text.as_bytes());
        let mut request =
            Request { blocks, counts, crs: Some("EPSG:32610".to_owned()), ..Request::default() };
        let (_, findings) = Inputs::read(&request).expect("numbers of either zone");
        let told = findings.iter().any(|finding| finding.mend.contains("EPSG:32611 "));
        assert!(told, "{name}: {findings:#?}");
        request.crs = Some("EPSG:32611".to_owned());
        let (_, findings) = Inputs::read(&request).expect("the right zone");
        assert!(findings.iter().all(|finding| !finding.mend.contains("--crs")), "{findings:#?}");
    }
}
