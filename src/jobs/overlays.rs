//! The maps of a thinned block as rasters that lie in their place: pixels to lie over other maps, and
//! the numbers behind them.

use crate::{
    error::Error,
    finding::Place,
    frame::CellGrid,
    grid::Grid,
    layout::{VineCells, vine_cells},
    maths::float,
    names::capital,
    picture::{Caption, HeatMap, MapValues, legend_scene, map_values, overlay, to_screen},
    plan::{Evidence, Plan},
    write::{
        cog::cloud_optimised,
        kml_overlays::KmlPicture,
        side_files::{side_file, world_file},
    },
};

/// The maps by the beginning of their files' names.
const MAPS: [(&str, HeatMap); 3] = [
    ("shoot-density", HeatMap::ShootDensity),
    ("vigor", HeatMap::Vigor),
    ("thinning-need", HeatMap::ThinningNeed),
];

/// The heat maps as pictures in a map for globe viewers, the decision first.
pub(super) fn kml_pictures(
    found: (Evidence<'_>, &Plan),
    caption: &Caption,
) -> Result<Vec<KmlPicture>, Error> {
    let (site, layout) = (found.0.site, found.0.layout);
    let ground = vine_cells(site, layout, CellGrid::Degrees);
    let ground = ground.map_err(|error| error.at(Place::file(site.name.as_str())))?;
    let mut pictures = Vec::new();
    for (stem, map) in MAPS.into_iter().rev() {
        let Some(ground) = &ground else { break };
        let legend = legend_scene(map, found, caption)?;
        if let (Some(picture), Some(legend)) = (overlay(map, found, caption, ground)?, legend) {
            let (legend, edges) = (to_screen(&legend)?, edges(ground));
            let name = capital(map.words());
            pictures.push(KmlPicture { name, stem, picture, legend, edges });
        }
    }
    Ok(pictures)
}

/// West, south, east and north of a raster.
fn edges(ground: &VineCells) -> [f64; 4] {
    let [columns, rows] = ground.cells.size().map(float);
    let affine = ground.cells.georeference().affine;
    let [west, north] = affine.place([0.0, 0.0]);
    let [east, south] = affine.place([columns, rows]);
    [west, south, east, north]
}

/// The forms by the ends of their files' names.
const FORMS: [(&str, Form); 4] = [
    ("-overlay.png", Form::Pixels),
    ("-overlay.pgw", Form::WorldFile),
    ("-overlay.png.aux.xml", Form::SideFile),
    (".tif", Form::Numbers),
];

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Pixels,
    WorldFile,
    SideFile,
    Numbers,
}

/// One of the files.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Overlay {
    map: HeatMap,
    form: Form,
}

impl Overlay {
    /// The file of that name.
    pub(super) fn named(name: &str) -> Option<Self> {
        let (rest, map) =
            MAPS.into_iter().find_map(|(stem, map)| Some((name.strip_prefix(stem)?, map)))?;
        let (_, form) = FORMS.into_iter().find(|(end, _)| *end == rest)?;
        Some(Self { map, form })
    }

    /// Its bytes; `None` when the map has nothing to show.
    pub(super) fn bytes(
        self,
        found: (Evidence<'_>, &Plan),
        caption: &Caption,
        ground: &VineCells,
    ) -> Result<Option<Vec<u8>>, Error> {
        let Some(values) = map_values(self.map, found, caption) else { return Ok(None) };
        let lies = ground.cells.georeference();
        match self.form {
            Form::Pixels => overlay(self.map, found, caption, ground),
            Form::WorldFile => Ok(Some(world_file(lies))),
            Form::SideFile => {
                side_file(lies, &format!("{}: {}", found.0.site.name, self.map.words())).map(Some)
            }
            Form::Numbers => numbers(found.0.site.name.as_str(), &values, ground).map(Some),
        }
    }
}

fn numbers(name: &str, values: &MapValues, ground: &VineCells) -> Result<Vec<u8>, Error> {
    let of_cell = ground.spread(&values.of_vine).map(|value| value.unwrap_or(f64::NAN));
    let lies = ground.cells.georeference().clone();
    let grid = Grid::new(name, ground.cells.size(), of_cell.collect(), lies, values.unit);
    let grid = grid.ok_or_else(|| Error::Unexpected(format!("no cells of {name}")))?;
    cloud_optimised(&grid, &format!("{name}: {}", values.meaning))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_says_the_map_and_the_form() {
        let found = Overlay::named("thinning-need-overlay.pgw").unwrap();
        assert_eq!((found.map, found.form), (HeatMap::ThinningNeed, Form::WorldFile));
        assert!(Overlay::named("vigor.png").is_none() && Overlay::named("map.tif").is_none());
    }
}
