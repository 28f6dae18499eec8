//! The keys of a block: one table for the block file, the command line and its help.

use geojson::{JsonObject, JsonValue};

use super::{
    dates::date_from_text,
    elsewhere::where_it_belongs,
    key_values::{curtains, free_text, missing, parsed, shortest, whole, word, year, yes_or_no},
};
use crate::{
    block::{
        BlockKeys, North, PlantingKeys, PlantingRows, RowAnchor, RowSet, RowsTo, VineOne,
        VinePattern, VineType,
    },
    finding::{Finding, Findings, Place},
    names::likeness,
    units::Metres,
};

/// A key of a block.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// Its name in the block file; with `-` for `_`, its option on the command line.
    pub name: &'static str,
    /// What it means, in one line.
    pub help: &'static str,
    set: fn(&str, &mut BlockKeys) -> Result<(), String>,
}

/// Every key of a block but its `name`, in the order of the guide.
pub const KEYS: &[Key] = &[
    Key {
        name: "standing",
        help: "the vines are there: true or false",
        set: |t, k| put(&mut k.standing, yes_or_no(t)),
    },
    Key {
        name: "row_bearing",
        help: "direction along the rows, degrees clockwise from north, such as 14.5 or N14.5E",
        set: |t, k| put(&mut k.row_bearing, parsed(t)),
    },
    Key {
        name: "north",
        help: "the north of the bearing: true, magnetic or grid",
        set: |t, k| put(&mut k.north, word(t, NORTHS)),
    },
    Key {
        name: "date",
        help: "when a magnetic bearing was read, such as 2026-05-01",
        set: |t, k| put(&mut k.date, date_from_text(t)),
    },
    Key {
        name: "row_spacing",
        help: "distance across the rows, such as 2.4 (metres) or \"9 ft\"",
        set: |t, k| put(&mut k.row_spacing, spacing(t, &mut k.in_feet)),
    },
    Key {
        name: "vine_spacing",
        help: "distance along the rows",
        set: |t, k| put(&mut k.vine_spacing, spacing(t, &mut k.in_feet)),
    },
    Key {
        name: "headland",
        help: "clear length straight ahead of a row's end",
        set: |t, k| put(&mut k.headland, parsed(t)),
    },
    Key {
        name: "anchor_gap",
        help: "end post to tie-back anchor",
        set: |t, k| put(&mut k.anchor_gap, parsed(t)),
    },
    Key {
        name: "side_margin",
        help: "clear width beside the outer rows",
        set: |t, k| put(&mut k.side_margin, parsed(t)),
    },
    Key {
        name: "row_anchor",
        help: "where the first row lies: edge, centre, most-vines or row-line",
        set: |t, k| put(&mut k.row_anchor, word(t, ANCHORS)),
    },
    Key {
        name: "vine_pattern",
        help: "row-end, square or staggered",
        set: |t, k| put(&mut k.vine_pattern, word(t, PATTERNS)),
    },
    Key {
        name: "end_gap",
        help: "end post to first vine",
        set: |t, k| put(&mut k.end_gap, parsed(t)),
    },
    Key {
        name: "vines_per_panel",
        help: "vines between two line posts",
        set: |t, k| put(&mut k.vines_per_panel, whole(t)),
    },
    Key {
        name: "first_panel_vines",
        help: "vines in a row's first panel",
        set: |t, k| put(&mut k.first_panel_vines, whole(t)),
    },
    Key {
        name: "shortest_row",
        help: "shorter pieces of row are not planted: \"3 vines\" or a length",
        set: |t, k| put(&mut k.shortest_row, shortest(t)),
    },
    Key {
        name: "shortest_gap",
        help: "a shorter gap does not end a row",
        set: |t, k| put(&mut k.shortest_gap, parsed(t)),
    },
    Key {
        name: "elevation",
        help: "metres above the ellipsoid",
        set: |t, k| put(&mut k.elevation, parsed(t)),
    },
    Key {
        name: "ground_spacing",
        help: "distances along a row are tape on the ground, with --dem: true or false",
        set: |t, k| put(&mut k.ground_spacing, yes_or_no(t)),
    },
    Key {
        name: "rows_to",
        help: "side of row 1 on which row 2 lies, looking along it: right or left",
        set: |t, k| put(&mut k.rows_to, word(t, SIDES)),
    },
    Key {
        name: "first_row",
        help: "number of the first row",
        set: |t, k| put(&mut k.first_row, whole(t)),
    },
    Key {
        name: "vine_1",
        help: "where a grower counts from: start, end or serpentine",
        set: |t, k| put(&mut k.vine_1, word(t, VINE_ONES)),
    },
    Key {
        name: "outline_source",
        help: "where the outline comes from, such as \"aerial photograph of 2025\"",
        set: |t, k| put(&mut k.outline_origin.source, free_text(t)),
    },
    Key {
        name: "outline_accuracy",
        help: "how far corners of the outline may be off, such as \"2 cm\" or \"3 m\"",
        set: |t, k| put(&mut k.outline_origin.accuracy, parsed(t)),
    },
    Key {
        name: "cultivar",
        help: "what grows",
        set: |t, k| put(&mut k.planting.cultivar, free_text(t)),
    },
    Key {
        name: "type",
        help: "kind of vine: vinifera, hybrid or native",
        set: |t, k| put(&mut k.planting.vine_type, word(t, TYPES)),
    },
    Key {
        name: "training",
        help: "the training in your words, with cordon or cane in it",
        set: |t, k| put(&mut k.planting.training, free_text(t)),
    },
    Key {
        name: "curtains",
        help: "curtains of canopy: 2 doubles the canopy length",
        set: |t, k| put(&mut k.planting.curtains, curtains(t)),
    },
    Key {
        name: "planted",
        help: "year of planting",
        set: |t, k| put(&mut k.planting.planted, year(t)),
    },
    Key {
        name: "target",
        help: "shoots to leave, such as \"3-5 per ft\" or \"10-16 per m\"",
        set: |t, k| put(&mut k.planting.target, parsed(t)),
    },
    Key {
        name: "plantings",
        help: "rows that differ, as a JSON list of {\"rows\": \"1-12,15\", \"cultivar\": …}",
        set: |t, k| plantings(t).map(|rows| k.plantings = rows),
    },
    Key {
        name: "missing",
        help: "ids of places with no vine, such as R012V034,R013V001",
        set: |t, k| missing(t).map(|ids| k.missing = ids),
    },
];

