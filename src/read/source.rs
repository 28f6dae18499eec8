//! A file on disk -> its text: what it is, how large, in which character set, with its hash.

use std::{
    fs,
    io::Read,
    path::{Path, PathBuf},
};

use encoding_rs::{Encoding, UTF_16BE, UTF_16LE};
use sha2::{Digest, Sha256};

use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
};

/// How large a file may be, and what to do about a larger one.
#[derive(Debug, Clone, Copy)]
struct Limit {
    bytes: u64,
    mend: &'static str,
}

/// No outline and no list of counts comes near it.
const LARGEST_FILE: Limit =
    Limit { bytes: 200 * 1024 * 1024, mend: "simplify the outline, or split the file" };
/// Tiles of 10 km at 1 m are some hundred megabytes.
const LARGEST_RASTER: Limit = Limit {
    bytes: 1024 * 1024 * 1024,
    mend: "cut out the ground around the block: gdal_translate -projwin WEST NORTH EAST SOUTH",
};

/// A file as it was read.
#[derive(Debug)]
pub(super) struct Source {
    /// The file's own name, without its folder.
    pub(super) name: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub(super) hash: String,
    /// Where it lies.
    pub(super) path: PathBuf,
    bytes: Vec<u8>,
}

/// What the first bytes of a file of maps say that it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Contents {
    /// A zip archive.
    Zip,
    /// The shapes of a shapefile.
    Shapefile,
    /// A database of `SQLite`.
    Database,
    /// Text, or what is refused as no text.
    Text,
}

impl Source {
    /// Reads a file whole.
    ///
    /// # Errors
    /// When it is missing, no plain file, unreadable or too large.
    pub(super) fn open(path: &Path) -> Result<Self, Error> {
        Self::open_within(path, LARGEST_FILE)
    }

    /// Reads a raster whole, which may be larger.
    ///
    /// # Errors
    /// As [`Source::open`].
    pub(super) fn open_raster(path: &Path) -> Result<Self, Error> {
        Self::open_within(path, LARGEST_RASTER)
    }

    fn open_within(path: &Path, limit: Limit) -> Result<Self, Error> {
        let file = plain_file(path, limit)?;
        let mut bytes = Vec::new();
        // One byte past the limit, for a file that grows while it is read.
        file.take(limit.bytes + 1).read_to_end(&mut bytes).map_err(|error| {
            refuse(path, "cannot be read", "check its permissions", Some(error))
        })?;
        if bytes.len() as u64 > limit.bytes {
            return Err(too_large(path, limit));
        }
        let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned();
        Ok(Self { name, hash: format!("{:x}", Sha256::digest(&bytes)), path: path.into(), bytes })
    }

    /// A file that was packed into another, told by both names.
    pub(super) fn inside(archive: &Self, name: &str, bytes: Vec<u8>) -> Self {
        Self {
            name: format!("{}/{name}", archive.name),
            hash: archive.hash.clone(),
            path: archive.path.clone(),
            bytes,
        }
    }

    /// What the first bytes say that it is.
    pub(super) fn contents(&self) -> Contents {
        if self.bytes.starts_with(ZIP) || self.bytes.starts_with(EMPTY_ZIP) {
            Contents::Zip
        } else if self.bytes.starts_with(SHAPES) {
            Contents::Shapefile
        } else if self.bytes.starts_with(DATABASE) {
            Contents::Database
        } else {
            Contents::Text
        }
    }

    /// Its bytes.
    pub(super) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The text of a map: as [`Source::text`], in the character set that its XML declares.
    ///
    /// # Errors
    /// As those of [`Source::text`]; an XML declaration of a set that does not exist.
    pub(super) fn map_text(&self, findings: &mut Findings) -> Result<String, Finding> {
        let declared = declared_encoding(&self.bytes);
        let unicode = |label: &String| label.to_lowercase().starts_with("utf");
        let Some(label) = declared.filter(|label| !unicode(label)) else {
            return self.text(None, findings);
        };
        let encoding = Encoding::for_label(label.as_bytes()).ok_or_else(|| {
            let what = format!("its first line declares `{label}`, which is no character set");
            Finding::fault(self.place(), what).mend("save the file as UTF-8")
        })?;
        // ASCII and UTF-8 under another name are common; a set of one byte reads anything.
        if std::str::from_utf8(&self.bytes).is_ok() {
            self.text(None, findings)
        } else {
            self.decode_as(encoding)
        }
    }

