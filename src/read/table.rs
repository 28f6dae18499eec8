//! Rows of named cells with their place, however they were written down.

use std::collections::BTreeSet;

use super::{
    elsewhere::where_it_belongs,
    features::{Document, Feature},
    keys::{did_you_mean, text_of},
    role_features::point_of,
};
use crate::finding::{Finding, Findings, Place};

/// A table of texts.
#[derive(Debug, Default)]
pub(super) struct Table {
    /// Column names: lower case, `_` for blanks.
    pub(super) columns: Vec<String>,
    /// The rows, in the file's order.
    pub(super) rows: Vec<Row>,
    /// Where the column names stand.
    pub(super) place: Place,
}

/// One row.
#[derive(Debug)]
pub(super) struct Row {
    /// The cells as written, as many as columns.
    pub(super) cells: Vec<String>,
    /// File, line or feature.
    pub(super) place: Place,
}

impl Table {
    /// The index of a column.
    pub(super) fn column(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column == name)
    }

    /// Tells every column that nothing is made of.
    pub(super) fn tell_unknown_columns(&self, known: &[&str], findings: &mut Findings) {
        for column in self.columns.iter().filter(|c| !c.is_empty() && !known.contains(&c.as_str()))
        {
            let place = self.place.at_field(column);
            let what = "an unknown column is not used";
            findings.push(match (where_it_belongs(column), did_you_mean(column, known)) {
                (Some(mend), _) => Finding::note(place, what).mend(mend),
                (None, Some(mend)) => Finding::warning(place, what).mend(mend),
                (None, None) => Finding::note(place, what),
            });
        }
    }

    /// Points with properties as a table: a property is a column, the position two more.
    pub(super) fn of_points(document: &Document, file: &Place, findings: &mut Findings) -> Self {
        let mut table = Self { place: file.clone(), ..Self::default() };
        table.columns = ["lon_deg", "lat_deg"].map(str::to_owned).to_vec();
        let mut known: BTreeSet<String> = table.columns.iter().cloned().collect();
        let names = document.features.iter().flat_map(|feature| feature.properties.keys());
        for name in names.map(|name| column_name(name)) {
            if known.insert(name.clone()) {
                table.columns.push(name);
            }
        }
        for feature in &document.features {
            match table.row_of(feature) {
                Ok(row) => table.rows.push(row),
                Err(finding) => findings.push(finding),
            }
        }
        table
    }

    fn row_of(&self, feature: &Feature) -> Result<Row, Finding> {
        let at = point_of(feature)?;
        let mut cells = vec![String::new(); self.columns.len()];
        for (name, value) in &feature.properties {
            if let Some(index) = self.column(&column_name(name)) {
                cells[index] = text_of(value);
            }
        }
        // The geometry outranks properties of the same name, which may be rounded.
        cells[0] = at.lon().to_string();
        cells[1] = at.lat().to_string();
        Ok(Row { cells, place: feature.place.clone() })
    }
}

/// `Counted length ft` is `counted_length_ft`.
pub(super) fn column_name(text: &str) -> String {
    tidy(text).to_lowercase().replace([' ', '-'], "_")
}

/// A cell without what the eye does not see: odd spaces, zero-width characters, full-width forms.
pub(super) fn tidy(text: &str) -> String {
    let plain: String = text
        .chars()
        .filter(|c| !matches!(c, '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}' | '\u{feff}'))
        .map(|c| match c {
            '\u{ff01}'..='\u{ff5e}' => char::from_u32(u32::from(c) - 0xfee0).unwrap_or(c),
            '\u{2212}' => '-',
            c if c.is_whitespace() => ' ',
            c => c,
        })
        .collect();
    plain.trim().to_owned()
}

/// The first letter that only looks like an ASCII one, by its code point.
pub(super) fn look_alike(text: &str) -> Option<String> {
    let stranger = text.chars().find(|c| c.is_alphanumeric() && !c.is_ascii())?;
    let twin = match stranger {
        'О' | 'о' | 'Ο' | 'ο' => "; it looks like O or 0",
        'Р' | 'р' | 'Ρ' => "; it looks like P",
        'В' | 'Β' => "; it looks like B",
        'А' | 'а' | 'Α' => "; it looks like A",
        'Е' | 'е' | 'Ε' => "; it looks like E",
        'С' | 'с' => "; it looks like C",
        'Ι' | 'І' | 'і' => "; it looks like I or 1",
        'ν' | 'Ѵ' | 'ѵ' => "; it looks like v",
        _ => "",
    };
    Some(format!("`{stranger}` (U+{:04X}){twin}", u32::from(stranger)))
}
