//! The projected grid in which a block is staked out, and how it lies there.

use geo::BoundingRect;

use super::{RowPoint, Site};
use crate::{
    finding::{Finding, Place},
    geodesy::{Accuracy, GeodesyError, GridFactors, GridFacts, GridTransform, LonLat, PlanePoint},
};

/// The grid in which a block is staked out.
#[derive(Debug, Clone, PartialEq)]
pub struct StakeGrid {
    /// Degrees to its eastings and northings.
    pub transform: GridTransform,
    /// What the register says of it.
    pub facts: GridFacts,
    /// Convergence and scale at the block's middle.
    pub factors: GridFactors,
    /// How well it is tied to WGS84 there.
    pub accuracy: Accuracy,
    /// The name of the way that PROJ takes from WGS84.
    pub way: String,
    /// True when someone named it; else it is the UTM zone of the block's middle.
    pub asked: bool,
}

/// The grid that someone named, or else the UTM zone of the block's middle.
///
/// # Errors
/// A code that is unknown, no projected grid, or one that does not count east and north in metres or
/// feet. Unless unusual things are allowed: a grid that is not made for this place, is tied to WGS84
/// by a guess, or in different ways in different parts of the block.
pub fn stake_grid(
    site: &Site,
    crs: Option<&str>,
    allow_unusual: bool,
) -> Result<StakeGrid, Finding> {
    let place = || Place::field("--crs");
    let refused = |error: GeodesyError| error.at(place());
    let middle = site.frame.origin();
    let transform = match crs {
        Some(code) => GridTransform::new(code),
        None => GridTransform::utm(middle),
    };
    let transform = transform.map_err(refused)?;
    let facts = transform.facts().map_err(refused)?;
    let (accuracy, way) = transform.tie_at(middle);
    let grid = StakeGrid {
        factors: transform.factors_at(middle).map_err(refused)?,
        transform,
        facts,
        accuracy,
        way,
        asked: crs.is_some(),
    };
    match grid.doubt(site) {
        Some(doubt) if !allow_unusual => Err(doubt),
        _ => Ok(grid),
    }
}

/// Grids for surveys keep their scale within this of the ground's, as a share: UTM 0.0004 in the
/// middle of a zone and 0.001 at the rim of its widest, common practice, no source.
const MOST_STRETCH: f64 = 0.01;

impl StakeGrid {
    /// Easting and northing of a place of the block, in the grid's unit.
    ///
    /// # Errors
    /// A place that the grid does not reach.
    pub fn point(&self, site: &Site, at: RowPoint) -> Result<PlanePoint, GeodesyError> {
        self.transform.from_lon_lat(site.frame.to_lon_lat(at))
    }

    /// Length on the grid over length of a tape on the ground, at the block's middle and elevation.
    ///
    /// # Source
    /// Combined factor = grid scale × R / (R + h): NOAA Manual NOS NGS 5 (Stem 1989), §4.2, with
    /// the mean radius of the earth.
    pub fn combined_factor(&self, site: &Site) -> f64 {
        self.factors.scale / site.frame.ground_scale()
    }

    /// How far lengths on the grid are off those on the ellipsoid, as a share.
    fn stretch(&self) -> f64 {
        (self.factors.scale - 1.0).abs()
    }

    /// Why the grid is not to be trusted here.
    fn doubt(&self, site: &Site) -> Option<Finding> {
        let code = self.transform.code();
        let fault = |what: String| Finding::fault(Place::field("--crs"), what);
        // The zone that we chose reaches beyond what the register says: Norway and Svalbard have
        // wider ones.
        if self.asked && !self.transform.covers(site.frame.origin()) {
            let what = format!("{} lies where {code} is not used", site.name);
            return Some(fault(what).because("its scale there is not that of the ground").mend(
                "name the grid of this place, leave --crs out for UTM, or pass --allow-unusual",
            ));
        }
        if self.stretch() > MOST_STRETCH {
            let scale = self.factors.scale;
            let what =
                format!("100 m of ground at {} are {:.1} m on {code}", site.name, 100.0 * scale);
            return Some(
                fault(what)
                    .because("it is a map for screens, or made for another part of the earth")
                    .mend("leave --crs out for UTM, or name a grid that surveyors use here"),
            );
        }
        if self.accuracy.ballpark {
            let what = format!("how {code} lies on the globe is only a guess at {}", site.name);
            return Some(
                fault(what)
                    .because(
                        "PROJ knows no way between its datum and WGS84: stakes may be 100 m off",
                    )
                    .mend("name a grid whose tie is known, or pass --allow-unusual"),
            );
        }
        let torn = corners(site).any(|corner| self.transform.tie_at(corner).1 != self.way);
        torn.then(|| {
            fault(format!("{code} is tied to WGS84 in different ways across {}", site.name))
                .because("stakes on either side of a seam would not fit together")
                .mend("leave --crs out for UTM, or pass --allow-unusual")
        })
    }
}

/// The corners of a box around the block.
fn corners(site: &Site) -> impl Iterator<Item = LonLat> + '_ {
    let bounds = site.outline.bounding_rect().into_iter();
    bounds.flat_map(|bounds| {
        let (low, high) = (bounds.min(), bounds.max());
        [(low.x, low.y), (high.x, low.y), (low.x, high.y), (high.x, high.y)]
            .map(|(along_m, across_m)| site.frame.to_lon_lat(RowPoint { along_m, across_m }))
    })
}
