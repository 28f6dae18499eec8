//! The words of the crew sheet: English, overruled line by line by one file, so that a crew reads
//! its own language.

use std::fmt::Write as _;

use toml::Value;

use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    settings::file::toml_table,
};

/// Key and English words. What stands in braces is filled in, and a translation may order it anew.
const TABLE: &[(&str, &str)] = &[
    ("sheet", "crew sheet"),
    ("zone_of", "zone {order} of {zones}"),
    ("past", "past the window"),
    ("part", "part {part} of {parts}"),
    ("facts", "{rows} · {vines} vines · {shoots} shoots off · {hours} hours of one person"),
    ("thin_from", "from {date}"),
    ("thin_by", "done by {date}"),
    ("people", "Crew of {people}: about {hours} h for this page"),
    (
        "in_turn",
        "Done {days} days after the start, at {hours} hours a day, if one crew does all pages in turn",
    ),
    ("late", "not in time with this crew: begin with the fullest rows, or ask for more hands"),
    (
        "too_late",
        "the window closes before this is done: bases harden, shears are needed; measure \
                  some shoots first",
    ),
    ("leave", "Leave first"),
    ("leave_per_foot", "{shoots} shoots a foot"),
    ("leave_per_metre", "{shoots} shoots a metre"),
    ("spacing", "one every {length}"),
    ("renewal", "and {shoots} more near the head of the vine, to renew it"),
    ("ruler", "True to size when printed at 100 %: a shoot at every long mark."),
    ("take", "Then take off, in this order"),
    ("doubles", "Doubles: of two from one bud the stronger stays"),
    ("doubles_stay", "Doubles stay: after the frost they are crop"),
    ("base", "From the base or old wood, and downward"),
    ("weak", "Weak ones, and those without flower clusters"),
    ("stays", "Stays: fruitful, upright, evenly apart; one near the head"),
    ("only_page", "This page is enough for a crew: all its rows are here."),
    ("map", "Thick: the rows of this page. Dot: begin here."),
    (
        "boxes",
        "A box is a panel, post to post; its number is how many shoots come off there, on \
               average. The denser its foot is hatched, the fuller it is. Cross it when done.",
    ),
    ("row", "row {row}"),
    ("rows", "rows {rows}"),
    ("from_to", "vine {from} to {to}"),
    ("row_off", "{shoots} off"),
    ("row_time", "{minutes} min"),
    ("only", "only {vines}"),
    ("counted", "counted vines: {vines}"),
    ("counted_vine", "vine {vine} takes {shoots}"),
    ("elsewhere", "Everywhere else"),
    ("elsewhere_do", "doubles and base shoots only"),
    ("elsewhere_unknown", "doubles and base shoots only: the counts do not tell more"),
    ("elsewhere_few", "base shoots only: few shoots stand here, and doubles may be crop"),
    ("elsewhere_stay", "base shoots only: after the frost doubles are crop"),
    ("elsewhere_none", "take nothing off but suckers"),
    ("elsewhere_frost", "after the frost of {date} take off nothing until a recount"),
    ("nothing", "Nothing comes off by number in this block"),
    (
        "caution",
        "Counts of some vines, not of all: look before you cut. Heat: water, shade and rest; who \
                 is new to it begins with short days. Sprayed: nobody goes in before the posted time \
                 is over. Shears and wire: mind eyes and hands. Local rules and the one in charge go \
                 first.",
    ),
    ("page", "page {page} of {pages}"),
];

/// The words of the crew sheet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrewWords {
    words: Vec<String>,
    /// The file that overrules them, and what it leaves English.
    file: Option<(String, Vec<&'static str>)>,
}

impl Default for CrewWords {
    fn default() -> Self {
        Self { words: TABLE.iter().map(|(_, words)| (*words).to_owned()).collect(), file: None }
    }
}

impl CrewWords {
    /// The English words, overruled by the text of a words file; what it leaves out stays English.
    ///
    /// # Errors
    /// When the text is no TOML, a key is unknown, or words leave out or invent what is filled in;
    /// all of them together.
    pub fn from_text(text: &str, file: &str) -> Result<Self, Error> {
        let place = Place::file(file);
        let table = toml_table(text, &place, "catchwire settings --words")?;
        let mut words = Self::default();
        let mut findings = Findings::none();
        for (key, value) in &table {
            match words.overrule(key, value) {
                Ok(()) => {}
                Err((what, mend)) => {
                    findings.push(Finding::fault(place.at_field(key), what).mend(mend));
                }
            }
        }
        let left = TABLE.iter().map(|(key, _)| *key).filter(|key| !table.contains_key(*key));
        words.file = Some((file.to_owned(), left.collect()));
        if findings.any_fault() { Err(Error::Input(findings)) } else { Ok(words) }
    }

