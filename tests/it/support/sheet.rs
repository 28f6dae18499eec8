//! The sheet of `sample`, as it comes back from the field.

use std::{fs, path::Path};

/// A line of a sheet as its cells, by the names of the heads.
#[derive(Debug)]
pub(crate) struct Line {
    heads: Vec<String>,
    cells: Vec<String>,
}

impl Line {
    /// The cell of a column.
    #[track_caller]
    pub(crate) fn cell(&self, head: &str) -> &str {
        &self.cells[self.column(head)]
    }

    /// The cell of a column as a whole number.
    #[track_caller]
    pub(crate) fn number(&self, head: &str) -> u32 {
        self.cell(head).parse().unwrap_or_else(|error| panic!("{head}: {error}: {self:?}"))
    }

    fn column(&self, head: &str) -> usize {
        let found = self.heads.iter().position(|one| one == head);
        found.unwrap_or_else(|| panic!("no column {head} in {:?}", self.heads))
    }

    fn set(&mut self, head: &str, cell: &str) {
        let column = self.column(head);
        cell.clone_into(&mut self.cells[column]);
    }

    fn text(&self) -> String {
        let quoted = |cell: &String| {
            if cell.contains(',') { format!("\"{cell}\"") } else { cell.clone() }
        };
        self.cells.iter().map(quoted).collect::<Vec<_>>().join(",")
    }
}

/// The lines of a sheet.
pub(crate) fn lines(sheet: &Path) -> Vec<Line> {
    let text = fs::read_to_string(sheet).unwrap_or_else(|e| panic!("{}: {e}", sheet.display()));
    let mut lines = text.lines().map(split);
    let heads = lines.next().expect("heads");
    lines.map(|cells| Line { heads: heads.clone(), cells }).collect()
}

/// The sheet with a date and the shoots of every stop.
pub(crate) fn filled(sheet: &Path, date: &str, shoots: impl Fn(usize, &Line) -> u32) -> String {
    let mut lines = lines(sheet);
    let mut text = lines.first().expect("a stop").heads.join(",") + "\n";
    for (at, line) in lines.iter_mut().enumerate() {
        let shoots = shoots(at, line).to_string();
        line.set("date", date);
        line.set("shoots", &shoots);
        text += &(line.text() + "\n");
    }
    text
}

/// Cells of a line; those in quotes may hold commas.
fn split(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cells.last_mut().expect("a cell").push(other),
        }
    }
    cells
}
