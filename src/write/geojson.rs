//! GeoJSON as RFC 7946 has it, one feature a line so that two runs can be compared by `diff`.

use std::io::{self, Write};

use crate::write::{
    Layer, Value,
    rings::{Position, WrittenShape, written_shape},
};

/// A layer as GeoJSON.
///
/// Properties stand in the order of the columns; rings follow the right-hand rule after rounding;
/// what is not finite is null. There is no `bbox`: some readers stumble over an array before the
/// features.
pub fn geojson(layer: &Layer) -> Vec<u8> {
    let mut bytes =
        Vec::with_capacity(256 + layer.features.len() * 64 * layer.columns.len().max(2));
    // Writing into memory does not fail.
    let _ = write_collection(&mut bytes, layer);
    bytes
}

fn write_collection(out: &mut Vec<u8>, layer: &Layer) -> io::Result<()> {
    out.extend_from_slice(b"{\"type\":\"FeatureCollection\",\"name\":");
    write_text(out, layer.name)?;
    out.extend_from_slice(b",\"features\":[");
    let keys: Vec<Vec<u8>> = layer.columns.iter().map(|column| key(column.name)).collect();
    for (index, feature) in layer.features.iter().enumerate() {
        out.extend_from_slice(if index == 0 { b"\n" } else { b",\n" });
        out.extend_from_slice(b"{\"type\":\"Feature\",\"properties\":{");
        write_properties(out, &keys, &feature.values, layer.without_nulls)?;
        out.extend_from_slice(b"},\"geometry\":");
        write_geometry(out, &written_shape(&feature.shape, layer.decimals))?;
        out.push(b'}');
    }
    out.extend_from_slice(b"\n]}\n");
    Ok(())
}

fn key(name: &str) -> Vec<u8> {
    format!("{}:", serde_json::Value::from(name)).into_bytes()
}

fn write_properties(
    out: &mut Vec<u8>,
    keys: &[Vec<u8>],
    values: &[Value],
    without_nulls: bool,
) -> io::Result<()> {
    let mut first = true;
    for (key, value) in keys.iter().zip(values) {
        if without_nulls && *value == Value::Null {
            continue;
        }
        if !std::mem::take(&mut first) {
            out.push(b',');
        }
        out.extend_from_slice(key);
        write_value(out, value)?;
    }
    Ok(())
}

fn write_value(out: &mut Vec<u8>, value: &Value) -> io::Result<()> {
    match value {
        Value::Text(text) => write_text(out, text),
        Value::Integer(number) => write!(out, "{number}"),
        Value::Number(number) if number.is_finite() => write!(out, "{number}"),
        Value::Null | Value::Number(_) => out.write_all(b"null"),
        Value::Flag(flag) => write!(out, "{flag}"),
        Value::Structure(structure) => Ok(serde_json::to_writer(out, structure)?),
    }
}

fn write_text(out: &mut Vec<u8>, text: &str) -> io::Result<()> {
    Ok(serde_json::to_writer(out, text)?)
}

fn write_geometry(out: &mut Vec<u8>, shape: &WrittenShape) -> io::Result<()> {
    match shape {
        WrittenShape::Point(at) => {
            out.extend_from_slice(b"{\"type\":\"Point\",\"coordinates\":");
            write_position(out, *at)?;
        }
        WrittenShape::Line(places) => {
            out.extend_from_slice(b"{\"type\":\"LineString\",\"coordinates\":");
            write_positions(out, places)?;
        }
        WrittenShape::Areas(parts) => match parts.as_slice() {
            // RFC 7946 3.1: a feature without a place has a null geometry.
            [] => return out.write_all(b"null"),
            [part] => {
                out.extend_from_slice(b"{\"type\":\"Polygon\",\"coordinates\":");
                write_rings(out, part)?;
            }
            parts => {
                out.extend_from_slice(b"{\"type\":\"MultiPolygon\",\"coordinates\":");
                write_list(out, parts, |out, part| write_rings(out, part))?;
            }
        },
    }
    out.write_all(b"}")
}

fn write_rings(out: &mut Vec<u8>, rings: &[Vec<Position>]) -> io::Result<()> {
    write_list(out, rings, |out, ring| write_positions(out, ring))
}

