//! The tokens of JSON (RFC 8259): where each ends, or what is wrong with it.

use std::borrow::Cow;

/// What is wrong with a text, and at which byte.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct JsonFault {
    pub(super) at: usize,
    pub(super) what: String,
    pub(super) mend: String,
}

/// A fault at a byte, as a result.
pub(super) fn refuse<T>(
    at: usize,
    what: impl Into<String>,
    mend: impl Into<String>,
) -> Result<T, JsonFault> {
    Err(JsonFault { at, what: what.into(), mend: mend.into() })
}

/// The text between the quotes that begin at `start`, escapes resolved, and the byte after it.
///
/// # Errors
/// No closing quote, a bare control character, a broken escape, a zero character.
pub(super) fn string_at(text: &str, start: usize) -> Result<(Cow<'_, str>, usize), JsonFault> {
    let (end, escaped) = closing_quote(text, start)?;
    if !escaped {
        return Ok((Cow::Borrowed(&text[start + 1..end]), end + 1));
    }
    match serde_json::from_str::<String>(&text[start..=end]) {
        Ok(whole) if whole.contains('\0') => {
            refuse(start, "a zero character (\\u0000) in a text", "delete it")
        }
        Ok(whole) => Ok((Cow::Owned(whole), end + 1)),
        Err(error) => {
            let what = format!("a text with a broken escape: {error}");
            refuse(start, what, "write the letter itself instead of its \\u code")
        }
    }
}

fn closing_quote(text: &str, start: usize) -> Result<(usize, bool), JsonFault> {
    let (mut at, mut escaped) = (start + 1, false);
    loop {
        match text.as_bytes().get(at) {
            Some(b'"') => return Ok((at, escaped)),
            Some(b'\\') => {
                escaped = true;
                at += 1;
            }
            Some(0..=0x1f) => {
                let what = "a control character or line end inside a text";
                return refuse(at, what, "close the quote before it, or write it as \\n");
            }
            Some(_) => {}
            None => {
                let what = "the file looks cut off: this text has no closing quote";
                return refuse(start, what, "save or download it again");
            }
        }
        at += 1;
    }
}

/// The byte after the number that begins at `start`.
///
/// # Errors
/// What is no JSON number, or does not fit a double.
pub(super) fn number_at(text: &str, start: usize) -> Result<usize, JsonFault> {
    let rest = text.as_bytes()[start..].iter();
    let length = rest.take_while(|b| b.is_ascii_alphanumeric() || b"+-._".contains(b)).count();
    let number = &text[start..start + length];
    let shown: String = number.chars().take(40).collect();
    if !is_number(number) {
        return refuse(start, format!("`{shown}` is no JSON number"), "write digits and a point");
    }
    // Only an exponent or some hundred digits can leave the range of a double.
    let suspicious = length > 300 || number.contains(['e', 'E']);
    if suspicious && !number.parse::<f64>().is_ok_and(f64::is_finite) {
        return refuse(start, format!("{shown} is out of range"), "check the number");
    }
    Ok(start + length)
}

/// The byte after `null`, `true` or `false` at `start`.
///
/// # Errors
/// Any other word.
pub(super) fn word_at(text: &str, start: usize) -> Result<usize, JsonFault> {
    let rest = &text[start..];
    let end = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
    let word = &rest[..end];
    if ["null", "true", "false"].contains(&word) {
        return Ok(start + end);
    }
    let shown: String = rest.chars().take(end.clamp(1, 40)).collect();
    if ["NaN", "Infinity", "nan", "inf"].contains(&word) {
        let mend = "write a number, or null in a property";
        return refuse(start, format!("{shown} is no JSON number"), mend);
    }
    let mend = "put texts in double quotes, and check the brackets and commas before it";
    refuse(start, format!("`{shown}` where a value is needed"), mend)
}

/// The grammar of RFC 8259: no leading zero, digits on both sides of the point.
fn is_number(text: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    let text = text.strip_prefix('-').unwrap_or(text);
    let (mantissa, exponent) = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (text, None),
    };
    let (whole, fraction) = match mantissa.split_once('.') {
        Some((whole, fraction)) => (whole, Some(fraction)),
        None => (mantissa, None),
    };
    digits(whole)
        && (whole.len() == 1 || !whole.starts_with('0'))
        && fraction.is_none_or(digits)
        && exponent.is_none_or(|e| digits(e.strip_prefix(['+', '-']).unwrap_or(e)))
}

/// Line and column (in characters) of a byte, counted from 1.
pub(super) fn line_and_column(text: &str, at: usize) -> (u64, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = 1 + before.matches('\n').count();
    (line as u64, 1 + before[line_start..].chars().count())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_follow_the_grammar() {
        // RFC 8259 §6.
        for sound in ["0", "-0", "12", "-12.50", "1e5", "1E-5", "0.1e+2"] {
            assert_eq!(number_at(sound, 0), Ok(sound.len()), "{sound}");
        }
        for broken in ["01", "1.", "-", "1e", "1.e2", "0x10", "1_000", "-.5", "--1", "1e400"] {
            assert!(number_at(broken, 0).is_err(), "{broken}");
        }
    }

    #[test]
    fn strings_end_at_their_own_quote() {
        let (text, end) = string_at(r#""a\"b\u00e9" , "x""#, 0).unwrap();
        assert_eq!((text.as_ref(), end), ("a\"bé", 12));
        assert!(string_at("\"é", 0).is_err());
        assert!(string_at("\"\\", 0).is_err());
    }

    #[test]
    fn columns_count_letters_not_bytes() {
        assert_eq!(line_and_column("é\nüx", 5), (2, 2));
    }
}
