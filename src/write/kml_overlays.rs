//! Pictures in a KML map: each lies on the ground with its legend at the edge of the screen, and one
//! is shown at a time.
//!
//! # Source
//! OGC 07-147r2, KML 2.2: `GroundOverlay` 11.2, `ScreenOverlay` 11.7, `ListStyle` 12.12.

use kml::{Kml, types::Element};

use super::kml::{holding, one, text};

/// A picture on the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct KmlPicture {
    /// What it shows, in words.
    pub name: String,
    /// What its files are called, without their ends: letters, digits and `-`.
    pub stem: &'static str,
    /// The picture, a PNG with north up in longitude and latitude.
    pub picture: Vec<u8>,
    /// Its legend, a PNG.
    pub legend: Vec<u8>,
    /// Its edges in degrees: west, south, east, north.
    pub edges: [f64; 4],
}

impl KmlPicture {
    /// The names of its two files in the archive, and their bytes.
    pub(super) fn files(&self) -> [(String, &[u8]); 2] {
        let [picture, legend] = self.names();
        [(picture, &self.picture), (legend, &self.legend)]
    }

    fn names(&self) -> [String; 2] {
        [format!("{}.png", self.stem), format!("{}-legend.png", self.stem)]
    }
}

/// A folder of pictures of which the first is shown and choosing another hides it; `None` without
/// any.
pub(super) fn folder(pictures: &[KmlPicture]) -> Option<Kml> {
    let choice = holding("ListStyle", vec![text("listItemType", "radioFolder")]);
    let mut children = vec![text("name", "Maps"), holding("Style", vec![choice])];
    children.extend(pictures.iter().enumerate().map(|(at, picture)| map(picture, at == 0)));
    (!pictures.is_empty()).then(|| Kml::Element(holding("Folder", children)))
}

fn map(picture: &KmlPicture, shown: bool) -> Element {
    let shown = || text("visibility", if shown { "1" } else { "0" });
    let icon = |file: &str| holding("Icon", vec![text("href", file)]);
    let [ground, legend] = picture.names();
    let [west, south, east, north] = picture.edges.map(|edge| format!("{edge:.9}"));
    let edges = vec![
        text("north", &north),
        text("south", &south),
        text("east", &east),
        text("west", &west),
    ];
    let ground = holding(
        "GroundOverlay",
        vec![text("name", &picture.name), shown(), icon(&ground), holding("LatLonBox", edges)],
    );
    // The upper left corner of the legend in that of the screen: x is 0, and y is 1 where nothing is
    // said.
    let corner = |name: &str| Element { attrs: one("x", "0"), ..holding(name, Vec::new()) };
    let legend = holding(
        "ScreenOverlay",
        vec![
            text("name", "Legend"),
            shown(),
            icon(&legend),
            corner("overlayXY"),
            corner("screenXY"),
        ],
    );
    holding("Folder", vec![text("name", &picture.name), shown(), ground, legend])
}
