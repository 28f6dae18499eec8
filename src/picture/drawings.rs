//! The named pictures.

use crate::{
    error::Error,
    picture::{Caption, Scene, columns, sheet, subject::Subject, to_png},
    plan::{Evidence, Plan},
};

/// A heat map of a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeatMap {
    /// Shoots per length of canopy.
    ShootDensity,
    /// How strongly vines grow.
    Vigor,
    /// Shoots a vine above or below its target.
    ThinningNeed,
}

impl HeatMap {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::ShootDensity, Self::Vigor, Self::ThinningNeed];

    /// What it shows, in words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::ShootDensity => "shoot density",
            Self::Vigor => "vigor",
            Self::ThinningNeed => "thinning need",
        }
    }

    /// What was done on the vines that it rests on.
    pub(super) const fn verb(self) -> &'static str {
        match self {
            Self::ShootDensity | Self::ThinningNeed => "counted",
            Self::Vigor => "measured",
        }
    }

    /// What it rests on.
    pub(super) const fn sources(self) -> &'static str {
        match self {
            Self::ShootDensity | Self::ThinningNeed => "the counts",
            Self::Vigor => "the measurements",
        }
    }

    /// What the label of a zone states.
    pub(super) const fn zone_words(self) -> &'static str {
        match self {
            Self::ShootDensity => "zone and its mean density",
            Self::Vigor => "zone and its mean",
            Self::ThinningNeed => "zone and its verdict",
        }
    }
}

/// A heat map as a PNG of one page at 254 pixels to the inch; `None` when there is nothing to show.
///
/// # Errors
/// Only by a fault of the program.
pub fn heat_map(
    kind: HeatMap,
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Result<Option<Vec<u8>>, Error> {
    heat_map_scene(kind, evidence, plan, caption)?.map(|scene| to_png(&scene)).transpose()
}

/// The same as a scene, for other forms.
///
/// # Errors
/// Only by a fault of the program.
pub fn heat_map_scene(
    kind: HeatMap,
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Result<Option<Scene>, Error> {
    let Some(subject) = Subject::of(kind, evidence, plan, caption) else { return Ok(None) };
    let others = HeatMap::ALL.into_iter().filter(|other| *other != kind);
    let mut subjects: Vec<Subject> =
        others.filter_map(|other| Subject::of(other, evidence, plan, caption)).collect();
    subjects.push(subject);
    let (page, placement) = columns::choose_for(&subjects)?;
    subjects.last().map(|subject| sheet::compose(subject, (&page, &placement))).transpose()
}

/// The map of vine size: that of vigor, where vigor is pruning weight, under its name in winter, as a
/// scene; `None` when nothing is known.
///
/// # Errors
/// Only by a fault of the program.
pub fn vine_size_scene(
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Result<Option<Scene>, Error> {
    let Some(subject) = Subject::of(HeatMap::Vigor, evidence, plan, caption) else {
        return Ok(None);
    };
    let subject = Subject { quantity: "vine size", ..subject };
    let (page, placement) = columns::choose_for(std::slice::from_ref(&subject))?;
    sheet::compose(&subject, (&page, &placement)).map(Some)
}
