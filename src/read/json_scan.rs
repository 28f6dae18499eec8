//! One pass over a JSON text before any crate sees it: what parsers let through or tell badly.
//!
//! Finds duplicate keys (the last would win silently), nesting without end, `NaN`, numbers out of
//! range, numbers in quotes or positions of one number inside coordinates, half surrogates and zero
//! characters; each with its line and column. It recurses nowhere, so no text can exhaust the stack.

use std::{borrow::Cow, collections::BTreeSet, ops::Range};

use super::{
    json_token::{JsonFault, number_at, refuse, string_at, word_at},
    keys::did_you_mean,
};

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

impl Scanner<'_> {
    /// Takes one token; false at the end of the text.
    fn step(&mut self) -> Result<bool, JsonFault> {
        // RFC 8142 puts a record separator (0x1E) before each text of a sequence.
        let blank = |byte: &&u8| b" \n\r\t\x1e".contains(byte);
        self.at += self.bytes[self.at..].iter().take_while(blank).count();
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
            _ => return self.unexpected(),
        }
        Ok(true)
    }

    fn end(&self) -> Result<bool, JsonFault> {
        if self.expect == Expect::Root && !self.found.roots.is_empty() {
            return Ok(false);
        }
        let what = "the file looks cut off: it ends in the middle of its JSON";
        refuse(self.at, what, "save or download it again")
    }

    fn value(&mut self, byte: u8) -> Result<(), JsonFault> {
        if self.expect == Expect::Root {
            self.begin_root(byte)?;
        }
        match byte {
            b'{' | b'[' => return self.open(byte == b'{'),
            b'"' => self.string()?,
            b'-' | b'0'..=b'9' => self.number()?,
            _ => self.word()?,
        }
        self.after_value();
        Ok(())
    }

    fn begin_root(&mut self, byte: u8) -> Result<(), JsonFault> {
        let between = self.found.roots.last().map(|root| &self.text[root.span.end..self.at]);
        if between.is_some_and(|gap| byte != b'{' || !gap.contains(['\n', '\u{1e}'])) {
            let what = "there is more text after the end of the JSON";
            return refuse(self.at, what, "delete what follows the last closing bracket");
        }
        let span = self.at..self.at;
        self.found.roots.push(Root { span, ..Root::default() });
        Ok(())
    }

    fn open(&mut self, object: bool) -> Result<(), JsonFault> {
        if self.levels.len() >= DEEPEST {
            let what = format!("brackets are nested more than {DEEPEST} deep");
            return refuse(self.at, what, "GeoJSON needs about ten levels: save it again");
        }
        if object && self.coordinates.is_some() {
            let what = "an object among the coordinates";
            return refuse(self.at, what, "write [longitude, latitude]");
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
            return self.unexpected();
        }
        if let (Some(_), Some(level)) = (self.coordinates, self.levels.last())
            && level.numbers == 1
        {
            return refuse(level.start, "a position of one number", "write [longitude, latitude]");
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
        let (key, end) = string_at(self.text, start)?;
        self.at = end;
        let depth = self.levels.len();
        if depth == 1
            && let Some(root) = self.found.roots.last_mut()
        {
            root.keys.insert(key.clone());
        }
        let known = self.levels.last().is_some_and(|level| level.keys.contains(&key));
        if known {
            let what = format!("the key \"{key}\" stands twice in one object");
            return refuse(start, what, "keep one of the two");
        }
        if let Some(level) = self.levels.last_mut() {
            level.keys.insert(key.clone());
            level.key = key;
        }
        self.expect = Expect::Colon;
        Ok(())
    }

    fn string(&mut self) -> Result<(), JsonFault> {
        let start = self.at;
        let (word, end) = string_at(self.text, start)?;
        self.at = end;
        if self.coordinates.is_some() {
            let what = format!("\"{word}\" among the coordinates: numbers must not be in quotes");
            return refuse(start, what, "take the quotes away");
        }
        let depth = self.levels.len();
        let in_type = self.levels.last().is_some_and(|level| level.object && level.key == "type");
        if self.geojson != depth || !in_type {
            return Ok(());
        }
        if !TYPES.contains(&word.as_ref()) && word != "Topology" {
            return refuse_type(start, &word);
        }
        if let Some(root) = self.found.roots.last_mut().filter(|_| depth == 1) {
            root.kind = Some(word);
        }
        Ok(())
    }

    fn number(&mut self) -> Result<(), JsonFault> {
        let start = self.at;
        self.at = number_at(self.text, start)?;
        let number = &self.text[start..self.at];
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
        let start = self.at;
        if matches!(self.bytes.get(start), Some(b'}' | b']' | b',' | b':')) {
            return self.unexpected();
        }
        self.at = word_at(self.text, start)?;
        if self.coordinates.is_some() {
            let what = format!("`{}` among the coordinates", &self.text[start..self.at]);
            return refuse(start, what, "write a number");
        }
        Ok(())
    }

    fn unexpected<T>(&self) -> Result<T, JsonFault> {
        let found = self.text[self.at..].chars().next().unwrap_or('?');
        if matches!(self.expect, Expect::Key | Expect::Value) && matches!(found, '}' | ']') {
            return refuse(self.comma, "a comma with nothing after it", "delete the comma");
        }
        let (needed, mend) = match self.expect {
            Expect::Colon => ("a colon is needed", "write \"key\": value"),
            Expect::Key | Expect::KeyOrEnd => ("a key is needed", "put keys in double quotes"),
            Expect::CommaOrEnd => {
                ("a comma or a closing bracket is needed", "check what stands before it")
            }
            Expect::Root | Expect::Value | Expect::ValueOrEnd => {
                ("a value is needed", "check the brackets and commas before it")
            }
        };
        refuse(self.at, format!("`{found}` where {needed}"), mend)
    }
}

fn refuse_type<T>(start: usize, word: &str) -> Result<T, JsonFault> {
    let mend =
        did_you_mean(word, TYPES).unwrap_or_else(|| format!("write one of {}", TYPES.join(", ")));
    refuse(start, format!("\"{word}\" is no type of GeoJSON"), mend)
}
