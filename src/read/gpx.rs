//! GPX of a hand-held receiver -> features: tracks, routes and waypoints.
//!
//! A track or route is a line, an outline when it was walked around a block; a named waypoint beside
//! one is a control point.

use geojson::{GeometryValue, JsonObject, JsonValue, Position};

use super::{
    features::{Document, Feature, label},
    role_features::Role,
    text_keys::{put_description, put_role, put_text, role_of_heading},
    xml::Element,
};
use crate::finding::{Finding, Findings, Place};

/// The features of a GPX document.
pub(super) fn features_of(root: &Element, file: &Place, findings: &mut Findings) -> Document {
    let mut document = Document::default();
    for line in root.children.iter().filter(|child| ["trk", "rte"].contains(&child.name.as_str())) {
        match line_of(line, file) {
            Ok(geometry) => push(&mut document, line, geometry, file, findings),
            Err(finding) => findings.push(finding),
        }
    }
    let lines = document.features.len();
    for waypoint in root.all("wpt") {
        match position(waypoint, file) {
            Ok(coordinates) => {
                let geometry = GeometryValue::Point { coordinates };
                push(&mut document, waypoint, geometry, file, findings);
            }
            Err(finding) => findings.push(finding),
        }
    }
    if lines > 0 {
        waypoints_are_controls(&mut document, lines, file, findings);
    }
    document.tell_heights(file.clone(), findings);
    document
}

fn push(
    document: &mut Document,
    element: &Element,
    geometry: GeometryValue,
    file: &Place,
    findings: &mut Findings,
) {
    let mut properties = JsonObject::new();
    let line = file.at_line(element.line);
    if let Some(name) = element.text_in("name") {
        put_text(&mut properties, "name", name, &line, findings);
    }
    let place = line.in_feature(label(document.features.len() + 1, None, &properties));
    for described in ["desc", "cmt"].iter().filter_map(|name| element.text_in(name)) {
        put_description(&mut properties, described, &place, findings);
    }
    put_role(&mut properties, element.text_in("type").and_then(role_of_heading));
    document.features.push(Feature { id: None, properties, geometry, place });
}

/// A track of one segment or a route is one line, a track of several segments is several.
fn line_of(element: &Element, file: &Place) -> Result<GeometryValue, Finding> {
    let points = |within: &Element, name: &str| {
        within.all(name).map(|point| position(point, file)).collect::<Result<Vec<_>, _>>()
    };
    if element.name == "rte" {
        return Ok(GeometryValue::LineString { coordinates: points(element, "rtept")? });
    }
    let segments = element.all("trkseg").map(|segment| points(segment, "trkpt"));
    let mut segments: Vec<Vec<Position>> = segments.collect::<Result<_, _>>()?;
    segments.retain(|segment| !segment.is_empty());
    Ok(match segments.len() {
        0 | 1 => GeometryValue::LineString { coordinates: segments.pop().unwrap_or_default() },
        _ => GeometryValue::MultiLineString { coordinates: segments },
    })
}

fn position(point: &Element, file: &Place) -> Result<Position, Finding> {
    let degrees = |name: &str| {
        let text = point.attribute(name).unwrap_or_default();
        text.trim().parse::<f64>().ok().filter(|degrees| degrees.is_finite()).ok_or_else(|| {
            let place = file.at_line(point.line).at_field(name);
            Finding::fault(place, format!("`{text}` is no number of degrees"))
                .mend("export the file again")
        })
    };
    let mut position = vec![degrees("lon")?, degrees("lat")?];
    position.extend(point.text_in("ele").and_then(|height| height.parse::<f64>().ok()));
    Ok(Position::from(position))
}

/// Beside a track, a named waypoint without a role of its own is a control point.
fn waypoints_are_controls(
    document: &mut Document,
    lines: usize,
    file: &Place,
    findings: &mut Findings,
) {
    let mut controls = 0;
    for waypoint in &mut document.features[lines..] {
        if waypoint.properties.contains_key("role") {
            continue;
        }
        if waypoint.properties.get("name").and_then(JsonValue::as_str).is_some() {
            put_role(&mut waypoint.properties, Some(Role::Control));
            controls += 1;
        }
    }
    if controls > 0 {
        let what = match controls {
            1 => "a waypoint is read as a control point".to_owned(),
            several => format!("{several} waypoints are read as control points"),
        };
        findings.push(Finding::note(file.clone(), what));
    }
    let unnamed = |feature: &Feature| {
        matches!(feature.geometry, GeometryValue::Point { .. })
            && !feature.properties.contains_key("role")
    };
    for waypoint in document.features.iter().filter(|feature| unnamed(feature)) {
        let what = "a waypoint without a name is left out";
        findings.push(Finding::warning(waypoint.place.clone(), what).mend("name it"));
    }
    document.features.retain(|feature| !unnamed(feature));
}
