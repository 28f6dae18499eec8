//! `layout`: materials, stake-out tables, waypoints, guidance lines and the sheet beside them.

use std::{
    collections::{BTreeMap, BTreeSet},
    fs,
    path::{Path, PathBuf},
};

use catchwire::geodesy::{GridTransform, LonLat, distance};
use quick_xml::{Reader, events::Event};
use tempfile::TempDir;

use crate::support::{Run, catchwire, demo, files, folder, json, put};

/// A kite of about 80 by 120 m whose corners at (0, 0) and (0.0014, 0.0011) degrees lie farthest
/// apart, with more keys and features.
fn kite(lon: f64, lat: f64, keys: &str, features: &str) -> String {
    let corner = |east: f64, north: f64| format!("[{:.7},{:.7}]", lon + east, lat + north);
    let (a, b, c, d) =
        (corner(0.0, 0.0), corner(0.0009, 0.0), corner(0.0014, 0.0011), corner(0.0, 0.0009));
    format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{
        "role":"block","name":"Kite","standing":false,"row_bearing":20,"row_spacing":2.5,
        "vine_spacing":1.25,"anchor_gap":2{keys}}},
        "geometry":{{"type":"Polygon","coordinates":[[{a},{b},{c},{d},{a}]]}}}}{features}]}}"#
    )
}

/// A laid-out kite.
struct Laid {
    folder: TempDir,
    run: Run,
}

impl Laid {
    fn at(lon: f64, lat: f64, options: &[&str]) -> Self {
        Self::of(&kite(lon, lat, "", ""), options)
    }

    fn of(block: &str, options: &[&str]) -> Self {
        let folder = folder();
        let block = put(folder.path(), "kite.geojson", block);
        let out = folder.path().join("out");
        let words: [&std::ffi::OsStr; 4] =
            ["layout".as_ref(), block.as_os_str(), "--out".as_ref(), out.as_os_str()];
        let run = catchwire(words.into_iter().chain(options.iter().map(AsRef::as_ref)));
        Self { folder, run }
    }

    #[track_caller]
    fn done(self) -> Self {
        let Self { folder, run } = self;
        Self { folder, run: run.done() }
    }

    fn out(&self) -> PathBuf {
        self.folder.path().join("out/kite")
    }

    #[track_caller]
    fn text(&self, name: &str) -> String {
        let path = self.out().join(name);
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
    }

    /// The lines of a stake-out table as `(first number, second number, description)`.
    #[track_caller]
    fn stakes(&self, name: &str, heads: &str) -> Vec<(f64, f64, String)> {
        let text = self.text(name);
        assert_eq!(text.lines().next(), Some(heads), "{name}");
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let lines = reader.records().map(|line| line.expect("an even table"));
        lines
            .enumerate()
            .map(|(at, line)| {
                assert_eq!(line[0], (at + 1).to_string());
                assert_eq!(&line[3], "", "no stake has a height");
                (line[1].parse().unwrap(), line[2].parse().unwrap(), line[4].to_owned())
            })
            .collect()
    }
}

const PNEZD: &str = "point,northing,easting,elevation,description";
const PENZD: &str = "point,easting,northing,elevation,description";

/// A place, a grid, its file, and easting and northing of both check points.
type Known = (f64, f64, Option<&'static str>, &'static str, [[f64; 2]; 2]);

