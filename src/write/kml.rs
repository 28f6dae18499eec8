//! KML 2.2 and KMZ, in the order that the schema asks for and with the same bytes every time.
//!
//! Elements are built by hand where the crate's own types would put them in an order that the
//! schema refuses (`styleUrl` behind the geometry, several holes in one `innerBoundaryIs`).

use kml::{
    Kml, KmlDocument, KmlVersion, KmlWriter,
    types::{Element, Folder},
};

use crate::{
    error::Error,
    write::{
        Shape,
        kml_overlays::{self, KmlPicture},
        rings::{Position, WrittenShape, written_shape},
        zip::zip,
    },
};

/// A map for a globe viewer.
#[derive(Debug, Clone, PartialEq)]
pub struct KmlMap {
    /// Its name.
    pub name: String,
    /// How things are drawn.
    pub styles: Vec<KmlStyle>,
    /// Pictures on the ground, of which one is shown at a time.
    pub pictures: Vec<KmlPicture>,
    /// Its folders, in the order in which they are shown.
    pub folders: Vec<KmlFolder>,
    /// Decimals of a degree that are kept of every coordinate.
    pub decimals: u8,
}

/// How lines and areas are drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct KmlStyle {
    /// Its name within the map: a letter, then letters, digits and `-`.
    pub id: &'static str,
    /// Colour of lines and borders.
    pub line: Colour,
    /// Width of lines and borders, pixels.
    pub width: f64,
    /// Colour of areas; none are filled without.
    pub fill: Option<Colour>,
}

/// A colour with its opacity, 0 … 255 each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Red.
    pub red: u8,
    /// Green.
    pub green: u8,
    /// Blue.
    pub blue: u8,
    /// Opacity: 255 hides what is below.
    pub opacity: u8,
}

impl Colour {
    /// As KML writes it: opacity, blue, green, red, two hexadecimal digits each.
    pub fn aabbggrr(self) -> String {
        format!("{:02x}{:02x}{:02x}{:02x}", self.opacity, self.blue, self.green, self.red)
    }
}

/// Some things of a kind.
#[derive(Debug, Clone, PartialEq)]
pub struct KmlFolder {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub placemarks: Vec<Placemark>,
}

/// A thing on the map.
#[derive(Debug, Clone, PartialEq)]
pub struct Placemark {
    /// Its name.
    pub name: String,
    /// What its balloon says, a paragraph each, plain text.
    pub balloon: Vec<String>,
    /// The [`KmlStyle::id`] of its style.
    pub style: &'static str,
    /// Where it is.
    pub shape: Shape,
}

/// A map as KMZ: one zip archive with `doc.kml` in it, then its pictures.
///
/// # Errors
/// A fault of the program: the map cannot be written.
pub fn kmz(map: &KmlMap) -> Result<Vec<u8>, Error> {
    let text = kml(map)?;
    let pictures: Vec<(String, &[u8])> = map.pictures.iter().flat_map(KmlPicture::files).collect();
    let mut files: Vec<(&str, &[u8])> = vec![("doc.kml", &text)];
    files.extend(pictures.iter().map(|(name, bytes)| (name.as_str(), *bytes)));
    zip(&files)
}

/// A map as KML.
///
/// # Errors
/// A fault of the program: the map cannot be written.
///
/// # Source
/// OGC 07-147r2, KML 2.2.
pub fn kml(map: &KmlMap) -> Result<Vec<u8>, Error> {
    let mut elements = vec![Kml::Element(text("name", &map.name))];
    elements.extend(map.styles.iter().map(|style| Kml::Element(style_element(style))));
    elements.extend(kml_overlays::folder(&map.pictures));
    elements.extend(map.folders.iter().map(|folder| folder_element(folder, map.decimals)));
    let document = Kml::Document { attrs: std::iter::empty().collect(), elements };
    let root = Kml::KmlDocument(KmlDocument {
        version: KmlVersion::V22,
        attrs: one("xmlns", "http://www.opengis.net/kml/2.2"),
        elements: vec![document],
    });
    let mut bytes = b"<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n".to_vec();
    KmlWriter::from_writer(&mut bytes)
        .write(&root)
        .map_err(|error| Error::Unexpected(format!("no KML: {error}")))?;
    bytes.push(b'\n');
    Ok(bytes)
}

