//! What is believed about every vine from the few that were counted.
//!
//! Takes a [`Joined`], gives an [`Estimate`]: a value that can be asked about a vine, a zone or the
//! block. Never changes what was joined, never draws a zone, never gives a number where the counts
//! allow none.
//!
//! Three quantities, three variances (`docs/methods.md`): the density of a vine (nugget in, counting
//! noise out), the surface (nugget filtered), the mean of a set of vines (finite-population block
//! kriging).
//!
//! Decided here, because the counts leave it open:
//! - Vines that grow alike (cultivar, kind, training, curtains, year) have one mean, whatever their
//!   target. One with fewer counts than a map needs has no estimate: another's would be a guess.
//! - A young vine is estimated from its neighbours; its own count is not used, for it or for others.
//! - Where too few counts show a pattern, errors of zones are taken from an assumed one: half of the
//!   variance, with a range of a fifth of the block. A vine's own interval is mean ± t.
//! - The map follows a raster of vigor, or has another range across the rows than along them, when
//!   that earns its place; which it was, and how, is said (`shape`).
//! - More than 600 counts are solved from the nearest; means of many vines then rest on neighbouring
//!   counts put together.

pub mod by_design;
mod by_design_units;
mod check_fit;
mod choose;
mod count_noise;
#[cfg(test)]
mod counts_tests;
mod design;
mod doubts;
mod few;
pub mod fit;
mod given;
mod in_line;
pub mod kriging;
mod map;
#[cfg(test)]
mod map_tests;
pub mod mean_of_many;
pub mod observers;
mod pair_sums;
mod pairs;
pub mod pool;
mod population;
mod predict;
mod settle;
mod shape;
#[cfg(test)]
mod shape_tests;
mod short;
mod solved;
pub mod sure;
#[cfg(test)]
mod tests;
pub mod variogram;
mod vine_shoots;

use crate::{
    error::Error,
    finding::{Finding, Findings, Place, Severity},
    frame::Site,
    join::{Joined, Observation, VigorMeasure},
    layout::Layout,
    maths::covariance::CovarianceModel,
    names::{agreeing, number_of},
    settings::EstimateSettings,
};

pub use by_design_units::{ByDesign, by_design};
pub use check_fit::{LeaveOneOut, LeftOut};
use count_noise::NoiseRules;
use design::{Ground, used_counts};
use solved::Solved;
pub use vine_shoots::VineShoots;

/// What is believed about the shoots and the vigor of every vine.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// Shoots per metre of canopy.
    pub shoots: Field,
    /// The best measure of vigor that there is, per metre of canopy or a length.
    pub vigor: Option<(VigorMeasure, Field)>,
    /// What the draw alone says of the shoots, where stops drawn by `sample` were counted.
    pub by_design: Option<ByDesign>,
    /// What was doubtful about the shoots while they were estimated.
    pub doubts: Vec<Finding>,
}

/// One quantity over all vines of a block.
#[derive(Debug, Clone)]
pub struct Field {
    /// By vine place, in the layout's order; `None` where no vine stands or nothing can be said.
    pub vines: Vec<Option<VineEstimate>>,
    /// How the map was made.
    pub method: Method,
    /// Why this method, in words for the report.
    pub why: String,
    /// The fitted or given variation, where there is one.
    pub model: Option<CovarianceModel>,
    /// Multiplies distances across the rows before `model` is asked; 1 where the range is the same
    /// along and across.
    pub across_ratio: f64,
    /// How well counts are foretold from the others, where there were enough.
    pub check: Option<LeaveOneOut>,
    /// Each count as the others foretell it, in the order of their vines; empty without a check.
    pub left_out: Vec<LeftOut>,
    /// Variance of a count around what it counts, on average: 0 without a check.
    pub count_noise: f64,
    /// How many observations it rests on.
    pub observations: usize,
    /// The mean of each planting, in the site's order; `None` without enough observations.
    pub planting_means: Vec<Option<f64>>,
    /// The standard deviation between the vines of each planting, where the quantity is known at
    /// every vine; else `None`.
    pub planting_spreads: Vec<Option<f64>>,
    solved: Option<Solved>,
}

/// How a map was made, from least to most counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// Too few counts for a map.
    None,
    /// The planting's mean on every vine.
    Mean,
    /// Inverse distance, shrunk to the mean by leave-one-out.
    InverseDistance,
    /// Kriging with a fitted or given variation.
    Kriging,
    /// Known at every vine.
    Given,
}

