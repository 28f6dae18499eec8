//! `sample-sizes.csv`: how sure of the block's mean each number of stops would make.

use crate::{
    sample::Sample,
    write::{Table, Value, layers::rounded},
};

/// Decimals of an error in percent.
const DECIMALS: u8 = 2;
/// Decimals of a coefficient of variation.
const VARIATION_DECIMALS: u8 = 4;

const HEADS: [&str; 8] = [
    "stops",
    "error_percent",
    "drawn",
    "unit",
    "could_be_drawn",
    "variation",
    "variation_from",
    "confidence",
];

/// A line for every number of stops with the error of the mean, a share of it; whether earlier
/// counts gave the variation.
pub fn sample_sizes(
    sample: &Sample,
    errors: &[(usize, f64)],
    (confidence, from_counts): (f64, bool),
) -> Table {
    let line = |&(number, error): &(usize, f64)| -> Vec<Value> {
        vec![
            number.into(),
            rounded(100.0 * error, DECIMALS).into(),
            (number == sample.drawn()).into(),
            sample.unit.words()[0].into(),
            sample.drawable().into(),
            rounded(sample.variation, VARIATION_DECIMALS).into(),
            if from_counts { "counts" } else { "setting" }.into(),
            confidence.into(),
        ]
    };
    Table {
        name: "sample-sizes",
        heads: HEADS.map(str::to_owned).to_vec(),
        rows: errors.iter().map(line).collect(),
    }
}
