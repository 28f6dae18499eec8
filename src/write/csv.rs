//! Tables as CSV: RFC 4180, ready for a spreadsheet and harmless in it.

use crate::{
    units::plain_number,
    write::{Table, Value},
};

/// A table as CSV: comma, CRLF, quotes only where needed, UTF-8.
///
/// A byte-order mark stands in front only when the text is not plain ASCII: spreadsheets need it
/// to tell UTF-8 from their own character set, and scripts are spared it elsewhere. A cell that a
/// spreadsheet would take for a formula gets a leading `'`; numbers stay as they are.
///
/// # Source
/// RFC 4180; OWASP, CSV Injection.
pub fn csv(table: &Table) -> Vec<u8> {
    let mut text = String::new();
    push_line(&mut text, table.heads.iter().map(|head| safe(head)));
    for row in &table.rows {
        push_line(&mut text, row.iter().map(cell));
    }
    let mark = if text.is_ascii() { "" } else { "\u{feff}" };
    format!("{mark}{text}").into_bytes()
}

fn cell(value: &Value) -> String {
    match value {
        Value::Text(_) | Value::Structure(_) => safe(&plain_cell(value)),
        Value::Null | Value::Integer(_) | Value::Number(_) | Value::Flag(_) => plain_cell(value),
    }
}

/// A value as text, before it is made harmless for spreadsheets.
pub(crate) fn plain_cell(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::Text(text) => text.to_string(),
        Value::Integer(number) => number.to_string(),
        Value::Number(number) => number.to_string(),
        Value::Flag(flag) => flag.to_string(),
        Value::Structure(structure) => structure.to_string(),
    }
}

/// The text, made harmless where a spreadsheet would compute it.
fn safe(text: &str) -> String {
    // The full-width forms are taken for their plain ones by some spreadsheets.
    let leads = ['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠'];
    let leads_formula = text.starts_with(leads);
    if leads_formula && plain_number(text).is_none() { format!("'{text}") } else { text.to_owned() }
}

fn push_line(text: &mut String, cells: impl Iterator<Item = String>) {
    for (index, cell) in cells.enumerate() {
        if index > 0 {
            text.push(',');
        }
        if cell.contains([',', '"', '\r', '\n']) {
            text.push('"');
            text.push_str(&cell.replace('"', "\"\""));
            text.push('"');
        } else {
            text.push_str(&cell);
        }
    }
    text.push_str("\r\n");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(value: impl Into<Value>, expected: &str) {
        let heads = vec!["a".to_owned(), "b".to_owned()];
        let table = Table { name: "t", heads, rows: vec![vec![value.into(), 1_u32.into()]] };
        let text = String::from_utf8(csv(&table)).unwrap();
        assert_eq!(text, format!("a,b\r\n{expected},1\r\n"));
    }

    #[test]
    fn cells_are_quoted_as_rfc_4180_asks() {
        check("plain", "plain");
        check("a, b", "\"a, b\"");
        check("say \"x\"", "\"say \"\"x\"\"\"");
        check("two\r\nlines", "\"two\r\nlines\"");
        check(Value::Null, "");
        check(12.5, "12.5");
        check(true, "true");
    }

    // Source: OWASP, CSV Injection: cells that start with = + - @ tab or carriage return.
    #[test]
    fn formulas_are_escaped_and_negative_numbers_are_not() {
        check("=cmd|' /C calc'!A0", "'=cmd|' /C calc'!A0");
        check("+1+2", "'+1+2");
        check("-2+3", "'-2+3");
        check("@SUM(A1)", "'@SUM(A1)");
        check("\tx", "'\tx");
        check("\r=x", "\"'\r=x\"");
        check("-12.5", "-12.5");
        check("-12,5", "\"-12,5\"");
        check(-12.5, "-12.5");
    }

    #[test]
    fn a_byte_order_mark_stands_only_before_text_that_needs_it() {
        let table = |name: &str| Table { name: "t", heads: vec![name.to_owned()], rows: vec![] };
        assert_eq!(csv(&table("block")), b"block\r\n");
        assert_eq!(csv(&table("Rèze")), "\u{feff}Rèze\r\n".as_bytes());
    }

    #[test]
    fn an_empty_cell_alone_on_its_line_is_still_a_line() {
        let table = Table { name: "t", heads: vec!["a".into()], rows: vec![vec![Value::Null]] };
        assert_eq!(csv(&table), b"a\r\n\r\n");
    }
}