/// Source: cs2cs of PROJ 9.1.1, `cs2cs EPSG:4326 EPSG:n -f %.4f`; for UTM the same to 0.1 µm by
/// gdaltransform of GDAL 3.6.
#[test]
fn check_points_have_the_coordinates_that_other_programs_give_them() {
    let cases: [Known; 7] = [
        (
            -3.1,
            59.95,
            None,
            "stakeout-epsg32630-m.csv",
            [[494_413.818_8, 6_645_847.045_1], [494_492.207_8, 6_645_969.431_3]],
        ),
        (
            147.3,
            -36.2,
            None,
            "stakeout-epsg32755-m.csv",
            [[526_969.888_3, 5_993_826.551_2], [527_096.127_2, 5_993_948.171_8]],
        ),
        (
            -122.1,
            37.6,
            Some("EPSG:6420"),
            "stakeout-epsg6420-ftus.csv",
            [[6_098_165.566_1, 2_044_898.887_3], [6_098_577.931_5, 2_045_292.420_9]],
        ),
        (
            -72.6,
            44.2,
            Some("EPSG:32145"),
            "stakeout-epsg32145-m.csv",
            [[492_006.657_8, 188_867.376_3], [492_118.711_3, 188_989.464_5]],
        ),
        (
            -110.5,
            33.0,
            Some("epsg:2222"),
            "stakeout-epsg2222-ft.csv",
            [[597_808.305_4, 727_693.209_2], [598_238.775_2, 728_092.060_6]],
        ),
        (
            -3.1,
            55.3,
            Some("EPSG:27700"),
            "stakeout-epsg27700-m.csv",
            [[330_258.217_0, 601_206.555_6], [330_349.030_8, 601_327.561_7]],
        ),
        // A grid whose register puts north first.
        (
            20.1,
            51.2,
            Some("EPSG:2180"),
            "stakeout-epsg2180-m.csv",
            [[576_830.175_0, 370_938.532_0], [576_926.124_1, 371_062.283_0]],
        ),
    ];
    for (lon, lat, crs, file, expected) in cases {
        let options: Vec<&str> = crs.map_or_else(Vec::new, |crs| vec!["--crs", crs]);
        let stakes = Laid::at(lon, lat, &options).done().stakes(file, PNEZD);
        assert!(stakes[0].2.starts_with("CHK1 check point") && stakes[1].2.starts_with("CHK2 "));
        for [east, north] in expected {
            let near = stakes[..2].iter().any(|(n, e, _)| (n - north).hypot(e - east) < 0.001);
            assert!(near, "{file}: {east}, {north} is none of {:?}", &stakes[..2]);
        }
    }
}

#[test]
fn a_table_leads_back_to_the_posts_and_vines_within_a_millimetre() {
    let laid = Laid::at(-122.1, 37.6, &["--crs", "EPSG:6420", "--stake", "vines"]).done();
    let stakes = laid.stakes("stakeout-epsg6420-ftus.csv", PNEZD);
    let grid = GridTransform::new("EPSG:6420").unwrap();
    let vines = json(&laid.out().join("vines.geojson"));
    let places: BTreeMap<&str, LonLat> = vines["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|vine| {
            let at = &vine["geometry"]["coordinates"];
            let at = LonLat::new(at[0].as_f64().unwrap(), at[1].as_f64().unwrap()).unwrap();
            (vine["properties"]["id"].as_str().unwrap(), at)
        })
        .collect();
    assert!(places.len() > 1000 && stakes.len() == places.len() + 2, "{}", stakes.len());
    for (north, east, words) in &stakes[2..] {
        let there = places[words.split(' ').nth(1).unwrap()];
        let off = distance(grid.to_lon_lat(*east, *north).unwrap(), there).metres();
        assert!(off < 0.001, "{words} is {off} m off");
    }
}

#[test]
fn the_orders_differ_in_their_columns_alone() {
    let pnezd = Laid::at(-3.1, 59.95, &[]).done().stakes("stakeout-epsg32630-m.csv", PNEZD);
    let penzd = Laid::at(-3.1, 59.95, &["--order", "penzd"]).done();
    let penzd = penzd.stakes("stakeout-epsg32630-m.csv", PENZD);
    let turned = penzd.into_iter().map(|(east, north, words)| (north, east, words));
    assert_eq!(pnezd, turned.collect::<Vec<_>>());
    let llh = Laid::at(-3.1, 59.95, &["--order", "llh"]).done();
    let sheet = llh.text("stakeout-readme.txt");
    assert!(sheet.contains("degrees of latitude and longitude"), "{sheet}");
    let heads = "point,latitude,longitude,elevation,description";
    let degrees = llh.stakes("stakeout-epsg4326-deg.csv", heads);
    assert_eq!(degrees.len(), pnezd.len());
    let grid = GridTransform::new("EPSG:32630").unwrap();
    for ((lat, lon, words), (north, east, _)) in degrees.iter().zip(&pnezd) {
        let at = grid.from_lon_lat(LonLat::new(*lon, *lat).unwrap()).unwrap();
        assert!((at.east - east).hypot(at.north - north) < 0.001, "{words}");
    }
    let line = llh.text("stakeout-epsg4326-deg.csv");
    let cells: Vec<&str> = line.lines().nth(1).unwrap().split(',').collect();
    assert!(cells[1..3].iter().all(|cell| cell.split('.').nth(1).unwrap().len() == 9), "{line}");
}

