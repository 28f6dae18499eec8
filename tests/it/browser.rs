//! `map.html` in a browser: what it asks for, who can use it, what its texts can do. Without node,
//! Chromium and the packages of `tests/judges` the test says so and passes.

use std::{
    path::{Path, PathBuf},
    process::Command,
    sync::{Mutex, MutexGuard, PoisonError},
};

use crate::support::{
    catchwire, demo, folder,
    plain_block::{block, counts},
    put, skipped,
};

pub(crate) fn scripts() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/judges")
}

/// Chromium, under one of its names.
fn chromium() -> Option<PathBuf> {
    let named = std::env::var_os("CHROMIUM").map(PathBuf::from);
    let path = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    let names = ["chromium", "chromium-browser", "google-chrome"];
    let usual = names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name)));
    named.into_iter().chain(usual).find(|program| program.is_file())
}

/// What is missing for a browser to judge.
pub(crate) fn judge() -> Result<PathBuf, &'static str> {
    let node = Command::new("node").arg("--version").output();
    if !node.is_ok_and(|run| run.status.success()) {
        return Err("no node: map.html was not looked at in a browser");
    }
    if !scripts().join("node_modules/playwright-core").is_dir() {
        return Err("run npm ci in tests/judges: map.html was not looked at in a browser");
    }
    chromium().ok_or("no Chromium: map.html was not looked at in a browser")
}

/// The page of a block of so many rows and vines; the folder goes away with what comes first.
fn page(name: &str, rows: usize, vines: usize) -> (tempfile::TempDir, PathBuf) {
    let folder = folder();
    #[expect(clippy::cast_precision_loss, reason = "a block has few rows")]
    let sides = [2.5 * rows as f64, vines as f64];
    let block = put(folder.path(), "block.geojson", &block(name, sides, name == EVIL));
    let counts = put(folder.path(), "counts.csv", &counts(rows, vines));
    let out = folder.path().join("out");
    let asked = ["--write", "map.html", "--quiet"].map(PathBuf::from);
    let files = ["thin".into(), block, "--out".into(), out.clone(), "--counts".into(), counts];
    catchwire(files.into_iter().chain(asked)).done();
    let made = std::fs::read_dir(&out).expect("the output").flatten().next().expect("a folder");
    let page = made.path().join("map.html");
    (folder, page)
}

const EVIL: &str = "</script><img src=x onerror=alert(1)>";

/// Keeps browsers from starting side by side: on two cores they would wait for each other.
pub(crate) fn alone() -> MutexGuard<'static, ()> {
    static BROWSER: Mutex<()> = Mutex::new(());
    BROWSER.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The exit code of a script whose browser is not here.
const NOT_HERE: i32 = 77;

/// The bar for a block of 50 000 vines.
const MOST_BYTES: usize = 3_000_000;

#[test]
fn a_page_of_fifty_thousand_vines_is_small_and_any_page_is_harmless_and_open_to_all() {
    let (_large_folder, large) = page("Large", 250, 200);
    let bytes = std::fs::read(&large).expect("the page").len();
    assert!(bytes > 500_000 && bytes < MOST_BYTES, "{bytes} bytes at 50 000 vines");
    let (_evil_folder, evil) = page(EVIL, 20, 40);
    let chromium = match judge() {
        Ok(chromium) => chromium,
        Err(why) => return skipped(why),
    };
    let _alone = alone();
    let sound = demo().join("3-thin/south-brae/map.html");
    let run = Command::new("node")
        .arg(scripts().join("map.mjs"))
        .arg(chromium)
        .args([sound, evil, large])
        .output()
        .expect("node starts");
    let told = String::from_utf8_lossy(&run.stdout).into_owned();
    let why = String::from_utf8_lossy(&run.stderr);
    assert!(run.status.success() && told.contains("ok: "), "{bytes} bytes\n{told}\n{why}");
}

#[test]
fn another_engine_shows_the_page_too() {
    in_firefox("map-second-engine.mjs", &demo().join("3-thin/long-rigg/map.html"));
}

/// What Firefox makes of a page, by a script; where it is not here, that is told.
#[track_caller]
pub(crate) fn in_firefox(script: &str, page: &Path) {
    let _alone = alone();
    let run = Command::new("node")
        .arg(scripts().join(script))
        .args(["".as_ref(), page.as_os_str()])
        .output();
    let Ok(run) = run else {
        return skipped("no node: no page was looked at in a second browser");
    };
    let told = String::from_utf8_lossy(&run.stdout).into_owned();
    match run.status.code() {
        Some(0) => assert!(told.contains("ok: "), "{told}"),
        Some(NOT_HERE) => skipped(told.trim()),
        _ => panic!("{told}\n{}", String::from_utf8_lossy(&run.stderr)),
    }
}

#[test]
fn no_text_of_a_block_leaves_its_place_in_the_page() {
    let (_folder, page) = page(EVIL, 20, 40);
    let page = std::fs::read_to_string(page).expect("the page");
    assert!(!page.contains("<img"), "a name became markup");
    let scripts = page.matches("<script").count();
    assert_eq!((scripts, page.matches("</script>").count()), (3, 3), "data, script, numbers");
    assert!(page.contains("&lt;/script&gt;&lt;img src=x onerror=alert(1)&gt;"));
}

#[test]
fn the_page_never_says_that_something_is_safe() {
    for (folder, _) in crate::support::records(&demo().join("3-thin")) {
        let page = std::fs::read_to_string(folder.join("map.html")).expect("the page");
        assert!(!page.to_lowercase().contains("safe"), "{}", folder.display());
    }
}
