//! A set of files that appears together or not at all.
//!
//! Every file is written under a temporary name beside its place and brought to the disk; only when
//! all are there do they take their names, `run.json` last. What a crash leaves behind is finished
//! or cleared away by the next run (see `swap`).

use std::{
    collections::BTreeSet,
    fs, io,
    path::{Component, Path, PathBuf},
};

use crate::{
    error::Error,
    finding::{Finding, Place},
    write::{
        run_record,
        swap::{self, Lock, Move},
    },
};

/// Files that are to appear in a folder.
#[derive(Debug, Clone)]
pub struct Delivery {
    folder: PathBuf,
    files: Vec<(String, Vec<u8>)>,
}

/// One file of a delivery, before it is made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// Its name below the folder, such as `north/vines.geojson`.
    pub name: String,
    /// Its size, bytes.
    pub bytes: usize,
    /// True when a file of that name is there and would be replaced.
    pub replaces: bool,
}

/// What a delivery may touch.
#[derive(Debug, Clone, Copy)]
pub struct Protect<'a> {
    /// Files that are there may be replaced (`--force`).
    pub force: bool,
    /// Files that were read: never replaced, whatever `force` says.
    pub inputs: &'a [PathBuf],
}

impl Delivery {
    /// An empty delivery into a folder, which need not be there yet.
    pub fn into_folder(folder: impl Into<PathBuf>) -> Self {
        Self { folder: folder.into(), files: Vec::new() }
    }

    /// Adds a file; the name may have folders in front (`north/vines.geojson`).
    ///
    /// # Errors
    /// A fault of the program: a name that leaves the folder or comes twice.
    pub fn add(&mut self, name: impl Into<String>, bytes: Vec<u8>) -> Result<(), Error> {
        let name = name.into();
        let plain = |part| matches!(part, Component::Normal(_));
        if name.is_empty() || !Path::new(&name).components().all(plain) {
            return Err(Error::Unexpected(format!("`{name}` leads out of the folder")));
        }
        if self.files.iter().any(|(known, _)| *known == name) {
            return Err(Error::Unexpected(format!("two files are called `{name}`")));
        }
        self.files.push((name, bytes));
        Ok(())
    }

    /// The files with their bytes, in the order they were added.
    pub fn files(&self) -> impl Iterator<Item = (&str, &[u8])> {
        self.files.iter().map(|(name, bytes)| (name.as_str(), bytes.as_slice()))
    }

    /// What would be made or replaced, and how large it is; writes nothing (`--dry-run`).
    pub fn planned(&self) -> Vec<Planned> {
        let planned = |(name, bytes): &(String, Vec<u8>)| Planned {
            name: name.clone(),
            bytes: bytes.len(),
            replaces: self.path(name).symlink_metadata().is_ok(),
        };
        self.files.iter().map(planned).collect()
    }

    /// Files of an earlier run that this one neither replaces nor takes away: those that the run
    /// records in its folders list, by their names below the folder.
    pub fn left_over(&self) -> Vec<String> {
        let records = self.files.iter().filter(|(name, _)| name.ends_with("run.json"));
        let own = |name: &String| self.files.iter().any(|(known, _)| known == name);
        let mut left: Vec<String> = records
            .flat_map(|(record, _)| {
                let below = record.strip_suffix("run.json").unwrap_or_default().to_owned();
                let listed = fs::read(self.path(record)).map(|bytes| run_record::files_of(&bytes));
                listed.unwrap_or_default().into_iter().map(move |file| format!("{below}{file}"))
            })
            .filter(|name| !own(name) && self.path(name).is_file())
            .collect();
        left.sort();
        left
    }

    /// Refuses what [`Delivery::place`] would refuse before it writes: for a dry run.
    ///
    /// # Errors
    /// A usage error where a file is one of the inputs, a file error where one is there and
    /// `force` is not given, or a folder is in the way.
    pub fn check(&self, protect: Protect<'_>) -> Result<(), Error> {
        let paths = || self.files.iter().map(|(name, _)| self.path(name));
        if let Some(input) = paths().find(|path| is_input(path, protect.inputs)) {
            return Err(Error::Usage(would_overwrite_input(&input)));
        }
        if let Some(folder) = paths().find(|path| path.is_dir()) {
            let what = "a folder stands where a file is to be written";
            return Err(file_error(&folder, what, "move it away, or choose another --out", None));
        }
        self.folders_are_free()?;
        let there: Vec<PathBuf> = paths().filter(|path| path.symlink_metadata().is_ok()).collect();
        match there.first() {
            Some(first) if !protect.force => Err(would_replace(first, there.len() - 1)),
            _ => Ok(()),
        }
    }

    /// Writes the files: all of them or none.
    ///
    /// # Errors
    /// As [`Delivery::check`]; or a file error where something cannot be written, and then what was
    /// there before is there again and nothing new is left.
    pub fn place(&self, protect: Protect<'_>) -> Result<(), Error> {
        self.check(Protect { force: true, ..protect })?;
        let mut made = Vec::new();
        let placed = self.make_folders(&mut made).and_then(|()| self.place_in_folders(protect));
        if placed.is_err() {
            made.iter().rev().for_each(|folder| {
                // Only what this run made and left empty goes; anything else stays.
                let _ = fs::remove_dir(folder);
            });
        }
        placed
    }

