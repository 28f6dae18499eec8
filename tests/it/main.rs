//! One binary for all integration tests: PROJ makes every test executable large.
//!
//! Where a new test belongs:
#![expect(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

// Helpers: a folder with an estate, a run of the program, reading back.
mod support;

// The rule of docs/architecture.md: a module imports only from rows above its own.
mod import_direction;
// Numbers from elsewhere, the source on the line above each.
mod outside;
// Properties: rotate, mirror, shift, reorder; sums; same bytes.
mod laws;
// One file per command: what a user sees.
mod jobs;
// Bad inputs, one table row each: exit code, message, nothing written.
mod faults;
// The same for the other formats of maps.
mod faults_inputs;
// One block in every format: the same rows and vines.
mod inputs;
// Counts as they come back: through a spreadsheet, as a workbook, from phones.
mod counts_back;
// What is written: sums, hashes, ring order, read back by the program and by others.
mod written;
// Every file before the validators of its format.
mod validators;
// Geographic files read back through GDAL: ids, order, places.
mod read_back;
// The same for maps as rasters: whose ground a cell is, grid, unit, numbers.
mod rasters;
// The readers of docs/recipes.md on the demo.
mod recipes;
// The page that thin writes, in a browser.
mod browser;
// The page that sample writes, counted on by a finger.
mod count_sheet;
// Pictures against those kept in docs/pictures, and the gallery of them.
mod pictures;
// Guide, README and formats against what the program does.
mod docs;
