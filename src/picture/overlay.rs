//! A map as bare pixels, one a cell of a raster, to lie over the maps of other programs; and the
//! numbers behind it.

use std::io::Cursor;

use image::{ImageFormat, RgbaImage};

use super::{
    Caption, Colour, HeatMap,
    classes::{Classes, Look},
    colours::{INK, NO_ESTIMATE},
    lettering::printable,
    need,
    png::with_title,
    subject::classes,
};
use crate::{
    error::Error,
    join::VigorMeasure,
    layout::VineCells,
    plan::{Evidence, Plan},
};

/// Opacity of vines with an estimate: what lies below shines through a little.
const SEEN: u8 = 0xe6;
/// Opacity of vines without one.
const FAINT: u8 = 0x66;

/// What a heat map shows, by vine place.
#[derive(Debug, Clone, PartialEq)]
pub struct MapValues {
    /// The values; `None` where nothing is known.
    pub of_vine: Vec<Option<f64>>,
    /// Their unit, metric.
    pub unit: &'static str,
    /// What they are, in a sentence without a full stop.
    pub meaning: &'static str,
}

/// A heat map as a PNG with a pixel a cell, in the colours of its classes; transparent where no vine
/// has its ground. `None` when there is nothing to show.
///
/// # Errors
/// Only by a fault of the program.
pub fn overlay(
    kind: HeatMap,
    (evidence, plan): (Evidence<'_>, &Plan),
    caption: &Caption,
    ground: &VineCells,
) -> Result<Option<Vec<u8>>, Error> {
    let Some(classes) = classes(kind, evidence, plan, caption) else { return Ok(None) };
    let refuse = |why: String| Error::Unexpected(format!("no overlay of {}: {why}", kind.words()));
    let side = |cells: usize| u32::try_from(cells).map_err(|error| refuse(error.to_string()));
    let [columns, rows] = ground.cells.size();
    let picture = RgbaImage::from_raw(side(columns)?, side(rows)?, pixels(&classes, ground))
        .ok_or_else(|| refuse("the raster is not its size".to_owned()))?;
    let mut bytes = Cursor::new(Vec::new());
    picture.write_to(&mut bytes, ImageFormat::Png).map_err(|error| refuse(error.to_string()))?;
    let name = printable(evidence.site.name.as_str());
    Ok(Some(with_title(&bytes.into_inner(), &format!("{name}: {}", kind.words()))))
}

/// Red, green, blue and opacity of every cell.
fn pixels(classes: &Classes, ground: &VineCells) -> Vec<u8> {
    let looks: Vec<[u8; 4]> = classes.iter().map(|(_, class)| pixel(class.look)).collect();
    let of_vine: Vec<_> = classes.of_vine.iter().map(|class| looks.get(*class).copied()).collect();
    ground.spread(&of_vine).flat_map(Option::unwrap_or_default).collect()
}

const fn pixel(look: Look) -> [u8; 4] {
    match look {
        Look::Solid(colour) | Look::Open(colour) => with_opacity(colour, SEEN),
        // Patterns are for paper.
        Look::Weight(_) | Look::Barred(_) => with_opacity(INK, SEEN),
        Look::Hatched | Look::Slight => with_opacity(NO_ESTIMATE, FAINT),
        Look::Gap => [0; 4],
    }
}

const fn with_opacity(colour: Colour, opacity: u8) -> [u8; 4] {
    let [red, green, blue] = colour.rgb;
    [red, green, blue, opacity]
}

/// The numbers behind a heat map; `None` when there is nothing to show.
pub fn map_values(
    kind: HeatMap,
    (evidence, plan): (Evidence<'_>, &Plan),
    caption: &Caption,
) -> Option<MapValues> {
    let values = match kind {
        HeatMap::ShootDensity => {
            let vines = evidence.estimate.shoots.vines.iter();
            MapValues {
                of_vine: vines.map(|vine| vine.map(|vine| vine.surface_per_m)).collect(),
                unit: "shoots/m",
                meaning: "shoots a metre of canopy, the surface without each vine's own deviation",
            }
        }
        HeatMap::Vigor => vigor(evidence)?,
        HeatMap::ThinningNeed => MapValues {
            of_vine: need::needs(evidence, plan, caption),
            unit: "shoots/vine",
            meaning: "shoots a vine above its target, negative below it",
        },
    };
    values.of_vine.iter().any(Option::is_some).then_some(values)
}

fn vigor(evidence: Evidence<'_>) -> Option<MapValues> {
    let (measure, field) = evidence.estimate.vigor.as_ref()?;
    let (unit, meaning) = match measure {
        VigorMeasure::PruningWeight => ("kg/m", "pruning weight a metre of canopy"),
        VigorMeasure::ShootLength => ("m", "mean length of a shoot"),
        VigorMeasure::Raster => ("", "the raster of vigor that was given, at the vines"),
    };
    let of_vine = field.vines.iter().map(|vine| vine.map(|vine| vine.surface_per_m)).collect();
    Some(MapValues { of_vine, unit, meaning })
}