#[test]
fn first_six_characters_are_a_stakes_own() {
    let mut seen = BTreeSet::new();
    let mut made = 0;
    for choice in ["row-ends", "vines", "posts"] {
        let laid = Laid::at(-3.1, 59.95, &["--stake", choice]).done();
        for (_, _, words) in laid.stakes("stakeout-epsg32630-m.csv", PNEZD) {
            let name = words.split(' ').next().unwrap().to_owned();
            // End posts are staked with the row ends and with the posts.
            let again = choice == "posts" && name.contains('X');
            if !again && !name.starts_with("CHK") {
                made += 1;
                assert!(name.len() == 6, "{name}");
                assert!(seen.insert(name), "{words}");
            }
        }
    }
    assert!(made > 2000, "{made}");
}

/// The parts of a waypoint file that the grammar of GPX 1.1 asks for, in its order.
///
/// Source: GPX 1.1 Schema Documentation, topografix.com/GPX/1/1: metadata before waypoints; within
/// a waypoint name, desc, type; latitude -90 … 90, longitude -180 up to but not 180.
#[track_caller]
fn waypoints(path: &Path) -> Vec<(f64, f64, String)> {
    let text = fs::read_to_string(path).unwrap();
    let mut reader = Reader::from_str(&text);
    let (mut open, mut order, mut points) = (Vec::new(), Vec::new(), Vec::new());
    loop {
        match reader.read_event().expect("sound XML") {
            Event::Start(element) => {
                let name = String::from_utf8(element.name().as_ref().to_vec()).unwrap();
                let attribute = |key: &str| {
                    let found = element.try_get_attribute(key).unwrap();
                    found.map(|it| String::from_utf8(it.value.to_vec()).unwrap())
                };
                if name == "gpx" {
                    assert_eq!(attribute("version").as_deref(), Some("1.1"));
                    assert!(attribute("creator").is_some_and(|creator| !creator.is_empty()));
                    let space = "http://www.topografix.com/GPX/1/1";
                    assert_eq!(attribute("xmlns").as_deref(), Some(space));
                } else if name == "wpt" {
                    let degrees = |key| attribute(key).unwrap().parse::<f64>().unwrap();
                    let (lat, lon) = (degrees("lat"), degrees("lon"));
                    assert!((-90.0..=90.0).contains(&lat) && (-180.0..180.0).contains(&lon));
                    points.push((lat, lon, String::new()));
                }
                open.push(name);
                order.push(open.join("/"));
            }
            Event::Text(words) if open.last().is_some_and(|name| name == "name") => {
                let words = String::from_utf8(words.to_vec()).unwrap();
                assert!(!words.trim().is_empty());
                if let Some(point) = points.last_mut() {
                    point.2 = words;
                }
            }
            Event::End(_) => drop(open.pop()),
            Event::Eof => break,
            Event::Empty(_)
            | Event::Text(_)
            | Event::CData(_)
            | Event::Comment(_)
            | Event::Decl(_)
            | Event::PI(_)
            | Event::DocType(_)
            | Event::GeneralRef(_) => {}
        }
    }
    let head = ["gpx", "gpx/metadata", "gpx/metadata/name", "gpx/metadata/desc"];
    assert_eq!(order[..4], head);
    for point in order[4..].chunks(4) {
        assert_eq!(point, ["gpx/wpt", "gpx/wpt/name", "gpx/wpt/desc", "gpx/wpt/type"]);
    }
    assert!(points.iter().all(|(_, _, name)| !name.is_empty()));
    points
}

#[test]
fn waypoints_are_split_and_every_file_is_what_gpx_asks_for() {
    let options = ["--stake", "vines", "--points-per-file", "200"];
    let laid = Laid::at(147.3, -36.2, &options).done();
    let written = files(&laid.out());
    let gpx = written.keys().filter(|path| path.extension().is_some_and(|end| end == "gpx"));
    let (mut names, mut number) = (BTreeSet::new(), 0);
    for path in gpx {
        number += 1;
        assert_eq!(path.display().to_string(), format!("stakeout-{number:02}.gpx"));
        let text = laid.text(&path.display().to_string());
        assert!(text.contains("For finding the way, not for setting posts"));
        let points = waypoints(&laid.out().join(path));
        assert!(points.len() <= 200);
        let checks: Vec<&str> = points[..2].iter().map(|(_, _, name)| name.as_str()).collect();
        assert_eq!(checks, ["CHK1", "CHK2"]);
        for (_, _, name) in points.into_iter().skip(2) {
            assert!(names.insert(name));
        }
        assert!(laid.text("stakeout-readme.txt").contains(&path.display().to_string()));
    }
    let vines = json(&laid.out().join("layout.json"))["vines"].as_u64().unwrap();
    assert_eq!(names.len() as u64, vines);
    assert!(number > 4, "{number} files");
}

