//! One pass over a JSON text before any crate sees it: what parsers let through or tell badly.
//!
//! Finds duplicate keys (the last would win silently), nesting without end, `NaN`, numbers out of
//! range, numbers in quotes or positions of one number inside coordinates, half surrogates and zero
//! characters; each with its line and column. It recurses nowhere, so no text can exhaust the stack.

use std::{borrow::Cow, collections::BTreeSet, ops::Range};

use crate::names::likeness;

/// Deeper nesting is refused; GeoJSON needs about ten levels.
const DEEPEST: usize = 100;
/// Whole numbers with more digits change when they pass through floating point.
const MOST_EXACT_DIGITS: usize = 15;
/// What a `type` may say in GeoJSON.
const TYPES: &[&str] = &[
    "FeatureCollection",
    "Feature",
    "Point",
    "MultiPoint",
    "LineString",
    "MultiLineString",
    "Polygon",
    "MultiPolygon",
    "GeometryCollection",
];

/// What is wrong with the text, and where.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct JsonFault {
    pub(super) at: usize,
    pub(super) what: String,
    pub(super) mend: String,
}

/// What the pass learned about a sound text.
#[derive(Debug, Default)]
pub(super) struct Scan<'a> {
    /// The values at the top: one, or several in a text sequence.
    pub(super) roots: Vec<Root<'a>>,
    /// Whole numbers of an object that floating point would change.
    pub(super) long_integers: Vec<Range<usize>>,
}

/// A value at the top of the text.
#[derive(Debug, Default)]
pub(super) struct Root<'a> {
    /// Its bytes.
    pub(super) span: Range<usize>,
    /// Its keys, when it is an object.
    pub(super) keys: BTreeSet<Cow<'a, str>>,
    /// Its `type`.
    pub(super) kind: Option<Cow<'a, str>>,
    /// Where each of its `features` starts.
    pub(super) features: Vec<usize>,
}

/// Looks through a text.
///
/// # Errors
/// The first fault: after it the rest has no meaning.
pub(super) fn scan(text: &str) -> Result<Scan<'_>, JsonFault> {
    let mut scanner = Scanner { text, bytes: text.as_bytes(), ..Scanner::default() };
    while scanner.step()? {}
    Ok(scanner.found)
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Expect {
    #[default]
    Root,
    Value,
    ValueOrEnd,
    Key,
    KeyOrEnd,
    Colon,
    CommaOrEnd,
}

#[derive(Debug, Default)]
struct Level<'a> {
    object: bool,
    keys: BTreeSet<Cow<'a, str>>,
    key: Cow<'a, str>,
    numbers: usize,
    start: usize,
}

#[derive(Debug, Default)]
struct Scanner<'a> {
    text: &'a str,
    bytes: &'a [u8],
    at: usize,
    expect: Expect,
    /// Where the last comma stands.
    comma: usize,
    levels: Vec<Level<'a>>,
    /// Levels below this one are coordinates.
    coordinates: Option<usize>,
    /// Levels at this depth and above are GeoJSON, not someone's properties.
    geojson: usize,
    found: Scan<'a>,
}

impl<'a> Scanner<'a> {
    /// Takes one token; false at the end of the text.
    fn step(&mut self) -> Result<bool, JsonFault> {
        while self
            .bytes
            .get(self.at)
            .is_some_and(|b| matches!(b, b' ' | b'\n' | b'\r' | b'\t' | 0x1e))
        {
            self.at += 1;
        }
        let Some(&byte) = self.bytes.get(self.at) else { return self.end() };
        match (self.expect, byte) {
            (Expect::KeyOrEnd, b'}') | (Expect::ValueOrEnd, b']') => self.close(),
            (Expect::CommaOrEnd, b'}' | b']') => self.close_matching(byte)?,
            (Expect::CommaOrEnd, b',') => {
                self.comma = self.at;
                self.at += 1;
                let object = self.levels.last().is_some_and(|level| level.object);
                self.expect = if object { Expect::Key } else { Expect::Value };
            }
            (Expect::Colon, b':') => {
                self.at += 1;
                self.expect = Expect::Value;
            }
            (Expect::Key | Expect::KeyOrEnd, b'"') => self.key()?,
            (Expect::Root | Expect::Value | Expect::ValueOrEnd, _) => self.value(byte)?,
            _ => return Err(self.unexpected(byte)),
        }
        Ok(true)
    }

    fn end(&self) -> Result<bool, JsonFault> {
        if self.expect == Expect::Root && !self.found.roots.is_empty() {
            return Ok(false);
        }
        Err(self.fault_at(
            self.at,
            "the file looks cut off: it ends in the middle of its JSON",
            "save or download it again",
        ))
    }

    fn value(&mut self, byte: u8) -> Result<(), JsonFault> {
        if self.expect == Expect::Root {
            self.begin_root(byte)?;
        }
        let start = self.at;
        match byte {
            b'{' | b'[' => return self.open(byte == b'{'),
            b'"' => {
                let word = self.string()?;
                self.took_string(start, word)?;
            }
            b'-' | b'0'..=b'9' => self.number()?,
            _ => self.word()?,
        }
        self.after_value();
        Ok(())
    }

