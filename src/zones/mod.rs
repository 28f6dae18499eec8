//! Which parts of a block differ.
//!
//! Takes an [`Estimate`], gives [`Zones`] of whole panels. Never splits a panel, never mixes
//! plantings, never draws a border that held-out counts do not support.

mod given;
mod how_many;
mod merge;
mod neighbours;
mod shape;

use geo::MultiPolygon;

use crate::{
    error::Error, estimate::Estimate, finding::Findings, frame::Site, join::Joined, layout::Layout,
    settings::ZoneSettings,
};

/// The zones of a block.
#[derive(Debug, Clone)]
pub struct Zones {
    /// In the order of their ids: `Z1`, `Z2` …
    pub zones: Vec<Zone>,
    /// By panel: the zone, as an index; `None` for a panel without a present vine.
    pub of_panel: Vec<Option<usize>>,
    /// By vine place: the zone, as an index; `None` where no vine stands.
    pub of_vine: Vec<Option<usize>>,
    /// How the borders were found, in words for the report.
    pub why: String,
    /// Share of the variance of held-out counts that the zones explain; `None` when not asked.
    pub held_out_reduction: Option<f64>,
    /// Covariances between the zones' means, row by row, per metre squared.
    pub covariance: Vec<f64>,
}

/// A zone of whole panels.
#[derive(Debug, Clone)]
pub struct Zone {
    /// `Z1`, `Z2` …
    pub id: String,
    /// The grower's own name for it.
    pub name: Option<String>,
    /// Its planting, as an index into the site's plantings.
    pub planting: usize,
    /// Its panels, as indices into the layout's panels.
    pub panels: Vec<usize>,
    /// Its present vines, as indices into the layout's vines.
    pub vines: Vec<usize>,
    /// Metres of canopy.
    pub canopy_m: f64,
    /// Vines counted in it.
    pub counted_vines: usize,
    /// Shoots per metre, when something can be said.
    pub density: Option<ZoneMean>,
    /// The measure of vigor, when there is one.
    pub vigor: Option<ZoneMean>,
    /// Its ground, metres along and across; zones neither overlap nor leave slivers.
    pub shape: MultiPolygon<f64>,
    /// Its rows as text, such as `1-12,15`.
    pub rows: String,
}

/// The mean of a zone with its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneMean {
    /// Mean per metre.
    pub per_m: f64,
    /// Raw standard error.
    pub se: f64,
    /// Lower end of the 90 % interval.
    pub lo90: f64,
    /// Upper end of the 90 % interval.
    pub hi90: f64,
    /// Multiplies `se` before probabilities are taken.
    pub scale: f64,
    /// Degrees of freedom of Student's t; `None` for the normal.
    pub degrees_of_freedom: Option<f64>,
}

/// Draws the zones, or takes the grower's own.
///
/// # Errors
/// When the grower's own zones overlap.
pub fn draw_zones(
    site: &Site,
    layout: &Layout,
    joined: &Joined,
    estimate: &Estimate,
    settings: &ZoneSettings,
) -> Result<(Zones, Findings), Error> {
    let _ = (site, layout, joined, estimate, settings);
    todo!()
}
