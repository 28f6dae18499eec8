//! The layout against surveyed rows, printed layouts, and an independent search by brute force.

#[path = "layout/bearings.rs"]
mod bearings;
#[path = "layout/brute_force.rs"]
mod brute_force;
#[path = "layout/printed.rs"]
mod printed;
#[path = "layout/stake_sheet.rs"]
mod stake_sheet;
#[path = "layout/surveyed.rs"]
mod surveyed;
