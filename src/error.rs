//! What stops a job, and the exit code it stops with.

use std::{io, path::PathBuf};

use crate::finding::{Finding, Findings};

/// Why a job stopped. One public error; each kind has its exit code.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The call itself is wrong (exit 2).
    #[error("{0}")]
    Usage(Finding),
    /// The input data are wrong: every fault found in this run, with the warnings (exit 3).
    #[error("{}", faults(.0))]
    Input(Findings),
    /// A file cannot be read or written (exit 4).
    #[error("{}: {what}; {mend}", path.display())]
    File {
        /// The file or folder.
        path: PathBuf,
        /// What could not be done with it.
        what: String,
        /// What to do about it.
        mend: String,
        /// What the operating system said.
        source: Option<io::Error>,
    },
    /// Nothing was done or matched (exit 5).
    #[error("{0}")]
    Nothing(Finding),
    /// A fault of the program (exit 1): please report it.
    #[error("{0}; this is a fault of the program, please report it")]
    Unexpected(String),
}

fn faults(findings: &Findings) -> String {
    let faults: Vec<String> = findings.iter().map(ToString::to_string).collect();
    faults.join("\n")
}

impl Error {
    /// The exit code of the command line: 1 unexpected, 2 usage, 3 input data wrong, 4 files, 5
    /// nothing done.
    pub const fn exit_code(&self) -> u8 {
        match self {
            Self::Unexpected(_) => 1,
            Self::Usage(_) => 2,
            Self::Input(_) => 3,
            Self::File { .. } => 4,
            Self::Nothing(_) => 5,
        }
    }
}

impl From<Finding> for Error {
    fn from(finding: Finding) -> Self {
        Self::Input(finding.into())
    }
}
