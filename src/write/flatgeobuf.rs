//! `FlatGeobuf`: one layer a file, with an index, for programs that look at a part of it.
//!
//! The index wants features near each other on the ground near each other in the file, so that their
//! order is not that of the other formats.
//!
//! # Source
//! `FlatGeobuf` specification 3, as the `flatgeobuf` package writes it.

use flatgeobuf::{ColumnType, FgbCrs, FgbWriter, FgbWriterOptions, GeometryType};
use geo::{Geometry, LineString, MultiPolygon, Polygon};
use geozero::{ColumnValue, PropertyProcessor as _, error::GeozeroError};

use crate::{
    error::Error,
    write::{
        Column, Feature, Kind, Layer, Value,
        rings::{Position, WrittenShape, written_shape},
    },
};

/// A layer as the bytes of a `FlatGeobuf` file in longitude and latitude (WGS84); `None` when nothing
/// is in it, which the format cannot say.
///
/// # Errors
/// A fault of the program: ground without an extent.
pub fn flatgeobuf(layer: &Layer) -> Result<Option<Vec<u8>>, Error> {
    let refuse = |why: String| Error::Unexpected(format!("no {}.fgb: {why}", layer.name));
    let shapes: Vec<WrittenShape> = (layer.features.iter())
        .map(|feature| written_shape(&feature.shape, layer.decimals))
        .collect();
    let Some(kind) = shapes.first().map(kind) else { return Ok(None) };
    let options = FgbWriterOptions {
        crs: FgbCrs { org: Some("EPSG"), code: 4326, name: Some("WGS 84"), ..FgbCrs::default() },
        ..FgbWriterOptions::default()
    };
    let mut writer = FgbWriter::create_with_options(layer.name, kind, options)
        .map_err(|fault| refuse(fault.to_string()))?;
    declare(&mut writer, &layer.columns);
    for (feature, shape) in layer.features.iter().zip(shapes) {
        add(&mut writer, (feature, &layer.columns), shape)
            .map_err(|fault| refuse(fault.to_string()))?;
    }
    let mut bytes = Vec::new();
    writer.write(&mut bytes).map_err(|fault| refuse(fault.to_string()))?;
    Ok(Some(bytes))
}

const fn kind(shape: &WrittenShape) -> GeometryType {
    match shape {
        WrittenShape::Point(_) => GeometryType::Point,
        WrittenShape::Line(_) => GeometryType::LineString,
        WrittenShape::Areas(_) => GeometryType::MultiPolygon,
    }
}

/// Every column with its unit and meaning, whether any feature has a value there or not.
fn declare(writer: &mut FgbWriter<'static>, columns: &[Column]) {
    for column in columns {
        writer.add_column(column.name, column_type(column.kind), |texts, declared| {
            declared.description = Some(texts.create_string(column.meaning));
            if !column.unit.is_empty() {
                declared.title = Some(texts.create_string(column.unit));
            }
        });
    }
}

const fn column_type(kind: Kind) -> ColumnType {
    match kind {
        Kind::Text => ColumnType::String,
        Kind::Integer => ColumnType::Long,
        Kind::Number(_) => ColumnType::Double,
        Kind::Flag => ColumnType::Bool,
        Kind::Structure => ColumnType::Json,
    }
}

fn add(
    writer: &mut FgbWriter<'_>,
    (feature, columns): (&Feature, &[Column]),
    shape: WrittenShape,
) -> Result<(), GeozeroError> {
    let geometry = geometry(shape)
        .ok_or_else(|| GeozeroError::Geometry("ground without an extent".to_owned()))?;
    let mut told = Ok(());
    writer.add_feature_geom(geometry, |writer| {
        let cells = columns.iter().zip(&feature.values).enumerate();
        told = cells
            .map(|(at, (column, value))| {
                let structure = match value {
                    Value::Structure(structure) => structure.to_string(),
                    Value::Null
                    | Value::Text(_)
                    | Value::Integer(_)
                    | Value::Number(_)
                    | Value::Flag(_) => String::new(),
                };
                // What has no value is left out: the format has no other null.
                cell(value, column.kind, &structure)
                    .map_or(Ok(false), |cell| writer.property(at, column.name, &cell))
            })
            .try_for_each(|written| written.map(drop));
    })?;
    told
}

