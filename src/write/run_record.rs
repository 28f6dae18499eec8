//! `run.json`: what was read, how, and every file that was written, so that a result can be traced.
//!
//! It holds no clock time and no path outside its folder: the same inputs give the same bytes,
//! wherever they lie.

use std::path::Path;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::{block::North, error::Error, frame::Frame, units::Degrees, write::layers::rounded};

/// The version of the record's form; a reader refuses a greater one.
pub const RECORD_FORMAT: u32 = 1;

/// What one run did for one block.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RunRecord {
    /// The version of this form.
    pub format: u32,
    /// The program's version.
    pub version: String,
    /// The command, such as `thin`.
    pub command: String,
    /// The block's name.
    pub block: String,
    /// The options as given, files by their name only.
    pub options: Vec<OptionGiven>,
    /// The files that were read.
    pub inputs: Vec<FileRecord>,
    /// How the block's plane lies on the globe.
    pub frame: FrameRecord,
    /// What became of the records of the field; `None` for commands that read none.
    pub counts: Option<CountsRecord>,
    /// Numbers for the whole block: sums over the files as written.
    pub totals: Totals,
    /// How estimates were made, in words; empty for commands that make none.
    pub method: Vec<String>,
    /// Warnings and notes of the run.
    pub findings: Vec<String>,
    /// Every other file that was written.
    pub files: Vec<FileRecord>,
}

/// One option and its value.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OptionGiven {
    /// The option, such as `--crew`.
    pub option: String,
    /// Its value; empty for a switch.
    pub value: String,
}

/// One file and what its bytes hash to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FileRecord {
    /// Its name, without folders.
    pub file: String,
    /// The SHA-256 of its bytes, 64 hexadecimal digits.
    pub sha256: String,
}

/// How a block's plane lies on the globe.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrameRecord {
    /// The projection, as PROJ reads it.
    pub proj: String,
    /// Degrees of longitude of the origin.
    pub origin_lon_deg: f64,
    /// Degrees of latitude of the origin.
    pub origin_lat_deg: f64,
    /// Metres above the ellipsoid at which a metre is a metre.
    pub elevation_m: f64,
    /// Degrees clockwise from true north along the rows.
    pub row_bearing_deg: f64,
    /// The bearing as given, from the north below.
    pub bearing_given_deg: f64,
    /// The north it was given from: `true`, `grid` or `magnetic`.
    pub north: String,
    /// Declination that was added to a magnetic bearing.
    pub declination_deg: Option<f64>,
    /// How uncertain the declination is.
    pub declination_uncertainty_deg: Option<f64>,
    /// Convergence that was added to a grid bearing.
    pub convergence_deg: Option<f64>,
    /// Largest error of scale over the block, parts per million.
    pub largest_scale_error_ppm: f64,
}

/// What became of the records of the field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct CountsRecord {
    /// Records read.
    pub read: usize,
    /// Records that found their place: the lines of `counts-joined.csv`.
    pub joined: usize,
    /// Records that did not: the lines of `unjoined.csv`.
    pub left_out: usize,
    /// Densities that the estimate rests on, vines and whole panels.
    pub used: usize,
}

/// Numbers for the whole block.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Totals {
    /// Rows.
    pub rows: usize,
    /// Panels.
    pub panels: usize,
    /// Places for vines.
    pub places: usize,
    /// Vines present; places where no counts were read.
    pub vines: usize,
    /// Zones.
    pub zones: usize,
    /// Metres of canopy of the vines present.
    pub canopy_m: f64,
    /// Shoots to take off.
    pub remove: f64,
    /// Person-hours.
    pub hours: f64,
}

impl FrameRecord {
    /// The record of a frame.
    pub fn of(frame: &Frame) -> Self {
        let bearing = frame.bearing();
        let added = |north| (bearing.north == north).then(|| bearing.correction.degrees());
        Self {
            proj: frame.proj_string().to_owned(),
            origin_lon_deg: frame.origin().lon(),
            origin_lat_deg: frame.origin().lat(),
            elevation_m: frame.elevation().metres(),
            row_bearing_deg: bearing.true_north.degrees(),
            bearing_given_deg: bearing.given.degrees(),
            north: north_word(bearing.north).to_owned(),
            declination_deg: added(North::Magnetic),
            declination_uncertainty_deg: bearing.uncertainty.map(Degrees::degrees),
            convergence_deg: added(North::Grid),
            largest_scale_error_ppm: rounded(frame.largest_scale_error_ppm(), 6),
        }
    }
}

const fn north_word(north: North) -> &'static str {
    match north {
        North::True => "true",
        North::Grid => "grid",
        North::Magnetic => "magnetic",
    }
}

