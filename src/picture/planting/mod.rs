//! The planting plan: the drawing that is taken to the field to plant by, true to a scale that
//! rulers have.
//!
//! ```text
//!   Site, Layout, PlanNotes ──drawing──▶ rows, ground ──sheet──▶ Scene
//!                                        row coordinates         millimetres of paper
//! ```

mod callouts;
mod drawing;
mod facts;
mod ground;
mod row_table;
mod row_words;
mod rows;
mod ruler;
mod sheet;
mod side;
#[cfg(test)]
mod tests;

use self::drawing::Drawing;
use crate::{
    error::Error,
    frame::{RowPoint, Site},
    layout::{Layout, Material},
    picture::{Paper, Scene, Up},
    units::ReadingUnits,
};

/// What is told beside a planting plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlanNotes {
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The paper it is made for.
    pub paper: Paper,
    /// Which way is up.
    pub up: Up,
    /// What is needed, and how much of it.
    pub materials: Vec<Material>,
    /// Points to check the setting-out by.
    pub check_points: Vec<CheckMark>,
    /// What their coordinates are in.
    pub check_system: String,
}

/// A point to check the setting-out by.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckMark {
    /// Its name on the drawing, a letter or two.
    pub name: String,
    /// Where it is.
    pub at: RowPoint,
    /// What is there.
    pub words: String,
    /// Its coordinates.
    pub place: String,
}

/// The planting plan of a block: the drawing, and after it pages that list the rows where the
/// drawing's own has no room for them.
///
/// # Errors
/// Only by a fault of the program.
pub fn planting_plan(site: &Site, layout: &Layout, notes: &PlanNotes) -> Result<Vec<Scene>, Error> {
    sheet::compose(&Drawing::of(site, layout, notes))
}
