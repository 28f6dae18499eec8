//! One file per command: what a user sees.

mod demo;
mod layout;
mod stakes;
mod thin;
