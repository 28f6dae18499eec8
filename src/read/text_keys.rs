//! Keys of files that hold only texts: fields of tables, descriptions, names of folders and layers.
//!
//! What is found here is a property like any other afterwards; its text passes the same door as an
//! option of the command line.

use geojson::{JsonObject, JsonValue};

use super::{
    keys::{KEYS, did_you_mean},
    role_features::Role,
};
use crate::finding::{Finding, Findings, Place};

/// Names that mean something without being a key of a block.
const OTHERS: &[&str] =
    &["name", "role", "block", "id", "row", "vine", "vines", "clearance", "turning", "order"];
/// The longest name of a field in a table of a shapefile; a shorter one was not cut.
const LONGEST_FIELD: usize = 10;

/// What the name of a field stands for.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// This name, as it is but for case and blanks.
    Same(String),
    /// The known name that starts so.
    Shortened(&'static str),
}

/// The names that mean something in a map file.
fn known() -> impl Iterator<Item = &'static str> {
    KEYS.iter().map(|key| key.name).chain(OTHERS.iter().copied())
}

/// `Row spacing` and `ROW-SPACING` are `row_spacing`; any other name stays as it is.
pub(super) fn plain_name(name: &str) -> String {
    let name = name.trim();
    let plain = name.to_lowercase().replace([' ', '-'], "_");
    if known().any(|known| known == plain) { plain } else { name.to_owned() }
}

/// What a field means whose name may have been cut to ten letters.
pub(super) fn field_meaning(name: &str) -> Meaning {
    let plain = plain_name(name);
    let lower = plain.to_lowercase();
    let cut = lower.chars().count() == LONGEST_FIELD && known().all(|known| known != plain);
    let longer = known().find(|known| cut && known.starts_with(&lower));
    longer.map_or(Meaning::Same(plain), Meaning::Shortened)
}

/// Puts the text of a key among the properties; blank texts are none, the first of two stays.
pub(super) fn put_text(
    properties: &mut JsonObject,
    name: &str,
    text: &str,
    place: &Place,
    findings: &mut Findings,
) {
    let (name, text) = (plain_name(name), text.trim());
    if name.is_empty() || text.is_empty() {
        return;
    }
    match properties.get(&name).and_then(JsonValue::as_str) {
        None => {
            properties.insert(name, JsonValue::String(text.to_owned()));
        }
        Some(first) if first == text => {}
        Some(first) => findings.push(
            Finding::warning(place.at_field(name), format!("said twice: `{first}` and `{text}`"))
                .because("the first is taken")
                .mend("keep one of the two"),
        ),
    }
}

/// Puts the lines `key: value` of a description among the properties; other lines are free text.
pub(super) fn put_description(
    properties: &mut JsonObject,
    description: &str,
    place: &Place,
    findings: &mut Findings,
) {
    for line in plain_lines(description).lines() {
        let Some((name, text)) = line.split_once([':', '=']) else { continue };
        let name = plain_name(name);
        let known: Vec<&str> = known().collect();
        if known.contains(&name.as_str()) {
            put_text(properties, &name, text, place, findings);
        } else if name.contains('_') && did_you_mean(&name, &known).is_some() {
            // Left to the reader of keys, which says what it may have been meant for.
            put_text(properties, &name, text, place, findings);
        }
    }
}

/// A description as lines of text: what viewers write as a page is stripped of its tags.
fn plain_lines(description: &str) -> String {
    if !description.contains('<') {
        return description.to_owned();
    }
    let mut plain = String::with_capacity(description.len());
    let mut rest = description;
    while let Some(start) = rest.find('<') {
        plain.push_str(&rest[..start]);
        let Some(end) = rest[start..].find('>') else { break };
        let tag = rest[start + 1..start + end].trim_start_matches('/').to_lowercase();
        if ["br", "p", "div", "li", "tr"].iter().any(|ends| tag.starts_with(ends)) {
            plain.push('\n');
        } else if tag.starts_with("td") {
            plain.push(' ');
        }
        rest = &rest[start + end + 1..];
    }
    plain.push_str(rest);
    let letters = [("&nbsp;", " "), ("&quot;", "\""), ("&#39;", "'"), ("&lt;", "<"), ("&gt;", ">")];
    letters.iter().fold(plain, |text, (from, to)| text.replace(from, to)).replace("&amp;", "&")
}

