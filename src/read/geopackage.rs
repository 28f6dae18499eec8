//! A GeoPackage -> features: every layer with a geometry, each in the system that it states.
//!
//! The file is opened to be read and as one that nobody changes, so that nothing appears beside it.

use std::path::Path;

use geojson::{GeometryValue, JsonObject};
use rusqlite::{Connection, OpenFlags, Row, types::ValueRef};

use super::{
    features::{Document, Feature, label, printable},
    gp_blob::geometry_of,
    own_grid::{Given, MapFile},
    source::Source,
    text_keys::{put_role, put_text, role_of_heading},
};
use crate::finding::{Finding, Findings, Place};

/// More features are no map of an estate.
const MOST_FEATURES: usize = 200_000;

/// Every layer of a GeoPackage.
///
/// # Errors
/// A database that is damaged or no GeoPackage, a grid that is not understood.
pub(super) fn of_file(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    let file = source.place();
    tell_open_elsewhere(&source.path, &file, findings);
    let damaged = |error: rusqlite::Error| {
        Finding::fault(file.clone(), format!("the database is cut off or damaged: {error}"))
            .mend("export the GeoPackage again")
    };
    let database = open(&source.path).map_err(damaged)?;
    let layers = layers_of(&database).map_err(damaged)?;
    if layers.is_empty() {
        return Err(Finding::fault(file, "a database without a layer of a GeoPackage in it")
            .mend("export the outlines as a GeoPackage, or as GeoJSON"));
    }
    let mut map = MapFile::default();
    for layer in layers {
        let place = file.in_feature(format!("layer \"{}\"", printable(&layer.table)));
        if !layer.is_table {
            let what = "the layer is made by a query and is not read";
            findings.push(
                Finding::warning(place, what).mend("save it as a layer of its own if it matters"),
            );
            continue;
        }
        let features = features_of(&database, &layer, &file, findings).map_err(damaged)?;
        let document = Document { features, crs: None };
        document.tell_heights(place.clone(), findings);
        let place = place.at_field("srs_id");
        map.add_layer(document, layer.system.as_deref(), (&place, given), findings)?;
    }
    Ok(map)
}

/// A layer as the GeoPackage lists it.
#[derive(Debug)]
struct Layer {
    table: String,
    column: String,
    /// A code of the register, or a description; `None` when it states none.
    system: Option<String>,
    /// False for a query that looks like a table.
    is_table: bool,
}

/// What was drawn last lies in another file while a program has the database open.
fn tell_open_elsewhere(path: &Path, file: &Place, findings: &mut Findings) {
    let mut log = path.as_os_str().to_owned();
    log.push("-wal");
    if std::fs::metadata(&log).is_ok_and(|facts| facts.len() > 0) {
        let what = "another program has the file open: what was drawn last may be missing";
        findings.push(Finding::warning(file.clone(), what).mend("save and close it there"));
    }
}

fn open(path: &Path) -> rusqlite::Result<Connection> {
    let mut address = String::from("file:");
    for byte in path.as_os_str().as_encoded_bytes() {
        match byte {
            b'/' | b'.' | b'_' | b'-' => address.push(char::from(*byte)),
            letter if letter.is_ascii_alphanumeric() => address.push(char::from(*letter)),
            other => address.extend(percent(*other)),
        }
    }
    address.push_str("?mode=ro&immutable=1");
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_URI;
    let database = Connection::open_with_flags(address, flags)?;
    // A table from a stranger runs no function of his.
    database.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;")?;
    Ok(database)
}

/// `%2F` for a byte that means something in an address.
fn percent(byte: u8) -> [char; 3] {
    let digit = |value: u8| char::from_digit(u32::from(value), 16).unwrap_or('0');
    ['%', digit(byte >> 4), digit(byte & 15)]
}

/// The layers in the order in which they are listed; none for a database of another kind.
fn layers_of(database: &Connection) -> rusqlite::Result<Vec<Layer>> {
    let listed = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name IN \
                  ('gpkg_geometry_columns', 'gpkg_spatial_ref_sys')";
    if database.query_row(listed, [], |row| row.get::<_, i64>(0))? < 2 {
        return Ok(Vec::new());
    }
    let mut statement = database.prepare(
        "SELECT g.table_name, g.column_name, s.organization, s.organization_coordsys_id, \
         s.definition, (SELECT m.sql FROM sqlite_master m WHERE m.type = 'table' \
         AND lower(m.name) = lower(g.table_name)) \
         FROM gpkg_geometry_columns g LEFT JOIN gpkg_spatial_ref_sys s ON s.srs_id = g.srs_id \
         ORDER BY g.rowid",
    )?;
    let layers = statement.query_map([], |row| {
        let sql: Option<String> = row.get(5)?;
        let is_table = sql.is_some_and(|sql| !sql.to_uppercase().contains("CREATE VIRTUAL"));
        Ok(Layer { table: row.get(0)?, column: row.get(1)?, system: system(row)?, is_table })
    })?;
    layers.collect()
}

