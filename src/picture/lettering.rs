//! How wide words are and how they break, measured on the one font that pictures are lettered in.

use std::sync::LazyLock;

use ttf_parser::Face;

use crate::{error::Error, picture::Hand};

/// The family that pictures are lettered in, condensed.
pub(super) const FAMILY: &str = "DejaVu Sans";

/// The font files: regular, bold.
pub(super) fn files() -> [&'static [u8]; 2] {
    [dejavu::sans_condensed::regular(), dejavu::sans_condensed::bold()]
}

static FACES: LazyLock<[Option<Face<'static>>; 2]> =
    LazyLock::new(|| files().map(|file| Face::parse(file, 0).ok()));

fn face(bold: bool) -> Result<&'static Face<'static>, Error> {
    FACES[usize::from(bold)]
        .as_ref()
        .ok_or_else(|| Error::Unexpected("the built-in font cannot be read".to_owned()))
}

/// The width of a line of words, millimetres.
///
/// # Errors
/// When the font has no shape for a letter: it would vanish without a word.
pub(super) fn width_mm(words: &str, hand: Hand) -> Result<f64, Error> {
    let face = face(hand.bold)?;
    let mut units = 0_u32;
    for letter in words.chars() {
        let glyph = face.glyph_index(letter).ok_or_else(|| {
            Error::Unexpected(format!("the font has no `{letter}`, of \"{words}\""))
        })?;
        units += u32::from(face.glyph_hor_advance(glyph).unwrap_or(0));
    }
    Ok(f64::from(units) / f64::from(face.units_per_em()) * hand.size_mm)
}

/// A text of somebody else's so that every letter of it is seen: what the font has no shape for,
/// and what turns or hides letters, is written as its code point.
pub(super) fn printable(text: &str) -> String {
    let printed = text.chars().map(|letter| {
        if has_shape(letter) {
            letter.to_string()
        } else {
            format!("[U+{:04X}]", u32::from(letter))
        }
    });
    printed.collect()
}

/// The first letter of a text that no font of the pages has.
pub fn letter_without_shape(text: &str) -> Option<char> {
    text.chars().find(|letter| !has_shape(*letter))
}

fn has_shape(letter: char) -> bool {
    // Marks of direction, joiners and the like: invisible, or they turn what follows.
    let unseen = matches!(letter, '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
        | '\u{2060}'..='\u{206F}' | '\u{FE00}'..='\u{FE0F}' | '\u{FEFF}' | '\u{AD}');
    !unseen
        && !letter.is_control()
        && [false, true]
            .into_iter()
            .all(|bold| face(bold).is_ok_and(|face| face.glyph_index(letter).is_some()))
}

/// Words broken into lines no wider than `widest_mm`; a word that is wider by itself is broken
/// anywhere.
///
/// # Errors
/// As [`width_mm`].
pub(super) fn wrap(words: &str, hand: Hand, widest_mm: f64) -> Result<Vec<String>, Error> {
    let mut lines = vec![String::new()];
    for word in words.split_whitespace() {
        for part in pieces(word, hand, widest_mm)? {
            let line = lines.last_mut().map(std::mem::take).unwrap_or_default();
            let longer = if line.is_empty() { part.clone() } else { format!("{line} {part}") };
            let fits = line.is_empty() || width_mm(&longer, hand)? <= widest_mm;
            lines.pop();
            if fits {
                lines.push(longer);
            } else {
                lines.extend([line, part]);
            }
        }
    }
    Ok(lines)
}

fn pieces(word: &str, hand: Hand, widest_mm: f64) -> Result<Vec<String>, Error> {
    let mut pieces = vec![String::new()];
    for letter in word.chars() {
        let mut longer = pieces.pop().unwrap_or_default();
        longer.push(letter);
        if longer.chars().count() > 1 && width_mm(&longer, hand)? > widest_mm {
            longer.pop();
            pieces.extend([longer, letter.to_string()]);
        } else {
            pieces.push(longer);
        }
    }
    Ok(pieces)
}

/// The start of some words that fits on a line, with `…` where something was left out.
///
/// # Errors
/// As [`width_mm`].
pub(super) fn shorten(words: &str, hand: Hand, widest_mm: f64) -> Result<String, Error> {
    if width_mm(words, hand)? <= widest_mm {
        return Ok(words.to_owned());
    }
    let mut kept: Vec<char> = words.chars().collect();
    loop {
        kept.pop();
        let text: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if kept.is_empty() || width_mm(&text, hand)? <= widest_mm {
            return Ok(text);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HAND: Hand = Hand { size_mm: 4.0, bold: false };

    #[test]
    fn words_break_where_they_must() {
        let lines = wrap("shoots per foot of canopy", HAND, 30.0).unwrap();
        assert!(lines.len() > 1);
        assert_eq!(lines.join(" "), "shoots per foot of canopy");
        for line in &lines {
            assert!(width_mm(line, HAND).unwrap() <= 30.0, "{line}");
        }
        let lines = wrap("Donaudampfschifffahrtsgesellschaft", HAND, 20.0).unwrap();
        assert_eq!(lines.concat(), "Donaudampfschifffahrtsgesellschaft");
        assert!(lines.len() > 2);
    }

    #[test]
    fn a_letter_without_a_shape_is_never_silent() {
        assert!(width_mm("葡", HAND).is_err());
        assert_eq!(printable("葡 A\u{202E}B"), "[U+8461] A[U+202E]B");
        assert_eq!(printable("Côté Ωραία Дон № 7 <b>"), "Côté Ωραία Дон № 7 <b>");
    }

    #[test]
    fn what_is_left_out_is_marked() {
        let short = shorten("a very long name of a block", HAND, 25.0).unwrap();
        assert!(short.ends_with('…') && width_mm(&short, HAND).unwrap() <= 25.0, "{short}");
        assert_eq!(shorten("short", HAND, 25.0).unwrap(), "short");
    }
}