const NORTHS: &[(&str, North)] =
    &[("true", North::True), ("magnetic", North::Magnetic), ("grid", North::Grid)];
const ANCHORS: &[(&str, RowAnchor)] = &[
    ("edge", RowAnchor::Edge),
    ("centre", RowAnchor::Centre),
    ("most-vines", RowAnchor::MostVines),
    ("row-line", RowAnchor::RowLine),
];
const PATTERNS: &[(&str, VinePattern)] = &[
    ("row-end", VinePattern::RowEnd),
    ("square", VinePattern::Square),
    ("staggered", VinePattern::Staggered),
];
const SIDES: &[(&str, RowsTo)] = &[("right", RowsTo::Right), ("left", RowsTo::Left)];
const VINE_ONES: &[(&str, VineOne)] =
    &[("start", VineOne::Start), ("end", VineOne::End), ("serpentine", VineOne::Serpentine)];
const TYPES: &[(&str, VineType)] =
    &[("vinifera", VineType::Vinifera), ("hybrid", VineType::Hybrid), ("native", VineType::Native)];

/// Sets one key of a block from its text, as the block file and the command line write it.
///
/// # Errors
/// When there is no such key or the text does not fit it; the finding's place is the key.
pub fn key_from_text(name: &str, text: &str, keys: &mut BlockKeys) -> Result<(), Finding> {
    let Some(key) = KEYS.iter().find(|key| key.name == name) else {
        let known: Vec<&str> = KEYS.iter().map(|key| key.name).collect();
        let finding = Finding::fault(Place::field(name), "a block has no such key");
        return Err(finding.mend(did_you_mean(name, &known).unwrap_or_default()));
    };
    (key.set)(text, keys).map_err(|why| Finding::fault(Place::field(name), why))
}

/// The known name that is most like an unknown one, as a question.
pub(super) fn did_you_mean(name: &str, known: &[&str]) -> Option<String> {
    let nearest = known.iter().max_by(|a, b| likeness(name, a).total_cmp(&likeness(name, b)))?;
    (likeness(name, nearest) >= 0.5).then(|| format!("did you mean `{nearest}`?"))
}

