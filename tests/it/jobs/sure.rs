//! How sure we are: the page, and every doubt that fires and that does not.

use std::{
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;

use crate::support::{Run, catchwire, folder, json, put, skipped};

/// A block of 40 × 100 m with rows 2.5 m apart, vines 2 m apart, at 60° N.
const BLOCK: &str = r#"{"type":"Feature","properties":{"name":"Square","standing":true,
"row_bearing":0,"row_spacing":2.5,"vine_spacing":2,"cultivar":"Solaris","type":"hybrid"},
"geometry":{"type":"Polygon","coordinates":[[[-3.0,60.0],[-2.99928,60.0],[-2.99928,60.0009],
[-3.0,60.0009],[-3.0,60.0]]]}}"#;

/// A short range: 5 m, so that resemblance ends at 15 m.
const SHORT: &[&str] = &["--variogram", "exponential nugget=4 psill=16 range=5"];

/// The same to 45 m.
const LONG: &[&str] = &["--variogram", "exponential nugget=4 psill=16 range=15"];

/// Shoots of a vine: two waves over the block and a little of its own.
fn shoots(row: u32, vine: u32) -> f64 {
    let (x, y) = (2.0 * f64::from(vine), 2.5 * f64::from(row));
    34.0 + 8.0 * (x / 14.0).sin() + 8.0 * (y / 9.0).cos() + f64::from((row * 7 + vine * 13) % 5)
}

/// Vines over the whole block; of every fifth the neighbour too.
fn spread() -> Vec<(u32, u32)> {
    let place = |k: u32| (1 + k % 15, 1 + (k * 19 + 3 * (k % 15)) % 48);
    let far = (0..45).map(place);
    far.enumerate()
        .flat_map(|(at, (row, vine))| {
            std::iter::once((row, vine)).chain((at % 5 == 0).then_some((row, vine + 1)))
        })
        .collect()
}

struct Told {
    run: Run,
    sure: Value,
    out: PathBuf,
    _folder: tempfile::TempDir,
}

impl Told {
    fn has(&self, words: &str) -> bool {
        let told = self.run.stderr.contains(words);
        assert_eq!(
            told,
            self.sure["warnings"].to_string().contains(words),
            "{words}: {}",
            self.sure
        );
        told
    }
}

/// Thins the square; `factor` multiplies what every second count, by B, has.
fn thin(places: &[(u32, u32)], factor: f64, options: &[&str]) -> Told {
    let mut text = String::from("row,vine,shoots,counted_by\n");
    for (at, (row, vine)) in places.iter().enumerate() {
        let (by, times) = if at % 2 == 0 { ("A", 1.0) } else { ("B", factor) };
        let _ = writeln!(text, "{row},{vine},{:.0},{by}", shoots(*row, *vine) * times);
    }
    thin_sheet(&text, options)
}

/// Thins the square with this sheet of counts.
fn thin_sheet(text: &str, options: &[&str]) -> Told {
    let folder = folder();
    let block = put(folder.path(), "block.geojson", BLOCK);
    let counts = put(folder.path(), "counts.csv", text);
    let out = folder.path().join("out");
    let paths = [&block, &counts, &out].map(|path| path.display().to_string());
    let call = ["thin", &paths[0], "--counts", &paths[1], "--out", &paths[2]];
    let run = catchwire(call.iter().chain(options)).done();
    let out = out.join("square");
    let sure = json(&out.join("thinning.json"))["sure"].clone();
    Told { run, sure, out, _folder: folder }
}

const DOUBTS: [&str; 5] =
    ["by lot they would", "no two counts", "far from every count", "counts 1.", "counts only"];

#[test]
fn counts_over_the_whole_block_by_people_who_agree_raise_no_doubt() {
    let told = thin(&spread(), 1.0, &[]);
    for words in DOUBTS {
        assert!(!told.has(words), "{words}: {}", told.run.stderr);
    }
    assert_eq!(told.sure["counts"], told.sure["coverage"]["of"]);
    assert!(told.sure["variogram"]["reach_m"].as_f64().is_some_and(|m| m > 2.0), "{}", told.sure);
    assert_eq!(told.sure["observers"][0]["counted_by"], "A");
    for (name, start) in [
        ("how-sure.pdf", &b"%PDF"[..]),
        ("how-sure.png", b"\x89PNG"),
        ("variogram.png", b"\x89PNG"),
    ] {
        assert!(fs::read(told.out.join(name)).expect(name).starts_with(start), "{name}");
    }
    let said = told.run.stdout.split("how sure:").nth(1).expect("what is said at the end");
    assert!(
        said.contains("Each count was foretold") && said.contains("resemble each other"),
        "{said}"
    );
}