    /// What the file leaves English.
    pub fn doubts(&self) -> Findings {
        let Some((file, left)) = &self.file else { return Findings::none() };
        let what = || format!("these words are not in the file: {}", left.join(", "));
        let doubt = (!left.is_empty()).then(|| {
            Finding::warning(Place::file(file.as_str()), what())
                .because("they stay English")
                .mend("add them, starting from `catchwire settings --words`")
        });
        doubt.into_iter().collect()
    }

    /// The file that overrules them, and all words with their keys.
    pub fn of_file(&self) -> Option<(&str, impl Iterator<Item = (&'static str, &str)>)> {
        let (file, _) = self.file.as_ref()?;
        let keys = TABLE.iter().map(|(key, _)| *key);
        Some((file, keys.zip(self.words.iter().map(String::as_str))))
    }

    /// True for the program's own words.
    pub(crate) const fn are_own(&self) -> bool {
        self.file.is_none()
    }

    fn overrule(&mut self, key: &str, value: &Value) -> Result<(), (String, String)> {
        let Some(at) = TABLE.iter().position(|(known, _)| *known == key) else {
            let mend = "take it out, or mend its name: `catchwire settings --words` lists all";
            return Err(("no words of the crew sheet have this name".to_owned(), mend.to_owned()));
        };
        let Some(words) = value.as_str() else {
            return Err(("this is no text".to_owned(), "write it in quotes".to_owned()));
        };
        let (given, own) = (filled_in(words), filled_in(TABLE[at].1));
        if given != own {
            let listed = |names: &[&str]| {
                names.iter().map(|name| format!("{{{name}}}")).collect::<Vec<_>>().join(" ")
            };
            let what = format!("it holds `{}`, not `{}`", listed(&given), listed(&own));
            return Err((what, "keep what stands in braces as it is".to_owned()));
        }
        words.clone_into(&mut self.words[at]);
        Ok(())
    }

    /// The words of a key, filled in; the key itself for one that there is not.
    pub(crate) fn say(&self, key: &str, filling: &[(&str, &str)]) -> String {
        let at = TABLE.iter().position(|(known, _)| *known == key);
        let mut said = at.map_or_else(|| key.to_owned(), |at| self.words[at].clone());
        for (name, value) in filling {
            said = said.replace(&format!("{{{name}}}"), value);
        }
        said
    }

    /// All words as a file to translate.
    pub fn to_text(&self) -> String {
        let mut text =
            "# The words of the crew sheet. Translate what stands between the quotes; keep \
                        what stands in\n# braces. Use it with `--lang FILE.toml`.\n"
                .to_owned();
        for ((key, _), words) in TABLE.iter().zip(&self.words) {
            let _ = writeln!(text, "{key} = {}", Value::String(words.clone()));
        }
        text
    }
}

/// The names in braces, in alphabetical order.
fn filled_in(words: &str) -> Vec<&str> {
    let mut names: Vec<&str> = words
        .split('{')
        .skip(1)
        .filter_map(|rest| rest.split_once('}').map(|(name, _)| name))
        .collect();
    names.sort_unstable();
    names
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_of_the_words_is_read_back() {
        let words = CrewWords::default();
        let again = CrewWords::from_text(&words.to_text(), "words.toml").unwrap();
        assert_eq!(again.words, words.words);
        assert!(again.doubts().is_empty());
    }

    #[test]
    fn words_are_overruled_and_what_is_left_out_is_told() {
        let text = "row = \"rad {row}\"\n";
        let words = CrewWords::from_text(text, "words.toml").unwrap();
        assert_eq!(words.say("row", &[("row", "7")]), "rad 7");
        assert_eq!(words.say("leave", &[]), "Leave first");
        assert!(words.doubts().iter().next().unwrap().to_string().contains("leave"));
    }

    #[test]
    fn unknown_keys_numbers_and_lost_braces_are_faults() {
        for text in
            ["ruws = \"rader\"", "row = 7", "row = \"rad\"", "row = \"{row} {vine}\"", "row ="]
        {
            assert!(CrewWords::from_text(text, "words.toml").is_err(), "{text}");
        }
    }
}
