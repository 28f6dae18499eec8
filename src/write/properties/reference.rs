//! What every file says, from the same declarations that write it: for `docs/formats.md`.

use std::fmt::Write;

use super::{
    audit, audit_places, bearings, counts, crew_sheet, guidance, materials, outlines, panels,
    posts, pruned_vines, pruning_tables, rows, sample, season_table, season_zones, standing, vines,
    weighed_table, zones,
};
use crate::write::{Column, Kind};

/// The files made of columns, each with its columns in order.
pub fn columns_of_files() -> Vec<(&'static str, Vec<Column>)> {
    vec![
        ("bearings.csv", bearings::columns()),
        ("rows.geojson", rows::columns()),
        ("vines.geojson", vines::columns()),
        ("panels.geojson", panels::columns()),
        ("zones.geojson", zones::columns()),
        ("pruning.csv", pruning_tables::class_columns()),
        ("pruning-vines.csv", weighed_table::columns()),
        ("vines.geojson of prune", pruned_vines::columns()),
        ("season.csv", season_table::columns()),
        ("season.geojson", season_zones::columns()),
        ("posts.geojson", posts::columns()),
        ("sample.geojson", sample::columns()),
        ("block.gpkg: block", outlines::block_columns()),
        ("block.gpkg: keep_outs", outlines::keep_out_columns()),
        ("materials.csv", materials::COLUMNS.to_vec()),
        ("guidance-ab.geojson", guidance::columns()),
        ("block-standing.geojson", standing::COLUMNS.to_vec()),
        ("audit.csv", audit::columns()),
        ("audit-pairs.csv", audit_places::columns()),
        ("counts-joined.csv", counts::JOINED.to_vec()),
        ("unjoined.csv", counts::UNJOINED.to_vec()),
        ("crew-sheet.csv", crew_sheet::columns()),
    ]
}

/// The columns of a file as a table for `docs/formats.md`.
pub fn as_markdown(columns: &[Column]) -> String {
    let mut text = String::from("| name | holds | unit | meaning |\n| --- | --- | --- | --- |\n");
    for Column { name, kind, unit, meaning } in columns {
        // Writing into memory does not fail.
        let _ = writeln!(text, "| `{name}` | {} | {unit} | {meaning} |", holds(*kind));
    }
    text
}

fn holds(kind: Kind) -> String {
    match kind {
        Kind::Text => "text".to_owned(),
        Kind::Integer => "whole number".to_owned(),
        Kind::Number(decimals) => format!("number, {decimals} decimals"),
        Kind::Flag => "true or false".to_owned(),
        Kind::Structure => "number, text or list".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn the_document_says_what_the_files_say() {
        let document = include_str!("../../../docs/formats.md");
        for (file, columns) in columns_of_files() {
            let table = as_markdown(&columns);
            let section = document.split(&format!("### `{file}`\n")).nth(1).unwrap_or_default();
            let section = section.split("\n### ").next().unwrap_or_default();
            assert!(section.contains(&table), "docs/formats.md, {file}, must say:\n{table}");
        }
    }

    #[test]
    fn no_file_has_two_columns_of_one_name_or_one_without_meaning() {
        for (file, columns) in columns_of_files() {
            let names: BTreeSet<_> = columns.iter().map(|column| column.name).collect();
            assert_eq!(names.len(), columns.len(), "{file}");
            assert!(columns.iter().all(|column| !column.meaning.is_empty()), "{file}");
        }
    }
}
