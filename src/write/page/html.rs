//! The doors through which texts enter the page: one for words, one for data, one for what may run.

use sha2::{Digest, Sha256};

use crate::{names::capital, picture::escaped};

/// Words as text of the page: nobody's name can be markup, and every letter of it is seen.
pub(in crate::write) fn text(words: &str) -> String {
    escaped(&visible(words))
}

/// Words in which marks that hide or turn letters, and control characters, are written as their
/// code points.
pub(super) fn visible(words: &str) -> String {
    let seen = words.chars().map(|letter| {
        if is_unseen(letter) {
            format!("[U+{:04X}]", u32::from(letter))
        } else {
            letter.to_string()
        }
    });
    seen.collect()
}

fn is_unseen(letter: char) -> bool {
    letter.is_control()
        || matches!(letter, '\u{AD}' | '\u{61C}' | '\u{200B}'..='\u{200F}' | '\u{2028}'..='\u{202E}'
            | '\u{2060}'..='\u{206F}' | '\u{FEFF}' | '\u{FFF9}'..='\u{FFFB}')
}

/// JSON that can stand in a script element: no `<` in it ends the element or begins a comment.
pub(in crate::write) fn script_json(json: &str) -> String {
    json.replace('<', "\\u003c")
}

/// What a content-security policy names a style or a script by.
pub(in crate::write) fn source_hash(source: &str) -> String {
    format!("'sha256-{}'", base64(&Sha256::digest(source.as_bytes())))
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::new();
    for three in bytes.chunks(3) {
        let part = |at: usize| u32::from(three.get(at).copied().unwrap_or(0));
        let joined = part(0) << 16 | part(1) << 8 | part(2);
        for at in 0..4 {
            let letter = LETTERS[(joined >> (18 - 6 * at) & 63) as usize];
            text.push(if at <= three.len() { char::from(letter) } else { '=' });
        }
    }
    text
}

/// Words as a sentence of the page: a capital first, one full stop at the end.
pub(super) fn sentence(words: &str) -> String {
    format!("{}.", text(capital(words).trim_end_matches('.')))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_people_wrote_is_markup() {
        let name = "</script><img src=x onerror=alert(1)>\"'&";
        let safe = text(name);
        assert!(!safe.contains(['<', '>', '"', '\'']), "{safe}");
        assert_eq!(text("a & b"), "a &amp; b");
        assert_eq!(text("葡萄 Côté"), "葡萄 Côté");
        assert_eq!(text("A\u{202E}B\u{7}"), "A[U+202E]B[U+0007]");
        assert!(!script_json(&format!("{name:?}<!--")).contains('<'));
    }

    // RFC 4648, section 10; `printf '' | openssl dgst -sha256 -binary | base64`.
    #[test]
    fn hashes_are_those_of_the_standards() {
        let cases =
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg==")];
        for (plain, wanted) in cases {
            assert_eq!(base64(plain.as_bytes()), wanted);
        }
        assert_eq!(source_hash(""), "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='");
    }
}
