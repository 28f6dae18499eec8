//! One file per command: what a user sees.

mod demo;
mod keys;
mod layout;
mod survey;
mod thin;
