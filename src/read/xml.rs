//! An XML text -> its elements, nothing fetched, nothing expanded, nothing endless.
//!
//! A document type is refused, so no entity can grow and no file or address can be named; depth and
//! number of elements are limited; an element that is not closed says that the file was cut off.

use quick_xml::{
    Reader,
    escape::unescape,
    events::{BytesRef, BytesStart, Event},
};

use super::json_token::line_and_column;
use crate::finding::{Finding, Place};

/// Deeper nesting is no map.
const DEEPEST: usize = 64;
/// More elements are no map of an estate.
const MOST_ELEMENTS: usize = 2_000_000;

/// An element: its name without prefix, its own text, and what is in it.
#[derive(Debug, Default)]
pub(super) struct Element {
    /// Its name, without a prefix.
    pub(super) name: String,
    /// Its attributes, names without a prefix.
    pub(super) attributes: Vec<(String, String)>,
    /// The text that stands directly in it.
    pub(super) text: String,
    /// The elements in it, in order.
    pub(super) children: Vec<Self>,
    /// The line on which it starts.
    pub(super) line: u64,
}

impl Element {
    /// The first child of this name.
    pub(super) fn child(&self, name: &str) -> Option<&Self> {
        self.children.iter().find(|child| child.name == name)
    }

    /// The children of this name.
    pub(super) fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Self> {
        self.children.iter().filter(move |child| child.name == name)
    }

    /// The text of the first child of this name, unless it is blank.
    pub(super) fn text_in(&self, name: &str) -> Option<&str> {
        self.child(name).map(|child| child.text.trim()).filter(|text| !text.is_empty())
    }

    /// An attribute.
    pub(super) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
    }
}

/// The root element of a text.
///
/// # Errors
/// The first fault of syntax, with line and column.
pub(super) fn tree_of(text: &str, file: &Place) -> Result<Element, Finding> {
    let mut growing =
        Growing { text, file, open: Vec::new(), root: None, elements: 0, seen: 0, line: 1 };
    let mut reader = Reader::from_str(text);
    loop {
        let at = offset(reader.buffer_position());
        match reader.read_event() {
            Ok(Event::Eof) => return growing.finished(),
            Ok(event) => growing.take(event, at)?,
            Err(error) => {
                let at = offset(reader.error_position());
                return Err(growing.fault(at, &format!("no sound XML: {error}")).mend(RESAVE));
            }
        }
    }
}

const RESAVE: &str = "export the file again; it may be cut off";

/// A position in a text that is in memory fits.
fn offset(position: u64) -> usize {
    usize::try_from(position).unwrap_or(usize::MAX)
}

struct Growing<'a> {
    text: &'a str,
    file: &'a Place,
    open: Vec<Element>,
    root: Option<Element>,
    elements: usize,
    seen: usize,
    line: u64,
}

