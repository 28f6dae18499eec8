//! Geometry as a GeoPackage keeps it: a short head with the extent, then well-known binary.
//!
//! # Source
//! OGC 12-128r18, 2.1.3 (`GeoPackageBinary`); OGC 06-103r4, 8 (well-known binary).

use crate::write::rings::{Position, WrittenShape};

/// The code of WGS84 longitude and latitude.
pub(super) const WGS84: i32 = 4326;
/// Little-endian, with an extent of two axes.
const FLAGS_WITH_EXTENT: u8 = 0b0000_0011;
/// Little-endian, without an extent: a point is its own.
const FLAGS_OF_POINT: u8 = 0b0000_0001;

const POINT: u32 = 1;
const LINE_STRING: u32 = 2;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;

/// The extent of a shape, degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Extent {
    pub(super) west: f64,
    pub(super) east: f64,
    pub(super) south: f64,
    pub(super) north: f64,
}

/// The kind of a shape in the standard's words; areas are always several, so that a layer has one.
pub(super) const fn kind(shape: &WrittenShape) -> &'static str {
    match shape {
        WrittenShape::Point(_) => "POINT",
        WrittenShape::Line(_) => "LINESTRING",
        WrittenShape::Areas(_) => "MULTIPOLYGON",
    }
}

/// A shape with its extent; nothing for ground that rounding left without area.
pub(super) fn blob(shape: &WrittenShape) -> (Option<Vec<u8>>, Option<Extent>) {
    let extent = extent(shape);
    (extent.map(|extent| bytes(shape, extent)), extent)
}

fn bytes(shape: &WrittenShape, extent: Extent) -> Vec<u8> {
    let is_point = matches!(shape, WrittenShape::Point(_));
    let mut bytes = b"GP\0".to_vec();
    bytes.push(if is_point { FLAGS_OF_POINT } else { FLAGS_WITH_EXTENT });
    bytes.extend(WGS84.to_le_bytes());
    if !is_point {
        let Extent { west, east, south, north } = extent;
        bytes.extend([west, east, south, north].iter().flat_map(|edge| edge.to_le_bytes()));
    }
    match shape {
        WrittenShape::Point(at) => {
            head(&mut bytes, POINT);
            place(&mut bytes, *at);
        }
        WrittenShape::Line(places_on) => {
            head(&mut bytes, LINE_STRING);
            places(&mut bytes, places_on);
        }
        WrittenShape::Areas(parts) => {
            head(&mut bytes, MULTI_POLYGON);
            number(&mut bytes, parts.len());
            for rings in parts {
                polygon(&mut bytes, rings);
            }
        }
    }
    bytes
}

fn polygon(bytes: &mut Vec<u8>, rings: &[Vec<Position>]) {
    head(bytes, POLYGON);
    number(bytes, rings.len());
    for ring in rings {
        places(bytes, ring);
    }
}

fn head(bytes: &mut Vec<u8>, kind: u32) {
    bytes.push(1);
    bytes.extend(kind.to_le_bytes());
}

fn number(bytes: &mut Vec<u8>, of: usize) {
    bytes.extend(u32::try_from(of).unwrap_or(u32::MAX).to_le_bytes());
}

fn places(bytes: &mut Vec<u8>, places: &[Position]) {
    number(bytes, places.len());
    for at in places {
        place(bytes, *at);
    }
}

fn place(bytes: &mut Vec<u8>, [lon, lat]: Position) {
    bytes.extend([lon, lat].iter().flat_map(|axis| axis.to_le_bytes()));
}

fn extent(shape: &WrittenShape) -> Option<Extent> {
    let of = |places: &[Position]| places.iter().map(|at| at_one(*at)).reduce(both);
    match shape {
        WrittenShape::Point(at) => Some(at_one(*at)),
        WrittenShape::Line(places) => of(places),
        WrittenShape::Areas(parts) => {
            parts.iter().flatten().filter_map(|ring| of(ring)).reduce(both)
        }
    }
}

const fn at_one([lon, lat]: Position) -> Extent {
    Extent { west: lon, east: lon, south: lat, north: lat }
}

const fn both(one: Extent, other: Extent) -> Extent {
    Extent {
        west: one.west.min(other.west),
        east: one.east.max(other.east),
        south: one.south.min(other.south),
        north: one.north.max(other.north),
    }
}

/// The extent of what either covers.
pub(super) fn together(one: Option<Extent>, other: Option<Extent>) -> Option<Extent> {
    match (one, other) {
        (Some(one), Some(other)) => Some(both(one, other)),
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // Source: the layout of GeoPackageBinary and of WKB, written out by hand.
    #[test]
    fn a_point_is_a_head_of_eight_bytes_and_twenty_one_of_wkb() {
        let (blob, extent) = blob(&WrittenShape::Point([1.0, -2.0]));
        let mut expected = vec![b'G', b'P', 0, 1, 0xe6, 0x10, 0, 0, 1, 1, 0, 0, 0];
        expected.extend([0, 0, 0, 0, 0, 0, 0xf0, 0x3f, 0, 0, 0, 0, 0, 0, 0, 0xc0]);
        assert_eq!(blob.unwrap(), expected);
        assert_eq!(extent, Some(Extent { west: 1.0, east: 1.0, south: -2.0, north: -2.0 }));
    }

    #[test]
    fn an_area_carries_its_extent_west_east_south_north() {
        let ring = vec![[1.0, 2.0], [4.0, 2.0], [4.0, 9.0], [1.0, 2.0]];
        let blob = blob(&WrittenShape::Areas(vec![vec![ring]])).0.unwrap();
        let edge =
            |at: usize| f64::from_le_bytes(blob[8 + 8 * at..16 + 8 * at].try_into().unwrap());
        let edges = [0, 1, 2, 3].map(|at| edge(at).to_string());
        assert_eq!(edges, ["1", "4", "2", "9"]);
        assert_eq!(blob.len(), 40 + 9 + 9 + 4 + 4 * 16);
    }

    #[test]
    fn ground_without_area_has_no_geometry() {
        assert_eq!(blob(&WrittenShape::Areas(vec![])), (None, None));
    }
}