/// A value as its column holds it; a whole number in a column of numbers is one of them.
fn cell<'a>(value: &'a Value, kind: Kind, structure: &'a str) -> Option<ColumnValue<'a>> {
    Some(match (value, kind) {
        (Value::Null, _) => return None,
        (Value::Text(text), _) => ColumnValue::String(text),
        (Value::Integer(_), Kind::Number(_)) => ColumnValue::Double(value.as_number()?),
        (Value::Integer(number), _) => ColumnValue::Long(*number),
        (Value::Number(number), _) => ColumnValue::Double(*number),
        (Value::Flag(flag), _) => ColumnValue::Bool(*flag),
        (Value::Structure(_), _) => ColumnValue::Json(structure),
    })
}

fn geometry(shape: WrittenShape) -> Option<Geometry<f64>> {
    let line = |positions: Vec<Position>| LineString::from(positions);
    Some(match shape {
        WrittenShape::Point([lon, lat]) => geo::Point::new(lon, lat).into(),
        WrittenShape::Line(positions) => line(positions).into(),
        WrittenShape::Areas(parts) if parts.is_empty() => return None,
        WrittenShape::Areas(parts) => {
            let polygon = |rings: Vec<Vec<Position>>| {
                let mut rings = rings.into_iter().map(line);
                Some(Polygon::new(rings.next()?, rings.collect()))
            };
            MultiPolygon(parts.into_iter().filter_map(polygon).collect()).into()
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        geodesy::LonLat,
        write::{Area, Shape},
    };

    fn layer(shapes: Vec<Shape>) -> Layer {
        let columns = vec![
            Column::new("id", Kind::Text, "", "its name"),
            Column::new("length_m", Kind::Number(1), "metres", "how long it is"),
            Column::new("counted", Kind::Flag, "", "it was counted"),
        ];
        let feature = |(at, shape): (usize, Shape)| Feature {
            shape,
            values: vec![format!("N{at}").into(), Value::from(at), Value::Null],
        };
        let features = shapes.into_iter().enumerate().map(feature).collect();
        Layer { name: "things", columns, features, decimals: 8, without_nulls: false }
    }

    fn at(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    #[test]
    fn a_reader_finds_every_value_and_place() {
        use flatgeobuf::{FallibleStreamingIterator as _, FeatureProperties as _, FgbReader};
        use geozero::ToGeo as _;
        let bytes =
            flatgeobuf(&layer(vec![Shape::Point(at(-3.0, 60.0)), Shape::Point(at(-3.5, 60.5))]));
        let mut bytes = std::io::Cursor::new(bytes.unwrap().unwrap());
        let mut found = Vec::new();
        let mut features = FgbReader::open(&mut bytes).unwrap().select_all().unwrap();
        while let Some(feature) = features.next().unwrap() {
            let id: String = feature.property_n(0).unwrap();
            let length: f64 = feature.property_n(1).unwrap();
            assert!(feature.property_n::<bool>(2).is_err(), "nothing is known");
            found.push((id, length, feature.to_geo().unwrap()));
        }
        found.sort_by(|one, other| one.0.cmp(&other.0));
        let point = |lon, lat| Geometry::Point(geo::Point::new(lon, lat));
        let wanted =
            [("N0".to_owned(), 0.0, point(-3.0, 60.0)), ("N1".to_owned(), 1.0, point(-3.5, 60.5))];
        assert_eq!(found, wanted);
    }

    #[test]
    fn ground_keeps_its_parts_and_holes_and_a_layer_of_nothing_has_no_file() {
        let ring = |from: f64, side: f64| {
            let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
            corners.map(|(x, y)| at(from + x, 60.0 + y)).to_vec()
        };
        let hole = vec![at(0.002, 60.002), at(0.004, 60.002), at(0.004, 60.004)];
        let parts = vec![
            Area { outer: ring(0.0, 0.01), holes: vec![hole] },
            Area { outer: ring(1.0, 0.01), holes: vec![] },
        ];
        let WrittenShape::Areas(written) = written_shape(&Shape::Areas(parts.clone()), 8) else {
            panic!("areas")
        };
        let Some(Geometry::MultiPolygon(ground)) = geometry(WrittenShape::Areas(written)) else {
            panic!("ground")
        };
        assert_eq!((ground.0.len(), ground.0[0].interiors().len()), (2, 1));
        assert!(flatgeobuf(&layer(vec![Shape::Areas(parts)])).is_ok());
        assert!(flatgeobuf(&layer(vec![Shape::Areas(vec![])])).is_err());
        assert_eq!(flatgeobuf(&layer(vec![])).unwrap(), None);
    }
}
