//! KML as globe viewers write it -> features: placemarks in folders, their data and descriptions.
//!
//! Only what is written in the file counts: styles and pictures are passed over, links to other
//! files or addresses are told and never followed.

use geojson::JsonObject;

use super::{
    features::{Document, Feature, label},
    kml_geometry::geometry_of,
    role_features::Role,
    text_keys::{put_description, put_role, put_text, role_of_heading},
    xml::Element,
};
use crate::finding::{Finding, Findings, Place};

/// Fields that converters add to every placemark and that say nothing about a block.
const OF_THE_FORMAT: &[&str] = &[
    "tessellate",
    "extrude",
    "visibility",
    "drawOrder",
    "icon",
    "altitudeMode",
    "timestamp",
    "begin",
    "end",
    "description",
    "Description",
    "snippet",
];

/// What a KML document holds.
#[derive(Debug, Default)]
pub(super) struct Kml {
    /// Its features.
    pub(super) document: Document,
    /// Files and addresses that it points to, as written.
    pub(super) links: Vec<String>,
}

/// The features of a KML document.
pub(super) fn features_of(root: &Element, file: &Place, findings: &mut Findings) -> Kml {
    let mut taking = Taking { file, kml: Kml::default(), findings, pictures: 0 };
    taking.walk(root, None);
    let Taking { kml, findings, pictures, .. } = taking;
    if pictures > 0 {
        let what = format!("pictures laid over the ground are not used ({pictures})");
        findings.push(Finding::note(file.clone(), what));
    }
    kml.document.tell_heights(file.clone(), findings);
    kml
}

/// Tells of links that are not followed; a file of nothing else holds no map.
pub(super) fn tell_links(
    links: &[String],
    document: &Document,
    file: &Place,
    findings: &mut Findings,
) {
    let Some(first) = links.first() else { return };
    let what = format!("links to other files are not followed ({}): `{first}`", links.len());
    findings.push(Finding::note(file.clone(), what));
    if document.features.is_empty() {
        let what = "the file only points to a map that is kept elsewhere";
        let mend = "open it in the viewer and save the outlines themselves as KML";
        findings.push(Finding::fault(file.clone(), what).mend(mend));
    }
}

struct Taking<'a> {
    file: &'a Place,
    kml: Kml,
    findings: &'a mut Findings,
    pictures: usize,
}

impl Taking<'_> {
    /// What is in a document or folder; a folder that is called like a role gives it.
    fn walk(&mut self, within: &Element, role: Option<Role>) {
        for child in &within.children {
            match child.name.as_str() {
                "Document" | "Folder" => {
                    let own = child.text_in("name").and_then(role_of_heading);
                    self.walk(child, own.or(role));
                }
                "Placemark" => self.placemark(child, role),
                "NetworkLink" => self.link(child),
                "GroundOverlay" | "ScreenOverlay" | "PhotoOverlay" => self.pictures += 1,
                _ => {}
            }
        }
    }

    fn link(&mut self, link: &Element) {
        let target = link.child("Link").or_else(|| link.child("Url"));
        let href = target.and_then(|target| target.text_in("href")).unwrap_or_default();
        self.kml.links.push(href.to_owned());
    }

    fn placemark(&mut self, placemark: &Element, role: Option<Role>) {
        let number = self.kml.document.features.len() + 1;
        let mut properties = JsonObject::new();
        let line = self.file.at_line(placemark.line);
        if let Some(name) = placemark.text_in("name") {
            put_text(&mut properties, "name", name, &line, self.findings);
        }
        let place = line.in_feature(label(number, None, &properties));
        for (name, text) in data_of(placemark) {
            if !OF_THE_FORMAT.contains(&name) {
                put_text(&mut properties, name, text, &place, self.findings);
            }
        }
        if let Some(text) = placemark.text_in("description") {
            put_description(&mut properties, text, &place, self.findings);
        }
        put_role(&mut properties, role);
        match geometry_of(placemark, &place, self.findings) {
            Ok(Some(geometry)) => {
                self.kml.document.features.push(Feature { id: None, properties, geometry, place });
            }
            Ok(None) => self.findings.push(
                Finding::warning(place, "a placemark without a geometry is left out")
                    .mend("draw it, or delete the placemark"),
            ),
            Err(finding) => self.findings.push(finding),
        }
    }
}

/// Names and texts of a placemark's `ExtendedData`, plain and after a schema.
fn data_of(placemark: &Element) -> impl Iterator<Item = (&str, &str)> {
    let extended = placemark.all("ExtendedData");
    extended.flat_map(|extended| {
        let data = extended
            .all("Data")
            .filter_map(|data| Some((data.attribute("name")?, data.text_in("value")?)));
        let simple = extended.all("SchemaData").flat_map(|schema| schema.all("SimpleData"));
        let simple = simple.filter_map(|data| Some((data.attribute("name")?, data.text.as_str())));
        data.chain(simple)
    })
}