#[test]
fn counts_without_a_neighbour_are_told() {
    let places: Vec<(u32, u32)> =
        (0..6).flat_map(|row| (0..8).map(move |k| (1 + 3 * row, 2 + row % 3 + 6 * k))).collect();
    assert!(thin(&places, 1.0, &[]).has("no two counts are neighbours: the nearest are 4 vines"));
    let mut near = places;
    near.push((1, 3));
    assert!(!thin(&near, 1.0, &[]).has("no two counts are neighbours"));
}

#[test]
fn corners_far_from_every_count_are_named() {
    let half: Vec<(u32, u32)> = spread().into_iter().filter(|(row, _)| *row < 9).collect();
    let told = thin(&half, 1.0, SHORT);
    assert!(told.has("far from every count"), "{}", told.run.stderr);
    let text = told.sure["warnings"].to_string();
    assert!(text.contains("rows 10-17 towards vine 1 (200 vines)"), "{text}");
    assert!(text.contains("towards the far end ("), "{text}");
    assert!(!thin(&spread(), 1.0, LONG).has("far from every count"));
}

#[test]
fn two_people_who_count_differently_are_told_with_their_ratio() {
    let told = thin(&spread(), 1.3, &[]);
    assert!(told.has("counts 1.") && told.has("let both count the same five vines"));
    let found = &told.sure["compared"][0];
    assert_eq!((&found["counts_more"], &found["counts_less"]), (&"B".into(), &"A".into()));
    let ratio = found["ratio"].as_f64().expect("a ratio");
    assert!((1.15..1.45).contains(&ratio), "{found}");
}

#[test]
fn few_counts_are_told_what_they_cannot_say() {
    for (number, words) in
        [(3, "2 more counts would allow a map"), (12, "18 more counts would allow")]
    {
        let told = thin(&spread()[..number], 1.0, &[]);
        assert!(told.run.stdout.to_lowercase().contains(words), "{}", told.run.stdout);
        assert!(told.out.join("how-sure.pdf").exists() && !told.out.join("variogram.png").exists());
        assert!(told.sure["variogram"].is_null());
    }
}

/// Vines alike but for every fourth, which has half as many shoots again or half as few: errors of
/// two sizes, of which intervals as wide as the usual spread hold none of the large.
fn two_sizes() -> (String, u64) {
    let (mut text, mut far) = (String::from("row,vine,shoots\n"), 0);
    for (at, (row, vine)) in spread().into_iter().enumerate() {
        let shoots = match at % 8 {
            3 => 50,
            7 => 18,
            near => 33 + near % 3,
        };
        far += u64::from(at % 4 == 3);
        let _ = writeln!(text, "{row},{vine},{shoots}");
    }
    (text, far)
}

/// The fewest of so many that fall below by chance once in twenty or more, each in with 0.9.
fn least_by_chance(of: u64) -> u64 {
    let mut exactly = 0.1_f64.powi(i32::try_from(of).expect("few"));
    let (mut within, mut below) = (0, exactly);
    while below < 0.05 {
        let left = u32::try_from(of - within).expect("few");
        within += 1;
        exactly *= 9.0 * f64::from(left) / f64::from(u32::try_from(within).expect("few"));
        below += exactly;
    }
    within
}

#[test]
fn intervals_that_hold_too_few_counts_are_told_from_the_counts_to_the_page() {
    let (text, far) = two_sizes();
    let told = thin_sheet(&text, &[]);
    assert!(told.has("fell into the 90 % interval foretold"), "{}", told.sure);
    assert!(told.has("take every range for wider than it is printed"));
    let number = |key: &str| told.sure["coverage"][key].as_u64().expect("a number");
    let [within, of, least] = ["within", "of", "least_by_chance"].map(number);
    let out = of - within;
    assert!(out <= far && 3 * out >= 2 * far, "{out} of the {far} far off, and no other");
    assert_eq!(least, least_by_chance(of));
    assert!(within < least, "{within} of {of}");
    let record = json(&told.out.join("run.json"))["findings"].to_string();
    let finding = format!("of {of} counts only {within} fell into the 90 % interval foretold");
    assert!(record.contains(&finding) && told.run.stderr.contains(&finding), "{record}");
    let sentence = format!("too few, as chance alone seldom leaves fewer than {least}");
    assert!(told.run.stdout.contains(&sentence), "{}", told.run.stdout);
    if let Some(page) = words_of(&told.out.join("how-sure.pdf")) {
        // Behind a bullet the first letter is a capital.
        assert!(page.contains(&sentence) && page.contains(&finding[1..]), "{page}");
    }
}

/// The words of a page with single blanks between them, by pdftotext where it is at hand.
fn words_of(page: &Path) -> Option<String> {
    let output = Command::new("pdftotext")
        .args(["-layout".as_ref(), page.as_os_str(), "-".as_ref()])
        .output();
    let Ok(output) = output else {
        skipped("pdftotext (poppler-utils) is not there: the page's words are not read");
        return None;
    };
    let text = String::from_utf8(output.stdout).expect("words");
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}
