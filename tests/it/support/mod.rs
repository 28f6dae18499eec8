//! Helpers that read like a shell session: a folder, a run of the program, reading back.

pub(crate) mod pictures;
pub(crate) mod plain_block;
pub(crate) mod sheet;
pub(crate) mod table;
pub(crate) mod two_halves;

use std::{
    collections::BTreeMap,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::Command,
    sync::OnceLock,
};

use serde_json::Value;

/// What a run of the program left.
#[derive(Debug)]
pub(crate) struct Run {
    /// The exit code.
    pub(crate) code: i32,
    /// What it printed for scripts.
    pub(crate) stdout: String,
    /// What it told people.
    pub(crate) stderr: String,
}

impl Run {
    /// The run, which must have ended well.
    #[track_caller]
    pub(crate) fn done(self) -> Self {
        assert_eq!(self.code, 0, "stdout:\n{}\nstderr:\n{}", self.stdout, self.stderr);
        self
    }

    /// The run, which must have ended with this exit code and said all of this.
    #[track_caller]
    pub(crate) fn refused(self, code: i32, said: &[&str]) -> Self {
        assert_eq!(self.code, code, "stdout:\n{}\nstderr:\n{}", self.stdout, self.stderr);
        for words in said {
            assert!(self.stderr.contains(words), "`{words}` is not in:\n{}", self.stderr);
        }
        assert!(!self.stderr.contains("panicked"), "{}", self.stderr);
        self
    }
}

/// Says that a judge is missing, where nothing captures it: a passing test shows nothing else.
pub(crate) fn skipped(why: &str) {
    let _ = writeln!(std::io::stderr(), "skipped: {why}");
}

/// Runs the program.
pub(crate) fn catchwire<I, S>(args: I) -> Run
where
    I: IntoIterator<Item = S>,
    S: AsRef<std::ffi::OsStr>,
{
    catchwire_with(args, &[])
}

/// Runs the program in an environment.
pub(crate) fn catchwire_with<I, S>(args: I, environment: &[(&str, &str)]) -> Run
where
    I: IntoIterator<Item = S>,
    S: AsRef<std::ffi::OsStr>,
{
    let output = Command::new(env!("CARGO_BIN_EXE_catchwire"))
        .args(args)
        .envs(environment.iter().copied())
        .output()
        .expect("the program starts");
    Run {
        code: output.status.code().expect("no signal"),
        stdout: String::from_utf8(output.stdout).expect("stdout is UTF-8"),
        stderr: String::from_utf8(output.stderr).expect("stderr is UTF-8"),
    }
}

/// A folder of its own that goes away.
pub(crate) fn folder() -> tempfile::TempDir {
    tempfile::tempdir().expect("a temporary folder")
}

/// The demo's output, made once for all tests that only read it.
pub(crate) fn demo() -> &'static Path {
    static DEMO: OnceLock<tempfile::TempDir> = OnceLock::new();
    DEMO.get_or_init(|| {
        let folder = folder();
        catchwire(["demo".as_ref(), "--out".as_ref(), folder.path().as_os_str()]).done();
        folder
    })
    .path()
}

/// Every file under a folder, by its path below it.
pub(crate) fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(&next).expect("a readable folder") {
            let path = entry.expect("a readable entry").path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).expect("below the folder").to_owned();
                found.insert(name, fs::read(&path).expect("a readable file"));
            }
        }
    }
    found
}

/// Folders under `folder` that hold a run record, each with the record.
pub(crate) fn records(folder: &Path) -> Vec<(PathBuf, Value)> {
    let records = files(folder).into_iter().filter(|(path, _)| path.ends_with("run.json"));
    records
        .map(|(path, bytes)| {
            let parent = folder.join(path).parent().expect("a folder").to_owned();
            (parent, serde_json::from_slice(&bytes).expect("run.json is JSON"))
        })
        .collect()
}

/// A JSON file.
#[track_caller]
pub(crate) fn json(path: &Path) -> Value {
    let bytes = fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    serde_json::from_slice(&bytes).expect("a JSON file")
}

/// The properties of a GeoJSON file's features.
#[track_caller]
pub(crate) fn properties(path: &Path) -> Vec<Value> {
    let document = json(path);
    let features = document["features"].as_array().expect("features").clone();
    features.into_iter().map(|feature| feature["properties"].clone()).collect()
}

/// Writes a file into a folder and gives its path.
pub(crate) fn put(folder: &Path, name: &str, text: &str) -> PathBuf {
    let path = folder.join(name);
    #[expect(clippy::disallowed_methods, reason = "a test's own input")]
    fs::write(&path, text).expect("a written file");
    path
}