fn write_positions(out: &mut Vec<u8>, places: &[Position]) -> io::Result<()> {
    write_list(out, places, |out, at| write_position(out, *at))
}

fn write_position(out: &mut Vec<u8>, [lon, lat]: Position) -> io::Result<()> {
    write!(out, "[{lon},{lat}]")
}

fn write_list<T>(
    out: &mut Vec<u8>,
    items: &[T],
    write_item: impl Fn(&mut Vec<u8>, &T) -> io::Result<()>,
) -> io::Result<()> {
    out.push(b'[');
    for (index, item) in items.iter().enumerate() {
        if index > 0 {
            out.push(b',');
        }
        write_item(out, item)?;
    }
    out.write_all(b"]")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        geodesy::LonLat,
        write::{Area, Column, Feature, Kind, Shape},
    };

    const NAME: Column = Column { name: "name", kind: Kind::Text, unit: "", meaning: "" };
    const SHOOTS: Column =
        Column { name: "shoots_per_m", kind: Kind::Number(5), unit: "", meaning: "" };

    fn place(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    fn layer(features: Vec<Feature>) -> Layer {
        let columns = vec![NAME, SHOOTS];
        Layer { name: "vines", columns, features, decimals: 9, without_nulls: false }
    }

    fn text(layer: &Layer) -> String {
        let bytes = geojson(layer);
        crate::write::validators::geojson(&bytes);
        String::from_utf8(bytes).unwrap()
    }

    #[test]
    fn a_feature_is_one_line_with_its_properties_in_order() {
        let feature = Feature {
            shape: Shape::Point(place(-73.123_456_789_4, 44.5)),
            values: vec!["R001V001".into(), Value::number(14.000_004, 5)],
        };
        let missing = Feature {
            shape: Shape::Point(place(0.000_000_000_1, 0.0)),
            values: vec!["\"</b>\u{1}".into(), Value::Null],
        };
        let expected = "{\"type\":\"FeatureCollection\",\"name\":\"vines\",\"features\":[\n\
            {\"type\":\"Feature\",\"properties\":{\"name\":\"R001V001\",\"shoots_per_m\":14},\
            \"geometry\":{\"type\":\"Point\",\"coordinates\":[-73.123456789,44.5]}},\n\
            {\"type\":\"Feature\",\"properties\":{\"name\":\"\\\"</b>\\u0001\",\
            \"shoots_per_m\":null},\
            \"geometry\":{\"type\":\"Point\",\"coordinates\":[0,0]}}\n]}\n";
        assert_eq!(text(&layer(vec![feature, missing])), expected);
    }

    #[test]
    fn one_part_is_a_polygon_and_two_are_a_multipolygon() {
        let part = |lon: f64| Area {
            outer: vec![place(lon, 44.0), place(lon, 44.1), place(lon + 0.1, 44.0)],
            holes: Vec::new(),
        };
        let feature = |areas| Feature { shape: Shape::Areas(areas), values: Vec::new() };
        let one = text(&layer(vec![feature(vec![part(5.0)])]));
        assert!(one.contains("{\"type\":\"Polygon\",\"coordinates\":[[[5.1,44],[5,44.1],[5,44],"));
        let two = text(&layer(vec![feature(vec![part(5.0), part(6.0)])]));
        assert!(two.contains("{\"type\":\"MultiPolygon\",\"coordinates\":[[[[5.1,44],"));
        let none = text(&layer(vec![feature(Vec::new())]));
        assert!(none.contains("\"geometry\":null"));
    }

    #[test]
    fn the_geojson_crate_reads_it_back() {
        let line = Feature {
            shape: Shape::Line(vec![place(5.0, 44.0), place(5.000_1, 44.0)]),
            values: vec![Value::Null, 3.5.into()],
        };
        let read: geojson::FeatureCollection = text(&layer(vec![line])).parse().unwrap();
        let properties = read.features[0].properties.as_ref().unwrap();
        assert_eq!(properties["shoots_per_m"], 3.5);
        assert!(properties["name"].is_null());
    }
}
