//! What is doubtful about the `plantings` of a block once its rows are known.

use std::collections::BTreeMap;

use crate::{
    block::{Block, PlantingRows},
    finding::{Finding, Findings},
    names::row_text,
};

/// Plantings that name no row of the block, and rows that several plantings name: the first of them
/// wins. `rows` are the numbers of the block's rows, rising.
pub fn doubtful_plantings(block: &Block, rows: &[u32]) -> Findings {
    let plantings = &block.keys.plantings;
    let absent =
        plantings.iter().filter(|planting| !rows.iter().any(|r| planting.rows.contains(*r)));
    let mut findings: Findings = absent.map(|planting| named_in_vain(block, planting)).collect();
    let mut overlaps: BTreeMap<(usize, usize), Vec<u32>> = BTreeMap::new();
    for row in rows {
        let mut naming = (0..plantings.len()).filter(|at| plantings[*at].rows.contains(*row));
        let Some(first) = naming.next() else { continue };
        for other in naming {
            overlaps.entry((first, other)).or_default().push(*row);
        }
    }
    for ((first, other), rows) in overlaps {
        findings.push(named_twice(block, (first, other), &rows));
    }
    findings
}

fn named_in_vain(block: &Block, planting: &PlantingRows) -> Finding {
    let what = format!("a planting ({}) names no row of this block", cultivar(planting));
    Finding::warning(block.place.at_field("plantings"), what)
        .because("it is not applied anywhere")
        .mend("compare its `rows` with the numbers of the rows")
}

fn named_twice(block: &Block, (first, other): (usize, usize), rows: &[u32]) -> Finding {
    let plantings = &block.keys.plantings;
    let called = |at: usize| format!("planting {} ({})", at + 1, cultivar(&plantings[at]));
    let noun = if rows.len() == 1 { "row" } else { "rows" };
    let (rows, verb) = (row_text(rows), if rows.len() == 1 { "is" } else { "are" });
    let what = format!("{noun} {rows} {verb} named by {} and by {}", called(first), called(other));
    Finding::warning(block.place.at_field("plantings"), what)
        .because("the first planting that names a row holds there")
        .mend("name every row in one planting only")
}

fn cultivar(planting: &PlantingRows) -> &str {
    planting.planting.cultivar.as_deref().unwrap_or("without a cultivar")
}