/// The system of a layer: the register's code where it has one, else its description.
fn system(row: &Row<'_>) -> rusqlite::Result<Option<String>> {
    let organisation: Option<String> = row.get(2)?;
    let code: Option<i64> = row.get(3)?;
    let described: Option<String> = row.get(4)?;
    let registered = organisation.is_some_and(|name| name.eq_ignore_ascii_case("EPSG"));
    Ok(match code {
        Some(code) if registered && code > 0 => Some(format!("EPSG:{code}")),
        _ => described.filter(|text| text.contains('[')),
    })
}

fn features_of(
    database: &Connection,
    layer: &Layer,
    file: &Place,
    findings: &mut Findings,
) -> rusqlite::Result<Vec<Feature>> {
    let columns = columns_of(database, layer)?;
    let heading = format!("layer \"{}\"", printable(&layer.table));
    let mut statement =
        database.prepare(&format!("SELECT * FROM {} ORDER BY rowid", quoted(&layer.table)))?;
    let mut rows = statement.query([])?;
    let mut features = Vec::new();
    let mut number = 0;
    while let Some(row) = rows.next()? {
        number += 1;
        if number > MOST_FEATURES {
            let what = format!("a layer of more than {MOST_FEATURES} features");
            findings.push(
                Finding::fault(file.in_feature(heading), what).mend("export only the blocks"),
            );
            break;
        }
        let plain = file.in_feature(format!("{heading} feature {number}"));
        let (geometry, mut properties) = cells_of(row, &columns, &plain, findings)?;
        let place = file.in_feature(format!("{heading} {}", label(number, None, &properties)));
        put_role(&mut properties, role_of_heading(&layer.table));
        match geometry {
            Ok(Some(geometry)) => {
                features.push(Feature { id: None, properties, geometry, place });
            }
            Ok(None) => findings.push(
                Finding::warning(place, "a feature without a geometry is left out")
                    .mend("draw it, or delete the feature"),
            ),
            Err(what) => findings.push(
                Finding::fault(place, format!("{what} cannot be read"))
                    .mend("draw it as a plain polygon, line or point"),
            ),
        }
    }
    Ok(features)
}

/// The geometry of a row, or what is wrong with it, and its other cells as texts.
fn cells_of(
    row: &Row<'_>,
    columns: &[Column],
    place: &Place,
    findings: &mut Findings,
) -> rusqlite::Result<(Result<Option<GeometryValue>, String>, JsonObject)> {
    let (mut geometry, mut properties) = (Ok(None), JsonObject::new());
    for (index, column) in columns.iter().enumerate() {
        match (column.geometry, row.get_ref(index)?) {
            (true, ValueRef::Blob(blob)) => geometry = geometry_of(blob),
            (true, _) | (false, ValueRef::Blob(_)) => {}
            (false, value) => {
                let text = text_of(value, &column.kind);
                put_text(&mut properties, &column.name, &text, place, findings);
            }
        }
    }
    Ok((geometry, properties))
}

/// A column of a layer.
#[derive(Debug)]
struct Column {
    name: String,
    /// Its declared kind, in capitals.
    kind: String,
    geometry: bool,
}

fn columns_of(database: &Connection, layer: &Layer) -> rusqlite::Result<Vec<Column>> {
    let mut statement =
        database.prepare(&format!("PRAGMA table_info({})", quoted(&layer.table)))?;
    let columns = statement.query_map([], |row| {
        let (name, kind): (String, String) = (row.get(1)?, row.get(2)?);
        let geometry = name.eq_ignore_ascii_case(&layer.column);
        // The number of a feature says nothing of it.
        let own = row.get::<_, i64>(5)? == 0;
        let name = if own { name } else { String::new() };
        Ok(Column { name, kind: kind.to_uppercase(), geometry })
    })?;
    columns.collect()
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

fn text_of(value: ValueRef<'_>, kind: &str) -> String {
    match value {
        ValueRef::Integer(number) if kind == "BOOLEAN" => (number != 0).to_string(),
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Text(text) => String::from_utf8_lossy(text).into_owned(),
        ValueRef::Null | ValueRef::Blob(_) => String::new(),
    }
}
