//! The table of a shapefile (dBASE) -> texts, one record a shape.
//!
//! Read here and not by a crate, so that a value stays the text that was written: `2.40` and
//! `8 ft 6 in` pass the same door as an option, and a character set that is not Unicode is told.

use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use super::source::named_encoding;
use crate::finding::{Finding, Findings, Place};

const HEADER_BYTES: usize = 32;
const FIELD_BYTES: usize = 32;

/// A table of texts.
#[derive(Debug, Default)]
pub(super) struct Records {
    /// The names of its fields.
    pub(super) fields: Vec<String>,
    /// The texts of every record; `None` for one that is marked as deleted.
    pub(super) records: Vec<Option<Vec<String>>>,
}

struct Field {
    name: String,
    kind: u8,
    bytes: usize,
}

/// What is said of the character set of a table.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct CharacterSet<'a> {
    /// What the `.cpg` beside it says.
    pub(super) declared: Option<&'a str>,
    /// What `--encoding` says, for a table without a `.cpg`.
    pub(super) passed: Option<&'a str>,
}

/// Reads a table.
///
/// # Errors
/// A table that is cut off, or that is none; an `--encoding` that does not exist.
pub(super) fn records_of(
    bytes: &[u8],
    characters: CharacterSet<'_>,
    place: &Place,
    findings: &mut Findings,
) -> Result<Records, Finding> {
    let broken = |what: &str| {
        Finding::fault(place.clone(), format!("the table is damaged: {what}"))
            .mend("export the shapefile again, all of its files")
    };
    let header = bytes.get(..HEADER_BYTES).ok_or_else(|| broken("it has no header"))?;
    let count = u32::from_le_bytes([header[4], header[5], header[6], header[7]]);
    let start = usize::from(u16::from_le_bytes([header[8], header[9]]));
    let length = usize::from(u16::from_le_bytes([header[10], header[11]]));
    let described = bytes.get(HEADER_BYTES..start).ok_or_else(|| broken("it has no fields"))?;
    let fields = fields_of(described);
    let total: usize = fields.iter().map(|field| field.bytes).sum();
    if fields.is_empty() || total + 1 > length {
        return Err(broken("its fields are longer than its records"));
    }
    let count = usize::try_from(count).unwrap_or(usize::MAX);
    let records: Vec<&[u8]> = bytes[start..].chunks_exact(length).take(count).collect();
    if records.len() < count {
        return Err(broken(&format!("{count} records are announced, {} are there", records.len())));
    }
    let unicode = records.iter().all(|record| std::str::from_utf8(record).is_ok());
    let encoding = match characters.settled(unicode)? {
        Some(encoding) => encoding,
        None => characters.guessed(header[29], place, findings),
    };
    tell_left_out(&fields, place, findings);
    let texts =
        |record: &&[u8]| (record[0] != b'*').then(|| texts(&record[1..], &fields, encoding));
    Ok(Records {
        records: records.iter().map(texts).collect(),
        fields: fields.into_iter().map(|field| field.name).collect(),
    })
}

fn fields_of(described: &[u8]) -> Vec<Field> {
    let fields = described.chunks_exact(FIELD_BYTES).take_while(|field| field[0] != 0x0d);
    fields
        .map(|field| {
            let name = field[..11].split(|byte| *byte == 0).next().unwrap_or_default();
            Field {
                name: String::from_utf8_lossy(name).trim().to_owned(),
                kind: field[11].to_ascii_uppercase(),
                bytes: usize::from(field[16]),
            }
        })
        .collect()
}

