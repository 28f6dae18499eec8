//! The layout against surveyed rows, printed layouts, and an independent search by brute force.

#[path = "layout/bearings.rs"]
mod bearings;
#[path = "layout/brute_force.rs"]
mod brute_force;
#[path = "layout/printed.rs"]
mod printed;
#[path = "layout/surveyed.rs"]
mod surveyed;
