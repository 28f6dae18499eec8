//! What blocks, rows, vines, panels and zones are called, checked once and printed one way.
//!
//! Ids start with a letter and hold no `-`, so no spreadsheet takes one for a number or a date.

mod plain;
mod words;

use std::{fmt, str::FromStr};

pub use words::{agreeing, named_rows, number_of, row_text, rows_for_people};

/// The name of a block: some text, unique among the blocks of a run.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct BlockName(String);

/// The longest name kept, in characters.
const LONGEST_NAME: usize = 120;

impl BlockName {
    /// The name as written.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// A folder name that every file system takes: lower-case ASCII letters, digits and `-`. Letters
    /// of Latin script lose their marks: `Südhang` is `sudhang`.
    ///
    /// Different names can share one; the job that writes tells them apart.
    pub fn folder(&self) -> String {
        let mut folder = String::new();
        for c in self.0.chars() {
            match plain::plain(c) {
                Some(letters) => folder.push_str(&letters),
                None if !folder.is_empty() && !folder.ends_with('-') => folder.push('-'),
                None => {}
            }
        }
        folder.truncate(60);
        let folder = folder.trim_end_matches('-');
        let reserved = ["con", "prn", "aux", "nul"].contains(&folder)
            || (folder.len() == 4 && (folder.starts_with("com") || folder.starts_with("lpt")));
        if folder.is_empty() || reserved { format!("block-{folder}") } else { folder.to_owned() }
            .trim_end_matches('-')
            .to_owned()
    }
}

/// Why a text cannot name a thing.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct NameError(String);

impl FromStr for BlockName {
    type Err = NameError;

    fn from_str(text: &str) -> Result<Self, NameError> {
        let name = text.trim();
        if name.is_empty() {
            return Err(NameError("a block's name is empty".to_owned()));
        }
        if name.chars().count() > LONGEST_NAME {
            return Err(NameError(format!("a block's name is longer than {LONGEST_NAME} letters")));
        }
        if name.chars().any(char::is_control) {
            return Err(NameError("a block's name holds a control character".to_owned()));
        }
        Ok(Self(name.to_owned()))
    }
}

impl fmt::Display for BlockName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Words with their first letter as a capital: the start of a sentence.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The letter of a piece of a row that is cut: `a` from vine 1's end, after `z` comes `aa`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct PieceLetter(u16);

impl PieceLetter {
    /// The letter of the piece at `index`, counted from 0.
    pub const fn of(index: u16) -> Self {
        Self(index)
    }
}

impl fmt::Display for PieceLetter {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut rest = u32::from(self.0);
        let mut letters = Vec::new();
        loop {
            letters.push(char::from_digit(10 + rest % 26, 36).unwrap_or('a'));
            if rest < 26 {
                break;
            }
            rest = rest / 26 - 1;
        }
        letters.iter().rev().try_for_each(|letter| write!(f, "{letter}"))
    }
}

/// How many digits the numbers of a block's ids have: the same through the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IdDigits {
    row: usize,
    vine: usize,
    panel: usize,
}

impl IdDigits {
    /// At least three digits for rows and vines and two for panels, more where the numbers need it.
    pub fn for_greatest(row: u32, vine: u32, panel: u32) -> Self {
        let digits = |number: u32| number.to_string().len();
        Self { row: digits(row).max(3), vine: digits(vine).max(3), panel: digits(panel).max(2) }
    }

    /// How many digits the numbers of rows, vines and panels have.
    pub const fn widths(self) -> [usize; 3] {
        [self.row, self.vine, self.panel]
    }

    /// `R012V034`.
    pub fn vine(self, row: u32, vine: u32) -> String {
        format!(
            "R{row:0row_digits$}V{vine:0vine_digits$}",
            row_digits = self.row,
            vine_digits = self.vine
        )
    }

    /// `R012P07`.
    pub fn panel(self, row: u32, panel: u32) -> String {
        format!("R{row:0row_digits$}P{panel:0digits$}", row_digits = self.row, digits = self.panel)
    }

