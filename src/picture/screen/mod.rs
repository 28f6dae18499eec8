//! The maps of a block for a screen: one still drawing of ground, zones, rows and words, and the
//! class of every vine on every map, for a page that draws vines at any scale.
//!
//! Classes, colours and words are those of the printed maps; only the paper is another: as wide as a
//! phone, and the ground fills it at whatever scale that is.

mod drawing;
mod foot;
mod keys;
mod layers;
mod sheet;
mod walk_map;

use self::{drawing::drawing, sheet::Sheet};
use crate::{
    error::Error,
    frame::RowPoint,
    picture::{Caption, HeatMap, MapStyle, columns::extremes, subject::Subject},
    plan::{Evidence, Plan},
};
pub use walk_map::walk_map;

/// The maps of a block for a screen.
#[derive(Debug, Clone)]
pub struct ScreenMaps {
    /// The still drawing, an SVG element; one unit is a millimetre on a sheet as wide as a phone.
    pub svg: String,
    /// Units of the drawing for a centimetre of ground.
    pub unit_per_cm: f64,
    /// By vine place: centimetres of ground right and down from the corner of the drawing.
    pub places_cm: Vec<[i32; 2]>,
    /// Centimetres across and along the rows from vine to vine.
    pub gaps_cm: [i32; 2],
    /// What the still drawing shows.
    pub key: Key,
    /// The maps of vines: thinning need, shoot density, vigor; only those with something to show.
    pub layers: Vec<ScreenLayer>,
    /// What the maps must not be taken for.
    pub cautions: String,
}

/// A map of vines.
#[derive(Debug, Clone)]
pub struct ScreenLayer {
    /// The printed map that shows the same.
    pub map: HeatMap,
    /// What it is called in a page's own addresses: `need`, `density`, `vigor`.
    pub id: &'static str,
    /// What people read.
    pub name: &'static str,
    /// Its classes in words.
    pub key: Key,
    /// How the vines of each class are drawn: solid, open, hatched, slight or gap; and the colour.
    pub looks: Vec<(&'static str, String)>,
    /// By vine place: its class, as an index into `looks`.
    pub of_vine: Vec<usize>,
    /// How values are said.
    pub spoken: SpokenValue,
    /// By vine place: its value in the reader's unit.
    pub values: Vec<Option<f64>>,
    /// The vines of each measurement that it rests on.
    pub measured: Vec<Vec<usize>>,
    /// By vine place: what was measured says little there.
    pub little: Vec<bool>,
}

/// How the values of a map are said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpokenValue {
    /// What they are: `Against its target`.
    pub what: &'static str,
    /// Their unit.
    pub unit: String,
    /// Digits after the point.
    pub decimals: u8,
    /// A sign stands before positive ones too.
    pub signed: bool,
}

/// What a map shows, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Key {
    /// The quantity and its unit.
    pub heading: String,
    /// What is on the map.
    pub rows: Vec<KeyRow>,
    /// What else a reader must know.
    pub notes: Vec<String>,
}

/// One thing on a map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyRow {
    /// How it looks, an SVG element.
    pub swatch: String,
    /// What it is.
    pub words: String,
    /// How many there are; may be empty.
    pub number: String,
}

/// The maps of a block for a screen.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub fn screen_maps(
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Result<ScreenMaps, Error> {
    // A screen has colours.
    let caption = &Caption { style: MapStyle::default(), ..*caption };
    let subject = Subject::of_zones(evidence, plan, caption);
    let sheet = Sheet::for_ground(&extremes(std::slice::from_ref(&subject)), subject.compass)
        .ok_or_else(|| Error::Unexpected("a block without an extent cannot be drawn".to_owned()))?;
    let order = [HeatMap::ThinningNeed, HeatMap::ShootDensity, HeatMap::Vigor];
    let layer = |kind| layers::layer(kind, (evidence, plan), caption);
    Ok(ScreenMaps {
        svg: drawing(&subject, (evidence, plan), &sheet)?,
        unit_per_cm: sheet.placement.mm(0.01),
        places_cm: evidence.layout.vines.iter().map(|vine| sheet.place_cm(vine.at)).collect(),
        gaps_cm: subject.gaps_m.map(centimetres),
        key: keys::of_zones(&subject, plan),
        layers: order.into_iter().filter_map(layer).collect(),
        cautions: subject.cautions,
    })
}

/// Whole centimetres.
#[expect(clippy::cast_possible_truncation, reason = "a block is at most some kilometres across")]
fn centimetres(metres: f64) -> i32 {
    (metres * 100.0).round() as i32
}

impl Sheet {
    /// Centimetres of ground right and down from the corner.
    fn place_cm(&self, at: RowPoint) -> [i32; 2] {
        let on_paper = self.placement.point(at);
        let metre_mm = self.placement.mm(1.0);
        [on_paper.x_mm, on_paper.y_mm].map(|mm| centimetres(mm / metre_mm))
    }
}