impl Growing<'_> {
    fn take(&mut self, event: Event<'_>, at: usize) -> Result<(), Finding> {
        match event {
            Event::Start(tag) => self.open_element(&tag, at)?,
            Event::Empty(tag) => {
                self.open_element(&tag, at)?;
                self.close_element();
            }
            Event::End(_) => self.close_element(),
            Event::Text(text) => self.add(&String::from_utf8_lossy(&text), at)?,
            Event::CData(text) => self.add(&String::from_utf8_lossy(&text), at)?,
            Event::GeneralRef(reference) => self.add_reference(&reference, at)?,
            Event::DocType(_) => {
                return Err(self
                    .fault(at, "a document type (DOCTYPE, DTD) is not allowed")
                    .because("it could name other files, or grow without end")
                    .mend("delete that line, or export the file again"));
            }
            Event::Decl(_) | Event::PI(_) | Event::Comment(_) | Event::Eof => {}
        }
        Ok(())
    }

    fn open_element(&mut self, tag: &BytesStart<'_>, at: usize) -> Result<(), Finding> {
        self.elements += 1;
        if self.root.is_some() {
            return Err(self.fault(at, "something follows the end of the document").mend(RESAVE));
        }
        if self.open.len() >= DEEPEST || self.elements > MOST_ELEMENTS {
            let what =
                format!("more than {DEEPEST} elements in each other, or {MOST_ELEMENTS} in all");
            return Err(self.fault(at, &what).mend("export only the outlines, without folders"));
        }
        let line = self.line_of(at);
        let mut attributes = Vec::new();
        for attribute in tag.attributes() {
            let attribute = attribute.map_err(|error| self.unsound(at, &error))?;
            let name = String::from_utf8_lossy(attribute.key.local_name().as_ref()).into_owned();
            let raw = String::from_utf8_lossy(&attribute.value).into_owned();
            let value = unescape(&raw).map_err(|error| self.unsound(at, &error))?;
            attributes.push((name, value.into_owned()));
        }
        let name = String::from_utf8_lossy(tag.local_name().as_ref()).into_owned();
        self.open.push(Element { name, attributes, line, ..Element::default() });
        Ok(())
    }

    fn unsound(&self, at: usize, error: &dyn std::fmt::Display) -> Finding {
        self.fault(at, "an attribute is no sound XML").because(error.to_string()).mend(RESAVE)
    }

    fn close_element(&mut self) {
        let Some(closed) = self.open.pop() else { return };
        match self.open.last_mut() {
            Some(parent) => parent.children.push(closed),
            None => self.root = Some(closed),
        }
    }

    fn add(&mut self, text: &str, at: usize) -> Result<(), Finding> {
        match self.open.last_mut() {
            Some(element) => element.text.push_str(text),
            None if text.trim().is_empty() => {}
            None => {
                let what = "text stands outside the elements";
                return Err(self.fault(at, what).mend(RESAVE));
            }
        }
        Ok(())
    }

    fn add_reference(&mut self, reference: &BytesRef<'_>, at: usize) -> Result<(), Finding> {
        let name = String::from_utf8_lossy(reference).into_owned();
        match unescape(&format!("&{name};")) {
            Ok(text) if !text.chars().any(|c| c.is_control() && !c.is_whitespace()) => {
                self.add(&text, at)
            }
            Ok(_) | Err(_) => {
                let what = format!("`&{name};` stands for nothing in XML");
                Err(self.fault(at, &what).mend("write the letter itself"))
            }
        }
    }

    fn finished(mut self) -> Result<Element, Finding> {
        if let Some(open) = self.open.pop() {
            let place = self.file.at_line(open.line);
            let what = format!("the file looks cut off: <{}> is not closed", open.name);
            return Err(Finding::fault(place, what).mend("export or download the file again"));
        }
        self.root.ok_or_else(|| {
            Finding::fault(self.file.clone(), "an XML file without an element").mend(RESAVE)
        })
    }

    /// The line of a growing offset, in one pass over the text.
    fn line_of(&mut self, at: usize) -> u64 {
        let passed = self.text.as_bytes().get(self.seen..at).unwrap_or_default();
        self.line += passed.iter().map(|byte| u64::from(*byte == b'\n')).sum::<u64>();
        self.seen = self.seen.max(at);
        self.line
    }

    fn fault(&self, at: usize, what: &str) -> Finding {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let (line, column) = line_and_column(self.text, at);
        Finding::fault(self.file.at_line(line), format!("column {column}: {what}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        tree_of(text, &Place::file("a.kml")).expect_err("a fault").to_string()
    }

    #[test]
    fn elements_keep_their_text_their_attributes_and_their_line() {
        let text = "<?xml version=\"1.0\"?>\n<k:a x=\"1 &lt; 2\">A &amp; <![CDATA[<B>]]>\n<b/><b> c </b></k:a>";
        let root = tree_of(text, &Place::default()).unwrap();
        assert_eq!((root.name.as_str(), root.line, root.attribute("x")), ("a", 2, Some("1 < 2")));
        assert_eq!(root.text, "A & <B>\n");
        assert_eq!((root.all("b").count(), root.children[1].line), (2, 3));
        assert_eq!(root.text_in("b"), None);
    }

    #[test]
    fn what_could_grow_or_fetch_is_refused() {
        assert!(refused("<!DOCTYPE a [<!ENTITY b \"c\">]><a>&b;</a>").contains("DTD"));
        assert!(refused("<a>&b;</a>").contains("`&b;`"));
        assert!(refused("<a>&#1;</a>").contains("stands for nothing"));
        assert!(refused(&"<a>".repeat(20_000)).contains("in each other"));
    }

    #[test]
    fn a_text_cut_anywhere_is_a_fault() {
        let text = "<a><b c=\"d\">é<![CDATA[x]]>&amp;</b><!-- e --></a>";
        for at in (1..text.len()).filter(|at| text.is_char_boundary(*at)) {
            assert!(tree_of(&text[..at], &Place::default()).is_err(), "{}", &text[..at]);
        }
        assert!(refused("<a></a><a></a>").contains("follows"));
        assert!(refused("x<a></a>").contains("outside"));
    }
}