    fn begin_root(&mut self, byte: u8) -> Result<(), JsonFault> {
        let between = self.found.roots.last().map(|root| &self.text[root.span.end..self.at]);
        if between.is_some_and(|gap| byte != b'{' || !gap.contains(['\n', '\u{1e}'])) {
            return Err(self.fault_at(
                self.at,
                "there is more text after the end of the JSON",
                "delete what follows the last closing bracket",
            ));
        }
        let span = self.at..self.at;
        self.found.roots.push(Root { span, ..Root::default() });
        Ok(())
    }

    fn open(&mut self, object: bool) -> Result<(), JsonFault> {
        if self.levels.len() >= DEEPEST {
            let what = format!("brackets are nested more than {DEEPEST} deep");
            return Err(self.fault_at(
                self.at,
                &what,
                "GeoJSON needs about ten levels: save it again",
            ));
        }
        if object && self.coordinates.is_some() {
            return Err(self.fault_at(
                self.at,
                "an object among the coordinates",
                "write [longitude, latitude]",
            ));
        }
        self.note_opening(object);
        self.levels.push(Level { object, start: self.at, ..Level::default() });
        self.at += 1;
        self.expect = if object { Expect::KeyOrEnd } else { Expect::ValueOrEnd };
        Ok(())
    }

    fn note_opening(&mut self, object: bool) {
        let depth = self.levels.len();
        let key = self.levels.last().filter(|level| level.object).map(|level| level.key.as_ref());
        let is_geojson = match key {
            Some(key) => ["features", "geometry", "geometries"].contains(&key),
            None => true,
        };
        if key == Some("coordinates") && self.geojson == depth {
            self.coordinates = Some(depth);
        } else if is_geojson && self.geojson == depth && self.coordinates.is_none() {
            self.geojson = depth + 1;
        }
        let in_features = object && depth == 2 && self.levels[0].key == "features";
        if in_features && let Some(root) = self.found.roots.last_mut() {
            root.features.push(self.at);
        }
    }

    fn close_matching(&mut self, byte: u8) -> Result<(), JsonFault> {
        if self.levels.last().is_none_or(|level| level.object != (byte == b'}')) {
            return Err(self.unexpected(byte));
        }
        if let (Some(_), Some(level)) = (self.coordinates, self.levels.last())
            && level.numbers == 1
        {
            return Err(self.fault_at(
                level.start,
                "a position of one number",
                "write [longitude, latitude]",
            ));
        }
        self.close();
        Ok(())
    }

    fn close(&mut self) {
        self.at += 1;
        self.levels.pop();
        let depth = self.levels.len();
        self.geojson = self.geojson.min(depth);
        if self.coordinates.is_some_and(|start| depth <= start) {
            self.coordinates = None;
        }
        self.after_value();
    }

    fn after_value(&mut self) {
        self.expect = if self.levels.is_empty() { Expect::Root } else { Expect::CommaOrEnd };
        if self.levels.is_empty()
            && let Some(root) = self.found.roots.last_mut()
        {
            root.span.end = self.at;
        }
    }

    fn key(&mut self) -> Result<(), JsonFault> {
        let start = self.at;
        let key = self.string()?;
        let depth = self.levels.len();
        if depth == 1
            && let Some(root) = self.found.roots.last_mut()
        {
            root.keys.insert(key.clone());
        }
        let known = self.levels.last().is_some_and(|level| level.keys.contains(&key));
        if known {
            let what = format!("the key \"{key}\" stands twice in one object");
            return Err(self.fault_at(start, &what, "keep one of the two"));
        }
        if let Some(level) = self.levels.last_mut() {
            level.keys.insert(key.clone());
            level.key = key;
        }
        self.expect = Expect::Colon;
        Ok(())
    }