/// The role that a folder, a layer or a kind of track gives by its name.
pub(super) fn role_of_heading(heading: &str) -> Option<Role> {
    let heading = heading.trim();
    Role::from_word(heading).or_else(|| heading.strip_suffix(['s', 'S']).and_then(Role::from_word))
}

/// Gives a role to what has none of its own.
pub(super) fn put_role(properties: &mut JsonObject, role: Option<Role>) {
    if let Some(role) = role {
        let word = JsonValue::String(role.word().to_owned());
        properties.entry("role").or_insert(word);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn described(text: &str) -> (Vec<(String, String)>, Findings) {
        let (mut properties, mut findings) = (JsonObject::new(), Findings::none());
        put_description(&mut properties, text, &Place::default(), &mut findings);
        let texts = properties.into_iter();
        (texts.map(|(name, text)| (name, text.as_str().unwrap().to_owned())).collect(), findings)
    }

    fn pair(name: &str, text: &str) -> (String, String) {
        (name.to_owned(), text.to_owned())
    }

    #[test]
    fn lines_of_a_description_are_keys() {
        let found =
            described("Planted in rain.\nrow_bearing: 14.5\nRow spacing = 8' 6\"\nSee: you");
        assert_eq!(found.0, [pair("row_bearing", "14.5"), pair("row_spacing", "8' 6\"")]);
        let found = described("<div>row_bearing:&nbsp;14.5<br>type: hybrid</div><b>x</b>");
        assert_eq!(found.0, [pair("row_bearing", "14.5"), pair("type", "hybrid")]);
        assert_eq!(described("row_beering: 3").0, [pair("row_beering", "3")]);
        assert_eq!(described("<a").0, []);
    }

    #[test]
    fn two_texts_for_a_key_are_told() {
        let (found, findings) = described("type: hybrid\ntype: native");
        assert_eq!(found, [pair("type", "hybrid")]);
        assert!(findings.iter().next().unwrap().to_string().contains("said twice"));
    }

    #[test]
    fn names_cut_to_ten_letters_are_known_and_shorter_ones_are_what_they_are() {
        assert_eq!(field_meaning("row_bearin"), Meaning::Shortened("row_bearing"));
        assert_eq!(field_meaning("VINES_PER_"), Meaning::Shortened("vines_per_panel"));
        assert_eq!(field_meaning("NAME"), Meaning::Same("name".to_owned()));
        assert_eq!(field_meaning("first_row"), Meaning::Same("first_row".to_owned()));
        assert_eq!(field_meaning("soil"), Meaning::Same("soil".to_owned()));
        assert_eq!(field_meaning("shortest_r"), Meaning::Shortened("shortest_row"));
        for whole in ["ground", "outline", "shortest_", "vine_spac", "row_bearings"] {
            assert_eq!(field_meaning(whole), Meaning::Same(whole.to_owned()));
        }
    }

    #[test]
    fn no_two_names_are_alike_when_they_are_cut() {
        let cut = |name: &str| name.chars().take(LONGEST_FIELD).collect::<String>();
        let mut beginnings: Vec<String> = known().map(cut).collect();
        beginnings.sort();
        let all = beginnings.len();
        beginnings.dedup();
        assert_eq!(beginnings.len(), all);
    }

    #[test]
    fn folders_give_roles_in_singular_and_plural() {
        assert_eq!(role_of_heading("Keep outs"), Some(Role::KeepOut));
        assert_eq!(role_of_heading("row_lines"), Some(Role::RowLine));
        assert_eq!(role_of_heading("Places I like"), None);
    }
}
