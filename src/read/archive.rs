//! A zip archive in memory: what is in it, and one entry at a time, unpacked within limits.
//!
//! Nothing is ever unpacked to a disk. Names that would leave the folder are refused all the same:
//! whoever made them meant no good, or the file is damaged.

use std::io::{Cursor, Read};

use zip::ZipArchive;

use crate::finding::{Finding, Place};

/// More entries are no map.
const MOST_ENTRIES: usize = 1000;
/// What an entry may hold once unpacked.
const LARGEST_ENTRY_BYTES: u64 = 200 * 1024 * 1024;
/// What all entries that are read may hold together.
const LARGEST_SUM_BYTES: u64 = 400 * 1024 * 1024;
/// Maps shrink to a tenth; what shrinks more than this is made to fill a memory.
const LARGEST_RATIO: u64 = 150;
/// Below this size no ratio matters.
const HARMLESS_BYTES: u64 = 16 * 1024 * 1024;

/// An archive whose list of entries is sound.
#[derive(Debug)]
pub(super) struct Archive<'a> {
    zip: ZipArchive<Cursor<&'a [u8]>>,
    /// Name of every file in it, in the archive's order, folders with `/`.
    names: Vec<String>,
    place: Place,
    /// Bytes that may still be unpacked.
    left: u64,
}

impl<'a> Archive<'a> {
    /// Looks into an archive.
    ///
    /// # Errors
    /// An archive that is damaged, encrypted or too large, or that names places outside itself.
    pub(super) fn open(bytes: &'a [u8], place: &Place) -> Result<Self, Finding> {
        let zip = ZipArchive::new(Cursor::new(bytes)).map_err(|error| damaged(place, &error))?;
        if zip.len() > MOST_ENTRIES {
            let what = format!("an archive of {} files", zip.len());
            return Err(Finding::fault(place.clone(), what)
                .because(format!("a map has at most {MOST_ENTRIES}"))
                .mend("pack only the map"));
        }
        let place = place.clone();
        let mut archive = Self { zip, names: Vec::new(), place, left: LARGEST_SUM_BYTES };
        for index in 0..archive.zip.len() {
            let name = archive.checked_name(index)?;
            archive.names.push(name);
        }
        Ok(archive)
    }

    /// The names of its files that end so, in either case; what some computers add is left out.
    pub(super) fn ending(&self, ending: &str) -> Vec<String> {
        let own = |name: &&String| {
            let file = name.rsplit('/').next().unwrap_or(name);
            !name.starts_with("__MACOSX/") && !file.starts_with("._")
        };
        let ends = |name: &&String| name.to_lowercase().ends_with(ending);
        self.names.iter().filter(ends).filter(own).cloned().collect()
    }

    /// The name of the file that is called so, in either case.
    pub(super) fn named(&self, name: &str) -> Option<String> {
        let wanted = name.to_lowercase();
        self.names.iter().find(|name| name.to_lowercase() == wanted).cloned()
    }

    /// The first few names, to tell what is in the archive.
    pub(super) fn some_names(&self) -> String {
        let shown: Vec<&str> = self.names.iter().take(6).map(String::as_str).collect();
        shown.join(", ")
    }

    /// A file in it, as a place.
    pub(super) fn place_of(&self, name: &str) -> Place {
        let archive = self.place.file.clone().unwrap_or_default();
        Place::file(format!("{archive}/{name}"))
    }

    /// Unpacks a file.
    ///
    /// # Errors
    /// A file that is damaged or grows beyond the limits.
    pub(super) fn read(&mut self, name: &str) -> Result<Vec<u8>, Finding> {
        let place = self.place.in_feature(name);
        let Some(index) = self.names.iter().position(|known| known == name) else {
            return Err(Finding::fault(place, "is not in the archive")
                .because("the list of the archive does not name it")
                .mend("pack all files of the map"));
        };
        let entry = self.zip.by_index(index).map_err(|error| damaged(&place, &error))?;
        let packed = entry.compressed_size();
        let by_ratio = packed.saturating_mul(LARGEST_RATIO).max(HARMLESS_BYTES);
        let limit = LARGEST_ENTRY_BYTES.min(by_ratio).min(self.left);
        let mut bytes = Vec::new();
        // What the list says of sizes may be a lie; what comes out is counted.
        entry.take(limit + 1).read_to_end(&mut bytes).map_err(|error| damaged(&place, &error))?;
        if bytes.len() as u64 > limit {
            return Err(too_large(&place));
        }
        self.left -= bytes.len() as u64;
        Ok(bytes)
    }

    fn checked_name(&self, index: usize) -> Result<String, Finding> {
        let entry = self.zip.by_index_data(index).map_err(|error| damaged(&self.place, &error))?;
        let name = String::from_utf8_lossy(entry.name_raw()).replace('\\', "/");
        let shown: String = name.chars().filter(|c| !c.is_control()).take(80).collect();
        let place = self.place.in_feature(shown);
        let fault = |what: &str, mend: &str| Err(Finding::fault(place.clone(), what).mend(mend));
        let leaves = name.starts_with('/')
            || name.split('/').any(|part| part == "..")
            || name.chars().nth(1) == Some(':')
            || name.contains('\0');
        if leaves || entry.is_symlink() {
            return fault("leads out of the archive", "pack the map again, without paths or links");
        }
        if entry.encrypted() {
            return fault("is encrypted", "unpack it with its password and name what was in it");
        }
        let (size, packed) = (entry.size(), entry.compressed_size());
        let bomb = size > HARMLESS_BYTES && size / LARGEST_RATIO > packed;
        if size > LARGEST_ENTRY_BYTES || bomb {
            return Err(too_large(&place));
        }
        Ok(name)
    }
}

fn damaged(place: &Place, error: &dyn std::fmt::Display) -> Finding {
    Finding::fault(place.clone(), "the zip archive is cut off or damaged")
        .because(error.to_string())
        .mend("download or export the file again")
}

fn too_large(place: &Place) -> Finding {
    let [mb, sum_mb] = [LARGEST_ENTRY_BYTES, LARGEST_SUM_BYTES].map(|bytes| bytes / 1024 / 1024);
    Finding::fault(place.clone(), "would be too large unpacked")
        .because(format!(
            "at most {mb} MB and {LARGEST_RATIO} times what was packed, all files {sum_mb} MB"
        ))
        .mend("simplify the outline, or pack only the map")
}

#[cfg(test)]
mod tests {
    use std::io::Write as _;

    use zip::{ZipWriter, write::SimpleFileOptions};

    use super::*;

    #[test]
    fn what_is_unpacked_counts_together() {
        let mut made = ZipWriter::new(Cursor::new(Vec::new()));
        for name in ["a.shp", "b.shp"] {
            made.start_file(name, SimpleFileOptions::default()).unwrap();
            made.write_all(&[7; 60]).unwrap();
        }
        let bytes = made.finish().unwrap().into_inner();
        let mut archive = Archive::open(&bytes, &Place::file("a.zip")).unwrap();
        assert_eq!(archive.left, LARGEST_SUM_BYTES);
        archive.left = 100;
        assert_eq!(archive.read("a.shp").unwrap().len(), 60);
        let finding = archive.read("b.shp").unwrap_err();
        assert!(finding.to_string().contains("too large unpacked"), "{finding}");
        archive.left = 60;
        assert_eq!(archive.read("b.shp").unwrap().len(), 60);
    }
}
