//! What comes off first, and what comes off where nothing is planned by number.

/// Which shoots go.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TakeOff {
    /// Doubles first: of two from one bud the weaker.
    #[default]
    DoublesFirst,
    /// A frost came before the counts: secondary shoots are crop, and doubles stay.
    DoublesStay,
}

impl TakeOff {
    /// What goes, in order.
    pub const fn in_order(self) -> &'static str {
        match self {
            Self::DoublesFirst => {
                "doubles, then base and downward shoots, then weak and blind ones"
            }
            Self::DoublesStay => {
                "base and downward shoots, then weak and blind ones; doubles are crop"
            }
        }
    }

    /// What goes where nothing is planned by number.
    pub const fn lightly(self) -> &'static str {
        match self {
            Self::DoublesFirst => "doubles and base shoots only",
            Self::DoublesStay => "base shoots only",
        }
    }
}
