//! A GeoJSON text -> its features, with what RFC 7946 and the crate let pass told or refused.

use std::{borrow::Cow, ops::Range};

use geojson::{Feature as ParsedFeature, GeoJson, JsonObject, JsonValue, feature::Id};

use super::{
    features::{Document, Feature, label},
    json_scan::{Root, Scan, scan},
    json_token::{JsonFault, line_and_column},
    source::Source,
};
use crate::finding::{Finding, Findings, Place};

/// Takes a GeoJSON text apart.
///
/// # Errors
/// The first fault of syntax.
pub(super) fn features_of(
    source: &Source,
    text: &str,
    findings: &mut Findings,
) -> Result<Document, Finding> {
    let file = source.place();
    refuse_other_formats(&file, text)?;
    let found = scan(text).map_err(|fault| told(&file, text, fault))?;
    for root in &found.roots {
        recognise(&file, text, root)?;
    }
    if found.roots.len() > 1 {
        let what = format!("a sequence of {} GeoJSON texts, read as one file", found.roots.len());
        findings.push(Finding::note(file.clone(), what));
    }
    let mut document = Document::default();
    for root in &found.roots {
        let parsed = parse_root(&file, text, root, &found)?;
        take(parsed, &mut Taking { file: &file, text, root, document: &mut document, findings });
    }
    document.tell_heights(file, findings);
    Ok(document)
}

fn told(file: &Place, text: &str, fault: JsonFault) -> Finding {
    let (line, column) = line_and_column(text, fault.at);
    Finding::fault(file.at_line(line), format!("column {column}: {}", fault.what)).mend(fault.mend)
}

fn refuse_other_formats(file: &Place, text: &str) -> Result<(), Finding> {
    let start: String = text.trim_start().chars().take(200).collect::<String>().to_lowercase();
    if start.starts_with(['{', '[', '\u{1e}']) {
        return Ok(());
    }
    let (what, mend) = if start.contains("<html") || start.contains("<!doctype html") {
        ("this is a web page, not GeoJSON", "download the file again, signed in if need be")
    } else if start.starts_with('<') {
        ("this is XML (KML, GPX …), not GeoJSON", "convert it with ogr2ogr -t_srs EPSG:4326")
    } else {
        ("this is not GeoJSON, nor another map", "export the outline as GeoJSON, KML or GPX")
    };
    Err(Finding::fault(file.clone(), what).mend(mend))
}

/// Refuses what is JSON but no GeoJSON, and says what it is.
fn recognise(file: &Place, text: &str, root: &Root<'_>) -> Result<(), Finding> {
    let has = |key: &str| root.keys.contains(key);
    let refuse = |what: &str, mend: &str| Err(Finding::fault(file.clone(), what).mend(mend));
    if root.kind.as_deref() == Some("Topology") || (has("arcs") && has("objects")) {
        return refuse("this looks like TopoJSON", "convert it to GeoJSON with ogr2ogr");
    }
    if has("geometryType") || has("spatialReference") || has("rings") {
        return refuse("this looks like Esri JSON", "convert it to GeoJSON with ogr2ogr");
    }
    if text[root.span.start..].starts_with('[') {
        return refuse(
            "a bare list of features",
            "wrap it: {\"type\": \"FeatureCollection\", \"features\": [ … ]}",
        );
    }
    if root.kind.is_none() {
        let keys: Vec<&str> = root.keys.iter().map(AsRef::as_ref).take(8).collect();
        let what = format!("no GeoJSON: it has no \"type\"; keys found: {}", keys.join(", "));
        return refuse(&what, "export the outline as GeoJSON (WGS84)");
    }
    Ok(())
}

fn parse_root(
    file: &Place,
    text: &str,
    root: &Root<'_>,
    found: &Scan<'_>,
) -> Result<GeoJson, Finding> {
    let quoted = quote_long_integers(text, root.span.clone(), &found.long_integers);
    quoted.parse::<GeoJson>().map_err(|error| {
        let (mut place, (first, _)) = (file.clone(), line_and_column(text, root.span.start));
        if let geojson::Error::MalformedGeoJson(json) = &error {
            place.line = (json.line() > 0).then(|| first + json.line() as u64 - 1);
        }
        Finding::fault(place, format!("no valid GeoJSON: {error}"))
            .mend("check the feature against RFC 7946")
    })
}

