//! GeoPackage: several layers in one SQLite database, the same bytes every time.
//!
//! The database is made in memory and handed over as bytes, so that no journal ever lies beside the
//! file and nothing but `files` writes to a disk.
//!
//! # Source
//! OGC 12-128r18, GeoPackage Encoding Standard 1.3.1, with its extensions for R-tree indexes and for
//! descriptions of columns.

mod blob;
mod schema;

use rusqlite::{Connection, ToSql, types::ToSqlOutput};

use crate::{
    error::Error,
    write::{
        Column, Feature, Kind, Layer, Value,
        rings::{WrittenShape, written_shape},
    },
};
use blob::Extent;

/// Layers as the bytes of a GeoPackage in longitude and latitude (WGS84), a table each.
///
/// # Errors
/// A fault of the program: two layers or columns of one name.
pub fn geopackage(layers: &[&Layer]) -> Result<Vec<u8>, Error> {
    in_memory(layers).map_err(|error| Error::Unexpected(format!("no GeoPackage: {error}")))
}

fn in_memory(layers: &[&Layer]) -> rusqlite::Result<Vec<u8>> {
    let connection = Connection::open_in_memory()?;
    connection.execute_batch(schema::TABLES)?;
    for layer in layers {
        put_layer(&connection, layer)?;
    }
    // A name, not a place: the database has no file.
    Ok(connection.serialize("main")?.to_vec())
}

fn put_layer(connection: &Connection, layer: &Layer) -> rusqlite::Result<()> {
    let shapes: Vec<WrittenShape> = (layer.features.iter())
        .map(|feature| written_shape(&feature.shape, layer.decimals))
        .collect();
    let kind = shapes.first().map_or("GEOMETRY", blob::kind);
    connection.execute_batch("BEGIN")?;
    connection.execute_batch(&schema::feature_table(layer, kind))?;
    let whole = put_features(connection, layer, &shapes)?;
    schema::register(connection, layer, (kind, whole))?;
    // Last: its conditions call functions that only a reader of geometry has.
    connection.execute_batch(&schema::triggers(layer.name))?;
    connection.execute_batch("COMMIT")
}

/// The rows of a layer and their entries in its index; gives the extent of all.
fn put_features(
    connection: &Connection,
    layer: &Layer,
    shapes: &[WrittenShape],
) -> rusqlite::Result<Option<Extent>> {
    let mut insert = connection.prepare(&schema::insert(layer))?;
    let mut index = connection.prepare(&schema::insert_index(layer.name))?;
    let mut whole: Option<Extent> = None;
    for (at, (feature, shape)) in layer.features.iter().zip(shapes).enumerate() {
        let id = i64::try_from(at + 1).unwrap_or(i64::MAX);
        let (blob, extent) = blob::blob(shape);
        let values = cells(feature, &layer.columns);
        let row = [&id as &dyn ToSql, &blob].into_iter();
        insert.execute(
            &*row.chain(values.iter().map(|cell| cell as &dyn ToSql)).collect::<Vec<_>>(),
        )?;
        if let Some(Extent { west, east, south, north }) = extent {
            index.execute((id, west, east, south, north))?;
        }
        whole = blob::together(whole, extent);
    }
    Ok(whole)
}

/// A value on its way into a column.
struct Cell<'a>(&'a Value);

fn cells<'a>(feature: &'a Feature, columns: &[Column]) -> Vec<Cell<'a>> {
    feature.values.iter().take(columns.len()).map(Cell).collect()
}

impl ToSql for Cell<'_> {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self.0 {
            Value::Null => ToSqlOutput::from(rusqlite::types::Null),
            Value::Text(text) => ToSqlOutput::from(&**text),
            Value::Integer(number) => ToSqlOutput::from(*number),
            Value::Number(number) => ToSqlOutput::from(*number),
            Value::Flag(flag) => ToSqlOutput::from(*flag),
            Value::Structure(structure) => ToSqlOutput::from(structure.to_string()),
        })
    }
}

