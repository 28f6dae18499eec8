//! The record of a run, made when its other files are.

use super::deliver::Made;
use crate::{
    error::Error,
    finding::Findings,
    frame::Site,
    jobs::Call,
    read::Inputs,
    write::{
        RunRecord,
        run_record::{CountsRecord, FileRecord, FrameRecord, OptionGiven, RECORD_FORMAT, Totals},
    },
};

/// The record's file name.
pub(super) const NAME: &str = "run.json";

/// What a job tells about a block.
pub(super) struct Told<'a> {
    /// The command.
    pub(super) command: &'a str,
    /// The block on its plane.
    pub(super) site: &'a Site,
    /// What became of the records of the field.
    pub(super) counts: Option<CountsRecord>,
    /// Sums over the files as written.
    pub(super) totals: Totals,
    /// How estimates were made.
    pub(super) method: Vec<String>,
    /// What was noticed.
    pub(super) findings: &'a Findings,
}

/// The options as given.
pub(super) fn options(call: &Call) -> Vec<OptionGiven> {
    let option = |(name, value): &(String, String)| OptionGiven {
        option: format!("--{name}"),
        value: value.clone(),
    };
    call.options.iter().map(option).collect()
}

/// The files that were read, those that settings came from last.
pub(super) fn inputs(call: &Call, inputs: &Inputs) -> Vec<FileRecord> {
    let input = |(file, sha256): &(String, String)| FileRecord {
        file: file.clone(),
        sha256: sha256.clone(),
    };
    inputs.files.iter().chain(&call.settings_file).map(input).collect()
}

/// The bytes of `run.json`.
pub(super) fn bytes(
    call: &Call,
    inputs: &Inputs,
    told: &Told<'_>,
    made: &Made,
) -> Result<Vec<u8>, Error> {
    RunRecord {
        format: RECORD_FORMAT,
        version: env!("CARGO_PKG_VERSION").to_owned(),
        command: told.command.to_owned(),
        block: told.site.name.to_string(),
        options: options(call),
        inputs: self::inputs(call, inputs),
        frame: FrameRecord::of(&told.site.frame),
        counts: told.counts,
        totals: told.totals,
        method: told.method.clone(),
        findings: told.findings.iter().map(ToString::to_string).collect(),
        files: made.iter().map(|(name, bytes)| FileRecord::of(name, bytes)).collect(),
    }
    .bytes()
}
