//! Whole plans.
