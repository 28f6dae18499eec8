//! Small mathematics that no dependency of ours brings: intervals on a line, a Cholesky factor, a
//! few distributions, a bounded minimum, nearest neighbours, seeded draws.

pub mod cholesky;
pub mod covariance;
pub mod intervals;
pub mod minimise;
pub mod nearest;
pub mod normal;
pub mod random;
