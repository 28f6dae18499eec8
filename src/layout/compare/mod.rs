//! Candidate row bearings for a new planting, side by side.
//!
//! The same rules that lay rows out count what every bearing would give, without building a vine:
//! rows, vines, lengths, turns, how much of it is owed to the place of the first row, the ground
//! along and across the rows, the sun on their two sides. Nothing is ranked and nothing decided.
//!
//! What the next stage need not worry about: candidates come by rising axis, the block's own bearing
//! and that of its longest edge are among them, and every number of a candidate is that of a layout
//! with its bearing.

mod candidates;
mod counted;
mod extremes;
mod slopes;

use rayon::prelude::*;

use self::candidates::Axis;
use crate::{
    error::Error,
    finding::{Finding, Place},
    frame::Site,
    geodesy::SunPath,
    settings::CompareSettings,
    units::{Degrees, Metres},
};

pub use candidates::BearingRange;
pub use extremes::Extreme;
pub use slopes::RowSlopes;

pub use crate::layout::descents::Descent;

/// What candidate bearings give.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// By rising axis.
    pub candidates: Vec<Candidate>,
    /// Pieces of row below this are short.
    pub short_piece: Metres,
    /// Hectares inside the outline.
    pub block_ha: f64,
    /// Days of the sun, and its mean hours a day from sunrise to sunset.
    pub sun: Option<(usize, f64)>,
}

/// What one bearing gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The bearing to lay out, degrees clockwise from true north.
    pub bearing: Degrees,
    /// The block's own bearing.
    pub own: bool,
    /// The bearing of the longest edge of the outline.
    pub longest_edge: bool,
    /// Rows, vines and lengths.
    pub counted: Counted,
    /// The ground along and across the rows; `None` without an elevation model or a row.
    pub slopes: Option<RowSlopes>,
    /// The sun on both sides of the rows; `None` without days.
    pub sun: Option<SunOnRows>,
}

/// What rows of one bearing come to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Counted {
    /// Rows with vines.
    pub rows: usize,
    /// Vine places.
    pub vines: usize,
    /// Fewest and most vines over all places of the first row within one row spacing; `None` where
    /// spacing goes along the ground.
    pub vines_by_offset: Option<[usize; 2]>,
    /// Pieces of row.
    pub pieces: usize,
    /// Pieces of row that are shorter than the limit.
    pub short_pieces: usize,
    /// Pieces of row that are too short to plant.
    pub left_out: usize,
    /// Level metres of row, end post to end post, all pieces.
    pub row_length_m: f64,
    /// Shortest, median and longest row, metres; `None` without a row.
    pub row_lengths_m: Option<[f64; 3]>,
    /// Hectares of planted ground: row length times row spacing.
    pub planted_ha: f64,
}

impl Counted {
    /// Turns on a headland when every piece of row is driven once: one less than pieces.
    pub const fn turns(&self) -> usize {
        self.pieces.saturating_sub(1)
    }

    /// End posts: two a piece of row.
    pub const fn posts_end(&self) -> usize {
        2 * self.pieces
    }
}

/// The sun on both sides of a wall along the rows: clear sky, level horizon, means a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SunOnRows {
    /// Hours on the side to the right, looking along the bearing.
    pub right_h: f64,
    /// Hours on the side to the left.
    pub left_h: f64,
    /// Hours in which the sun stands near the line of the rows and grazes both sides.
    pub along_h: f64,
}

impl Candidate {
    /// The direction of the rows whichever way they are walked, 0 ≤ axis < 180.
    pub fn axis(&self) -> Degrees {
        candidates::axis(self.bearing)
    }

    /// The sun on the side that faces east to south to west as the axis grows, then on the other:
    /// right and left of the axis.
    pub fn sun_by_axis(&self) -> Option<[f64; 2]> {
        let turned = self.bearing.normalised().degrees() >= 180.0;
        self.sun
            .map(|sun| if turned { [sun.left_h, sun.right_h] } else { [sun.right_h, sun.left_h] })
    }
}

/// Compares bearings of a site whose vines do not stand yet: rows that stand, lists of rows and
/// vine positions are left aside.
///
/// `own` says that the site's bearing is the grower's own. The days of `sun` belong to the place of
/// the site.
///
/// # Errors
/// When no row fits at any bearing, or the block would hold more vines than the limit.
pub fn compare(
    site: &Site,
    own: bool,
    range: &BearingRange,
    settings: &CompareSettings,
    sun: Option<&SunPath>,
) -> Result<Comparison, Error> {
    let axes = candidates::axes(site, own, range);
    let candidate = |axis: &Axis| candidate(site, axis, settings, sun);
    let candidates: Vec<Candidate> =
        axes.par_iter().map(candidate).collect::<Result<_, Error>>()?;
    if candidates.iter().all(|candidate| candidate.counted.rows == 0) {
        return Err(nowhere(site).into());
    }
    Ok(Comparison {
        candidates,
        short_piece: settings.short_piece,
        block_ha: counted::block_ha(site),
        sun: sun.map(|sun| (sun.days(), sun.day_hours())),
    })
}

fn candidate(
    site: &Site,
    axis: &Axis,
    settings: &CompareSettings,
    sun: Option<&SunPath>,
) -> Result<Candidate, Error> {
    let turned = if axis.as_placed { site.clone() } else { site.turned(axis.bearing) };
    let (counted, posts) = counted::count(&turned, settings.short_piece)?;
    let slopes = turned.row_terrain().and_then(|terrain| slopes::along_rows(terrain, &posts));
    let bearing = axis.bearing;
    let sun = sun.map(|sun| SunOnRows {
        right_h: sun.hours_right_of(bearing),
        left_h: sun.hours_right_of(Degrees::new(bearing.degrees() + 180.0)),
        along_h: sun.hours_along(bearing, settings.grazing),
    });
    let Axis { own, longest_edge, .. } = *axis;
    Ok(Candidate { bearing, own, longest_edge, counted, slopes, sun })
}

fn nowhere(site: &Site) -> Finding {
    let rules = &site.rules;
    let why = format!(
        "headland {} m and side margin {} m leave no room in any direction",
        rules.headland.metres(),
        rules.side_margin.metres(),
    );
    let place = Place::default().in_feature(format!("block `{}`", site.name));
    Finding::fault(place.at_field("geometry"), "0 rows fit at any of the bearings")
        .because(why)
        .mend("check the unit of the outline, or give a smaller headland or side_margin")
}
