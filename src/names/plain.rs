//! Letters as folder names take them: the nearest of `a` to `z`, so that a name stays readable.

/// The marks that stand after a letter in text that keeps them apart: they are no letters.
const MARKS: std::ops::RangeInclusive<char> = '\u{300}'..='\u{36f}';

/// Letters without their marks, by what stands for them.
const LETTERS: [(&str, &str); 23] = [
    ("a", "àáâãäåāăąǎ"),
    ("c", "çćĉċč"),
    ("d", "ďđð"),
    ("e", "èéêëēĕėęě"),
    ("g", "ĝğġģ"),
    ("h", "ĥħ"),
    ("i", "ìíîïĩīĭįıǐ"),
    ("j", "ĵ"),
    ("k", "ķ"),
    ("l", "ĺļľŀł"),
    ("n", "ñńņňŉ"),
    ("o", "òóôõöøōŏőǒ"),
    ("r", "ŕŗř"),
    ("s", "śŝşšș"),
    ("t", "ţťŧț"),
    ("u", "ùúûüũūŭůűųǔ"),
    ("w", "ŵ"),
    ("y", "ýÿŷ"),
    ("z", "źżž"),
    ("ae", "æǽ"),
    ("oe", "œ"),
    ("ss", "ß"),
    ("th", "þ"),
];

/// A letter in small plain ones; `None` for what is none, empty for a mark of the letter before it.
pub(super) fn plain(letter: char) -> Option<String> {
    if MARKS.contains(&letter) {
        return Some(String::new());
    }
    let small: String = letter.to_lowercase().filter(|part| !MARKS.contains(part)).collect();
    if small.chars().all(|part| part.is_ascii_alphanumeric()) {
        return Some(small);
    }
    let known = LETTERS.iter().find(|(_, marked)| marked.contains(&small));
    known.map(|(plain, _)| (*plain).to_owned())
}
