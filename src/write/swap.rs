//! How new files take the place of old ones, and what the next run does after a crash.
//!
//! 1. Every file is written whole to `.NAME.catchwire-new` beside its place.
//! 2. `.catchwire-swap` in the folder says that all of them are there, and in which folders.
//! 3. Old files step aside to `.NAME.catchwire-old`, new ones take their names.
//! 4. Old files go, then `.catchwire-swap`.
//!
//! A crash in 1 leaves new files without the mark: they are removed. A crash in 2 to 4 leaves the
//! mark: the new files are complete, and the next run gives them their names.

use std::{
    ffi::OsString,
    fs::{self, File, OpenOptions, TryLockError},
    io::{self, Write},
    path::{Path, PathBuf},
};

use crate::{error::Error, write::files::file_error};

const NEW: &str = ".catchwire-new";
const OLD: &str = ".catchwire-old";
const MARK: &str = ".catchwire-swap";

/// One file on its way to its name.
#[derive(Debug, Clone)]
pub(crate) struct Move {
    /// Where it will stand.
    pub(crate) target: PathBuf,
    /// Where it is written.
    pub(crate) new: PathBuf,
    old: PathBuf,
}

impl Move {
    /// The way of a file to its place.
    pub(crate) fn to(target: PathBuf) -> Self {
        let beside = |end: &str| {
            let mut name = OsString::from(".");
            name.push(target.file_name().unwrap_or_default());
            name.push(end);
            target.with_file_name(name)
        };
        Self { new: beside(NEW), old: beside(OLD), target }
    }
}

/// Keeps a second run out of a folder for as long as it lives.
#[derive(Debug)]
pub(crate) struct Lock {
    // The operating system lets go when the file is closed, after a crash too.
    _folder: Option<File>,
}

impl Lock {
    /// Locks a folder; where folders cannot be locked, goes on without.
    ///
    /// # Errors
    /// When another run is writing there.
    pub(crate) fn on(folder: &Path) -> Result<Self, Error> {
        let Ok(opened) = File::open(folder) else { return Ok(Self { _folder: None }) };
        match opened.try_lock() {
            Ok(()) => Ok(Self { _folder: Some(opened) }),
            Err(TryLockError::WouldBlock) => {
                let mend = "wait until it has ended, or choose another --out";
                Err(file_error(folder, "another run is writing there", mend, None))
            }
            Err(TryLockError::Error(_)) => Ok(Self { _folder: None }),
        }
    }
}

/// Writes a new file and brings it to the disk.
///
/// # Errors
/// When it cannot be made, filled or brought to the disk.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Error> {
    let written =
        OpenOptions::new().write(true).create_new(true).open(path).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
    written.map_err(|error| {
        let mend = "check the room on the disk and your rights there, or choose another --out";
        file_error(path, "the file cannot be written", mend, Some(error))
    })
}

/// How a file gets another name; `fs::rename` but for tests.
pub(crate) type Rename<'a> = dyn FnMut(&Path, &Path) -> io::Result<()> + 'a;

/// Gives the new files their names, in order; on failure puts the old ones back.
///
/// # Errors
/// When a file cannot take its name.
pub(crate) fn swap(
    root: &Path,
    folders: &[PathBuf],
    moves: &[Move],
    rename: &mut Rename<'_>,
) -> Result<(), Error> {
    let mark = root.join(MARK);
    let marked = write_whole(&mark, listed(root, folders).as_bytes());
    let swapped = marked.and_then(|()| {
        sync(folders);
        for (done, step) in moves.iter().enumerate() {
            if let Err(error) = step_in(step, rename) {
                moves[..=done].iter().rev().for_each(step_back);
                let mend = "nothing was changed; check your rights there";
                return Err(file_error(&step.target, "cannot be put in place", mend, Some(error)));
            }
        }
        Ok(())
    });
    if swapped.is_ok() {
        sync(folders);
        for step in moves {
            remove(&step.old);
        }
    } else {
        clear_new(moves);
    }
    remove(&mark);
    sync(&[root.to_path_buf()]);
    swapped
}

fn step_in(step: &Move, rename: &mut Rename<'_>) -> io::Result<()> {
    if step.target.symlink_metadata().is_ok() {
        rename(&step.target, &step.old)?;
    }
    rename(&step.new, &step.target)
}

/// Takes back one step, whole or half done.
fn step_back(step: &Move) {
    let took_its_name = step.new.symlink_metadata().is_err();
    if step.old.symlink_metadata().is_ok() {
        let _ = fs::rename(&step.old, &step.target);
    } else if took_its_name {
        remove(&step.target);
    }
}

/// Removes what was written for a swap that does not happen.
pub(crate) fn clear_new(moves: &[Move]) {
    for step in moves {
        remove(&step.new);
    }
}

