//! What stands: carried from year to year, and what became of it.

use crate::{
    counts::{Count, Status},
    join::Joined,
    season::Season,
};

/// A vine that is another than the year before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StandingChange {
    /// The vine place, as an index into the layout's vines.
    pub vine: usize,
    /// What stood there.
    pub was: Status,
    /// What stands there.
    pub is: Status,
}

/// What the records of earlier seasons say about what stands: nothing but that, for the join of a
/// later one. A word of the later season counts before them, being newer.
pub fn statuses_before(earlier: &[Season]) -> Vec<Count> {
    let records = earlier.iter().flat_map(|season| &season.counts);
    records.filter(|count| count.status.is_some()).map(status_alone).collect()
}

/// A record of nothing but what stands.
pub(super) fn status_alone(count: &Count) -> Count {
    Count {
        block: count.block.clone(),
        spot: count.spot.clone(),
        date: count.date,
        status: count.status,
        place: count.place.clone(),
        ..Count::default()
    }
}

/// The vines that are others than before.
pub(super) fn changes(before: &Joined, now: &Joined) -> Vec<StandingChange> {
    let pairs = before.vines.iter().zip(&now.vines).enumerate();
    pairs
        .map(|(vine, (was, is))| StandingChange { vine, was: was.status, is: is.status })
        .filter(|change| change.was != change.is)
        .collect()
}
