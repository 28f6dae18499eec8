//! The pictures of the demo and of blocks that are hard to draw, against those kept in
//! `docs/pictures`; the gallery that shows them.

use std::{
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use crate::{
    browser,
    support::{
        catchwire, demo, folder,
        pictures::{Drawn, differs, is_blessing, keep},
        plain_block::{block, counts},
        put, skipped,
    },
};

/// A picture of the gallery: its name, where the demo writes it, what is seen.
const OF_THE_DEMO: [[&str; 3]; 13] = [
    [
        "thinning-need",
        "3-thin/south-brae/thinning-need.png",
        "`thinning-need.png`: where shoots come off and how many, neutral at the target. What is \
         below the target is open, so that a black-and-white print tells both apart.",
    ],
    [
        "shoot-density",
        "3-thin/tarn-field/shoot-density.png",
        "`shoot-density.png`: what was counted, between the counts by kriging. The bracket beside \
         the classes is the target.",
    ],
    [
        "vigor",
        "3-thin/south-brae/vigor.png",
        "`vigor.png`: weak, moderate, strong and excess by last winter's prunings.",
    ],
    [
        "two-cultivars",
        "3-thin/long-rigg/thinning-need.png",
        "Two cultivars row by row: zones of one have unbroken borders, those of the other broken \
         ones.",
    ],
    [
        "overlay",
        "3-thin/south-brae/thinning-need-overlay.png",
        "`thinning-need-overlay.png`: bare pixels in a grid, to lie over the maps of other programs.",
    ],
    ["how-sure", "3-thin/south-brae/how-sure.png", "`how-sure.png`: how good the numbers are."],
    [
        "variogram",
        "3-thin/south-brae/variogram.png",
        "`variogram.png`: how alike vines are by their distance.",
    ],
    [
        "difference",
        "4-audit/south-brae/difference.png",
        "`difference.png`: what a recount after the work found, and the verdict on every zone.",
    ],
    [
        "vine-size",
        "5-prune/tarn-field/vine-size.png",
        "`vine-size.png`: winter, by the weight of the prunings.",
    ],
    [
        "season",
        "6-season/south-brae/season.png",
        "`season.png`: years side by side in the same classes, the zones' means below.",
    ],
    [
        "bearings",
        "0-bearings/new-ground/bearings.png",
        "`bearings.png`: what each bearing of the rows would give.",
    ],
    ["plan", "1-layout/new-ground/plan.png", "`plan.png`: a new planting, true to scale."],
    [
        "need-in-another-block",
        "3-thin/tarn-field/thinning-need.png",
        "Ground that is not planted stays free; rows and labels keep clear of it.",
    ],
];

/// Blocks that are hard to draw: their name, rows and vines, options, what is seen.
const HARD: [(&str, [usize; 2], &[&str], &str); 5] = [
    ("small", [4, 8], &[], "A block of 28 vines, 1 : 60."),
    ("long-and-thin", [3, 2000], &[], "Three rows, 2 km long, 1 : 10 000."),
    ("large", [300, 500], &[], "Some 150 000 vines, 1 : 5000: strips that meet."),
    (
        "little-known",
        [24, 60],
        &["--variogram", "spherical nugget=1 psill=30 range=9"],
        "Where the counts say little, paper shows through the vines.",
    ),
    (
        "in-black",
        [24, 60],
        &["--ink", "black", "--up", "rows"],
        "`--ink black --up rows`: patterns for a printer without colours, rows upright.",
    ),
];

/// The map of a plain block.
fn drawn(out: &Path, [rows, vines]: [usize; 2], options: &[&str]) -> Vec<u8> {
    #[expect(clippy::cast_precision_loss, reason = "a block has few rows")]
    let sides = [2.5 * rows as f64, vines as f64];
    let block = put(out, "block.geojson", &block("Even Ground", sides, false));
    let counts = put(out, "counts.csv", &counts(rows, vines));
    let made = out.join("out");
    let files = ["thin".into(), block, "--counts".into(), counts, "--out".into(), made.clone()];
    let asked = ["--write", "shoot-density.png", "--quiet"].map(PathBuf::from);
    let options = options.iter().map(PathBuf::from);
    catchwire(files.into_iter().chain(asked).chain(options)).done();
    fs::read(made.join("even-ground/shoot-density.png")).expect("a map")
}

#[test]
fn the_pictures_of_the_demo_are_the_kept_ones() {
    let faults: Vec<String> = (OF_THE_DEMO.iter())
        .filter_map(|[name, file, _]| {
            let made = fs::read(demo().join(file)).expect("a picture of the demo");
            differs(name, &made, Drawn::Here)
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn blocks_that_are_hard_to_draw_look_as_they_did() {
    let faults: Vec<String> = (HARD.iter())
        .filter_map(|(name, size, options, _)| {
            differs(name, &drawn(folder().path(), *size, options), Drawn::Here)
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Pages of PDF that no picture shows: their name, file, page, what is seen.
const PAGES: [(&str, &str, &str, &str); 4] = [
    (
        "decision",
        "3-thin/south-brae/map.pdf",
        "1",
        "`map.pdf`: the decision comes first, then a page for every map, true to scale.",
    ),
    (
        "count-paper",
        "2-sample/tarn-field/count-sheet.pdf",
        "1",
        "`count-sheet.pdf`: the walk, and a box for every place.",
    ),
    (
        "crew-sheet",
        "3-thin/south-brae/crew-sheet.pdf",
        "1",
        "`crew-sheet.pdf`: one page a crew: first what to leave, then what goes, panel by panel.",
    ),
    (
        "crew-sheet-wordless",
        "3-thin/south-brae/crew-sheet.pdf",
        "4",
        "Its last page needs no language.",
    ),
];

#[test]
fn pages_of_pdf_look_as_they_did() {
    let out = folder();
    let mut faults = Vec::new();
    for (name, file, page, _) in PAGES {
        let to = out.path().join(name);
        let run = Command::new("pdftoppm")
            .args(["-png", "-r", "85", "-singlefile", "-f", page, "-l", page])
            .args([demo().join(file), to.clone()])
            .output();
        let Ok(run) = run else {
            return skipped("pdftoppm is not here: no page of PDF was looked at");
        };
        assert!(run.status.success(), "{file}");
        let made = fs::read(to.with_extension("png")).expect("a page");
        faults.extend(differs(name, &made, Drawn::Elsewhere));
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// Views of `map.html` that `map-pictures.mjs` takes: their names there, what is seen.
const VIEWS: [(&str, &str); 8] = [
    ("desk-light", "`map.html`: the decision, then the map, then the details."),
    ("desk-dark", "The same in the dark."),
    ("phone-top", "On a phone the decision comes first."),
    ("phone-whole", "All of it on a phone."),
    ("zone", "A zone chosen in the table is marked on the map."),
    ("vine", "R012V034 looked up."),
    ("print", "`map.html` on paper."),
    ("forced-colours", "With the colours of somebody who needs their own."),
];

#[test]
fn the_page_looks_as_it_did() {
    let chromium = match browser::judge() {
        Ok(chromium) => chromium,
        Err(why) => return skipped(why),
    };
    let _alone = browser::alone();
    let (out, fonts) = (folder(), folder());
    // The lettering of the printed maps: the machine's own would move every line.
    keep(&fonts.path().join("regular.ttf"), dejavu::sans_condensed::regular());
    keep(&fonts.path().join("bold.ttf"), dejavu::sans_condensed::bold());
    let run = Command::new("node")
        .arg(browser::scripts().join("map-pictures.mjs"))
        .arg(chromium)
        .arg(demo().join("3-thin/south-brae/map.html"))
        .args([out.path(), fonts.path()])
        .output()
        .expect("node starts");
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let faults: Vec<String> = (VIEWS.iter())
        .filter_map(|(view, _)| {
            let made = fs::read(out.path().join(format!("{view}.png"))).expect("a view");
            differs(&format!("page-{view}"), &made, Drawn::Elsewhere)
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The gallery as text.
fn gallery() -> String {
    let mut page =
        "# Pictures\n\nMade by the build from the invented estate and from plain blocks \
                    (`make bless`); a test holds them to what the program draws now.\n"
            .to_owned();
    let mut show = |name: &str, words: &str| {
        let title = words.split(['.', ':']).next().unwrap_or(name).replace('`', "");
        let _ = write!(page, "\n{words}\n\n![{title}](pictures/{name}.png)\n");
    };
    for [name, _, words] in OF_THE_DEMO {
        show(name, words);
    }
    for (name, _, _, words) in PAGES {
        show(name, words);
    }
    for (view, words) in VIEWS {
        show(&format!("page-{view}"), words);
    }
    for (name, _, _, words) in HARD {
        show(name, words);
    }
    page
}

#[test]
fn the_gallery_shows_every_picture_that_is_kept() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/gallery.md");
    if is_blessing() {
        keep(&path, gallery().as_bytes());
    }
    let kept = fs::read_to_string(&path).unwrap_or_default();
    assert_eq!(kept, gallery(), "`make bless` writes docs/gallery.md");
    for entry in fs::read_dir(path.with_file_name("pictures")).expect("pictures") {
        let name = entry.expect("an entry").file_name();
        let name = name.to_str().expect("a plain name");
        assert!(kept.contains(&format!("pictures/{name})")), "{name} is shown nowhere");
    }
}
