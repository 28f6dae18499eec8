//! Names that mean something in another file: where they belong.

use super::{count_columns, keys::KEYS, row_list};

/// Measures in one word; other short words (`row`, `id`, `note`) mean too much to be sent elsewhere.
const MEASURES: &[&str] = &["shoots", "primary", "secondary", "suckers", "minutes", "buds"];

/// Where a name belongs that means nothing where it stands.
pub(super) fn where_it_belongs(name: &str) -> Option<String> {
    if KEYS.iter().any(|key| key.name == name) {
        let option = name.replace('_', "-");
        return Some(format!(
            "it is a key of a block: put it into the block file, or pass --{option}"
        ));
    }
    let telling = name.contains('_') || MEASURES.contains(&name);
    if telling && count_columns::COLUMNS.contains(&name) {
        return Some("it is a column of counts: put it into a table for --counts".to_owned());
    }
    let of_rows = ["vines", "first_panel_vines"].contains(&name);
    (of_rows && row_list::COLUMNS.contains(&name))
        .then(|| "it is a column of a list of rows: put it into a table for --rows".to_owned())
}
