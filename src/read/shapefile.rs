//! A shapefile, bare beside its other files or in a zip -> features with what its table says.

use std::{io::Cursor, path::Path};

use ::shapefile::{Shape, ShapeReader};
use geojson::JsonObject;

use super::{
    archive::Archive,
    dbf::{Records, records_of},
    features::{Document, Feature, label},
    own_grid::{Given, MapFile},
    shape_geometry::geometry_of,
    source::Source,
    text_keys::{Meaning, field_meaning, put_role, put_text, role_of_heading},
};
use crate::finding::{Finding, Findings, Place};

/// The files of one shapefile.
#[derive(Debug)]
struct Layer {
    /// Its name without an ending.
    name: String,
    place: Place,
    shapes: Vec<u8>,
    table: Option<Vec<u8>>,
    grid: Option<String>,
    characters: Option<String>,
}

/// A bare `.shp`, with what lies beside it.
///
/// # Errors
/// Files that are damaged, a grid that is not understood.
pub(super) fn of_file(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    let mut beside = Vec::new();
    let mut companion = |ending: &str| {
        let endings = [ending.to_owned(), ending.to_uppercase()];
        let paths = endings.iter().map(|ending| source.path.with_extension(ending));
        let found =
            paths.filter(|path| path.is_file()).find_map(|path| Source::open(&path).ok())?;
        beside.push((found.name.clone(), found.hash.clone()));
        Some(found.bytes().to_vec())
    };
    let layer = Layer {
        name: stem(&source.name),
        place: source.place(),
        shapes: source.bytes().to_vec(),
        table: companion("dbf"),
        grid: companion("prj").map(|text| String::from_utf8_lossy(&text).into_owned()),
        characters: companion("cpg").map(|text| String::from_utf8_lossy(&text).into_owned()),
    };
    let mut map = MapFile { beside, ..MapFile::default() };
    add_layer(&layer, &mut map, given, findings)?;
    Ok(map)
}

/// Every shapefile in a zip.
///
/// # Errors
/// Files that are damaged or too large, a grid that is not understood.
pub(super) fn of_archive(
    mut archive: Archive<'_>,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    let mut map = MapFile::default();
    for shapes in archive.ending(".shp") {
        let base = shapes[..shapes.len() - ".shp".len()].to_owned();
        let mut part = |ending: &str| {
            let name = archive.named(&format!("{base}.{ending}"));
            name.map(|name| archive.read(&name)).transpose()
        };
        let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
        let layer = Layer {
            name: stem(&shapes),
            table: part("dbf")?,
            grid: part("prj")?.map(text),
            characters: part("cpg")?.map(text),
            place: archive.place_of(&shapes),
            shapes: archive.read(&shapes)?,
        };
        add_layer(&layer, &mut map, given, findings)?;
    }
    Ok(map)
}

fn stem(name: &str) -> String {
    let stem = Path::new(name).file_stem().unwrap_or_default();
    stem.to_string_lossy().into_owned()
}

fn add_layer(
    layer: &Layer,
    map: &mut MapFile,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<(), Finding> {
    let place = layer.place.clone();
    let grid = layer.grid.as_deref().map(str::trim).filter(|text| !text.is_empty());
    if grid.is_none() {
        let note = Finding::note(place.clone(), "no .prj beside it says in which grid it is");
        findings.push(match &given.axes.grid {
            Some(grid) => note.because(format!("large numbers are taken as {}", grid.code())),
            None => note.because("its numbers are taken as longitude and latitude on WGS84"),
        });
    }
    let features = features_of(layer, findings)?;
    let document = Document { features, crs: None };
    document.tell_heights(place.clone(), findings);
    map.add_layer(document, grid, (&place.at_field(".prj"), given), findings)
}

fn features_of(layer: &Layer, findings: &mut Findings) -> Result<Vec<Feature>, Finding> {
    let place = &layer.place;
    let shapes = shapes_of(&layer.shapes, place)?;
    let table = if let Some(table) = &layer.table {
        records_of(table, layer.characters.as_deref(), place, findings)?
    } else {
        let what = "no .dbf beside it: its shapes have no names and no keys";
        let mend = "copy all files of the shapefile, or pass the keys as options";
        findings.push(Finding::warning(place.clone(), what).mend(mend));
        Records::default()
    };
    if layer.table.is_some() && table.records.len() != shapes.len() {
        let what = format!("{} shapes, but {} records", shapes.len(), table.records.len());
        return Err(Finding::fault(place.clone(), what)
            .because("which record belongs to which shape is unsure")
            .mend("export the shapefile again, all of its files"));
    }
    let names = names_of(&table, place, findings);
    let mut records = table.records.into_iter();
    let mut features = Vec::new();
    for (index, shape) in shapes.into_iter().enumerate() {
        let record = records.next().unwrap_or_else(|| Some(Vec::new()));
        features.extend(feature_of(index + 1, shape, record, &names, (layer, findings)));
    }
    Ok(features)
}

fn shapes_of(bytes: &[u8], place: &Place) -> Result<Vec<Shape>, Finding> {
    let damaged = |error: ::shapefile::Error| {
        Finding::fault(place.clone(), format!("the shapes are cut off or damaged: {error}"))
            .mend("export the shapefile again, all of its files")
    };
    ShapeReader::new(Cursor::new(bytes)).and_then(ShapeReader::read).map_err(damaged)
}

/// What every field is called here; names that were cut to ten letters are told.
fn names_of(table: &Records, place: &Place, findings: &mut Findings) -> Vec<String> {
    let name = |field: &String| match field_meaning(field) {
        Meaning::Same(name) => name,
        Meaning::Shortened(name) => {
            let what = format!("is read as `{name}`");
            let note = Finding::note(place.at_field(field), what);
            findings.push(note.because("a shapefile cuts names to ten letters"));
            name.to_owned()
        }
        Meaning::Unclear(names) => {
            let what = format!("may be {}", names.join(" or "));
            findings.push(
                Finding::warning(place.at_field(field), what)
                    .because("it is not used")
                    .mend("rename the field, or pass the key as an option"),
            );
            String::new()
        }
    };
    table.fields.iter().map(name).collect()
}

fn feature_of(
    number: usize,
    shape: Shape,
    record: Option<Vec<String>>,
    names: &[String],
    (layer, findings): (&Layer, &mut Findings),
) -> Option<Feature> {
    let plain = layer.place.in_feature(label(number, None, &JsonObject::new()));
    let Some(texts) = record else {
        findings.push(Finding::note(plain, "a record that is marked as deleted is left out"));
        return None;
    };
    let mut properties = JsonObject::new();
    for (name, text) in names.iter().zip(&texts) {
        put_text(&mut properties, name, text, &plain, findings);
    }
    let place = layer.place.in_feature(label(number, None, &properties));
    put_role(&mut properties, role_of_heading(&layer.name));
    match geometry_of(shape) {
        Ok(geometry) => Some(Feature { id: None, properties, geometry, place }),
        Err(what) => {
            let finding = Finding::warning(place, format!("{what} is left out"));
            findings.push(finding.mend("draw its outline as a polygon"));
            None
        }
    }
}
