//! One file per command: what a user sees.

mod bearings;
mod demo;
mod layout;
mod thin;
