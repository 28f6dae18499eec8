//! From results to layers, tables and reports: names, units, nulls and rounding, once.
//!
//! Every property is declared in one place with its name, kind, unit, meaning and value, so that
//! what a file says, what `docs/formats.md` says and what is computed cannot drift apart. Places
//! leave the block's plane here and nowhere else.
//!
//! What a reader of the files need not worry about: a zone's `remove`, `hours`, `canopy_m` and
//! `vines` are the sums of its vines as they are written, and the totals those of the zones.

mod audit;
mod audit_places;
mod audit_report;
mod balloons;
mod bearings;
mod bundle_readme;
mod counts;
mod crew_report;
mod crew_sheet;
mod ground;
mod guidance;
mod layout_report;
mod materials;
mod outlines;
mod panels;
mod per_foot;
mod planting_map;
mod posts;
mod property;
mod pruned_vines;
mod pruning_report;
mod pruning_summary;
mod pruning_tables;
mod reference;
mod rows;
mod sample;
mod sample_sizes;
mod season_summary;
mod season_table;
mod season_zones;
mod set_means;
mod stakeout;
mod stakeout_readme;
mod standing;
mod sure;
mod text_page;
mod thinned;
mod thinned_map;
mod thinning_report;
mod vines;
mod waypoint_files;
mod weighed_table;
mod zones;

pub use audit::{AuditedBlock, audit_table, audit_zones};
pub use audit_places::audit_pairs;
pub use audit_report::{
    AmountReport, BandReport, CameOffReport, FactsReport, MeanReport, TimedReport, audit_json,
};
pub use balloons::map_kmz;
pub(in crate::write) use balloons::{in_words, zone_in_short};
pub use bearings::bearings_table;
pub use bundle_readme::{BundleSheet, BundledBlock, bundle_readme};
pub use counts::{counts_joined, counts_joined_of, counts_joined_twice, unjoined};
pub use crew_sheet::crew_table;
pub use guidance::{guidance, guidance_kml};
pub use layout_report::layout_json;
pub use materials::materials_table;
pub use outlines::{block, keep_outs};
pub use panels::panels;
pub use planting_map::{planting_gpkg, planting_kmz};
pub use posts::posts;
pub use pruned_vines::pruned_vines;
pub use pruning_report::{pruning_json, pruning_summary};
pub use pruning_summary::{
    BandSummary, BudSummary, ClassSummary, LimitsSummary, LoadSummary, PlantingSummary,
    PruningSummary, RuleSummary,
};
pub use pruning_tables::pruning_table;
pub use reference::{as_markdown, columns_of_files};
pub use rows::rows;
pub use sample::{next_sheet, sample, sample_sheet, sample_waypoints};
pub use sample_sizes::sample_sizes;
pub use season_summary::{
    SeasonPart, SeasonPartYear, SeasonSummary, SeasonView, SeasonVine, SeasonVisit, SeasonYear,
    season_json, season_summary,
};
pub use season_table::season_table;
pub use season_zones::season_zones;
pub(in crate::write) use set_means::{SetMean, means};
pub use stakeout::{FINDING_THE_WAY, PointOrder, StakeNumbers, stakeout_table, waypoints};
pub use stakeout_readme::{StakeSheet, stakeout_readme};
pub use standing::block_standing;
pub use thinned::Thinned;
pub use thinned_map::thinned_gpkg;
pub use thinning_report::thinning_json;
pub use vines::{planted_vines, vines};
pub use waypoint_files::{WaypointFile, waypoint_files};
pub use weighed_table::weighed_table;
pub use zones::{zones, zones_table};