/// Sets the keys of a block from the properties of its feature.
pub(super) fn keys_from_properties(
    properties: &JsonObject,
    others: &[&str],
    place: &Place,
    findings: &mut Findings,
) -> BlockKeys {
    let mut keys = BlockKeys::default();
    let mut known: Vec<&str> = KEYS.iter().map(|key| key.name).collect();
    known.extend(others);
    for (name, value) in properties {
        if value.is_null() || others.contains(&name.as_str()) {
            continue;
        }
        if !known.contains(&name.as_str()) {
            findings.push(unknown_key(name, &known, place));
        } else if let Err(finding) = key_from_text(name, &text_of(value), &mut keys) {
            findings.push(Finding { place: place.at_field(name), ..finding });
        }
    }
    keys
}

/// A key that nothing is made of: doubtful when it is nearly one that is.
pub(super) fn unknown_key(name: &str, known: &[&str], place: &Place) -> Finding {
    let shown: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
    let place = place.at_field(shown);
    let what = "an unknown key is not used";
    match (where_it_belongs(name), did_you_mean(name, known)) {
        (Some(mend), _) => Finding::note(place, what).mend(mend),
        (None, Some(mend)) => Finding::warning(place, what).mend(mend),
        (None, None) => Finding::note(place, what),
    }
}

/// A property as the text that a person would type.
pub(super) fn text_of(value: &JsonValue) -> String {
    match value {
        JsonValue::String(text) => text.clone(),
        // Rust prints no exponent, which the parsers of lengths would refuse.
        JsonValue::Number(number) => match number.as_f64() {
            Some(float) if !number.is_i64() && !number.is_u64() => float.to_string(),
            _ => number.to_string(),
        },
        JsonValue::Null => String::new(),
        JsonValue::Bool(_) | JsonValue::Array(_) | JsonValue::Object(_) => value.to_string(),
    }
}

fn put<T>(field: &mut Option<T>, value: Result<T, String>) -> Result<(), String> {
    *field = Some(value?);
    Ok(())
}

/// A spacing; one in feet or inches makes people read feet.
fn spacing(text: &str, in_feet: &mut bool) -> Result<Metres, String> {
    let metric = text.trim_end().ends_with(|c: char| c == 'm' || c == 's' || c.is_ascii_digit());
    *in_feet |= !metric || text.contains("feet") || text.contains("inches");
    parsed(text)
}

fn plantings(text: &str) -> Result<Vec<PlantingRows>, String> {
    let form = "no list of plantings; write [{\"rows\": \"1-12,15\", \"cultivar\": \"Rondo\"}]";
    let list: Vec<JsonObject> =
        serde_json::from_str(text).map_err(|error| format!("{form} ({error})"))?;
    let mut faults = Vec::new();
    let mut rows = Vec::new();
    for (index, object) in list.iter().enumerate() {
        match planting_rows(object) {
            Ok(planting) => rows.push(planting),
            Err(why) => faults.push(format!("planting {}: {why}", index + 1)),
        }
    }
    if faults.is_empty() { Ok(rows) } else { Err(faults.join("; ")) }
}

fn planting_rows(object: &JsonObject) -> Result<PlantingRows, String> {
    const KNOWN: &[&str] =
        &["rows", "cultivar", "type", "training", "curtains", "planted", "target"];
    let mut keys = BlockKeys::default();
    let mut faults = Vec::new();
    for (name, value) in object.iter().filter(|(name, value)| *name != "rows" && !value.is_null()) {
        if !KNOWN.contains(&name.as_str()) {
            let mend = did_you_mean(name, KNOWN)
                .unwrap_or_else(|| format!("write one of {}", KNOWN.join(", ")));
            faults.push(format!("no such key `{name}`; {mend}"));
        } else if let Err(finding) = key_from_text(name, &text_of(value), &mut keys) {
            faults.push(format!("`{name}`: {}", finding.what));
        }
    }
    let planting: PlantingKeys = keys.planting;
    let rows = rows_named(object).map_err(|why| faults.push(why)).ok();
    let whole = rows.filter(|_| faults.is_empty());
    whole.map(|rows| PlantingRows { rows, planting }).ok_or_else(|| faults.join(", "))
}

fn rows_named(object: &JsonObject) -> Result<RowSet, String> {
    let missing = "`rows` is missing; write such as \"1-12,15\" or \"odd\"";
    parsed(&text_of(object.get("rows").ok_or(missing)?))
}
