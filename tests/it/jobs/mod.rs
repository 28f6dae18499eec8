//! One file per command: what a user sees.

mod demo;
mod layout;
mod sample;
mod stakes;
mod thin;
