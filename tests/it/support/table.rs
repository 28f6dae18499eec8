//! Tables that the program wrote, as their lines.

use std::{collections::BTreeMap, fs, path::Path};

/// A line of a table as column → cell.
pub(crate) type Line = BTreeMap<String, String>;

/// The lines of a table.
#[track_caller]
pub(crate) fn table(path: &Path) -> Vec<Line> {
    let bytes = fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let heads = reader.headers().expect("heads").clone();
    let line = |line: csv::StringRecord| {
        heads.iter().map(str::to_owned).zip(line.iter().map(str::to_owned)).collect()
    };
    reader.into_records().map(|record| line(record.expect("an even table"))).collect()
}

/// A cell as a number.
#[track_caller]
pub(crate) fn number(line: &Line, column: &str) -> f64 {
    line[column].parse().unwrap_or_else(|error| panic!("{column}: {error}: {line:?}"))
}
