//! One file per command, composition only.

pub mod demo;