/// Finishes or clears away what an earlier run left when it was stopped at its worst moment.
///
/// # Errors
/// When a file that is left cannot be given its name.
pub(crate) fn mend_after_crash(root: &Path, folders: &[PathBuf]) -> Result<(), Error> {
    let mark = root.join(MARK);
    let Ok(listed) = fs::read_to_string(&mark) else {
        for (path, _) in left(folders, NEW) {
            remove(&path);
        }
        return Ok(());
    };
    let folders: Vec<PathBuf> = listed.lines().map(|folder| root.join(folder)).collect();
    for (new, target) in left(&folders, NEW) {
        fs::rename(&new, &target).map_err(|error| {
            let what = "a file that an earlier run left cannot be put in place";
            file_error(&target, what, "check your rights there", Some(error))
        })?;
    }
    for (path, _) in left(&folders, OLD) {
        remove(&path);
    }
    remove(&mark);
    Ok(())
}

/// Temporary files in some folders: where they are and which name they were meant for.
fn left(folders: &[PathBuf], end: &str) -> Vec<(PathBuf, PathBuf)> {
    let entries = folders.iter().filter_map(|folder| fs::read_dir(folder).ok());
    let mut found: Vec<(PathBuf, PathBuf)> = entries
        .flatten()
        .filter_map(|entry| {
            let path = entry.ok()?.path();
            let name = path.file_name()?.to_str()?.strip_prefix('.')?.strip_suffix(end)?;
            let target = path.with_file_name(name);
            Some((path, target))
        })
        .collect();
    found.sort();
    found
}

fn listed(root: &Path, folders: &[PathBuf]) -> String {
    let below = |folder: &PathBuf| {
        format!("{}\n", folder.strip_prefix(root).unwrap_or(Path::new("")).display())
    };
    folders.iter().map(below).collect()
}

fn remove(path: &Path) {
    // What cannot be removed is hidden and cleared away by the next run.
    let _ = fs::remove_file(path);
}

/// Brings the names in some folders to the disk, where the system can do that.
fn sync(folders: &[PathBuf]) {
    for folder in folders {
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn put(path: &Path, text: &str) {
        write_whole(path, text.as_bytes()).unwrap();
    }

    fn names(folder: &Path) -> Vec<(String, String)> {
        let mut names: Vec<(String, String)> = fs::read_dir(folder)
            .unwrap()
            .map(|entry| {
                let path = entry.unwrap().path();
                let text = fs::read_to_string(&path).unwrap();
                (path.file_name().unwrap().to_str().unwrap().to_owned(), text)
            })
            .collect();
        names.sort();
        names
    }

    fn expect(folder: &Path, expected: &[(&str, &str)]) {
        let found = names(folder);
        let found: Vec<(&str, &str)> = found.iter().map(|(n, t)| (&n[..], &t[..])).collect();
        assert_eq!(found, expected);
    }

    /// Two old files, three new ones ready.
    fn ready(folder: &Path) -> Vec<Move> {
        put(&folder.join("a"), "old a");
        put(&folder.join("b"), "old b");
        let moves: Vec<Move> = ["a", "b", "c"].map(|name| Move::to(folder.join(name))).into();
        for step in &moves {
            put(&step.new, "new");
        }
        moves
    }

    #[test]
    fn whichever_rename_fails_everything_is_as_before() {
        // a and b step aside and are replaced, c is only added: five renames.
        for failing in 0..5 {
            let temp = tempfile::tempdir().unwrap();
            let folder = temp.path().to_path_buf();
            let moves = ready(&folder);
            let mut count = 0;
            let mut rename = |from: &Path, to: &Path| {
                count += 1;
                if count > failing { Err(io::Error::other("full")) } else { fs::rename(from, to) }
            };
            let result = swap(&folder, std::slice::from_ref(&folder), &moves, &mut rename);
            assert_eq!(result.unwrap_err().exit_code(), 4);
            expect(&folder, &[("a", "old a"), ("b", "old b")]);
        }
    }

    #[test]
    fn a_crash_while_writing_leaves_nothing_behind() {
        let temp = tempfile::tempdir().unwrap();
        let folder = temp.path().to_path_buf();
        ready(&folder);
        mend_after_crash(&folder, std::slice::from_ref(&folder)).unwrap();
        expect(&folder, &[("a", "old a"), ("b", "old b")]);
    }

    #[test]
    fn a_crash_while_swapping_is_finished_by_the_next_run() {
        for done in 0..=5 {
            let temp = tempfile::tempdir().unwrap();
            let folder = temp.path().to_path_buf();
            let moves = ready(&folder);
            put(&folder.join(MARK), "\n");
            let mut count = 0;
            let mut rename = |from: &Path, to: &Path| {
                count += 1;
                if count > done { Err(io::Error::other("gone")) } else { fs::rename(from, to) }
            };
            let _ = moves.iter().try_for_each(|step| step_in(step, &mut rename));
            mend_after_crash(&folder, &[]).unwrap();
            expect(&folder, &[("a", "new"), ("b", "new"), ("c", "new")]);
        }
    }

    #[test]
    fn a_second_run_is_kept_out_while_the_first_writes() {
        let temp = tempfile::tempdir().unwrap();
        let first = Lock::on(temp.path()).unwrap();
        assert_eq!(Lock::on(temp.path()).unwrap_err().exit_code(), 4);
        drop(first);
        assert!(Lock::on(temp.path()).is_ok());
    }
}
