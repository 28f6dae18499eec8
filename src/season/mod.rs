//! What changed since the year before, zone by zone.
//!
//! Takes the records of several years, gives [`Season`]s of one year each; takes what the stages
//! before found out in each of them, gives a [`Comparison`] on the zones of the latest. Never pools
//! two years, never drops a record, never gives a range where the counts allow none.
//!
//! Decided here, because the records leave it open:
//! - A season ends with its last count of shoots or shoot lengths; counts more than
//!   `join.season_days` before that belong to an earlier one. What was weighed or seen in winter
//!   belongs to the season that follows.
//! - A season is called by the calendar year of its first count.
//! - Two years are compared on the same vines: those of the latest year's zones that stood in both.

mod change;
mod compare;
mod counted;
mod means;
mod planned;
mod split;
mod standing;
mod visits;

pub use change::{Change, change};
pub use compare::{Comparison, Part, PartVisit, PartYear, YearFacts, compare};
pub use counted::{Counted, FEWEST_FOR_RANGE, counted};
pub use planned::Planned;
pub use split::{Season, split};
pub use standing::{StandingChange, statuses_before};
pub use visits::{Visit, visits};