impl Method {
    /// True when neighbouring vines are believed to be alike.
    pub const fn has_pattern(self) -> bool {
        matches!(self, Self::InverseDistance | Self::Kriging)
    }
}

/// What is believed about one vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VineEstimate {
    /// Density of the vine, per metre: nugget in, counting noise out.
    pub per_m: f64,
    /// Its raw standard error, per metre; intervals scale it by [`Field::interval_factor`]; NaN is
    /// never kept: where the counts allow no interval it is `None`.
    pub se_per_m: Option<f64>,
    /// The smooth surface there, per metre.
    pub surface_per_m: f64,
}

/// Vines with their weights (metres of canopy), whose weighted mean is asked for.
pub type VineSet = Vec<(usize, f64)>;

/// The means of several sets of vines and how they vary together.
#[derive(Debug, Clone)]
pub struct SetMeans {
    /// The weighted mean of each set, per metre; `None` where nothing can be said.
    pub means: Vec<Option<f64>>,
    /// Covariances between the means, row by row; rows of sets without a mean are 0.
    pub covariance: Vec<f64>,
    /// Multiplies a standard error into half a 90 % interval.
    pub factor90: f64,
    /// Multiplies a standard error before probabilities are taken from it (√max(1, MSDR)).
    pub scale: f64,
    /// Degrees of freedom of Student's t for probabilities; `None` for the normal.
    pub degrees_of_freedom: Option<f64>,
}

impl SetMeans {
    /// The raw standard error of one mean.
    pub fn se(&self, set: usize) -> f64 {
        self.covariance_of(set, set).max(0.0).sqrt()
    }

    /// The covariance of two means.
    pub fn covariance_of(&self, one: usize, other: usize) -> f64 {
        self.covariance[one * self.means.len() + other]
    }
}

/// Estimates every vine.
///
/// # Errors
/// When a pinned variation cannot be used with these counts.
pub fn estimate(
    site: &Site,
    layout: &Layout,
    joined: &Joined,
    settings: &EstimateSettings,
) -> Result<(Estimate, Findings), Error> {
    let ground = Ground::new(site, layout, joined, settings);
    let place = Place::default().in_feature(format!("block {}", site.name));
    let task = Task { ground: &ground, joined, settings, place };
    let (shoots, vigor) = rayon::join(
        || task.field(&joined.shoots, "shoots", true),
        || {
            joined.vigor.as_ref().map(|vigor| {
                if vigor.measure == VigorMeasure::Raster {
                    let field = given::raster(&ground, joined);
                    return Ok(((vigor.measure, field), Findings::none()));
                }
                let field = task.field(&vigor.observations, vigor.measure.words(), false);
                field.map(|(field, findings)| ((vigor.measure, field), findings))
            })
        },
    );
    let (shoots, mut findings) = shoots?;
    let is_doubt = |finding: &&Finding| finding.severity == Severity::Warning;
    let doubts = findings.iter().filter(is_doubt).cloned().collect();
    let vigor = match vigor.transpose()? {
        Some((vigor, more)) => {
            findings.extend(more);
            Some(vigor)
        }
        None => None,
    };
    let (by_design, told) = by_design(layout, joined, &task.place);
    findings.extend(told);
    Ok((Estimate { shoots, vigor, by_design, doubts }, findings))
}

/// What both quantities are estimated from.
struct Task<'a> {
    ground: &'a Ground,
    joined: &'a Joined,
    settings: &'a EstimateSettings,
    place: Place,
}

impl Task<'_> {
    fn field(
        &self,
        counts: &[Observation],
        what: &str,
        counting: bool,
    ) -> Result<(Field, Findings), Error> {
        let canopy: Vec<f64> = self.joined.vines.iter().map(|vine| vine.canopy_m).collect();
        let none = self.settings.no_count_noise;
        let (used, young) = used_counts(self.ground, counts, &canopy, none);
        let rules = NoiseRules { counting, observer_share: self.settings.observer_share, none };
        let quantity = map::Quantity {
            ground: self.ground,
            used,
            rules,
            settings: self.settings,
            place: self.place.clone(),
            what,
        };
        let (field, mut findings) = map::field(quantity)?;
        if young > 0 {
            findings.push(
                Finding::note(
                    self.place.clone(),
                    format!(
                        "{} of {what} on young vines {} not used for others",
                        number_of(young, "count"),
                        agreeing(young, "is", "are")
                    ),
                )
                .because("a young vine does not speak for its neighbours"),
            );
        }
        Ok((field, findings))
    }
}
