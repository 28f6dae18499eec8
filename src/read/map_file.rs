//! A map in any format -> its features in longitude and latitude. What a file is, its bytes say.

use super::{
    archive::Archive,
    features::Document,
    geojson, geopackage, gpx,
    kml::{self, Kml},
    own_grid::{Given, MapFile, refuse_another},
    shapefile,
    source::{Contents, Source},
    xml::{self, Element},
};
use crate::{
    finding::{Finding, Findings, Place},
    geodesy::GridTransform,
};

/// Reads a map in any format.
///
/// # Errors
/// The fault for which it cannot be read at all; single features go with findings.
pub(super) fn map_of(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    match source.contents() {
        Contents::Zip => of_archive(source, given, findings),
        Contents::Shapefile => shapefile::of_file(source, given, findings),
        Contents::Database => geopackage::of_file(source, given, findings),
        Contents::Text => {
            let document = of_text(source, given, findings)?;
            Ok(MapFile::by_what_was_passed(document, given, findings))
        }
    }
}

fn of_text(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<Document, Finding> {
    let text = source.map_text(findings)?;
    let start: String = text.trim_start().chars().take(200).collect::<String>().to_lowercase();
    let page = start.contains("<html") || start.contains("<!doctype html");
    if start.starts_with('<') && !page {
        let file = source.place();
        let root = xml::tree_of(&text, &file)?;
        return of_xml(&root, &file, findings);
    }
    let document = geojson::features_of(source, &text, findings)?;
    let place = source.place().at_field("crs");
    match &document.crs {
        Some(crs) if given.axes.grid.is_none() => {
            let what = format!("the file says that its coordinates are in {crs}");
            Err(Finding::fault(place, what)
                .because("GeoJSON is in longitude and latitude (RFC 7946)")
                .mend("pass --crs EPSG:n, or convert it: ogr2ogr -t_srs EPSG:4326"))
        }
        Some(crs) => {
            if let Ok(own) = GridTransform::stated(&register_code(crs)) {
                refuse_another(&document, &own, &place, given)?;
            }
            Ok(document)
        }
        None => Ok(document),
    }
}

/// `EPSG:32633` from `urn:ogc:def:crs:EPSG::32633`; any other name stays as it is.
fn register_code(name: &str) -> String {
    match name.rsplit([':', '/']).next() {
        Some(number) if name.to_uppercase().contains("EPSG") => format!("EPSG:{number}"),
        _ => name.to_owned(),
    }
}

fn of_xml(root: &Element, file: &Place, findings: &mut Findings) -> Result<Document, Finding> {
    match root.name.as_str() {
        "kml" | "Document" | "Folder" => {
            let kml = kml::features_of(root, file, findings);
            kml::tell_links(&kml.links, &kml.document, file, findings);
            Ok(kml.document)
        }
        "gpx" => Ok(gpx::features_of(root, file, findings)),
        other => {
            let what = format!("this is XML of another kind (<{other}>), neither KML nor GPX");
            Err(Finding::fault(file.clone(), what)
                .mend("export the outline as KML, GPX or GeoJSON"))
        }
    }
}

/// A KMZ or a zipped shapefile; what else is in a zip is named.
fn of_archive(
    source: &Source,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<MapFile, Finding> {
    let place = source.place();
    let mut archive = Archive::open(source.bytes(), &place)?;
    if archive.named("[Content_Types].xml").is_some() || archive.named("mimetype").is_some() {
        return Err(Finding::fault(place, "this is a workbook of a spreadsheet, no map")
            .mend("name the file with the outline; a table of rows or counts is saved as CSV"));
    }
    if !archive.ending(".shp").is_empty() {
        return shapefile::of_archive(archive, given, findings);
    }
    if let Some(name) = main_kml(&archive) {
        let document = of_kmz(source, &mut archive, name, findings)?;
        return Ok(MapFile::by_what_was_passed(document, given, findings));
    }
    let what = format!("a zip archive without a map in it: {}", archive.some_names());
    Err(Finding::fault(place, what)
        .because("a KMZ holds doc.kml, a zipped shapefile a .shp with its .dbf and .prj")
        .mend("unpack it and name the map"))
}

/// The main KML of a KMZ, and those in the same archive that it points to.
fn of_kmz(
    source: &Source,
    archive: &mut Archive<'_>,
    main: String,
    findings: &mut Findings,
) -> Result<Document, Finding> {
    let mut kml = kml_in(source, archive, &main, findings)?;
    let (mut read, mut elsewhere) = (vec![main], Vec::new());
    for link in std::mem::take(&mut kml.links) {
        match archive.named(link.trim_start_matches("./")).filter(|name| !read.contains(name)) {
            Some(name) => {
                let linked = kml_in(source, archive, &name, findings)?;
                kml.document.features.extend(linked.document.features);
                elsewhere.extend(linked.links);
                read.push(name);
            }
            None => elsewhere.push(link),
        }
    }
    let place = source.place();
    kml::tell_links(&elsewhere, &kml.document, &place, findings);
    let others = archive.ending(".kml").into_iter().filter(|name| !read.contains(name));
    let others: Vec<String> = others.collect();
    if !others.is_empty() {
        let what = format!("only {} is read, not {}", read.join(", "), others.join(", "));
        findings.push(Finding::note(place, what));
    }
    Ok(kml.document)
}

fn kml_in(
    source: &Source,
    archive: &mut Archive<'_>,
    name: &str,
    findings: &mut Findings,
) -> Result<Kml, Finding> {
    let inner = Source::inside(source, name, archive.read(name)?);
    let text = inner.map_text(findings)?;
    let root = xml::tree_of(&text, &inner.place())?;
    Ok(kml::features_of(&root, &inner.place(), findings))
}

/// `doc.kml`, else the first KML that lies in no folder, else the first of all.
fn main_kml(archive: &Archive<'_>) -> Option<String> {
    let all = archive.ending(".kml");
    let in_root = all.iter().find(|name| !name.contains('/'));
    archive.named("doc.kml").or_else(|| in_root.or(all.first()).cloned())
}
