//! A shapefile, bare beside its other files or in a zip -> features with what its table says.

use std::{
    io::Cursor,
    path::{Path, PathBuf},
};

use ::shapefile::{Shape, ShapeReader};
use geojson::JsonObject;

use super::{
    archive::Archive,
    dbf::{CharacterSet, Records, records_of},
    features::{Document, Feature, label},
    own_grid::{Given, MapFile},
    shape_geometry::geometry_of,
    source::Source,
    text_keys::{Meaning, field_meaning, put_role, put_text, role_of_heading},
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
};

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
/// Files that are damaged, unreadable or too large, a grid that is not understood.
pub(super) fn of_file(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    let mut beside = Vec::new();
    let mut companion = |ending: &str| {
        let Some(path) = path_beside(&source.path, ending) else { return Ok(None) };
        let found = Source::open(&path).map_err(|error| unread(&path, &error))?;
        beside.push((found.name.clone(), found.hash.clone()));
        Ok(Some(found.bytes().to_vec()))
    };
    let text = |bytes: Vec<u8>| String::from_utf8_lossy(&bytes).into_owned();
    let layer = Layer {
        name: stem(&source.name),
        place: source.place(),
        shapes: source.bytes().to_vec(),
        table: companion("dbf")?,
        grid: companion("prj")?.map(text),
        characters: companion("cpg")?.map(text),
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

/// The file of the same name with this ending, in whatever case.
fn path_beside(shapes: &Path, ending: &str) -> Option<PathBuf> {
    let usual = shapes.with_extension(ending);
    if usual.is_file() {
        return Some(usual);
    }
    let folder = shapes.parent().filter(|folder| *folder != Path::new(""));
    let entries = std::fs::read_dir(folder.unwrap_or(Path::new("."))).ok()?;
    let belongs = |path: &PathBuf| {
        let its_ending = path.extension().is_some_and(|own| own.eq_ignore_ascii_case(ending));
        its_ending && path.file_stem() == shapes.file_stem() && path.is_file()
    };
    // The order of a folder differs between machines.
    entries.filter_map(|entry| Some(entry.ok()?.path())).filter(belongs).min()
}

/// What keeps a file beside the shapes from being read.
fn unread(path: &Path, error: &Error) -> Finding {
    let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
    let (what, mend) = if let Error::File { what, mend, .. } = error {
        (what.clone(), mend.as_str())
    } else {
        (error.to_string(), "copy all files of the shapefile again")
    };
    Finding::fault(Place::file(name), what)
        .because("it belongs to the shapefile, which means something else without it")
        .mend(mend)
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
    let features = features_of(layer, given, findings)?;
    let document = Document { features, crs: None };
    document.tell_heights(place.clone(), findings);
    map.add_layer(document, grid, (&place.at_field(".prj"), given), findings)
}

fn features_of(
    layer: &Layer,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<Vec<Feature>, Finding> {
    let place = &layer.place;
    let shapes = shapes_of(&layer.shapes, place)?;
    let table = if let Some(table) = &layer.table {
        let characters =
            CharacterSet { declared: layer.characters.as_deref(), passed: given.encoding };
        records_of(table, characters, place, findings)?
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
        Finding::fault(place.clone(), "the shapes are cut off or damaged")
            .because(error.to_string())
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
