//! One file per command: what a user sees.

mod audit;
mod audit_plan;
mod bearings;
mod bundle;
mod crew_sheet;
mod demo;
mod keys;
mod layout;
mod next_counts;
mod next_steps;
mod options;
mod prune;
mod sample;
mod sample_sizes;
mod season;
mod stakes;
mod sure;
mod survey;
mod thin;
mod together;
mod told;
mod typed;
mod vigor;
