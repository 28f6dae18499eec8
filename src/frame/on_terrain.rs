//! A block with the ground that it lies on.

use super::{Site, Terrain, TerrainFacts};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    grid::Grid,
    units::Metres,
};

/// A share of the block without heights that is not worth a word: the rim of cells.
const WORTH_TELLING: f64 = 0.001;

/// Puts the block on the ground of an elevation model, its slope meant over `support`.
///
/// # Errors
/// When the block wants distances along the ground, and the model has no height inside its outline.
pub fn on_terrain(site: Site, grid: &Grid, support: Metres) -> Result<(Site, Findings), Error> {
    let terrain = Terrain::of(&site.frame, &site.outline, grid, support);
    let covered = terrain.facts().covered_share;
    let place = Place::file(grid.name()).in_feature(format!("block `{}`", site.name));
    if covered <= 0.0 {
        let warning = covers_nothing(&site, place);
        return warning.map(|warning| (site, warning.into())).map_err(Error::from);
    }
    let findings = covers_part(terrain.facts(), place).into_iter().collect();
    Ok((Site { terrain: Some(terrain), ..site }, findings))
}

fn covers_nothing(site: &Site, place: Place) -> Result<Finding, Finding> {
    let what = "the elevation model has no height inside the block";
    if site.rules.ground_spacing {
        return Err(Finding::fault(place, what)
            .because("ground_spacing measures along the ground")
            .mend("pass a model that covers the block, or leave ground_spacing out"));
    }
    Ok(Finding::warning(place, what)
        .because("its rows have no slope")
        .mend("pass a model that covers the block"))
}

fn covers_part(facts: &TerrainFacts, place: Place) -> Option<Finding> {
    let covered = facts.covered_share;
    if covered >= 1.0 - WORTH_TELLING {
        return None;
    }
    let what = format!("the elevation model covers {:.1} % of the block", covered * 100.0);
    Some(
        Finding::warning(place, what)
            .because("rows that leave it have no slope, and distances there are level")
            .mend("pass a model that covers the whole block, without holes"),
    )
}