/// The type of a column in the standard's words.
const fn column_type(kind: Kind) -> &'static str {
    match kind {
        Kind::Text | Kind::Structure => "TEXT",
        Kind::Integer => "INTEGER",
        Kind::Number(_) => "DOUBLE",
        Kind::Flag => "BOOLEAN",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        geodesy::LonLat,
        write::{Area, Shape},
    };

    fn place(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    fn layer(name: &'static str, shapes: Vec<Shape>) -> Layer {
        let values = |at: usize| vec![format!("R{at:03}").into(), Value::from(at), Value::Null];
        Layer {
            name,
            columns: vec![
                Column::new("id", Kind::Text, "", "the id"),
                Column::new("row", Kind::Integer, "", "the row's number"),
                Column::new("length_m", Kind::Number(3), "metres", "end post to end post"),
            ],
            features: (shapes.into_iter().enumerate())
                .map(|(at, shape)| Feature { shape, values: values(at) })
                .collect(),
            decimals: 8,
            without_nulls: false,
        }
    }

    fn sample() -> Vec<u8> {
        let square = vec![place(5.0, 44.0), place(5.1, 44.0), place(5.1, 44.2), place(5.0, 44.2)];
        let area = Shape::Areas(vec![Area { outer: square, holes: vec![] }]);
        let lines = layer("rows", vec![Shape::Line(vec![place(5.0, 44.0), place(5.5, 44.25)])]);
        let points =
            layer("vines", vec![Shape::Point(place(5.0, 44.0)), Shape::Point(place(5.2, 44.1))]);
        geopackage(&[&lines, &points, &layer("block", vec![area])]).unwrap()
    }

    fn opened(bytes: &[u8]) -> Connection {
        let mut connection = Connection::open_in_memory().unwrap();
        connection.deserialize_read_exact("main", bytes, bytes.len(), true).unwrap();
        connection
    }

    fn one<T: rusqlite::types::FromSql>(connection: &Connection, query: &str) -> T {
        connection.query_row(query, (), |row| row.get(0)).unwrap()
    }

    // Source: OGC 12-128r18, requirements 2 (application id "GPKG", version), 6 and 7 (integrity).
    #[test]
    fn the_database_says_what_it_is_and_is_sound() {
        let connection = opened(&sample());
        assert_eq!(one::<i64>(&connection, "PRAGMA application_id"), 0x4750_4B47);
        assert_eq!(one::<i64>(&connection, "PRAGMA user_version"), 10_300);
        assert_eq!(one::<String>(&connection, "PRAGMA integrity_check"), "ok");
        let faults = connection.prepare("PRAGMA foreign_key_check").unwrap().exists(()).unwrap();
        assert!(!faults);
    }

    #[test]
    fn features_come_back_with_their_values_and_their_index() {
        let connection = opened(&sample());
        assert_eq!(one::<i64>(&connection, "SELECT count(*) FROM vines"), 2);
        assert_eq!(one::<String>(&connection, "SELECT id FROM vines WHERE fid = 2"), "R001");
        let empty = one::<Option<f64>>(&connection, "SELECT length_m FROM rows");
        assert_eq!(empty, None);
        let found = one::<i64>(
            &connection,
            "SELECT id FROM rtree_vines_geom WHERE minx > 5.1 AND maxx < 5.3 AND miny > 44.05",
        );
        assert_eq!(found, 2);
        let east =
            one::<f64>(&connection, "SELECT max_x FROM gpkg_contents WHERE table_name = 'rows'");
        assert!((east - 5.5).abs() < 1e-12);
        let kind =
            "SELECT geometry_type_name FROM gpkg_geometry_columns WHERE table_name = 'block'";
        assert_eq!(one::<String>(&connection, kind), "MULTIPOLYGON");
    }

    #[test]
    fn the_meaning_of_a_column_stands_beside_it_with_its_unit() {
        let description = "SELECT description FROM gpkg_data_columns \
                           WHERE table_name = 'rows' AND column_name = 'length_m'";
        let text = one::<String>(&opened(&sample()), description);
        assert_eq!(text, "end post to end post (metres)");
    }

    #[test]
    fn the_same_layers_give_the_same_bytes() {
        assert_eq!(sample(), sample());
    }

    #[test]
    fn two_layers_of_one_name_are_a_fault_and_no_layer_is_none() {
        let lines = layer("rows", vec![]);
        assert!(geopackage(&[&lines, &lines]).is_err());
        assert!(geopackage(&[&lines]).is_ok());
    }

    #[test]
    fn the_validator_of_gdal_takes_it() {
        crate::write::validators::geopackage(&sample());
    }
}
