//! Files in, nouns out: what people draw and write down, with everything odd about it told.
//!
//! Takes paths, gives [`Inputs`]. Never panics on input, never drops a record silently, never asks
//! the earth for more than longitude and latitude.

mod block_features;
mod count_columns;
mod csv;
mod geojson;
mod outline;
mod row_list;
mod source;
mod table;

use std::path::PathBuf;

use crate::{
    block::{Block, BlockKeys},
    counts::Count,
    error::Error,
    finding::Findings,
};

/// What to read and how.
#[derive(Debug, Clone, Default)]
pub struct Request {
    /// The block file.
    pub blocks: PathBuf,
    /// Keys from the command line, which overrule those of every block.
    pub overriding: BlockKeys,
    /// Counts (CSV, or GeoJSON points).
    pub counts: Vec<PathBuf>,
    /// The grower's own list of rows.
    pub rows: Option<PathBuf>,
    /// Vine positions taken as they are.
    pub vines: Option<PathBuf>,
    /// The files name latitude before longitude.
    pub swap_axes: bool,
    /// The character set of the tables, when it is not Unicode.
    pub encoding: Option<String>,
    /// Doubts are faults.
    pub strict: bool,
    /// Limits of plausibility do not apply.
    pub allow_unusual: bool,
    /// A `crs` member other than longitude and latitude is ignored only when this is true.
    pub crs: Option<String>,
}

/// Everything that was read.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The blocks, in the file's order.
    pub blocks: Vec<Block>,
    /// The records of the field, in the order of files and lines.
    pub counts: Vec<Count>,
    /// The files with their bytes' SHA-256: `(name as given, hash)`.
    pub files: Vec<(String, String)>,
}

impl Inputs {
    /// Reads every file of a request.
    ///
    /// # Errors
    /// A file that cannot be read, or every fault of every file together.
    pub fn read(request: &Request) -> Result<(Self, Findings), Error> {
        let _ = request;
        todo!()
    }
}
