//! GPX 1.1 waypoints, in the order that the schema asks for.
//!
//! # Source
//! GPX 1.1 Schema Documentation, topografix.com/GPX/1/1.

use std::io;

use quick_xml::{
    Writer,
    events::{BytesDecl, BytesText, Event},
};

use crate::{
    error::Error,
    geodesy::LonLat,
    write::{kml::xml_text, layers::rounded},
};

/// Waypoints for a receiver.
#[derive(Debug, Clone, PartialEq)]
pub struct Gpx {
    /// What the file is called on a receiver.
    pub name: String,
    /// What it is for.
    pub words: String,
    /// The waypoints.
    pub waypoints: Vec<Waypoint>,
    /// Decimals of a degree that are kept.
    pub decimals: u8,
}

/// A waypoint.
#[derive(Debug, Clone, PartialEq)]
pub struct Waypoint {
    /// Where it is.
    pub at: LonLat,
    /// Its short name; never empty.
    pub name: String,
    /// What it is, in full.
    pub words: String,
    /// What kind of thing it is.
    pub kind: &'static str,
}

/// The waypoints as GPX 1.1, without a clock time.
///
/// # Errors
/// A fault of the program: the file cannot be written.
pub fn gpx(file: &Gpx) -> Result<Vec<u8>, Error> {
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 1);
    write(&mut writer, file).map_err(|error| Error::Unexpected(format!("no GPX: {error}")))?;
    let mut bytes = writer.into_inner();
    bytes.push(b'\n');
    Ok(bytes)
}

fn write(writer: &mut Writer<Vec<u8>>, file: &Gpx) -> io::Result<()> {
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    let root = writer.create_element("gpx").with_attributes([
        ("version", "1.1"),
        ("creator", "catchwire"),
        ("xmlns", "http://www.topografix.com/GPX/1/1"),
    ]);
    root.write_inner_content(|writer| {
        writer.create_element("metadata").write_inner_content(|writer| {
            text(writer, "name", &file.name)?;
            text(writer, "desc", &file.words)
        })?;
        file.waypoints.iter().try_for_each(|point| waypoint(writer, point, file.decimals))
    })?;
    Ok(())
}

fn waypoint(writer: &mut Writer<Vec<u8>>, point: &Waypoint, decimals: u8) -> io::Result<()> {
    let width = usize::from(decimals);
    let degrees = |value: f64| format!("{:.width$}", rounded(value, decimals));
    // The schema ends longitudes before 180, which is where −180 lies.
    let lon = rounded(point.at.lon(), decimals);
    let lon = if lon >= 180.0 { -180.0 } else { lon };
    let (lat, lon) = (degrees(point.at.lat()), degrees(lon));
    let element = writer
        .create_element("wpt")
        .with_attributes([("lat", lat.as_str()), ("lon", lon.as_str())]);
    element.write_inner_content(|writer| {
        text(writer, "name", &point.name)?;
        text(writer, "desc", &point.words)?;
        text(writer, "type", point.kind)
    })?;
    Ok(())
}

fn text(writer: &mut Writer<Vec<u8>>, name: &str, content: &str) -> io::Result<()> {
    let content = xml_text(content);
    writer.create_element(name).write_text_content(BytesText::new(&content))?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(name: &str, lon: f64) -> Gpx {
        let at = LonLat::new(lon, -44.123_456_789_4).unwrap();
        let words = "R012 <near> end post & more".to_owned();
        Gpx {
            name: name.into(),
            words: "for finding the way".into(),
            waypoints: vec![Waypoint { at, name: "012X01".into(), words, kind: "end post" }],
            decimals: 9,
        }
    }

    #[test]
    fn a_waypoint_has_its_parts_in_the_order_of_the_schema() {
        let text = String::from_utf8(gpx(&file("North", 5.5)).unwrap()).unwrap();
        let order = ["<metadata>", "<name>North<", "<desc>for", "<wpt ", "<name>012X01<", "<type>"];
        let at = order.map(|part| text.find(part).unwrap_or_else(|| panic!("{part}: {text}")));
        assert!(at.is_sorted(), "{text}");
        assert!(text.contains("lat=\"-44.123456789\" lon=\"5.500000000\""), "{text}");
        assert!(text.contains("R012 &lt;near&gt; end post &amp; more"), "{text}");
    }

    #[test]
    fn no_longitude_reaches_180() {
        let text = String::from_utf8(gpx(&file("N", 179.999_999_999_9)).unwrap()).unwrap();
        assert!(text.contains("lon=\"-180.000000000\""), "{text}");
    }

    #[test]
    fn characters_that_xml_cannot_hold_are_left_out() {
        let text = String::from_utf8(gpx(&file("a\u{1}b\u{fffe}\"c", 5.5)).unwrap()).unwrap();
        assert!(text.contains("<name>ab") && !text.contains('\u{1}'), "{text}");
    }
}