    /// `R012a`, or `R012` for a row in one piece.
    pub fn piece(self, row: u32, letter: Option<PieceLetter>) -> String {
        let letter = letter.map(|letter| letter.to_string()).unwrap_or_default();
        format!("R{row:0digits$}{letter}", digits = self.row)
    }
}

/// An id as someone wrote it: a vine of a row, or a panel of a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PlaceId {
    /// `R012V034`.
    Vine {
        /// The row's number.
        row: u32,
        /// The vine's number in the row.
        vine: u32,
    },
    /// `R012P07`.
    Panel {
        /// The row's number.
        row: u32,
        /// The panel's number in the row.
        panel: u32,
    },
}

impl FromStr for PlaceId {
    type Err = NameError;

    /// Reads an id with any number of digits, in either case.
    fn from_str(text: &str) -> Result<Self, NameError> {
        let upper = text.trim().to_uppercase();
        let refuse =
            || NameError(format!("`{}` is no id such as R012V034 or R012P07", text.trim()));
        let rest = upper.strip_prefix('R').ok_or_else(refuse)?;
        let at = rest.find(['V', 'P']).ok_or_else(refuse)?;
        let number = |digits: &str| {
            let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
            plain.then(|| digits.parse::<u32>().ok()).flatten().ok_or_else(refuse)
        };
        let (row, second) = (number(&rest[..at])?, number(&rest[at + 1..])?);
        Ok(if rest[at..].starts_with('V') {
            Self::Vine { row, vine: second }
        } else {
            Self::Panel { row, panel: second }
        })
    }
}

/// How alike two keys are, 0 … 1: twice the letter pairs they share over all their pairs (Dice
/// 1945). For "did you mean".
pub fn likeness(one: &str, other: &str) -> f64 {
    let pairs = |text: &str| -> Vec<(char, char)> {
        let letters: Vec<char> = format!("^{}$", text.to_lowercase()).chars().collect();
        letters.windows(2).map(|pair| (pair[0], pair[1])).collect()
    };
    let (ones, mut others) = (pairs(one), pairs(other));
    let total = ones.len() + others.len();
    let mut shared = 0.0;
    for pair in ones {
        if let Some(at) = others.iter().position(|other| *other == pair) {
            others.swap_remove(at);
            shared += 2.0;
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "a few letters")]
    let total = total as f64;
    shared / total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folders_are_plain_whatever_the_name_says() {
        let folder = |name: &str| name.parse::<BlockName>().unwrap().folder();
        assert_eq!(folder("North slope / A"), "north-slope-a");
        assert_eq!(folder("../../etc"), "etc");
        assert_eq!(folder("CON"), "block-con");
        assert_eq!(folder("葡萄"), "block");
        assert_eq!(folder("Südhang"), "sudhang");
        assert_eq!(folder("Su\u{308}dhang"), "sudhang");
        assert_eq!(folder("Großer Weinberg – Éire, ŁÓDŹ & Ærø"), "grosser-weinberg-eire-lodz-aero");
        assert_eq!(folder("İzmir"), "izmir");
        assert!("  ".parse::<BlockName>().is_err());
        assert!("a\u{0}b".parse::<BlockName>().is_err());
    }

    #[test]
    fn letters_go_on_after_z() {
        let letters: Vec<String> =
            [0, 25, 26, 27, 51, 52].map(|i| PieceLetter::of(i).to_string()).into();
        assert_eq!(letters, ["a", "z", "aa", "ab", "az", "ba"]);
    }

    #[test]
    fn ids_have_one_width_and_are_read_back() {
        let digits = IdDigits::for_greatest(12, 1034, 7);
        assert_eq!(digits.vine(3, 34), "R003V0034");
        assert_eq!(digits.panel(3, 7), "R003P07");
        assert_eq!(digits.piece(3, Some(PieceLetter::of(1))), "R003b");
        assert_eq!("r3v34".parse(), Ok(PlaceId::Vine { row: 3, vine: 34 }));
        assert_eq!("R003P07".parse(), Ok(PlaceId::Panel { row: 3, panel: 7 }));
        for text in ["R3", "V3", "R-1V2", "R1VX", "12", "R99999999999V1"] {
            assert!(text.parse::<PlaceId>().is_err(), "{text}");
        }
    }
}
