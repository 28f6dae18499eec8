//! What there is to judge: the demo, a bundle, and what is in their archives.

use std::{
    fs,
    io::{Cursor, Read as _},
    path::{Path, PathBuf},
    sync::OnceLock,
};

use crate::support::{catchwire, demo, files, folder, json, put};

/// A file, and its path below the folder of the demo, or of what was unpacked.
#[derive(Clone)]
pub(super) struct File {
    pub(super) name: String,
    pub(super) path: PathBuf,
}

impl File {
    /// The end of its name, which says what it is.
    pub(super) fn end(&self) -> &str {
        self.name.rsplit('.').next().unwrap_or_default()
    }

    pub(super) fn bytes(&self) -> Vec<u8> {
        fs::read(&self.path).expect("a readable file")
    }
}

/// All files: those of the demo, of a bundle and of every archive among them.
pub(super) fn everything() -> Vec<File> {
    static UNPACKED: OnceLock<tempfile::TempDir> = OnceLock::new();
    let unpacked = UNPACKED.get_or_init(|| {
        let unpacked = folder();
        bundle(unpacked.path());
        let mut open = [below(demo()), below(unpacked.path())].concat();
        while let Some(file) = open.pop() {
            if ["kmz", "zip"].contains(&file.end()) {
                open.extend(unpack(&file, unpacked.path()));
            }
        }
        unpacked
    });
    [below(demo()), below(unpacked.path())].concat()
}

fn below(root: &Path) -> Vec<File> {
    let paths = files(root).into_keys();
    let file = |path: PathBuf| File {
        name: path.to_str().expect("a plain path").to_owned(),
        path: root.join(path),
    };
    paths.map(file).collect()
}

/// Writes the bundle of one block of the estate.
fn bundle(into: &Path) {
    let estate = demo().join("estate");
    let mut blocks = json(&estate.join("blocks.geojson"));
    let features = blocks["features"].as_array_mut().expect("features");
    features.retain(|feature| feature["properties"]["name"] == "South Brae");
    let scratch = folder();
    let block = put(scratch.path(), "block.geojson", &blocks.to_string());
    let counts = estate.join("counts.csv");
    let mut arguments = vec!["bundle".as_ref(), block.as_os_str(), "--quiet".as_ref()];
    arguments.extend(["--counts".as_ref(), counts.as_os_str()]);
    arguments.extend(["--out".as_ref(), into.as_os_str()]);
    catchwire(arguments).done();
}

/// Lays what is in an archive into a folder that is called like it, and gives it.
fn unpack(archive: &File, root: &Path) -> Vec<File> {
    let mut zip = zip::ZipArchive::new(Cursor::new(archive.bytes())).expect("an archive");
    let entries = zip.len();
    let file = |at: usize| {
        let mut entry = zip.by_index(at).expect("an entry");
        let inner = entry.name().expect("a name").into_owned();
        assert!(!inner.contains("..") && !inner.starts_with('/'), "{}: {inner}", archive.name);
        let mut bytes = Vec::new();
        entry.read_to_end(&mut bytes).expect("a whole entry");
        let name = format!("{}.unpacked/{inner}", archive.name);
        let path = root.join(&name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a new folder");
        #[expect(clippy::disallowed_methods, reason = "a test's own input")]
        fs::write(&path, bytes).expect("a written file");
        File { name, path }
    };
    (0..entries).map(file).collect()
}
