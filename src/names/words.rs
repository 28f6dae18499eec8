//! Numbers of things and lists of rows as people write them: `1 row`, `3 rows`, `1-12,15`.

use std::fmt::Display;

/// So many of a thing: `1 row`, `3 rows`. The thing is named in the singular and its plural ends in
/// -s.
pub fn number_of(number: impl Display, thing: &str) -> String {
    let number = number.to_string();
    let plural = if number == "1" { "" } else { "s" };
    format!("{number} {thing}{plural}")
}

/// The word that agrees with a number: `is` of one, `are` of several.
pub const fn agreeing(number: usize, one: &'static str, several: &'static str) -> &'static str {
    if number == 1 { one } else { several }
}

/// Rows as text, from rising numbers without repeats: ranges, and steps where rows alternate,
/// `1-12,15,17-23/2`.
pub fn row_text(rows: &[u32]) -> String {
    let mut parts = Vec::new();
    let mut rest = rows;
    while let Some(&first) = rest.first() {
        let step = rest.get(1).map_or(1, |second| second - first);
        let steady = rest.windows(2).take_while(|pair| pair[1] - pair[0] == step).count();
        let last = rest[steady];
        // Two rows that are not next to each other are no pattern yet.
        let taken = if step > 1 && steady < 2 { 1 } else { steady + 1 };
        parts.push(match (taken, step) {
            (1, _) => first.to_string(),
            (_, 1) => format!("{first}-{last}"),
            (_, step) => format!("{first}-{last}/{step}"),
        });
        rest = &rest[taken..];
    }
    parts.join(",")
}

/// The same for people: `1-3,15` is `1 to 3, 15`, and `2-32/2` is `every second from 2 to 32`.
pub fn rows_for_people(row_text: &str) -> String {
    let part = |part: &str| {
        let (range, step) = part.split_once('/').unwrap_or((part, "1"));
        let range = range.replace('-', " to ");
        match step {
            "1" => range,
            "2" => format!("every second from {range}"),
            "3" => format!("every third from {range}"),
            step => format!("every {step}th from {range}"),
        }
    };
    row_text.split(',').map(part).collect::<Vec<_>>().join(", ")
}

/// The same with their name: `row 19`, `rows 1 to 3, 15`.
pub fn named_rows(row_text: &str) -> String {
    let one = row_text.bytes().all(|byte| byte.is_ascii_digit());
    format!("{} {}", if one { "row" } else { "rows" }, rows_for_people(row_text))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_thing_has_no_plural() {
        assert_eq!(number_of(1, "row"), "1 row");
        assert_eq!(number_of(0_usize, "row"), "0 rows");
        assert_eq!(number_of("12 M", "vine"), "12 M vines");
        assert_eq!([0, 1, 2].map(|number| agreeing(number, "is", "are")), ["are", "is", "are"]);
    }

    #[track_caller]
    fn check(rows: &[u32], expected: &str) {
        assert_eq!(row_text(rows), expected);
    }

    #[test]
    fn people_read_ranges_and_steps_in_words() {
        assert_eq!(rows_for_people("7"), "7");
        assert_eq!(rows_for_people("1-3,15"), "1 to 3, 15");
        assert_eq!(rows_for_people("1-3,6-20/2"), "1 to 3, every second from 6 to 20");
        assert_eq!(rows_for_people("1-17/4"), "every 4th from 1 to 17");
        assert_eq!(named_rows("19"), "row 19");
        assert_eq!(named_rows("1-3,15"), "rows 1 to 3, 15");
    }

    #[test]
    fn rows_are_written_as_ranges_and_steps() {
        check(&[], "");
        check(&[7], "7");
        check(&[1, 2, 3, 15], "1-3,15");
        check(&[1, 2, 3, 5, 6], "1-3,5-6");
        check(&[1, 3, 5, 7], "1-7/2");
        check(&[1, 3, 4, 5], "1,3-5");
        check(&[2, 4, 9], "2,4,9");
        check(&[1, 2, 4, 6, 8], "1-2,4-8/2");
    }
}