/// One attribute: the crate keeps attributes in a map whose order is not the same every time, so
/// that no element may have two.
pub(super) fn one<C: FromIterator<(String, String)>>(name: &str, value: &str) -> C {
    std::iter::once((name.to_owned(), value.to_owned())).collect()
}

fn style_element(style: &KmlStyle) -> Element {
    let line = vec![text("color", &style.line.aabbggrr()), text("width", &style.width.to_string())];
    let fill = match style.fill {
        Some(colour) => vec![text("color", &colour.aabbggrr())],
        None => vec![text("fill", "0")],
    };
    let children = vec![holding("LineStyle", line), holding("PolyStyle", fill)];
    Element { attrs: one("id", style.id), ..holding("Style", children) }
}

fn folder_element(folder: &KmlFolder, decimals: u8) -> Kml {
    let placemarks = folder.placemarks.iter();
    Kml::Folder(Folder {
        name: Some(xml_text(&folder.name)),
        elements: placemarks
            .map(|placemark| Kml::Element(placemark_element(placemark, decimals)))
            .collect(),
        ..Folder::default()
    })
}

fn placemark_element(placemark: &Placemark, decimals: u8) -> Element {
    let mut children = vec![text("name", &placemark.name)];
    if !placemark.balloon.is_empty() {
        // Viewers take a description for HTML: what people wrote must stay text in it.
        let paragraphs: Vec<String> = placemark.balloon.iter().map(|p| html_text(p)).collect();
        children.push(text("description", &paragraphs.join("<br/>")));
    }
    children.push(text("styleUrl", &format!("#{}", placemark.style)));
    children.extend(geometry(&written_shape(&placemark.shape, decimals)));
    holding("Placemark", children)
}

fn geometry(shape: &WrittenShape) -> Option<Element> {
    match shape {
        WrittenShape::Point(at) => Some(holding("Point", vec![coordinates(&[*at])])),
        WrittenShape::Line(places) => {
            let children = vec![text("tessellate", "1"), coordinates(places)];
            Some(holding("LineString", children))
        }
        WrittenShape::Areas(parts) => match parts.as_slice() {
            [] => None,
            [part] => Some(polygon(part)),
            parts => Some(holding("MultiGeometry", parts.iter().map(|p| polygon(p)).collect())),
        },
    }
}

fn polygon(rings: &[Vec<Position>]) -> Element {
    let boundary = |(index, ring): (usize, &Vec<Position>)| {
        let name = if index == 0 { "outerBoundaryIs" } else { "innerBoundaryIs" };
        holding(name, vec![holding("LinearRing", vec![coordinates(ring)])])
    };
    let mut children = vec![text("tessellate", "1")];
    children.extend(rings.iter().enumerate().map(boundary));
    holding("Polygon", children)
}

fn coordinates(places: &[Position]) -> Element {
    let places: Vec<String> = places.iter().map(|[lon, lat]| format!("{lon},{lat}")).collect();
    text("coordinates", &places.join(" "))
}

pub(super) fn text(name: &str, content: &str) -> Element {
    let content = Some(xml_text(content));
    Element { name: name.to_owned(), content, ..Element::default() }
}

pub(super) fn holding(name: &str, children: Vec<Element>) -> Element {
    Element { name: name.to_owned(), children, ..Element::default() }
}

/// Without the characters that XML 1.0 cannot hold; the writer escapes the others.
pub(crate) fn xml_text(text: &str) -> String {
    let allowed = |c: &char| {
        matches!(c, '\t' | '\n') || (!c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}'))
    };
    text.chars().filter(allowed).collect()
}

