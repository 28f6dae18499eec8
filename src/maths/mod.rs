//! Small mathematics that no dependency of ours brings: intervals on a line, a Cholesky factor, a
//! few distributions, intervals of shares, a bounded minimum, nearest neighbours, seeded draws.

pub mod cholesky;
pub mod count_interval;
pub mod covariance;
pub mod intervals;
pub mod minimise;
pub mod nearest;
pub mod normal;
pub mod random;
pub mod share;

/// A number of things as a float.
#[expect(clippy::cast_precision_loss, reason = "numbers of things are far below 2⁵³")]
pub const fn float(count: usize) -> f64 {
    count as f64
}

/// The whole part of a number that is not negative; 0 below it.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the cast saturates, and callers compare with their limits"
)]
pub const fn whole(number: f64) -> usize {
    number.floor() as usize
}
