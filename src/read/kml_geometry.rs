//! Geometries of a Placemark -> one neutral geometry.

use geojson::{GeometryValue, Position};

use super::xml::Element;
use crate::finding::{Finding, Findings, Place};

type Line = Vec<Position>;

/// What was found in a Placemark, sorted by kind.
#[derive(Debug, Default)]
struct Found {
    polygons: Vec<Vec<Line>>,
    lines: Vec<Line>,
    points: Vec<Position>,
    /// Spaces after the commas of a tuple were passed over.
    spaces: bool,
}

/// The geometry of a Placemark, if it has one.
///
/// # Errors
/// Numbers that are none, tuples that are too short or too long; a polygon without an outline.
pub(super) fn geometry_of(
    placemark: &Element,
    place: &Place,
    findings: &mut Findings,
) -> Result<Option<GeometryValue>, Finding> {
    let mut found = Found::default();
    for child in &placemark.children {
        take(child, place, &mut found)?;
    }
    if found.spaces {
        let what = "spaces after the commas of its coordinates are passed over";
        findings.push(Finding::note(place.clone(), what).because("KML separates tuples by spaces"));
    }
    tell_the_rest(&found, place, findings);
    Ok(found.geometry())
}

fn take(element: &Element, place: &Place, found: &mut Found) -> Result<(), Finding> {
    match element.name.as_str() {
        "Polygon" => {
            let outer = element.child("outerBoundaryIs");
            let outer = outer.filter(|outer| outer.child("LinearRing").is_some());
            let outer = outer.ok_or_else(|| without_outline(element, place))?;
            let boundaries = std::iter::once(outer).chain(element.all("innerBoundaryIs"));
            let rings = boundaries.flat_map(|boundary| boundary.all("LinearRing"));
            let rings = rings.map(|ring| coordinates(ring, place, found)).collect::<Result<_, _>>();
            found.polygons.push(rings?);
        }
        "LinearRing" => {
            let ring = coordinates(element, place, found)?;
            found.polygons.push(vec![ring]);
        }
        "LineString" => {
            let line = coordinates(element, place, found)?;
            found.lines.push(line);
        }
        "Point" => {
            let points = coordinates(element, place, found)?;
            found.points.extend(points);
        }
        "Track" => found.lines.push(track(element, place)?),
        "MultiGeometry" | "MultiTrack" => {
            for child in &element.children {
                take(child, place, found)?;
            }
        }
        _ => {}
    }
    Ok(())
}

fn without_outline(polygon: &Element, place: &Place) -> Finding {
    Finding::fault(place.at_line(polygon.line), "a polygon without an outer boundary")
        .because("its first hole would be taken for its outline")
        .mend("draw it again, or put its outline into <outerBoundaryIs><LinearRing>")
}

/// The tuples `lon,lat[,height]` of an element's `coordinates`.
fn coordinates(element: &Element, place: &Place, found: &mut Found) -> Result<Line, Finding> {
    let Some(written) = element.child("coordinates") else { return Ok(Vec::new()) };
    let place = place.at_line(written.line);
    let mut text = written.text.split_whitespace().collect::<Vec<_>>().join(" ");
    if text.contains(", ") || text.contains(" ,") {
        found.spaces = true;
        text = text.replace(", ", ",").replace(" ,", ",");
    }
    text.split(' ')
        .filter(|tuple| !tuple.is_empty())
        .map(|tuple| position(tuple, ',', &place))
        .collect()
}

/// The `coord` elements of a track, `lon lat [height]`.
fn track(element: &Element, place: &Place) -> Result<Line, Finding> {
    let written = element.all("coord").filter(|coord| !coord.text.trim().is_empty());
    written
        .map(|coord| {
            let numbers: Vec<&str> = coord.text.split_whitespace().collect();
            position(&numbers.join(" "), ' ', &place.at_line(coord.line))
        })
        .collect()
}

fn position(tuple: &str, separator: char, place: &Place) -> Result<Position, Finding> {
    let shown: String = tuple.chars().take(60).collect();
    let refuse = |why: &str| {
        Finding::fault(place.clone(), format!("`{shown}` is no longitude,latitude"))
            .because(why)
            .mend("write each corner as longitude,latitude with a space to the next")
    };
    let numbers = tuple.trim_end_matches(separator).split(separator).map(|number| {
        let plain = number.bytes().all(|b| b.is_ascii_digit() || b"+-.eE".contains(&b));
        number.parse::<f64>().ok().filter(|number| plain && number.is_finite())
    });
    let numbers: Option<Vec<f64>> = numbers.collect();
    match numbers.ok_or_else(|| refuse("a number is missing or is none"))? {
        numbers if (2..=3).contains(&numbers.len()) => Ok(Position::from(numbers)),
        _ => Err(refuse("a corner has two numbers, or three with its height")),
    }
}

/// Points and lines beside an outline are labels, usually; they are not dropped in silence.
fn tell_the_rest(found: &Found, place: &Place, findings: &mut Findings) {
    let (lines, points) = (found.lines.len(), found.points.len());
    let rest = match (found.polygons.is_empty(), found.lines.is_empty()) {
        (false, _) if lines + points > 0 => {
            format!("{lines} lines and {points} points beside polygons")
        }
        (true, false) if points > 0 => format!("{points} points beside lines"),
        _ => return,
    };
    findings.push(
        Finding::note(place.clone(), format!("{rest} are left out"))
            .mend("give them a placemark of their own if they matter"),
    );
}

impl Found {
    fn geometry(mut self) -> Option<GeometryValue> {
        Some(match (self.polygons.len(), self.lines.len(), self.points.len()) {
            (0, 0, 0) => return None,
            (0, 0, 1) => GeometryValue::Point { coordinates: self.points.pop()? },
            (0, 0, _) => GeometryValue::MultiPoint { coordinates: self.points },
            (0, 1, _) => GeometryValue::LineString { coordinates: self.lines.pop()? },
            (0, ..) => GeometryValue::MultiLineString { coordinates: self.lines },
            (1, ..) => GeometryValue::Polygon { coordinates: self.polygons.pop()? },
            _ => GeometryValue::MultiPolygon { coordinates: self.polygons },
        })
    }
}
