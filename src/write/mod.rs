//! Results out: layers, tables, records and the files they end in.
//!
//! Takes what the stages before found, gives bytes with names, and lets a set of files appear in
//! one step. Never computes a result, never knows a clock, never writes over an input.
//!
//! ```text
//!   Site, Layout ─┐                      ┌─▶ geojson ─┐
//!   Evidence, Plan ┴─ properties ─▶ Layer ┼─▶ kml, zip ┼─▶ Delivery ─▶ DIR
//!                                  Table ─┴─▶ csv      │
//!              ScreenMaps, Sure ─ page ─▶ HTML           │
//!                               RunRecord ─────────────┘
//! ```
//!
//! Formats see only a [`Layer`] or a [`Table`]: names, units, nulls and rounding are settled once,
//! in [`properties`], and so are the places in longitude and latitude.

pub mod cog;
pub mod count_sheet;
pub mod csv;
pub mod files;
pub mod flatgeobuf;
pub mod geojson;
pub mod geopackage;
pub mod geotiff;
pub mod gpx;
pub mod kml;
pub mod kml_overlays;
pub mod layers;
pub mod page;
pub mod properties;
mod rings;
pub mod run_record;
pub mod side_files;
mod swap;
mod tiff_tag;
#[cfg(test)]
mod validators;
pub mod wanted;
pub mod zip;

pub use files::{Delivery, Planned, Protect};
pub use layers::{Area, Column, Feature, Kind, Layer, Shape, Table, Value};
pub use run_record::{FrameRecord, RunRecord};
pub use wanted::Wanted;