/// An id of twenty digits must not pass through floating point: it becomes a text.
fn quote_long_integers<'a>(
    text: &'a str,
    span: Range<usize>,
    integers: &[Range<usize>],
) -> Cow<'a, str> {
    let inside: Vec<_> =
        integers.iter().filter(|i| span.start <= i.start && i.end <= span.end).collect();
    if inside.is_empty() {
        return Cow::Borrowed(&text[span]);
    }
    let mut quoted = String::with_capacity(span.len() + 2 * inside.len());
    let mut from = span.start;
    for integer in inside {
        quoted.push_str(&text[from..integer.start]);
        quoted.push('"');
        quoted.push_str(&text[integer.start..integer.end]);
        quoted.push('"');
        from = integer.end;
    }
    quoted.push_str(&text[from..span.end]);
    Cow::Owned(quoted)
}

struct Taking<'a> {
    file: &'a Place,
    text: &'a str,
    root: &'a Root<'a>,
    document: &'a mut Document,
    findings: &'a mut Findings,
}

fn take(parsed: GeoJson, taking: &mut Taking<'_>) {
    match parsed {
        GeoJson::FeatureCollection(collection) => {
            let members = collection.foreign_members.unwrap_or_default();
            taking.document.crs = taking.document.crs.take().or_else(|| foreign_crs(&members));
            let mut lines = Lines::new(taking.text);
            for (index, feature) in collection.features.into_iter().enumerate() {
                let at = taking.root.features.get(index).copied();
                take_feature(feature, at.map(|at| lines.of(at)), taking);
            }
        }
        GeoJson::Feature(feature) => {
            let members = feature.foreign_members.clone().unwrap_or_default();
            taking.document.crs = taking.document.crs.take().or_else(|| foreign_crs(&members));
            let (line, _) = line_and_column(taking.text, taking.root.span.start);
            take_feature(feature, Some(line), taking);
        }
        GeoJson::Geometry(geometry) => take_feature(ParsedFeature::from(geometry), None, taking),
    }
}

/// Lines of growing offsets, in one pass over the text.
struct Lines<'a> {
    text: &'a str,
    seen: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    fn new(text: &'a str) -> Self {
        Self { text, seen: 0, line: 1 }
    }

    fn of(&mut self, at: usize) -> u64 {
        self.line += self.text[self.seen..at].matches('\n').count() as u64;
        self.seen = at;
        self.line
    }
}

fn take_feature(feature: ParsedFeature, line: Option<u64>, taking: &mut Taking<'_>) {
    let number = taking.document.features.len() + 1;
    let id = feature.id.map(|id| match id {
        Id::String(text) => text,
        Id::Number(number) => number.to_string(),
    });
    let properties = feature.properties.unwrap_or_default();
    let place = Place {
        line,
        feature: Some(label(number, id.as_deref(), &properties)),
        ..taking.file.clone()
    };
    match feature.geometry {
        Some(geometry) => taking.document.features.push(Feature {
            id,
            properties,
            geometry: geometry.value,
            place,
        }),
        None => taking.findings.push(
            Finding::warning(place, "a feature without a geometry is left out")
                .mend("draw it, or delete the feature"),
        ),
    }
}

/// The `crs` member of GeoJSON before RFC 7946, unless it names longitude and latitude on WGS84.
fn foreign_crs(members: &JsonObject) -> Option<String> {
    let crs = members.get("crs").filter(|crs| !crs.is_null())?;
    let name = crs.pointer("/properties/name").and_then(JsonValue::as_str);
    let name = name.map_or_else(|| crs.to_string(), str::to_owned);
    let upper = name.to_uppercase();
    let last = upper.rsplit([':', '/']).next().unwrap_or_default();
    // CRS84 is longitude, latitude; 4326 in a GeoJSON file is the same by custom.
    (!["CRS84", "4326", "CRS84H"].contains(&last)).then_some(name)
}