    /// A string without its quotes, escapes resolved.
    fn string(&mut self) -> Result<Cow<'a, str>, JsonFault> {
        let start = self.at;
        let mut escaped = false;
        loop {
            self.at += 1;
            match self.bytes.get(self.at) {
                Some(b'"') => break,
                Some(b'\\') => {
                    escaped = true;
                    self.at += 1;
                }
                Some(0..=0x1f) => {
                    return Err(self.fault_at(
                        self.at,
                        "a control character or line end inside a text",
                        "close the quote before it, or write it as \\n",
                    ));
                }
                Some(_) => {}
                None => {
                    return Err(self.fault_at(
                        start,
                        "the file looks cut off: this text has no closing quote",
                        "save or download it again",
                    ));
                }
            }
        }
        self.at += 1;
        let inner = &self.text[start + 1..self.at - 1];
        if !escaped {
            return Ok(Cow::Borrowed(inner));
        }
        let whole = serde_json::from_str::<String>(&self.text[start..self.at]);
        match whole {
            Ok(text) if !text.contains('\0') => Ok(Cow::Owned(text)),
            Ok(_) => Err(self.fault_at(start, "a zero character (\\u0000) in a text", "delete it")),
            Err(error) => {
                let what = format!("a text with a broken escape: {error}");
                Err(self.fault_at(start, &what, "write the letter itself instead of its \\u code"))
            }
        }
    }

    fn took_string(&mut self, start: usize, word: Cow<'a, str>) -> Result<(), JsonFault> {
        if self.coordinates.is_some() {
            let what = format!("\"{word}\" among the coordinates: numbers must not be in quotes");
            return Err(self.fault_at(start, &what, "take the quotes away"));
        }
        let depth = self.levels.len();
        let is_type = self.geojson == depth
            && self.levels.last().is_some_and(|l| l.object && l.key == "type");
        if !is_type {
            return Ok(());
        }
        if !TYPES.contains(&word.as_ref()) && word != "Topology" {
            return Err(self.unknown_type(start, &word));
        }
        if depth == 1
            && let Some(root) = self.found.roots.last_mut()
        {
            root.kind = Some(word);
        }
        Ok(())
    }

    fn unknown_type(&self, start: usize, word: &str) -> JsonFault {
        let nearest = TYPES
            .iter()
            .max_by(|a, b| likeness(word, a).total_cmp(&likeness(word, b)))
            .filter(|nearest| likeness(word, nearest) > 0.5);
        let mend = match nearest {
            Some(nearest) => format!("did you mean \"{nearest}\"?"),
            None => "GeoJSON knows FeatureCollection, Feature, Polygon, MultiPolygon, LineString and Point".to_owned(),
        };
        self.fault_at(start, &format!("\"{word}\" is no type of GeoJSON"), &mend)
    }

    fn number(&mut self) -> Result<(), JsonFault> {
        let start = self.at;
        while self.bytes.get(self.at).is_some_and(|b| b.is_ascii_digit() || b"+-.eE".contains(b)) {
            self.at += 1;
        }
        let number = &self.text[start..self.at];
        let after = self.bytes.get(self.at).copied();
        if !is_json_number(number) || after.is_some_and(|b| b.is_ascii_alphabetic() || b == b'_') {
            return Err(self.fault_at(
                start,
                &format!("`{number}` is no JSON number"),
                "write digits with a decimal point",
            ));
        }
        // Only an exponent or some hundred digits can leave the range of a double.
        let suspicious = number.len() > 300 || number.contains(['e', 'E']);
        if suspicious && !number.parse::<f64>().is_ok_and(f64::is_finite) {
            let shown: String = number.chars().take(40).collect();
            return Err(self.fault_at(
                start,
                &format!("{shown} is out of range"),
                "check the number",
            ));
        }
        if let Some(level) = self.levels.last_mut() {
            level.numbers += 1;
            let whole = !number.contains(['.', 'e', 'E']);
            if level.object && whole && number.trim_start_matches('-').len() > MOST_EXACT_DIGITS {
                self.found.long_integers.push(start..self.at);
            }
        }
        Ok(())
    }

    fn word(&mut self) -> Result<(), JsonFault> {
        let rest = &self.text[self.at..];
        let end = rest.find(|c: char| !c.is_alphanumeric()).unwrap_or(rest.len());
        let word = &rest[..end];
        let known = ["null", "true", "false"].contains(&word);
        if known && self.coordinates.is_none() {
            self.at += end;
            return Ok(());
        }
        if end == 0 {
            return Err(self.unexpected(self.bytes[self.at]));
        }
        let shown: String = word.chars().take(40).collect();
        let (what, mend) = match word {
            "NaN" | "Infinity" | "nan" | "inf" => {
                (format!("{shown} is no JSON number"), "write a number, or null in a property")
            }
            _ if known => (format!("`{shown}` among the coordinates"), "write a number"),
            _ => (format!("`{shown}` is no JSON"), "put texts in double quotes"),
        };
        Err(self.fault_at(self.at, &what, mend))
    }

    fn unexpected(&self, byte: u8) -> JsonFault {
        if matches!((self.expect, byte), (Expect::Key | Expect::Value, b'}' | b']')) {
            let what = "a comma with nothing after it";
            return self.fault_at(self.comma, what, "delete the comma");
        }
        let found = self.text[self.at..].chars().next().unwrap_or('?');
        let (what, mend) = match self.expect {
            Expect::Colon => (format!("`{found}` where a colon is needed"), "write \"key\": value"),
            Expect::Key | Expect::KeyOrEnd => {
                (format!("`{found}` where a key is needed"), "put keys in double quotes")
            }
            Expect::CommaOrEnd => (
                format!("`{found}` where a comma or a closing bracket is needed"),
                "check the brackets and commas before it",
            ),
            Expect::Root | Expect::Value | Expect::ValueOrEnd => (
                format!("`{found}` where a value is needed"),
                "check the brackets and commas before it",
            ),
        };
        self.fault_at(self.at, &what, mend)
    }

    fn fault_at(&self, at: usize, what: &str, mend: &str) -> JsonFault {
        JsonFault { at, what: what.to_owned(), mend: mend.to_owned() }
    }
}

/// The grammar of RFC 8259: no leading zero, digits on both sides of the point.
fn is_json_number(text: &str) -> bool {
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
    let line = 1 + before.bytes().filter(|b| *b == b'\n').count();
    (line as u64, 1 + before[line_start..].chars().count())
}