    fn place_in_folders(&self, protect: Protect<'_>) -> Result<(), Error> {
        let _lock = Lock::on(&self.folder)?;
        let folders: Vec<PathBuf> = self.folders().into_iter().collect();
        // What an earlier run left half done may be there only afterwards.
        swap::mend_after_crash(&self.folder, &folders)?;
        self.check(protect)?;
        let mut moves: Vec<Move> =
            self.files.iter().map(|(name, _)| Move::to(self.path(name))).collect();
        let written = moves
            .iter()
            .zip(&self.files)
            .try_for_each(|(step, (_, bytes))| swap::write_whole(&step.new, bytes));
        // The run's record comes last: where it stands, everything it lists stands.
        moves.sort_by_key(|step| step.target.file_name().is_some_and(|name| name == "run.json"));
        let placed = written.and_then(|()| {
            swap::swap(&self.folder, &folders, &moves, &mut |a, b| fs::rename(a, b))
        });
        if placed.is_err() {
            swap::clear_new(&moves);
        }
        placed
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.join(name)
    }

    /// Every folder that gets a file, the outermost first.
    fn folders(&self) -> BTreeSet<PathBuf> {
        let mut folders = BTreeSet::from([self.folder.clone()]);
        for (name, _) in &self.files {
            let inner = Path::new(name).ancestors().skip(1);
            folders.extend(inner.map(|folder| self.folder.join(folder)));
        }
        folders.into_iter().map(|folder| folder.components().collect()).collect()
    }

    fn folders_are_free(&self) -> Result<(), Error> {
        let taken = self.folders().into_iter().find(|path| path.exists() && !path.is_dir());
        taken.map_or(Ok(()), |path| {
            let what = "a file stands where a folder is to be made";
            Err(file_error(&path, what, "move it away, or choose another --out", None))
        })
    }

    /// Makes the folders that are not there and notes those it made, the outermost first.
    fn make_folders(&self, made: &mut Vec<PathBuf>) -> Result<(), Error> {
        for folder in self.folders() {
            let missing = |path: &&Path| !path.as_os_str().is_empty() && !path.exists();
            let missing: Vec<&Path> = folder.ancestors().take_while(missing).collect();
            made.extend(missing.iter().rev().map(|path| path.to_path_buf()));
            fs::create_dir_all(&folder).map_err(|error| {
                let mend = "check the path and your rights there, or choose another --out";
                file_error(&folder, "the folder cannot be made", mend, Some(error))
            })?;
        }
        Ok(())
    }
}

/// A file error in four parts.
pub(crate) fn file_error(path: &Path, what: &str, mend: &str, source: Option<io::Error>) -> Error {
    let what = match &source {
        Some(error) => format!("{what} ({error})"),
        None => what.to_owned(),
    };
    Error::File { path: path.to_path_buf(), what, mend: mend.to_owned(), source }
}

fn would_replace(first: &Path, others: usize) -> Error {
    let what = match others {
        0 => "the file is there already".to_owned(),
        _ => format!("the file and {others} more are there already"),
    };
    file_error(first, &what, "pass --force to replace them, or choose another --out", None)
}

fn would_overwrite_input(path: &Path) -> Finding {
    Finding::fault(Place::file(path.display().to_string()), "would be written over an input")
        .because("inputs are never replaced, not even with --force")
        .mend("choose another --out")
}

/// True when the path leads to one of the inputs, through links too.
fn is_input(path: &Path, inputs: &[PathBuf]) -> bool {
    inputs.iter().any(|input| same_file(path, input))
}

#[cfg(unix)]
fn same_file(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let identity = |path: &Path| fs::metadata(path).ok().map(|file| (file.dev(), file.ino()));
    identity(one).is_some_and(|known| identity(other) == Some(known))
}

