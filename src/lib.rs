//! From block outlines and shoot counts to a thinning plan that a crew can follow.
//!
//! In late spring, when shoots are about a hand long, far too many stand on each length of canopy.
//! A grower counts shoots on some vines; this library lays out the rows and vines of the block,
//! joins the counts to them, estimates every vine honestly, draws zones of whole panels, and plans
//! what comes off, in how many hours, and until when. For a block to be planted it gives the rows,
//! vines and posts, what they take, and the files to stake them out.
//!
//! ```no_run
//! use catchwire::{jobs::{Call, OutputOptions, thin::thin}, read::Request};
//!
//! let call = Call {
//!     request: Request {
//!         blocks: "block.geojson".into(),
//!         counts: vec!["counts.csv".into()],
//!         ..Request::default()
//!     },
//!     output: OutputOptions { folder: Some("plan".into()), ..OutputOptions::default() },
//!     ..Call::default()
//! };
//! let report = thin(&call)?;
//! for zone in report.blocks.iter().filter_map(|block| block.thinning.as_ref()).flat_map(|t| &t.zones) {
//!     println!("{}: {}, take off {:.0} shoots", zone.zone, zone.verdict, zone.remove[0]);
//! }
//! # Ok::<(), catchwire::error::Error>(())
//! ```
//!
//! # The flow
//!
//! One block is seen four ways, each made from the one before:
//!
//! | value | made by | what it is |
//! | --- | --- | --- |
//! | [`block::Block`] | [`read`] | what the grower says, in longitude and latitude |
//! | [`frame::Site`] | [`frame::place_block`] | the same on a plane, metres along and across the rows |
//! | [`layout::Layout`] | [`layout::lay_out`] | rows, vines, posts and panels |
//! | [`join::Joined`] | [`join::join`] | what stands and was counted at every place |
//!
//! For a new planting [`layout::compare::compare`] counts what other bearings would give; for one
//! that stands [`sample::choose`] says which vines to count. Then [`estimate::estimate`] believes
//! something about every vine, [`zones::draw_zones`] finds the parts that differ, [`plan::plan`]
//! decides, after the work [`audit::audit`] says what it reached, in winter [`prune::prune`] says what
//! to keep, and [`season::compare`] what changed since the year before; [`picture`] and [`write`] show
//! it. [`jobs`] are the commands, composition only. A module
//! imports only from modules above it in the list below.
//!
//! # What it does not do
//!
//! It never says that something is safe, advises no product, sizes no structure, and gives no
//! number where the counts allow none. It reads no clock and uses no network: the same inputs give
//! the same bytes.

pub mod units;

pub mod finding;
pub mod maths;
pub mod names;

pub mod error;

pub mod geodesy;

pub mod block;
pub mod counts;
pub mod grid;

pub mod settings;

pub mod read;

pub mod frame;
pub mod layout;

pub mod join;
pub mod sample;

pub mod estimate;
pub mod zones;

pub mod plan;

pub mod audit;
pub mod prune;
pub mod season;

pub mod picture;
pub mod write;

pub mod jobs;
