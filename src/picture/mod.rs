//! Pictures for people: a neutral [`Scene`] of marks in millimetres of paper, and what is made of it.
//!
//! Takes anything above, gives a [`Scene`], then SVG text, a PNG and a PDF. Never computes a result, never
//! looks for a font or a colour on the machine, never draws a letter that it has no shape for.
//!
//! ```text
//!   Evidence, Plan ──subject──▶ Subject ──sheet──▶ Scene ──svg──▶ text ──png──▶ pixels
//!   Site, Layout ──planting───────────────────────▶               └─────pdf──▶ pages
//!                               classes, row        millimetres
//!                               coordinates         of paper
//!   Evidence, Plan ──screen──▶ ScreenMaps: a still drawing as SVG, and the classes of the vines, for
//!                              a page that draws them at any scale
//! ```

pub mod colours;

mod bearings;
mod boxes;
mod captions;
mod classes;
mod columns;
mod compass;
mod count_paper;
mod crew_sheet;
mod decision;
mod density;
mod difference;
mod drawings;
#[cfg(test)]
mod example;
mod furniture;
mod ground_words;
mod heading;
mod in_black;
mod labels;
mod legend;
mod legend_card;
mod lettering;
mod little;
mod looks;
mod map;
mod marks;
mod need;
mod overlay;
mod page;
mod pages;
mod pdf;
mod planting;
mod png;
mod screen;
mod season;
mod sheet;
mod small_map;
mod style;
mod subject;
mod sure;
mod svg;
#[cfg(test)]
mod tests;
mod vigor;
mod words;
mod zone_mark;

use jiff::civil::Date;

use crate::{
    settings::PlanSettings,
    units::{Degrees, PerMetre, ReadingUnits},
};

pub use bearings::{BearingCaption, bearings_scene};
pub use colours::Colour;
pub use count_paper::{CountPaper, count_paper};
pub use crew_sheet::{CrewPaper, crew_sheet};
pub use decision::decision_scenes;
pub use difference::{DifferenceMap, difference_scene};
pub use drawings::{HeatMap, heat_map, heat_map_scene, vine_size_scene};
#[cfg(test)]
pub(crate) use furniture::type_scale;
pub use legend_card::legend_scene;
pub use lettering::letter_without_shape;
pub use overlay::{MapValues, map_values, overlay};
pub use pdf::to_pdf;
pub use planting::{CheckMark, PlanNotes, planting_plan};
pub use png::{to_png, to_screen};
pub use screen::{Key, KeyRow, ScreenLayer, ScreenMaps, SpokenValue, screen_maps, walk_map};
pub use season::{SeasonYearMap, season_scene};
pub use style::{Ink, MapStyle, Up};
pub(crate) use sure::finding_words;
pub use sure::{SureCaption, how_sure_scene, sure_lines, sure_sections, variogram_scene};
pub(crate) use svg::escaped;
pub use svg::to_svg;
pub(crate) use words::{Reading, count_of, date, grouped, shoots as shoots_reading};

/// What a picture shows, in millimetres of paper from its upper left corner; no format in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    /// Width and height of the paper, millimetres.
    pub paper_mm: [f64; 2],
    /// What it is, for those who cannot see it.
    pub title: String,
    /// From the lowest to the topmost.
    pub marks: Vec<Mark>,
}

/// A place on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaperPoint {
    /// Millimetres from the left edge.
    pub x_mm: f64,
    /// Millimetres from the upper edge.
    pub y_mm: f64,
}

impl Lettering {
    /// Level lettering.
    pub fn level(
        at: PaperPoint,
        words: impl Into<String>,
        hand: Hand,
        (anchor, colour): (Anchor, Colour),
    ) -> Self {
        Self { at, words: words.into(), hand, anchor, turn: Degrees::new(0.0), colour }
    }
}

impl PaperPoint {
    /// The place so many millimetres from the left and the upper edge.
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x_mm, y_mm }
    }
}

/// One thing on paper.
#[derive(Debug, Clone, PartialEq)]
pub enum Mark {
    /// Lines and areas of one look.
    Shape(Shape),
    /// A line of lettering.
    Lettering(Lettering),
}

/// Lines and areas of one look.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shape {
    /// What is drawn; areas inside an odd number of rings are filled.
    pub outlines: Vec<Outline>,
    /// What areas are filled with.
    pub fill: Option<Colour>,
    /// How lines are drawn.
    pub stroke: Option<Stroke>,
}

/// One outline.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// From point to point.
    Line(Vec<PaperPoint>),
    /// From point to point and back to the first.
    Ring(Vec<PaperPoint>),
    /// A circle.
    Disc {
        /// Its centre.
        centre: PaperPoint,
        /// Its radius, millimetres.
        radius_mm: f64,
    },
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    /// Its colour.
    pub colour: Colour,
    /// Its width, millimetres.
    pub width_mm: f64,
    /// Millimetres drawn and left out in turn; `None` for an unbroken line.
    pub dash_mm: Option<[f64; 2]>,
}

/// A line of lettering.
#[derive(Debug, Clone, PartialEq)]
pub struct Lettering {
    /// Where its base line starts, has its middle or ends.
    pub at: PaperPoint,
    /// What it says.
    pub words: String,
    /// How it is set.
    pub hand: Hand,
    /// Where `at` lies in it.
    pub anchor: Anchor,
    /// How far it is turned about `at`, clockwise.
    pub turn: Degrees,
    /// Its colour.
    pub colour: Colour,
}

/// Size and weight of lettering.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hand {
    /// Height of the em, millimetres.
    pub size_mm: f64,
    /// Bold or regular.
    pub bold: bool,
}

/// Where a line of lettering is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// At its start.
    Start,
    /// At its middle.
    Middle,
    /// At its end.
    End,
}

/// The paper that a picture is made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 297 × 420 mm.
    A3,
    /// 8.5 × 11 inches.
    Letter,
}

impl Paper {
    /// Its name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::A3 => "A3",
            Self::Letter => "Letter",
        }
    }

    /// Its shorter and longer side, millimetres.
    pub const fn sides_mm(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [215.9, 279.4],
        }
    }
}

/// What a picture has to be told beside the evidence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Caption {
    /// The units it is read in.
    pub units: ReadingUnits,
    /// The date it states when the counts have none of their own.
    pub date: Option<Date>,
    /// The paper it is made for.
    pub paper: Paper,
    /// How printed maps are drawn.
    pub style: MapStyle,
    /// Renewal shoots left on a vine and not counted against its target.
    pub renewal_shoots: f64,
    /// Pruning weight below which a vine is weak, kilograms a metre.
    pub weak: PerMetre,
    /// Pruning weight above which it is in excess, kilograms a metre.
    pub excess: PerMetre,
    /// A relative measure is below or above when it is this share off its planting's mean.
    pub band_share: f64,
}

impl Caption {
    /// A caption whose limits are those that the plan was made with.
    pub const fn new(
        units: ReadingUnits,
        (paper, style): (Paper, MapStyle),
        date: Option<Date>,
        plan: &PlanSettings,
    ) -> Self {
        Self {
            units,
            date,
            paper,
            style,
            renewal_shoots: plan.renewal_shoots,
            weak: plan.weak_kg_per_m,
            excess: plan.excess_kg_per_m,
            band_share: plan.vigor_band_share,
        }
    }
}
