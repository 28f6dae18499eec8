//! One row's cells as typed values; what does not fit is told with its row and column.

use jiff::civil::Date;

use super::{
    dates::day_of,
    table::{Row, Table, look_alike, tidy},
};
use crate::{
    finding::{Finding, Findings, Place},
    units::plain_number,
};

/// Reads typed cells of one row and notes those that do not fit.
pub(super) struct Cells<'a> {
    table: &'a Table,
    row: &'a Row,
    findings: &'a mut Findings,
    /// A cell did not fit.
    pub(super) faulty: bool,
}

impl<'a> Cells<'a> {
    pub(super) fn new(table: &'a Table, row: &'a Row, findings: &'a mut Findings) -> Self {
        Self { table, row, findings, faulty: false }
    }

    /// The row's place.
    pub(super) fn place(&self) -> &Place {
        &self.row.place
    }

    /// A cell as written, without what the eye does not see; `None` when empty or no such column.
    pub(super) fn text(&self, column: &str) -> Option<String> {
        let cell = self.row.cells.get(self.table.column(column)?)?;
        let text = tidy(cell);
        (!text.is_empty()).then_some(text)
    }

    /// Notes a fault of a cell.
    pub(super) fn fault(&mut self, column: &str, what: String, mend: &str) {
        self.faulty = true;
        let place = self.row.place.at_field(column);
        self.findings.push(Finding::fault(place, what).mend(mend));
    }

    /// A whole number from `least` to `most`.
    pub(super) fn whole(&mut self, column: &str, least: u32, most: u32) -> Option<u32> {
        let text = self.text(column)?;
        let digits = without_zeros(&text);
        let plain = digits.bytes().all(|b| b.is_ascii_digit());
        let number = if plain { digits.parse().ok() } else { None };
        if let Some(number) = number.filter(|number| (least..=most).contains(number)) {
            return Some(number);
        }
        let stranger = look_alike(&text).map_or_else(String::new, |it| format!(": it holds {it}"));
        let what =
            format!("`{}` is no whole number from {least} to {most}{stranger}", shown(&text));
        self.fault(column, what, "write plain digits such as 12, or leave the cell empty");
        None
    }

    /// A number within limits, decimal point or comma.
    pub(super) fn number(&mut self, column: &str, least: f64, most: f64) -> Option<f64> {
        let text = self.text(column)?;
        let number = plain_number(&text).filter(|number| (least..=most).contains(number));
        if number.is_none() {
            let stranger =
                look_alike(&text).map_or_else(String::new, |it| format!(": it holds {it}"));
            let (least, most) = (limit(least), limit(most));
            let what = format!("`{}` is no number from {least} to {most}{stranger}", shown(&text));
            self.fault(column, what, "write digits with a decimal point, such as 2.4");
        }
        number
    }

    /// A day, whose time of day is left out.
    pub(super) fn date(&mut self, column: &str) -> Option<Date> {
        match day_of(&self.text(column)?) {
            Ok(day) => Some(day.date),
            Err(wrong) => {
                self.faulty = true;
                let place = self.row.place.at_field(column);
                let finding = Finding::fault(place, wrong.what);
                self.findings.push(finding.because(wrong.why).mend(wrong.mend));
                None
            }
        }
    }
}

/// Spreadsheets write 12.0 or 12,00 where a column holds a fraction somewhere.
fn without_zeros(text: &str) -> &str {
    let Some((whole, rest)) = text.split_once(['.', ',']) else { return text };
    let zeros = (1..=2).contains(&rest.len()) && rest.bytes().all(|byte| byte == b'0');
    if zeros && !whole.is_empty() { whole } else { text }
}

fn shown(text: &str) -> String {
    text.chars().filter(|c| !c.is_control()).take(40).collect()
}

/// A limit to read: 3280.84, not 3280.839895013123.
fn limit(number: f64) -> String {
    format!("{number:.3}").trim_end_matches('0').trim_end_matches('.').to_owned()
}
