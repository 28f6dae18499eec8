//! Numbers from elsewhere: standards, handbooks, other programs, surveys.

mod elevation;
mod estimates;
mod geodesy;
mod given_zones;
mod ground;
mod layout;
mod next_counts;
mod pictures;
mod pivotal;
mod plan;
mod pooling;
mod raster_zones;
mod sampling;
mod terrain;
mod totals;
mod zone_borders;
mod zone_numbers;
mod zones;