#[test]
fn guidance_lines_run_from_vine_one_along_the_row() {
    let lines = json(&demo().join("1-layout/new-ground/guidance-ab.geojson"));
    let rows = json(&demo().join("1-layout/new-ground/rows.geojson"));
    let (lines, rows) =
        (lines["features"].as_array().unwrap(), rows["features"].as_array().unwrap());
    assert_eq!(lines.len(), rows.len());
    for (line, row) in lines.iter().zip(rows) {
        assert_eq!(line["properties"]["id"], row["properties"]["id"]);
        let place = |at: &serde_json::Value| {
            LonLat::new(at[0].as_f64().unwrap(), at[1].as_f64().unwrap()).unwrap()
        };
        let [a, b] = [0, 1].map(|at| place(&line["geometry"]["coordinates"][at]));
        assert!(distance(a, place(&row["geometry"]["coordinates"][0])).metres() < 0.002);
        let heading = catchwire::geodesy::azimuth(a, b).degrees();
        let told = line["properties"]["heading_deg"].as_f64().unwrap();
        assert!((heading - told).abs() < 1e-4, "{heading} {told}");
    }
}

#[test]
fn the_sheet_says_what_a_surveyor_asks() {
    let keys = r#","outline_source":"walked with a receiver, 2026","outline_accuracy":"2 cm",
        "elevation":200"#;
    let control = r#",{"type":"Feature","properties":{"role":"control","name":"=BM, gate"},
        "geometry":{"type":"Point","coordinates":[-122.0995,37.6004]}}"#;
    let block = kite(-122.1, 37.6, keys, control);
    let laid = Laid::of(&block, &["--crs", "EPSG:6420", "--units", "us"]).done();
    let sheet = laid.text("stakeout-readme.txt");
    let plain = sheet.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "not a legal boundary",
        "EPSG 6420",
        "NAD83 (National Spatial Reference System 2011)",
        "Epoch not stated",
        "US survey foot (1200/3937 m)",
        "every stake would be off by 12.86 ft",
        "within 2 m, as PROJ states it",
        "Source walked with a receiver, 2026",
        "0.02 m)",
        "row 1 to row 2, square to the rows",
        "diagonal: ",
        "CTL001 =BM, gate",
        "buried and overhead lines",
    ] {
        assert!(plain.contains(words), "`{words}` is not in:\n{sheet}");
    }
    // Source: 1 + h / R with h = 200 m, R = 6 371 008.8 m, by hand: 0.99996861.
    assert!(plain.contains("Elevation factor 0.99996861"), "{sheet}");
    let stakes = laid.stakes("stakeout-epsg6420-ftus.csv", PNEZD);
    assert_eq!(stakes[2].2, "CTL001 control point: =BM, gate");
    assert!(laid.text("materials.csv").starts_with("item,quantity,unit,quantity_ft,note,"));
    for line in
        laid.text("stakeout-epsg6420-ftus.csv").lines().chain(laid.text("materials.csv").lines())
    {
        for cell in line.split(',') {
            let lead = cell.trim_start_matches('"').chars().next().unwrap_or(' ');
            assert!(!"=+@\t".contains(lead), "{line}");
        }
    }
}

