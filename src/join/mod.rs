//! Which vine or panel each record belongs to.
//!
//! Takes a [`Layout`] and the records of the field, gives a [`Joined`]: what stands at every place
//! and what was counted there. Never edits the layout, never drops a record: one that finds no
//! place is in [`Joined::unjoined`] with the reason. A missing vine is never a zero.

mod by_name;
mod by_position;
mod observations;

use jiff::civil::Date;

use crate::{
    counts::{Count, Status},
    finding::Findings,
    frame::Site,
    layout::Layout,
    settings::JoinSettings,
};

/// What stands at every place and what was counted there.
#[derive(Debug, Clone)]
pub struct Joined {
    /// By vine place, in the layout's order.
    pub vines: Vec<VineRecord>,
    /// Shoot densities: one for each vine or whole panel that was counted.
    pub shoots: Vec<Observation>,
    /// The best measure of vigor that there is.
    pub vigor: Option<Vigor>,
    /// Timed work: for labour.
    pub timed: Vec<Timed>,
    /// Every record that found its place, in the order read.
    pub records: Vec<JoinedRecord>,
    /// Every record that did not, with the reason.
    pub unjoined: Vec<UnjoinedRecord>,
    /// The date of the counts: the latest of those used.
    pub date: Option<Date>,
    /// Shoot length at dated visits, for growth: date, mean length in metres, records.
    pub growth: Vec<(Date, f64, usize)>,
    /// Suckers per vine counted, mean; `None` when nobody counted them.
    pub suckers_per_vine: Option<f64>,
    /// Dead dormant buds and buds looked at, when someone looked.
    pub buds: Option<(u32, u32)>,
}

/// What stands at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VineRecord {
    /// What stands there.
    pub status: Status,
    /// Its planting, as an index into the site's plantings.
    pub planting: usize,
    /// Metres of canopy (live cordon or cane, all curtains).
    pub canopy_m: f64,
    /// True when its shoots were counted, alone or in a whole panel.
    pub counted: bool,
}

/// A measured density on one vine or over the vines of a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The present vines that it is about, as indices into [`Joined::vines`]; never empty.
    pub vines: Vec<usize>,
    /// Per metre of canopy: shoots, or the measure of vigor.
    pub per_m: f64,
    /// Metres of canopy of these vines together.
    pub canopy_m: f64,
    /// Metres of canopy that were counted: at most `canopy_m`.
    pub counted_m: f64,
    /// Estimates of `per_m` from repeated windows, each with the metres counted; one or more.
    pub windows: Vec<(f64, f64)>,
}

/// The best measure of vigor that there is.
#[derive(Debug, Clone)]
pub struct Vigor {
    /// What was measured.
    pub measure: VigorMeasure,
    /// Kilograms per metre of canopy, or metres of mean shoot length.
    pub observations: Vec<Observation>,
}

/// What was measured for vigor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VigorMeasure {
    /// Pruning weight per metre of canopy, kilograms.
    PruningWeight,
    /// Mean shoot length, metres.
    ShootLength,
}

/// Timed work on a vine or a panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timed {
    /// Person-minutes.
    pub minutes: f64,
    /// Vines worked.
    pub vines: usize,
    /// Shoots counted there, before the work.
    pub shoots: Option<f64>,
}

/// A record that found its place.
#[derive(Debug, Clone)]
pub struct JoinedRecord {
    /// The record.
    pub count: Count,
    /// How its place was found.
    pub how: FoundBy,
    /// The vines that it is about, as indices into [`Joined::vines`].
    pub vines: Vec<usize>,
    /// The panel, when it is about a whole panel: an index into the layout's panels.
    pub panel: Option<usize>,
    /// Shoots per metre of canopy, where shoots were counted and used.
    pub shoots_per_m: Option<f64>,
}

/// How a record's place was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoundBy {
    /// By its id.
    Id,
    /// By row and vine, or panel and place.
    RowAndVine,
    /// By row and panel: a whole panel.
    Panel,
    /// By its position.
    Position,
}

/// A record that found no place.
#[derive(Debug, Clone)]
pub struct UnjoinedRecord {
    /// The record.
    pub count: Count,
    /// Why, and how to mend it.
    pub reason: String,
}

/// Joins records to places.
///
/// Conflicts, doubts and everything left out of the estimate are in the findings.
pub fn join(
    site: &Site,
    layout: &Layout,
    counts: &[Count],
    settings: &JoinSettings,
) -> (Joined, Findings) {
    let _ = (site, layout, counts, settings);
    todo!()
}