impl CharacterSet<'_> {
    /// As declared, else UTF-8 where the bytes are that, else as passed; `None` without any.
    fn settled(&self, unicode: bool) -> Result<Option<&'static Encoding>, Finding> {
        match self.declared.and_then(encoding_of) {
            Some(encoding) if encoding != UTF_8 || unicode => Ok(Some(encoding)),
            _ if unicode => Ok(Some(UTF_8)),
            _ => self.passed.map(named_encoding).transpose(),
        }
    }

    /// What the header says, and why that had to be asked.
    fn guessed(&self, language: u8, place: &Place, findings: &mut Findings) -> &'static Encoding {
        let encoding = by_language(language);
        let declared = self.declared.map(str::trim).filter(|declared| !declared.is_empty());
        let why = match declared {
            None => "they are no UTF-8, and no .cpg beside it names another set".to_owned(),
            Some(name) if encoding_of(name).is_some() => {
                format!("they are not the {name} that the .cpg beside it names")
            }
            Some(name) => format!("the .cpg beside it names `{name}`, which is no character set"),
        };
        let what = format!("its texts are read as {}", encoding.name());
        findings.push(
            Finding::warning(place.clone(), what)
                .because(why)
                .mend("look at the names; pass --encoding, or save it as UTF-8"),
        );
        encoding
    }
}

/// `UTF-8`, `65001`, `ANSI 1252`, `CP1252`, `ISO-8859-1`, `88591` …
fn encoding_of(declared: &str) -> Option<&'static Encoding> {
    let plain = declared.trim().to_lowercase();
    let digits: String = plain.chars().filter(char::is_ascii_digit).collect();
    let label = match digits.as_str() {
        "65001" | "8" => "utf-8".to_owned(),
        windows if windows.len() == 4 && windows.starts_with("125") => format!("windows-{windows}"),
        latin if latin.starts_with("8859") => format!("iso-8859-{}", &latin[4..]),
        "932" => "shift_jis".to_owned(),
        "936" => "gbk".to_owned(),
        "949" => "euc-kr".to_owned(),
        "950" => "big5".to_owned(),
        _ => plain,
    };
    Encoding::for_label(label.as_bytes())
}

/// The language driver of a dBASE header.
fn by_language(language: u8) -> &'static Encoding {
    let label: &[u8] = match language {
        0x64 | 0xc8 => b"windows-1250",
        0x65 | 0x26 => b"ibm866",
        0xc9 => b"windows-1251",
        0xcb => b"windows-1253",
        0xca => b"windows-1254",
        0x13 | 0x7b => b"shift_jis",
        _ => b"windows-1252",
    };
    Encoding::for_label(label).unwrap_or(WINDOWS_1252)
}

fn tell_left_out(fields: &[Field], place: &Place, findings: &mut Findings) {
    for field in fields.iter().filter(|field| !b"CNFLDI".contains(&field.kind)) {
        let what = format!("a field of kind `{}` is not read", char::from(field.kind));
        findings.push(
            Finding::warning(place.at_field(&field.name), what)
                .mend("make it a field of text or numbers if it matters"),
        );
    }
}

fn texts(record: &[u8], fields: &[Field], encoding: &'static Encoding) -> Vec<String> {
    let mut at = 0;
    fields
        .iter()
        .map(|field| {
            let cell = record.get(at..at + field.bytes).unwrap_or_default();
            at += field.bytes;
            text(cell, field.kind, encoding)
        })
        .collect()
}

fn text(cell: &[u8], kind: u8, encoding: &'static Encoding) -> String {
    if kind == b'I' {
        let number = <[u8; 4]>::try_from(cell).map(i32::from_le_bytes);
        return number.map(|number| number.to_string()).unwrap_or_default();
    }
    let (text, _) = encoding.decode_without_bom_handling(cell);
    let text = text.trim_matches(|c: char| c.is_whitespace() || c == '\0');
    match kind {
        b'N' | b'F' => number(text),
        b'L' => match text {
            "T" | "t" | "Y" | "y" => "true".to_owned(),
            "F" | "f" | "N" | "n" => "false".to_owned(),
            _ => String::new(),
        },
        b'D' if text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit()) => {
            format!("{}-{}-{}", &text[..4], &text[4..6], &text[6..])
        }
        b'C' | b'D' => text.to_owned(),
        _ => String::new(),
    }
}

