//! One file per command: what a user sees.

mod audit;
mod bearings;
mod bundle;
mod crew_sheet;
mod demo;
mod keys;
mod layout;
mod next_counts;
mod prune;
mod sample;
mod sample_sizes;
mod season;
mod stakes;
mod sure;
mod survey;
mod thin;
mod together;
mod typed;
mod vigor;
