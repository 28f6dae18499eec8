//! What every format of maps becomes: features with properties, geometry and place.

use geo::Coord;
use geojson::{GeometryValue, JsonObject, JsonValue, Position};

use super::positions::Axes;
use crate::finding::{Finding, Findings, Place};

/// A feature with its place in the file.
#[derive(Debug)]
pub(super) struct Feature {
    /// Its `id`, as a text.
    pub(super) id: Option<String>,
    /// Its properties; empty when there are none.
    pub(super) properties: JsonObject,
    /// Its geometry.
    pub(super) geometry: GeometryValue,
    /// File, line and number.
    pub(super) place: Place,
}

/// The features of a file, and the name of its coordinate system if it is not longitude, latitude.
#[derive(Debug, Default)]
pub(super) struct Document {
    pub(super) features: Vec<Feature>,
    pub(super) crs: Option<String>,
}

impl Document {
    /// The same features in longitude and latitude, without heights; one whose numbers cannot be
    /// understood is a fault and goes.
    pub(super) fn in_degrees(self, axes: &Axes, findings: &mut Findings) -> Self {
        let mut settled = Vec::with_capacity(self.features.len());
        for feature in self.features {
            let place = feature.place.clone();
            match each_position(feature.geometry, &|position| axes.settled(position, &place)) {
                Ok(geometry) => settled.push(Feature { geometry, ..feature }),
                Err(finding) => findings.push(finding),
            }
        }
        Self { features: settled, ..self }
    }

    /// The numbers of the first position of all.
    pub(super) fn first_position(&self) -> Option<&[f64]> {
        self.features.iter().find_map(|feature| first_position(&feature.geometry))
    }

    /// True when its first numbers can be longitude and latitude.
    pub(super) fn may_be_degrees(&self) -> bool {
        match self.first_position() {
            Some([first, second, ..]) => first.abs().max(second.abs()) <= 180.0,
            _ => true,
        }
    }

    /// Says that heights are dropped, if there are any.
    pub(super) fn tell_heights(&self, file: Place, findings: &mut Findings) {
        if self.features.iter().any(|feature| has_height(&feature.geometry)) {
            let note = Finding::note(file, "heights in the coordinates are not used");
            findings.push(note.mend("give a block's height as its `elevation`"));
        }
    }
}

/// The corners of a line or ring whose positions are settled.
pub(super) fn corners(positions: &[Position]) -> Vec<Coord<f64>> {
    let corner = |position: &Position| match position.as_slice() {
        [lon, lat, ..] => Some(Coord { x: *lon, y: *lat }),
        _ => None,
    };
    positions.iter().filter_map(corner).collect()
}

/// `feature 3 "North slope"`.
pub(super) fn label(number: usize, id: Option<&str>, properties: &JsonObject) -> String {
    let name = properties.get("name").and_then(JsonValue::as_str).or(id);
    match name {
        Some(name) => format!("feature {number} \"{}\"", printable(name)),
        None => format!("feature {number}"),
    }
}

/// A name that cannot upset a terminal or fill a screen.
pub(super) fn printable(name: &str) -> String {
    name.chars().filter(|c| !c.is_control()).take(60).collect()
}

fn has_height(geometry: &GeometryValue) -> bool {
    let high = |position: &Position| position.len() > 2;
    match geometry {
        GeometryValue::Point { coordinates } => high(coordinates),
        GeometryValue::LineString { coordinates } | GeometryValue::MultiPoint { coordinates } => {
            coordinates.iter().any(high)
        }
        GeometryValue::Polygon { coordinates } | GeometryValue::MultiLineString { coordinates } => {
            coordinates.iter().flatten().any(high)
        }
        GeometryValue::MultiPolygon { coordinates } => {
            coordinates.iter().flatten().flatten().any(high)
        }
        GeometryValue::GeometryCollection { .. } => false,
    }
}

fn first_position(geometry: &GeometryValue) -> Option<&[f64]> {
    match geometry {
        GeometryValue::Point { coordinates } => Some(coordinates.as_slice()),
        GeometryValue::MultiPoint { coordinates } | GeometryValue::LineString { coordinates } => {
            coordinates.first().map(Position::as_slice)
        }
        GeometryValue::MultiLineString { coordinates } | GeometryValue::Polygon { coordinates } => {
            coordinates.first()?.first().map(Position::as_slice)
        }
        GeometryValue::MultiPolygon { coordinates } => {
            coordinates.first()?.first()?.first().map(Position::as_slice)
        }
        GeometryValue::GeometryCollection { .. } => None,
    }
}

type Settle<'a> = &'a dyn Fn(&Position) -> Result<Position, Finding>;

fn each_position(geometry: GeometryValue, settle: Settle<'_>) -> Result<GeometryValue, Finding> {
    let line = |line: &Vec<Position>| line.iter().map(settle).collect::<Result<Vec<_>, _>>();
    let lines = |lines: &Vec<Vec<Position>>| lines.iter().map(line).collect::<Result<Vec<_>, _>>();
    Ok(match geometry {
        GeometryValue::Point { coordinates } => {
            GeometryValue::Point { coordinates: settle(&coordinates)? }
        }
        GeometryValue::MultiPoint { coordinates } => {
            GeometryValue::MultiPoint { coordinates: line(&coordinates)? }
        }
        GeometryValue::LineString { coordinates } => {
            GeometryValue::LineString { coordinates: line(&coordinates)? }
        }
        GeometryValue::MultiLineString { coordinates } => {
            GeometryValue::MultiLineString { coordinates: lines(&coordinates)? }
        }
        GeometryValue::Polygon { coordinates } => {
            GeometryValue::Polygon { coordinates: lines(&coordinates)? }
        }
        GeometryValue::MultiPolygon { coordinates } => GeometryValue::MultiPolygon {
            coordinates: coordinates.iter().map(lines).collect::<Result<_, _>>()?,
        },
        // Refused wherever a shape is needed, whatever its numbers are.
        other @ GeometryValue::GeometryCollection { .. } => other,
    })
}