/// A number as a person would write it: the zeros that fill a column are no part of it.
fn number(text: &str) -> String {
    match text.parse::<f64>() {
        Ok(number) if text.contains(['e', 'E']) => number.to_string(),
        Ok(_) if text.contains('.') => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        Ok(_) | Err(_) => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(kind: u8, cell: &[u8], expected: &str) {
        assert_eq!(text(cell, kind, UTF_8), expected);
    }

    #[test]
    fn cells_are_what_a_person_would_type() {
        check(b'N', b"   14.5000000", "14.5");
        check(b'N', b"        4", "4");
        check(b'N', b"4.000", "4");
        check(b'F', b"2.4e+00", "2.4");
        check(b'C', b"8 ft 6 in   ", "8 ft 6 in");
        check(b'L', b"T", "true");
        check(b'L', b"?", "");
        check(b'D', b"20260501", "2026-05-01");
        check(b'I', &[7, 0, 0, 0], "7");
        check(b'N', b"*****", "*****");
    }

    #[test]
    fn character_sets_are_known_by_any_of_their_names() {
        for (declared, name) in [
            ("UTF-8", "UTF-8"),
            ("65001\r\n", "UTF-8"),
            ("ANSI 1252", "windows-1252"),
            ("CP1251", "windows-1251"),
            ("ISO-8859-2", "ISO-8859-2"),
            ("ISO 88592", "ISO-8859-2"),
        ] {
            assert_eq!(encoding_of(declared).map(Encoding::name), Some(name), "{declared}");
        }
    }

    #[test]
    fn the_character_set_is_as_declared_then_as_passed_then_as_the_header_says() {
        let settled = |declared, passed, unicode| {
            let settled = CharacterSet { declared, passed }.settled(unicode);
            settled.map(|encoding| encoding.map(Encoding::name))
        };
        assert_eq!(settled(Some("CP1251"), Some("koi8-r"), false), Ok(Some("windows-1251")));
        assert_eq!(settled(None, Some("koi8-r"), false), Ok(Some("KOI8-R")));
        assert_eq!(settled(Some("martian"), Some("koi8-r"), false), Ok(Some("KOI8-R")));
        assert_eq!(settled(Some("UTF-8"), Some("koi8-r"), false), Ok(Some("KOI8-R")));
        assert_eq!(settled(None, Some("koi8-r"), true), Ok(Some("UTF-8")));
        assert_eq!(settled(Some("UTF-8"), None, false), Ok(None));
        assert!(settled(None, Some("martian"), false).unwrap_err().what.contains("martian"));
        let why = |declared| {
            let mut findings = Findings::none();
            let set = CharacterSet { declared, passed: None };
            set.guessed(0x57, &Place::default(), &mut findings);
            findings.iter().next().unwrap().why.clone()
        };
        assert!(why(None).contains("no .cpg"));
        assert!(why(Some("martian")).contains("`martian`, which is no character set"));
        assert!(why(Some("UTF-8")).contains("not the UTF-8"));
    }

    #[test]
    fn a_table_cut_anywhere_is_a_fault_and_no_panic() {
        let mut table = vec![3, 126, 1, 1, 1, 0, 0, 0, 65, 0, 4, 0];
        table.resize(HEADER_BYTES, 0);
        table.extend(b"NAME\0\0\0\0\0\0\0C\0\0\0\0\x03");
        table.resize(64, 0);
        table.extend(b"\x0d ABC");
        let said = CharacterSet::default();
        let read = |bytes: &[u8]| records_of(bytes, said, &Place::default(), &mut Findings::none());
        let whole = read(&table).unwrap();
        assert_eq!(whole.records, [Some(vec!["ABC".to_owned()])]);
        for end in 0..table.len() {
            assert!(read(&table[..end]).is_err(), "{end} bytes");
        }
    }
}
