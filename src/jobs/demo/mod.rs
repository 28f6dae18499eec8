//! The invented estate.

mod blocks;
mod choice;
pub mod estate;
mod field_book;
mod ground;
mod mistakes;
mod records;
#[cfg(test)]
mod support;
mod truth;