#[test]
fn materials_agree_in_every_file_and_cost_only_what_has_a_price() {
    let folder = folder();
    let text = "[prices]\nend_post = 12.5\ncurrency = \"=EUR\"\n";
    let settings = put(folder.path(), "settings.toml", text).display().to_string();
    let laid = Laid::at(-3.1, 59.95, &["--settings", &settings]).done();
    let report = json(&laid.out().join("layout.json"));
    let lines = report["materials"].as_array().unwrap();
    let table = laid.text("materials.csv");
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), lines.len());
    let mut total = 0.0;
    for (row, line) in rows.iter().zip(lines) {
        assert_eq!(&row[0], line["item"].as_str().unwrap());
        assert_eq!(row[1].parse::<u64>().ok(), line["quantity"].as_u64());
        assert_eq!(row[5].parse::<f64>().ok(), line["cost"].as_f64());
        let priced = ["end posts", "total"].contains(&&row[0]);
        assert_eq!(!row[5].is_empty(), priced, "{row:?}");
        assert_eq!(&row[6], if priced { "'=EUR" } else { "" });
        if &row[0] == "end posts" {
            assert_eq!(line["quantity"], report["posts_end"]);
            total += report["posts_end"].as_f64().unwrap() * 12.5;
        }
    }
    assert!((rows.last().unwrap()[5].parse::<f64>().unwrap() - total).abs() < 0.005);
    // One wire as layout.json has it, times six, and half a metre at each end of each piece.
    let wire = lines.iter().find(|line| line["item"] == "wire").unwrap();
    let pieces = report["posts_end"].as_f64().unwrap() / 2.0;
    let expected = 6.0 * (report["wire_m"].as_f64().unwrap() + pieces);
    assert!((wire["quantity"].as_f64().unwrap() - expected.ceil()).abs() < 1.01, "{wire}");
}

#[test]
fn the_same_block_gives_the_same_bytes() {
    let one = Laid::at(-3.1, 59.95, &["--stake", "posts", "--jobs", "1"]).done();
    let other = Laid::at(-3.1, 59.95, &["--stake", "posts", "--jobs", "8"]).done();
    assert_eq!(files(&one.out()), files(&other.out()));
}

#[test]
fn a_grid_that_would_lead_astray_is_refused_in_four_parts() {
    let refused = |lon, lat, crs: &str, said: &[&str]| {
        let laid = Laid::at(lon, lat, &["--crs", crs]);
        assert!(!laid.out().exists(), "{crs}");
        laid.run.refused(3, &[&["`--crs`"], said].concat());
    };
    refused(-3.1, 59.95, "EPSG:4326", &["is no projected grid", "; "]);
    refused(-3.1, 59.95, "EPSG:999999", &["EPSG:999999", "write it as EPSG:n"]);
    refused(-72.6, 44.2, "EPSG:32633", &["lies where EPSG:32633 is not used", "(", "UTM"]);
    refused(19.0, -33.3, "EPSG:2048", &["west and south", "UTM"]);
    refused(-1.0, 6.0, "EPSG:2136", &["Gold Coast foot", "UTM"]);
    refused(75.5, 40.0, "EPSG:2327", &["only a guess", "(PROJ knows no way", "--allow-unusual"]);
    let allowed = Laid::at(75.5, 40.0, &["--crs", "EPSG:2327", "--allow-unusual"]).done();
    assert!(allowed.text("stakeout-readme.txt").contains("a guess"));
    // A grid that no wanted file needs is not looked at.
    Laid::at(19.0, -33.3, &["--crs", "EPSG:2048", "--write", "rows.geojson"]).done();
    Laid::at(19.0, -33.3, &["--crs", "EPSG:2048", "--order", "llh"]).done();
    Laid::at(-3.1, 59.95, &["--order", "nezd"]).run.refused(2, &["pnezd, penzd or llh"]);
    Laid::at(-3.1, 59.95, &["--stake", "rows"]).run.refused(2, &["row-ends, vines or posts"]);
    Laid::at(-3.1, 59.95, &["--points-per-file", "2"]).run.refused(2, &["points-per-file"]);
}

#[test]
fn files_without_a_fixed_name_are_asked_for_by_pattern_or_name() {
    let names = |list: &str| -> Vec<String> {
        let laid = Laid::at(-3.1, 59.95, &["--write", list, "--points-per-file", "30"]).done();
        files(&laid.out()).into_keys().map(|path| path.display().to_string()).collect()
    };
    assert_eq!(names("stakeout-*.csv"), ["run.json", "stakeout-epsg32630-m.csv"]);
    assert_eq!(names("stakeout-02.gpx"), ["run.json", "stakeout-02.gpx"]);
    assert_eq!(names("stakeout-readme.txt"), ["run.json", "stakeout-readme.txt"]);
    let other = Laid::at(-3.1, 59.95, &["--write", "stakeout-epsg32631-m.csv"]).done();
    assert!(other.run.stderr.contains("no block has a file called"), "{}", other.run.stderr);
}