    /// Its bytes, which may be many.
    pub(super) fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }

    /// Gives the file another name when an earlier one, of another folder, has its name.
    pub(super) fn tell_apart(&mut self, earlier: &[(String, String)]) {
        let own = self.name.clone();
        let mut number = 1;
        while earlier.iter().any(|(name, _)| *name == self.name) {
            number += 1;
            self.name = format!("{own} ({number})");
        }
    }

    /// The whole file as a place.
    pub(super) fn place(&self) -> Place {
        Place::file(&self.name)
    }

    /// The file's text: UTF-8, UTF-16, or the character set that is named.
    ///
    /// # Errors
    /// A fault when the bytes are no text in that character set, or none at all.
    pub(super) fn text(
        &self,
        encoding: Option<&str>,
        findings: &mut Findings,
    ) -> Result<String, Finding> {
        if let Some(what) = foreign_format(&self.bytes) {
            return Err(Finding::fault(self.place(), what.0).mend(what.1));
        }
        let text = self.decoded(encoding, findings)?;
        if text.trim().is_empty() {
            let mend = "check that the right file was named and fully saved";
            return Err(Finding::fault(self.place(), "the file is empty").mend(mend));
        }
        Ok(text)
    }

    fn decoded(&self, encoding: Option<&str>, findings: &mut Findings) -> Result<String, Finding> {
        if let Some(utf_16) = utf_16(&self.bytes) {
            let note = format!("read as {}", utf_16.name());
            findings.push(Finding::note(self.place(), note).because("UTF-8 is usual"));
            return self.decode_as(utf_16);
        }
        let bytes = self.bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&self.bytes);
        match (std::str::from_utf8(bytes), encoding) {
            (Ok(text), _) => Ok(text.to_owned()),
            (Err(_), _) if is_binary(bytes) => Err(self.no_text()),
            (Err(_), Some(label)) => self.decode_as(named_encoding(label)?),
            (Err(error), None) => {
                Err(self.no_utf_8(error.valid_up_to() + self.bytes.len() - bytes.len()))
            }
        }
    }

    fn decode_as(&self, encoding: &'static Encoding) -> Result<String, Finding> {
        let (text, used, broken) = encoding.decode(&self.bytes);
        if broken {
            let what = format!("the bytes are not {} throughout", used.name());
            return Err(Finding::fault(self.place(), what).mend("save the file as UTF-8"));
        }
        Ok(text.into_owned())
    }

    fn no_text(&self) -> Finding {
        let first: Vec<String> =
            self.bytes.iter().take(4).map(|byte| format!("0x{byte:02X}")).collect();
        let begins = format!("this begins with {}", first.join(" "));
        let extension = self.path.extension().unwrap_or_default().to_string_lossy().to_lowercase();
        if !WORKBOOKS.contains(&extension.as_str()) {
            return Finding::fault(self.place(), "this is neither text nor a format that is read")
                .because(begins)
                .mend(
                    "name a table (CSV, XLSX), a map or a GeoJSON file; if it is one, copy it again \
                     from where it came",
                );
        }
        let what = format!("the file is named .{extension}, but holds no workbook and no text");
        Finding::fault(self.place(), what)
            .because(format!("a workbook (.xlsx) begins with 0x50 0x4B; {begins}"))
            .mend(
                "copy it again from where it came, open it in a spreadsheet and save it as .xlsx or \
                 as CSV (UTF-8)",
            )
    }

    fn no_utf_8(&self, offset: usize) -> Finding {
        let before = &self.bytes[..offset.min(self.bytes.len())];
        let line = 1 + before.split(|byte| *byte == b'\n').skip(1).count();
        let byte = self.bytes.get(offset).copied().unwrap_or_default();
        let place = self.place().at_line(line as u64);
        Finding::fault(place, format!("byte 0x{byte:02X} at offset {offset} is not UTF-8"))
            .because("the file is probably in a Western single-byte set such as Windows-1252")
            .mend("save it as UTF-8; for a table, --encoding windows-1252 reads it as it is")
    }
}

/// The character set of `--encoding`.
///
/// # Errors
/// A name of none.
pub(super) fn named_encoding(label: &str) -> Result<&'static Encoding, Finding> {
    Encoding::for_label(label.as_bytes()).ok_or_else(|| {
        Finding::fault(Place::field("--encoding"), format!("`{label}` is no character set"))
            .mend("write a name such as windows-1252, iso-8859-1 or utf-16le")
    })
}

