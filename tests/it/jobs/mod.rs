//! One file per command: what a user sees.

mod bearings;
mod bundle;
mod demo;
mod keys;
mod layout;
mod sample;
mod stakes;
mod sure;
mod survey;
mod thin;
mod together;
mod vigor;