#[cfg(not(unix))]
fn same_file(one: &Path, other: &Path) -> bool {
    fs::canonicalize(one).is_ok_and(|one| fs::canonicalize(other).is_ok_and(|other| one == other))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Protect<'_> = Protect { force: false, inputs: &[] };
    const FORCE: Protect<'_> = Protect { force: true, inputs: &[] };

    fn delivery(folder: &Path, text: &str) -> Delivery {
        let mut delivery = Delivery::into_folder(folder);
        delivery.add("north/run.json", b"{}".to_vec()).unwrap();
        delivery.add("north/vines.geojson", text.as_bytes().to_vec()).unwrap();
        delivery
    }

    fn listing(folder: &Path) -> Vec<String> {
        let mut found = Vec::new();
        let mut open = vec![folder.to_path_buf()];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(&folder).unwrap() {
                let path = entry.unwrap().path();
                found.push(path.display().to_string());
                if path.is_dir() {
                    open.push(path);
                }
            }
        }
        let root = folder.display().to_string();
        for path in &mut found {
            *path = path[root.len() + 1..].to_owned();
        }
        found.sort();
        found
    }

    #[test]
    fn files_appear_with_their_folders_and_nothing_else() {
        let temp = tempfile::tempdir().unwrap();
        let out = temp.path().join("a/out");
        let delivery = delivery(&out, "one");
        assert_eq!(delivery.planned()[1].bytes, 3);
        assert!(!out.exists(), "a dry run writes nothing");
        delivery.place(FREE).unwrap();
        assert_eq!(listing(&out), ["north", "north/run.json", "north/vines.geojson"]);
        assert_eq!(fs::read(out.join("north/vines.geojson")).unwrap(), b"one");
    }

    #[test]
    fn what_is_there_is_replaced_only_by_force() {
        let temp = tempfile::tempdir().unwrap();
        delivery(temp.path(), "one").place(FREE).unwrap();
        let error = delivery(temp.path(), "two").place(FREE).unwrap_err();
        assert_eq!(error.exit_code(), 4);
        let message = error.to_string();
        assert!(message.contains("north/run.json") && message.contains("--force"), "{message}");
        assert_eq!(fs::read(temp.path().join("north/vines.geojson")).unwrap(), b"one");
        assert!(delivery(temp.path(), "two").planned()[1].replaces);
        delivery(temp.path(), "two").place(FORCE).unwrap();
        assert_eq!(fs::read(temp.path().join("north/vines.geojson")).unwrap(), b"two");
        assert_eq!(listing(temp.path()).len(), 3);
    }

    #[test]
    fn an_input_is_never_replaced_whatever_it_is_called() {
        let temp = tempfile::tempdir().unwrap();
        delivery(temp.path(), "mine").place(FREE).unwrap();
        let input = temp.path().join("drawn.geojson");
        fs::hard_link(temp.path().join("north/vines.geojson"), &input).unwrap();
        let protect = Protect { force: true, inputs: std::slice::from_ref(&input) };
        let error = delivery(temp.path(), "two").place(protect).unwrap_err();
        assert_eq!(error.exit_code(), 2);
        assert_eq!(fs::read(&input).unwrap(), b"mine");
        fs::remove_file(&input).unwrap();
        std::os::unix::fs::symlink("north/vines.geojson", &input).unwrap();
        let protect = Protect { force: true, inputs: std::slice::from_ref(&input) };
        assert_eq!(delivery(temp.path(), "two").place(protect).unwrap_err().exit_code(), 2);
    }

    #[test]
    fn what_stands_in_the_way_is_named_and_nothing_is_left() {
        let temp = tempfile::tempdir().unwrap();
        fs::create_dir_all(temp.path().join("north/vines.geojson")).unwrap();
        assert_eq!(delivery(temp.path(), "x").place(FORCE).unwrap_err().exit_code(), 4);
        let other = tempfile::tempdir().unwrap();
        fs::hard_link("/proc/self/exe", other.path().join("north")).unwrap_or_else(|_| {
            std::os::unix::fs::symlink("/proc/self/exe", other.path().join("north")).unwrap();
        });
        let error = delivery(other.path(), "x").place(FORCE).unwrap_err();
        assert!(error.to_string().contains("a file stands where a folder"), "{error}");
        assert_eq!(listing(other.path()), ["north"]);
    }

    #[test]
    fn what_a_crash_left_half_done_is_mended_before_anything_else() {
        let temp = tempfile::tempdir().unwrap();
        delivery(temp.path(), "one").place(FREE).unwrap();
        let vines = temp.path().join("north/vines.geojson");
        swap::write_whole(&Move::to(vines.clone()).new, b"two").unwrap();
        swap::write_whole(&temp.path().join(".catchwire-swap"), b"\nnorth\n").unwrap();
        assert_eq!(delivery(temp.path(), "three").place(FREE).unwrap_err().exit_code(), 4);
        assert_eq!(fs::read(&vines).unwrap(), b"two");
        assert_eq!(listing(temp.path()).len(), 3);
        delivery(temp.path(), "three").place(FORCE).unwrap();
        assert_eq!(fs::read(&vines).unwrap(), b"three");
    }

    #[test]
    fn a_file_that_cannot_be_written_leaves_no_folder_behind() {
        let temp = tempfile::tempdir().unwrap();
        let mut delivery = delivery(&temp.path().join("out"), "x");
        // Longer than any file system takes.
        delivery.add(format!("south/{}", "n".repeat(300)), Vec::new()).unwrap();
        assert_eq!(delivery.place(FREE).unwrap_err().exit_code(), 4);
        assert!(listing(temp.path()).is_empty());
    }

    #[test]
    fn names_stay_below_the_folder_and_come_once() {
        let mut delivery = Delivery::into_folder("out");
        for name in ["", "../x", "/etc/x", "a/../../x", "./x"] {
            assert_eq!(delivery.add(name, Vec::new()).unwrap_err().exit_code(), 1, "{name}");
        }
        delivery.add("x", Vec::new()).unwrap();
        assert!(delivery.add("x", Vec::new()).is_err());
    }
}