const ZIP: &[u8] = b"PK\x03\x04";
const EMPTY_ZIP: &[u8] = b"PK\x05\x06";
const SHAPES: &[u8] = b"\x00\x00\x27\x0a";
const DATABASE: &[u8] = b"SQLite format 3\0";

/// The character set that an XML declaration names.
fn declared_encoding(bytes: &[u8]) -> Option<String> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let start = String::from_utf8_lossy(bytes.get(..200).unwrap_or(bytes)).into_owned();
    let declaration = start.trim_start().strip_prefix("<?xml")?.split("?>").next()?.to_owned();
    let value = declaration.split("encoding").nth(1)?.split(['"', '\'']).nth(1)?;
    Some(value.trim().to_owned())
}

/// What the first bytes say the file is, and what to do, when it is no text.
fn foreign_format(bytes: &[u8]) -> Option<(&'static str, &'static str)> {
    if bytes.starts_with(ZIP) {
        return Some((
            "this is a zip archive: a workbook of a spreadsheet, or a packed map",
            "save the sheet as CSV (UTF-8); a packed map is read as the block file or by --vines",
        ));
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        return Some(("this is an old workbook of a spreadsheet", "save the sheet as CSV (UTF-8)"));
    }
    let binary = [&b"\x1f\x8b"[..], b"SQLite format 3", b"%PDF", b"\x00\x00\x27\x0a"];
    binary
        .iter()
        .any(|magic| bytes.starts_with(magic))
        .then_some(("this is not a text file", "export it as GeoJSON (WGS84) or as CSV"))
}

/// Endings of files that a spreadsheet writes.
const WORKBOOKS: &[&str] = &["xlsx", "xlsm", "xls", "xlsb", "ods"];

/// True when control characters are among the first bytes that no text has, or more than by a slip.
fn is_binary(bytes: &[u8]) -> bool {
    let sample = &bytes[..bytes.len().min(1024)];
    let odd = |byte: &&u8| byte.is_ascii_control() && !byte.is_ascii_whitespace();
    let odd = sample.iter().filter(odd).count();
    odd > 0 && 50 * odd >= sample.len()
}

/// UTF-16 by its byte-order mark, or by the zero beside nearly every letter of Western text.
fn utf_16(bytes: &[u8]) -> Option<&'static Encoding> {
    match bytes {
        [0xff, 0xfe, ..] => return Some(UTF_16LE),
        [0xfe, 0xff, ..] => return Some(UTF_16BE),
        _ => {}
    }
    let sample = &bytes[..bytes.len().min(512) & !1];
    let zeros = |start: usize| sample.iter().skip(start).step_by(2).filter(|b| **b == 0).count();
    let most = sample.len() * 4 / 10;
    if most == 0 {
        None
    } else if zeros(1) > most && zeros(0) == 0 {
        Some(UTF_16LE)
    } else if zeros(0) > most && zeros(1) == 0 {
        Some(UTF_16BE)
    } else {
        None
    }
}

fn plain_file(path: &Path, limit: Limit) -> Result<fs::File, Error> {
    let facts = fs::metadata(path).map_err(|error| {
        let mend = "check the path, and that you may read it";
        refuse(path, &format!("cannot be opened: {error}"), mend, Some(error))
    })?;
    // Looked at before opening: a FIFO would wait for ever, a device might never end.
    if facts.is_dir() {
        return Err(refuse(path, "is a folder", "name the file in it", None));
    }
    if !facts.is_file() {
        let what = "is a device, a pipe or a socket";
        return Err(refuse(path, what, "save the data to a plain file and name that", None));
    }
    if facts.len() > limit.bytes {
        return Err(too_large(path, limit));
    }
    fs::File::open(path).map_err(|error| {
        refuse(path, &format!("cannot be opened: {error}"), "check its permissions", Some(error))
    })
}

fn too_large(path: &Path, limit: Limit) -> Error {
    let what = format!("is larger than {} MB", limit.bytes / 1024 / 1024);
    refuse(path, &what, limit.mend, None)
}

fn refuse(path: &Path, what: &str, mend: &str, source: Option<std::io::Error>) -> Error {
    Error::File { path: PathBuf::from(path), what: what.to_owned(), mend: mend.to_owned(), source }
}
