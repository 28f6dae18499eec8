//! Some rows as people write them -> [`RowSet`].

use std::{collections::BTreeSet, ops::RangeInclusive, str::FromStr};

use crate::{block::RowSet, units::UnitError};

/// Rows of a block are numbered far below this.
const GREATEST_ROW: u32 = 1_000_000;

impl FromStr for RowSet {
    type Err = UnitError;

    /// Reads `1-12,15`, `odd`, `even` or `1-23/2` (every second row from 1 to 23).
    fn from_str(text: &str) -> Result<Self, UnitError> {
        match text.trim().to_lowercase().as_str() {
            "odd" => Ok(Self::Odd),
            "even" => Ok(Self::Even),
            listed => listed_rows(listed).map(Self::Listed).ok_or_else(|| UnitError {
                what: format!("`{text}` names no rows"),
                mend: "write such as \"1-12,15\", \"odd\", \"even\" or \"1-23/2\"".to_owned(),
            }),
        }
    }
}

fn listed_rows(text: &str) -> Option<BTreeSet<u32>> {
    let mut rows = BTreeSet::new();
    for part in text.split([',', ';']) {
        let (range, step) = match part.split_once('/') {
            Some((range, step)) => (range, whole(step)?),
            None => (part, 1),
        };
        let step = usize::try_from(step).ok().filter(|step| *step > 0)?;
        rows.extend(row_range(range)?.step_by(step));
    }
    Some(rows)
}

fn row_range(text: &str) -> Option<RangeInclusive<u32>> {
    let (first, last) = match text.split_once(['-', '–', '—']) {
        Some((first, last)) => (whole(first)?, whole(last)?),
        None => (whole(text)?, whole(text)?),
    };
    (first <= last && last <= GREATEST_ROW).then_some(first..=last)
}

fn whole(text: &str) -> Option<u32> {
    let digits = text.trim();
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| digits.parse().ok()).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed(text: &str) -> Vec<u32> {
        let RowSet::Listed(rows) = text.parse::<RowSet>().unwrap() else { panic!("{text}") };
        rows.into_iter().collect()
    }

    #[test]
    fn rows_are_ranges_lists_steps_and_words() {
        assert_eq!(listed("1-4,7"), [1, 2, 3, 4, 7]);
        assert_eq!(listed(" 3 – 5 ; 9"), [3, 4, 5, 9]);
        assert_eq!(listed("1-8/3"), [1, 4, 7]);
        assert_eq!("Odd".parse(), Ok(RowSet::Odd));
        assert_eq!("even".parse(), Ok(RowSet::Even));
    }

    #[test]
    fn what_names_no_rows_is_refused() {
        for text in ["", "5-3", "1-23 step 2", "1-8/0", "-4", "a", "1,,2", "1-99999999", "1.5"] {
            assert!(text.parse::<RowSet>().is_err(), "{text}");
        }
    }
}