/// The names of the files that a run record lists; none where it is no record.
pub(super) fn files_of(bytes: &[u8]) -> Vec<String> {
    let record: serde_json::Value = serde_json::from_slice(bytes).unwrap_or_default();
    let files = record["files"].as_array().into_iter().flatten();
    let name = |file: &serde_json::Value| file["file"].as_str().map(str::to_owned);
    // A record from elsewhere must not lead out of its folder.
    files.filter_map(name).filter(|name| !name.contains(['/', '\\'])).collect()
}

impl FileRecord {
    /// The record of a file by its name and bytes.
    pub fn of(name: &str, bytes: &[u8]) -> Self {
        Self { file: file_name(name), sha256: sha256(bytes) }
    }
}

/// The name of a file without its folders.
pub fn file_name(path: &str) -> String {
    let name = Path::new(path).file_name();
    name.map_or_else(|| path.to_owned(), |name| name.to_string_lossy().into_owned())
}

/// The SHA-256 of some bytes, 64 hexadecimal digits.
pub fn sha256(bytes: &[u8]) -> String {
    format!("{:x}", Sha256::digest(bytes))
}

impl RunRecord {
    /// The record as the bytes of `run.json`; inputs are named without their folders.
    ///
    /// # Errors
    /// A fault of the program: a number that is not finite.
    pub fn bytes(&self) -> Result<Vec<u8>, Error> {
        let inputs = self
            .inputs
            .iter()
            .map(|input| FileRecord { file: file_name(&input.file), sha256: input.sha256.clone() });
        pretty(&Self { inputs: inputs.collect(), ..self.clone() })
    }

    /// Reads a record back.
    ///
    /// # Errors
    /// A message when the bytes are no record, or one of a newer form.
    pub fn read(bytes: &[u8]) -> Result<Self, String> {
        let record: Self = serde_json::from_slice(bytes)
            .map_err(|error| format!("this is no run.json of catchwire: {error}"))?;
        if record.format > RECORD_FORMAT {
            return Err(format!("it was written by a newer catchwire ({})", record.version));
        }
        Ok(record)
    }
}

/// A report as JSON for people and programs, with a line end.
///
/// # Errors
/// A fault of the program: a value that JSON cannot hold.
pub(crate) fn pretty(report: &impl Serialize) -> Result<Vec<u8>, Error> {
    let mut bytes = serde_json::to_vec_pretty(report)
        .map_err(|error| Error::Unexpected(format!("a report cannot be written: {error}")))?;
    bytes.push(b'\n');
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn record() -> RunRecord {
        RunRecord {
            format: RECORD_FORMAT,
            version: "0.1.0".into(),
            command: "thin".into(),
            block: "Rèze \"north\"".into(),
            options: vec![OptionGiven { option: "--crew".into(), value: "4".into() }],
            inputs: vec![FileRecord::of("counts.csv", b"abc")],
            frame: FrameRecord {
                proj: "+proj=tmerc".into(),
                origin_lon_deg: -73.123_456_789_012_34,
                origin_lat_deg: 44.1,
                elevation_m: 0.0,
                row_bearing_deg: 14.5,
                bearing_given_deg: 14.5,
                north: "true".into(),
                declination_deg: None,
                declination_uncertainty_deg: None,
                convergence_deg: None,
                largest_scale_error_ppm: 0.1 + 0.2,
            },
            counts: Some(CountsRecord { read: 3, joined: 2, left_out: 1, used: 2 }),
            totals: Totals { remove: 1.0 / 3.0, ..Totals::default() },
            method: vec!["kriging".into()],
            findings: Vec::new(),
            files: Vec::new(),
        }
    }

    #[test]
    fn a_record_is_read_back_as_it_was() {
        let record = record();
        assert_eq!(RunRecord::read(&record.bytes().unwrap()).unwrap(), record);
    }

    #[test]
    fn a_newer_record_and_other_files_are_refused() {
        let newer = RunRecord { format: 2, ..record() };
        assert!(RunRecord::read(&newer.bytes().unwrap()).unwrap_err().contains("newer"));
        assert!(RunRecord::read(b"{}").is_err());
    }

    #[test]
    fn inputs_are_named_without_their_folders() {
        let mut record = record();
        record.inputs[0].file = "/home/someone/counts.csv".into();
        let bytes = record.bytes().unwrap();
        let text = String::from_utf8(bytes).unwrap();
        assert!(text.contains("\"counts.csv\"") && !text.contains("someone"));
        // Source: FIPS 180-2, appendix B.1: SHA-256 of "abc".
        assert!(text.contains("ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"));
    }
}
