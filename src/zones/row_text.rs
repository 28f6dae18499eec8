//! Rows as people write them: `1-12,15`, `1-23/2`.

/// Rows as text, from rising numbers without repeats: ranges, and steps where rows alternate.
pub(super) fn row_text(rows: &[u32]) -> String {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(rows: &[u32], expected: &str) {
        assert_eq!(row_text(rows), expected);
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
