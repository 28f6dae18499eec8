//! One record of the field: what was counted on a vine or a panel, as read, with its place in the
//! file.

use jiff::civil::Date;

use crate::{finding::Place, geodesy::LonLat, units::Metres};

/// One record as someone wrote it down.
///
/// Every number is finite and not negative; `shoots` is a whole number or the sum of whole parts.
#[derive(Debug, Clone, Default)]
pub struct Count {
    /// The block it names, if any.
    pub block: Option<String>,
    /// Where on the block.
    pub spot: Spot,
    /// When it was counted.
    pub date: Option<Date>,
    /// A free label such as `before`.
    pub visit: Option<String>,
    /// Canopy length counted; `None` for all of this vine.
    pub counted_length: Option<Metres>,
    /// Which stretch of the vine: a label, and its start from the trunk.
    pub window: Option<String>,
    /// Where the window starts, from the trunk.
    pub window_start: Option<Metres>,
    /// Live cordon or cane that this vine fills; the vine spacing times the curtains when unsaid.
    pub canopy_length: Option<Metres>,
    /// What was counted, if anything was.
    pub shoots: Option<Shoots>,
    /// Shoots of the trunk and the ground: in hours, not in density.
    pub suckers: Option<u32>,
    /// Mean length of the shoots.
    pub shoot_length: Option<Metres>,
    /// Prunings of the whole vine in the last dormant season, kilograms.
    pub pruning_weight_kg: Option<f64>,
    /// Crop of the whole vine (or panel) at the harvest before, kilograms.
    pub yield_kg: Option<f64>,
    /// Dormant buds looked at.
    pub buds: Option<u32>,
    /// Of those, dead.
    pub buds_dead: Option<u32>,
    /// Person-minutes spent thinning.
    pub minutes: Option<f64>,
    /// What stands there.
    pub status: Option<Status>,
    /// How its place was chosen, as the sheet of stops says.
    pub chosen_by: Option<ChosenBy>,
    /// Who counted.
    pub counted_by: Option<String>,
    /// Free text.
    pub note: Option<String>,
    /// The cells as written, `(column, text)`, in the file's order.
    pub raw: Vec<(String, String)>,
    /// Where it was read.
    pub place: Place,
}

/// Where on a block a record says it is; several may be given, the first that fits is used.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Spot {
    /// An id such as `R012V034`, as written.
    pub id: Option<String>,
    /// The row's number.
    pub row: Option<u32>,
    /// The vine's number in the row.
    pub vine: Option<u32>,
    /// The panel's number in the row.
    pub panel: Option<u32>,
    /// The place in the panel, 1 the first vine after the post.
    pub place: Option<u32>,
    /// A position of a receiver.
    pub position: Option<Position>,
}

/// A position of a receiver.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Where.
    pub at: LonLat,
    /// How far off it may be.
    pub accuracy: Metres,
}

/// How a place to count was chosen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChosenBy {
    /// Drawn for the mean, spread over the ground, all with the same chance: so many of so many.
    Drawn {
        /// Stops that were drawn in its planting.
        number: u32,
        /// Panels or vines of the planting that could be drawn.
        of: u32,
    },
    /// As the neighbour of a drawn one, which is part of no mean.
    Pair,
    /// By somebody.
    Somebody,
}

impl ChosenBy {
    /// The words of the sheet's column `drawn`.
    pub const WORDS: [&'static str; 3] = ["mean", "pair", "chosen"];

    /// The word of the sheet's column `drawn`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Drawn { .. } => Self::WORDS[0],
            Self::Pair => Self::WORDS[1],
            Self::Somebody => Self::WORDS[2],
        }
    }
}

/// What was counted on a vine or a panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shoots {
    /// All shoots, without suckers.
    pub all: u32,
    /// Of those, doubles: two from one node; `None` when the parts were not told apart.
    pub secondary: Option<u32>,
    /// Of those, from old wood or spur bases.
    pub base: Option<u32>,
}

/// What stands at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub enum Status {
    /// A vine.
    #[default]
    Present,
    /// No vine.
    Missing,
    /// A vine too young to thin.
    Young,
    /// A replant, too young to thin.
    Replant,
    /// A vine whose cordons are being renewed.
    Renewal,
}

impl Status {
    /// The word that files and reports use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Present => "present",
            Self::Missing => "missing",
            Self::Young => "young",
            Self::Replant => "replant",
            Self::Renewal => "renewal",
        }
    }

    /// True when no vine stands there.
    pub const fn is_missing(self) -> bool {
        matches!(self, Self::Missing)
    }

    /// True when the vine has no thinning target yet.
    pub const fn is_young(self) -> bool {
        matches!(self, Self::Young | Self::Replant)
    }
}
