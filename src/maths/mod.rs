//! Small mathematics that no dependency of ours brings: intervals on a line, a Cholesky factor, a
//! few distributions, a bounded minimum, nearest neighbours, seeded draws.

pub mod cholesky;
pub mod covariance;
pub mod intervals;
pub mod minimise;
pub mod nearest;
pub mod normal;
pub mod random;

/// A number of things as a float.
#[expect(clippy::cast_precision_loss, reason = "numbers of things are far below 2⁵³")]
pub const fn float(count: usize) -> f64 {
    count as f64
}
