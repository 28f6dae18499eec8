//! How maps are drawn on paper, where a reader may choose: which way is up, and with what ink.

use std::fmt;

/// Which way is up on printed maps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Up {
    /// North, unless straight rows show the block much larger.
    #[default]
    Best,
    /// North.
    North,
    /// The rows.
    Rows,
}

/// The ink that printed maps are made for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ink {
    /// Classes have colours.
    #[default]
    Colour,
    /// Classes have patterns, for printers with nothing but black.
    Black,
}

/// How printed maps are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct MapStyle {
    /// Which way is up.
    pub up: Up,
    /// The ink.
    pub ink: Ink,
}

impl fmt::Display for Up {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Best => "best",
            Self::North => "north",
            Self::Rows => "rows",
        })
    }
}

impl fmt::Display for Ink {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Colour => "colour",
            Self::Black => "black",
        })
    }
}
