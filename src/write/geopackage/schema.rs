//! Tables, index and triggers of a GeoPackage.
//!
//! # Source
//! OGC 12-128r18: 1.1.1.1 (application id), table 21 ff. (the tables), F.3 (R-tree index and its
//! triggers), F.9 (descriptions of columns).

use rusqlite::Connection;

use super::{blob::Extent, column_type};
use crate::write::{Column, Layer};

/// No clock: every content says that it last changed then.
const NO_DAY: &str = "1970-01-01T00:00:00.000Z";

/// The tables that every GeoPackage has, and those of the two extensions.
pub(super) const TABLES: &str = r#"
PRAGMA application_id = 0x47504B47;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', NULL),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', NULL),
  ('WGS 84 geodetic', 4326, 'EPSG', 4326, 'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]', 'longitude and latitude on the WGS 84 ellipsoid');
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
CREATE TABLE gpkg_extensions (
  table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL, definition TEXT NOT NULL,
  scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));
CREATE TABLE gpkg_data_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, name TEXT, title TEXT, description TEXT,
  mime_type TEXT, constraint_name TEXT,
  CONSTRAINT pk_gdc PRIMARY KEY (table_name, column_name),
  CONSTRAINT gdc_tn UNIQUE (table_name, name));
CREATE TABLE gpkg_data_column_constraints (
  constraint_name TEXT NOT NULL, constraint_type TEXT NOT NULL, value TEXT, min NUMERIC,
  min_is_inclusive BOOLEAN, max NUMERIC, max_is_inclusive BOOLEAN, description TEXT,
  CONSTRAINT gdcc_ntv UNIQUE (constraint_name, constraint_type, value));
INSERT INTO gpkg_extensions VALUES
  ('gpkg_data_columns', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec/#extension_schema', 'read-write'),
  ('gpkg_data_column_constraints', NULL, 'gpkg_schema', 'http://www.geopackage.org/spec/#extension_schema', 'read-write');
"#;

/// The table of a layer and its empty index.
pub(super) fn feature_table(layer: &Layer, kind: &str) -> String {
    let columns = layer.columns.iter();
    let columns: Vec<String> = columns
        .map(|column| format!(", {} {}", quoted(column.name), column_type(column.kind)))
        .collect();
    format!(
        "CREATE TABLE {table} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, \
         geom {kind}{});\n\
         CREATE VIRTUAL TABLE {index} USING rtree(id, minx, maxx, miny, maxy);",
        columns.concat(),
        table = quoted(layer.name),
        index = index(layer.name),
    )
}

/// The statement that puts a feature into its table: fid, geometry, then its values.
pub(super) fn insert(layer: &Layer) -> String {
    let places = vec!["?"; layer.columns.len() + 2].join(", ");
    format!("INSERT INTO {} VALUES ({places})", quoted(layer.name))
}

/// The statement that puts a feature into the index of its table.
pub(super) fn insert_index(table: &str) -> String {
    format!("INSERT INTO {} VALUES (?, ?, ?, ?, ?)", index(table))
}

/// Names a layer in the tables of contents.
pub(super) fn register(
    connection: &Connection,
    layer: &Layer,
    (kind, extent): (&str, Option<Extent>),
) -> rusqlite::Result<()> {
    let name = layer.name;
    let edges = extent.map(|all| [all.west, all.south, all.east, all.north].map(Some));
    let [west, south, east, north] = edges.unwrap_or([None; 4]);
    connection.execute(
        "INSERT INTO gpkg_contents VALUES (?1, 'features', ?1, '', ?2, ?3, ?4, ?5, ?6, 4326)",
        (name, NO_DAY, west, south, east, north),
    )?;
    connection.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, 4326, 0, 0)",
        (name, kind),
    )?;
    connection.execute(
        "INSERT INTO gpkg_extensions VALUES (?1, 'geom', 'gpkg_rtree_index', \
         'http://www.geopackage.org/spec120/#extension_rtree', 'write-only')",
        [name],
    )?;
    let mut describe = connection
        .prepare("INSERT INTO gpkg_data_columns VALUES (?1, ?2, ?2, NULL, ?3, NULL, NULL)")?;
    layer
        .columns
        .iter()
        .try_for_each(|column| describe.execute((name, column.name, description(column))).map(drop))
}

fn description(column: &Column) -> String {
    match column.unit {
        "" => column.meaning.to_owned(),
        unit => format!("{} ({unit})", column.meaning),
    }
}

/// What keeps the index true when somebody edits the table.
pub(super) fn triggers(table: &str) -> String {
    let (index, quoted_table) = (index(table), quoted(table));
    let bounds = "ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)";
    let put = format!("INSERT OR REPLACE INTO {index} VALUES (NEW.fid, {bounds});");
    let drop_old = format!("DELETE FROM {index} WHERE id = OLD.fid;");
    let filled = "(NEW.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom))";
    let empty = "(NEW.geom IS NULL OR ST_IsEmpty(NEW.geom))";
    let (of_geom, of_row) = ("AFTER UPDATE OF geom ON", "AFTER UPDATE ON");
    let triggers = [
        ("insert", "AFTER INSERT ON", filled.to_owned(), put.clone()),
        ("update1", of_geom, format!("OLD.fid = NEW.fid AND {filled}"), put.clone()),
        ("update2", of_geom, format!("OLD.fid = NEW.fid AND {empty}"), drop_old.clone()),
        (
            "update3",
            of_row,
            format!("OLD.fid != NEW.fid AND {filled}"),
            format!("{drop_old} {put}"),
        ),
        (
            "update4",
            of_row,
            format!("OLD.fid != NEW.fid AND {empty}"),
            format!("DELETE FROM {index} WHERE id IN (OLD.fid, NEW.fid);"),
        ),
        ("delete", "AFTER DELETE ON", "OLD.geom NOT NULL".to_owned(), drop_old),
    ];
    let one = |(name, event, when, then): &(&str, &str, String, String)| {
        let name = quoted(&format!("rtree_{table}_geom_{name}"));
        format!("CREATE TRIGGER {name} {event} {quoted_table} WHEN ({when}) BEGIN {then} END;\n")
    };
    triggers.iter().map(one).collect()
}

fn index(table: &str) -> String {
    quoted(&format!("rtree_{table}_geom"))
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