fn html_text(text: &str) -> String {
    let escaped = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    escaped.replace('"', "&quot;").replace('\'', "&#39;")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{geodesy::LonLat, write::Area};

    fn place(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    fn square(lon: f64, size: f64) -> Vec<LonLat> {
        [(0.0, 0.0), (size, 0.0), (size, size), (0.0, size)]
            .map(|(east, north)| place(lon + east, 44.0 + north))
            .into()
    }

    fn map(shape: Shape) -> KmlMap {
        let red = Colour { red: 0xd7, green: 0x30, blue: 0x27, opacity: 0x80 };
        let placemark = Placemark {
            name: "Z1 <b>\u{7}&".into(),
            balloon: vec!["Rows 1-4 <img src=x onerror=alert(1)>".into(), "second".into()],
            style: "overcrowded",
            shape,
        };
        KmlMap {
            name: "North".into(),
            styles: vec![KmlStyle { id: "overcrowded", line: red, width: 2.0, fill: Some(red) }],
            pictures: Vec::new(),
            folders: vec![KmlFolder { name: "Zones".into(), placemarks: vec![placemark] }],
            decimals: 8,
        }
    }

    fn written(shape: Shape) -> String {
        String::from_utf8(kml(&map(shape)).unwrap()).unwrap()
    }

    // Source: OGC 07-147r2, 16.9 (kml:colorType): aabbggrr, red last; pure opaque red is ff0000ff.
    #[test]
    fn colours_are_opacity_blue_green_red() {
        let colour = |red, green, blue, opacity| Colour { red, green, blue, opacity }.aabbggrr();
        assert_eq!(colour(255, 0, 0, 255), "ff0000ff");
        assert_eq!(colour(0x12, 0x34, 0x56, 0x78), "78563412");
    }

    #[test]
    fn elements_stand_in_the_order_of_the_schema() {
        let text = written(Shape::Line(vec![place(5.0, 44.0), place(5.000_000_001, 45.0)]));
        let order = ["<name>Z1", "<description>", "<styleUrl>#overcrowded<", "<LineString>"];
        let at = order.map(|part| text.find(part).unwrap());
        assert!(at.is_sorted(), "{text}");
        assert!(text.contains("<coordinates>5,44 5,45</coordinates>"), "{text}");
        assert!(text.contains("<color>802730d7</color>"));
    }

    #[test]
    fn what_people_wrote_stays_text() {
        let text = written(Shape::Point(place(5.0, 44.0)));
        assert!(text.contains("<name>Z1 &lt;b&gt;&amp;</name>"), "{text}");
        assert!(text.contains("&amp;lt;img src=x"), "{text}");
        assert!(text.contains("&lt;br/&gt;second"), "{text}");
    }

    #[test]
    fn every_hole_has_its_own_boundary() {
        let area =
            Area { outer: square(5.0, 0.1), holes: vec![square(5.01, 0.01), square(5.05, 0.01)] };
        let text = written(Shape::Areas(vec![area.clone()]));
        assert_eq!(text.matches("<innerBoundaryIs>").count(), 2);
        let text = written(Shape::Areas(vec![area.clone(), area]));
        assert_eq!(text.matches("<Polygon>").count(), 2);
        assert!(text.contains("<MultiGeometry>"));
    }

    #[test]
    fn the_same_map_gives_the_same_bytes() {
        let map = map(Shape::Point(place(5.0, 44.0)));
        assert_eq!(kmz(&map).unwrap(), kmz(&map).unwrap());
    }

    #[test]
    fn the_schema_of_kml_takes_it() {
        let area =
            Area { outer: square(5.0, 0.1), holes: vec![square(5.01, 0.01), square(5.05, 0.01)] };
        let shapes = [
            Shape::Point(place(5.0, 44.0)),
            Shape::Line(vec![place(5.0, 44.0), place(5.0, 45.0)]),
            Shape::Areas(vec![area.clone()]),
            Shape::Areas(vec![area.clone(), area]),
        ];
        for shape in shapes {
            crate::write::validators::kml(&kml(&map(shape)).unwrap());
        }
    }
}
