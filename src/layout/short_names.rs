//! Names for receivers that show or keep only six characters.
//!
//! The row first, then a letter that says what stands there and how many hundreds its number has,
//! then two digits: `012A07` is vine 7 of row 12, `012B07` vine 107, `012X01` an end post. A block
//! whose numbers do not fit takes letters for digits, and where that does not do either, numbers its
//! stakes through: `V0000A`.

use super::stakes::StakeKind;

/// Characters of a short name.
pub const SHORT_NAME: usize = 6;

/// Digits and letters that nobody takes for one another: no I, no O.
const SIGNS: &[u8] = b"0123456789ABCDEFGHJKLMNPQRSTUVWXYZ";

/// How the short names of one kind of stake are made in a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Row, letter, decimal digits.
    Plain { row_digits: usize },
    /// Row, letter, signs.
    Dense { row_digits: usize },
    /// Letter, signs: numbered through the block.
    Through,
}

/// The short names of one kind of stake.
#[derive(Debug, Clone, Copy)]
pub(super) struct ShortNames {
    kind: StakeKind,
    form: Form,
}

impl ShortNames {
    /// The first form that holds every row and place up to these.
    pub(super) fn for_greatest(kind: StakeKind, row: u32, place: u32) -> Self {
        let row_digits = row.to_string().len().max(3);
        let left = SHORT_NAME.saturating_sub(row_digits + 1);
        let holds = |base: usize| {
            let places = letters(kind).len() * base.pow(u32::try_from(left).unwrap_or(0));
            row_digits < SHORT_NAME && usize::try_from(place).is_ok_and(|place| place < places)
        };
        let form = if holds(10) {
            Form::Plain { row_digits }
        } else if holds(SIGNS.len()) {
            Form::Dense { row_digits }
        } else {
            Form::Through
        };
        Self { kind, form }
    }

    /// The name of a stake: its row, its place among those of its kind in the row, and its place
    /// among those of its kind in the block, both from 1.
    pub(super) fn name(self, row: u32, place: u32, through: usize) -> String {
        let place = usize::try_from(place).unwrap_or(usize::MAX);
        match self.form {
            Form::Plain { row_digits } => self.in_row(row, row_digits, place, 10),
            Form::Dense { row_digits } => self.in_row(row, row_digits, place, SIGNS.len()),
            Form::Through => {
                let lead = char::from(letters(self.kind)[0]);
                let lead = if self.kind == StakeKind::Vine { 'V' } else { lead };
                format!("{lead}{}", signs(through, SHORT_NAME - 1, SIGNS.len()))
            }
        }
    }

    /// True where a name tells neither row nor place.
    pub(super) fn numbered_through(self) -> bool {
        self.form == Form::Through
    }

    fn in_row(self, row: u32, row_digits: usize, place: usize, base: usize) -> String {
        let left = SHORT_NAME - row_digits - 1;
        let each = base.pow(u32::try_from(left).unwrap_or(0));
        let letter = letters(self.kind).get(place / each).copied().map_or('Z', char::from);
        format!("{row:0row_digits$}{letter}{}", signs(place % each, left, base))
    }
}

/// The letters of a kind, each once in all; no E, which would make a number of digits around it.
const fn letters(kind: StakeKind) -> &'static [u8] {
    match kind {
        StakeKind::Vine => b"ABCDFGHJKLMN",
        StakeKind::LinePost => b"PQRS",
        StakeKind::EndPost => b"X",
        StakeKind::Anchor => b"Y",
        StakeKind::Check | StakeKind::Control => b"C",
    }
}

/// A number in so many signs of a base.
fn signs(number: usize, width: usize, base: usize) -> String {
    let mut rest = number;
    let mut signs = vec![SIGNS[0]; width];
    for sign in signs.iter_mut().rev() {
        *sign = SIGNS[rest % base];
        rest /= base;
    }
    signs.into_iter().map(char::from).collect()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    const KINDS: [StakeKind; 4] =
        [StakeKind::Vine, StakeKind::EndPost, StakeKind::LinePost, StakeKind::Anchor];

    #[track_caller]
    fn check(kind: StakeKind, greatest: (u32, u32), at: (u32, u32), expected: &str) {
        let names = ShortNames::for_greatest(kind, greatest.0, greatest.1);
        assert_eq!(names.name(at.0, at.1, 10), expected);
    }

    #[test]
    fn the_row_comes_first_then_what_and_which() {
        check(StakeKind::Vine, (28, 90), (12, 7), "012A07");
        check(StakeKind::Vine, (999, 999), (12, 107), "012B07");
        check(StakeKind::Vine, (999, 1199), (999, 1199), "999N99");
        check(StakeKind::EndPost, (28, 2), (3, 2), "003X02");
        check(StakeKind::LinePost, (28, 250), (3, 250), "003R50");
        check(StakeKind::Anchor, (28, 4), (3, 4), "003Y04");
        check(StakeKind::Vine, (1204, 90), (1204, 90), "1204L0");
        check(StakeKind::Vine, (1204, 400), (1204, 400), "1204NS");
        check(StakeKind::Vine, (12_040, 400), (12_040, 400), "V0000A");
        check(StakeKind::EndPost, (12_040, 2), (12_040, 2), "X0000A");
    }

    #[test]
    fn a_thousand_rows_of_999_vines_have_names_of_their_own() {
        let mut seen = BTreeSet::new();
        let mut made = 0_usize;
        for (kind, places) in KINDS.into_iter().zip([999, 8, 333, 8]) {
            let names = ShortNames::for_greatest(kind, 999, places);
            for row in 0..1000 {
                for place in 1..=places {
                    made += 1;
                    let name = names.name(row, place, made);
                    assert_eq!(name.len(), SHORT_NAME, "{name}");
                    assert!(name.parse::<f64>().is_err(), "{name} is a number");
                    seen.insert(name);
                }
            }
        }
        assert_eq!(seen.len(), made);
    }

    #[test]
    fn no_block_is_too_large_for_six_characters() {
        // Rows and vines a row of blocks up to five million vines.
        for (rows, vines) in [(1, 5_000_000), (100, 50_000), (4472, 1118), (100_000, 50)] {
            let names = ShortNames::for_greatest(StakeKind::Vine, rows, vines);
            let some = (1..=rows).step_by(usize::try_from(rows / 40 + 1).unwrap());
            let places = some.flat_map(|row| (1..=vines).step_by(7).map(move |at| (row, at)));
            let made: Vec<String> = places
                .map(|(row, at)| {
                    names.name(row, at, usize::try_from((row - 1) * vines + at).unwrap())
                })
                .collect();
            assert!(made.iter().all(|name| name.len() == SHORT_NAME && name.is_ascii()));
            let seen: BTreeSet<&String> = made.iter().collect();
            assert_eq!(seen.len(), made.len(), "{rows} rows of {vines}");
        }
    }
}
