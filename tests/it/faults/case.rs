//! One bad input, and what is wrong with how it came out.

use std::{fs, io::Write as _, path::PathBuf};

use catchwire::{
    finding::Severity,
    read::{Inputs, Request},
};

/// Which file of the request the bytes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum File {
    Blocks,
    Counts,
    Rows,
}

/// What must come of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    /// Stops with this exit code.
    Stops(u8),
    /// Goes on, with a finding of this severity that says the words.
    Tells(Severity),
    /// Goes on, with nothing to say.
    Accepts,
}

/// One bad input.
pub(super) struct Case {
    number: &'static str,
    file: File,
    bytes: Vec<u8>,
    outcome: Outcome,
    /// Words that the message, or the finding, must hold.
    says: &'static [&'static str],
}

pub(super) const STOPS: Outcome = Outcome::Stops(3);
pub(super) const WARNS: Outcome = Outcome::Tells(Severity::Warning);
pub(super) const NOTES: Outcome = Outcome::Tells(Severity::Note);

pub(super) const SQUARE: &str =
    "[[-120.001,44.0],[-120.0,44.0],[-120.0,44.001],[-120.001,44.001],[-120.001,44.0]]";

pub(super) fn feature(properties: &str, kind: &str, coordinates: &str) -> String {
    format!(
        "{{\"type\":\"Feature\",\"properties\":{properties},\
         \"geometry\":{{\"type\":\"{kind}\",\"coordinates\":{coordinates}}}}}"
    )
}

pub(super) fn collection(features: &[String]) -> String {
    format!("{{\"type\":\"FeatureCollection\",\"features\":[\n{}\n]}}", features.join(",\n"))
}

pub(super) fn block(coordinates: &str) -> String {
    collection(&[feature("{\"name\":\"North\"}", "Polygon", coordinates)])
}

pub(super) fn square() -> String {
    block(&format!("[{SQUARE}]"))
}

pub(super) fn square_with(properties: &str) -> String {
    collection(&[feature(properties, "Polygon", &format!("[{SQUARE}]"))])
}

fn case(
    number: &'static str,
    file: File,
    bytes: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    Case { number, file, bytes: bytes.into(), outcome, says }
}

/// A file of blocks.
pub(super) fn blocks(
    number: &'static str,
    text: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    case(number, File::Blocks, text, outcome, says)
}

/// A table of counts.
pub(super) fn counts(
    number: &'static str,
    text: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    case(number, File::Counts, text, outcome, says)
}

/// A grower's list of rows.
pub(super) fn rows(
    number: &'static str,
    text: impl Into<Vec<u8>>,
    outcome: Outcome,
    says: &'static [&'static str],
) -> Case {
    case(number, File::Rows, text, outcome, says)
}

pub(super) fn written(folder: &tempfile::TempDir, name: &str, bytes: &[u8]) -> PathBuf {
    let path = folder.path().join(name);
    let file = fs::OpenOptions::new().write(true).create_new(true).open(&path);
    file.and_then(|mut file| file.write_all(bytes)).expect("a file of the case");
    path
}

fn read(case: &Case) -> Result<(Inputs, catchwire::finding::Findings), catchwire::error::Error> {
    let folder = tempfile::tempdir().expect("a folder for the case");
    let mut request = Request::default();
    let square = square();
    let own = |file: File| (case.file == file).then_some(case.bytes.as_slice());
    request.blocks =
        written(&folder, "blocks.geojson", own(File::Blocks).unwrap_or(square.as_bytes()));
    if let Some(bytes) = own(File::Counts) {
        request.counts = vec![written(&folder, "counts.csv", bytes)];
    }
    if let Some(bytes) = own(File::Rows) {
        request.rows = Some(written(&folder, "rows.csv", bytes));
    }
    Inputs::read(&request)
}

/// What is wrong with how a case came out, if anything.
fn complaint(case: &Case) -> Option<String> {
    let holds = |text: &str| case.says.iter().all(|words| text.contains(words));
    let result = read(case);
    let wrong = match (&result, case.outcome) {
        (Err(error), Outcome::Stops(code)) => {
            error.exit_code() != code || !holds(&error.to_string())
        }
        (Ok((_, findings)), Outcome::Tells(severity)) => {
            !findings.iter().any(|f| f.severity == severity && holds(&f.to_string()))
        }
        (Ok((_, findings)), Outcome::Accepts) => !findings.is_empty(),
        (Ok(_), Outcome::Stops(_)) | (Err(_), Outcome::Tells(_) | Outcome::Accepts) => true,
    };
    let came = match result {
        Ok((_, findings)) => {
            let told: Vec<String> =
                findings.iter().map(|f| format!("{:?}: {f}", f.severity)).collect();
            format!("accepted, telling {told:#?}")
        }
        Err(error) => format!("exit {}: {error}", error.exit_code()),
    };
    wrong.then(|| format!("{}: wanted {:?} {:?}, but {came}", case.number, case.outcome, case.says))
}

pub(super) fn check(cases: &[Case]) {
    assert!(!cases.is_empty());
    let complaints: Vec<String> = cases.iter().filter_map(complaint).collect();
    assert!(complaints.is_empty(), "\n{}\n", complaints.join("\n"));
}
