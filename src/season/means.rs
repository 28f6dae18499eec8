//! Means of the same vines under each year's estimate.

use crate::{
    estimate::{Field, VineSet},
    join::Joined,
    zones::ZoneMean,
};

/// Sets asked about at once: every ask makes a square matrix of this size.
const ASKED_AT_ONCE: usize = 32;

/// The means of groups of vines, weighted by the canopy that they had in that year; vines that did
/// not stand then are passed over. `None` where nothing can be said.
pub(super) fn means(
    field: &Field,
    joined: &Joined,
    groups: &[Vec<usize>],
) -> Vec<Option<ZoneMean>> {
    let set = |vines: &Vec<usize>| -> VineSet {
        vines.iter().map(|&vine| (vine, joined.vines[vine].canopy_m)).collect()
    };
    let sets: Vec<VineSet> = groups.iter().map(set).collect();
    sets.chunks(ASKED_AT_ONCE).flat_map(|some| asked(field, some)).collect()
}

fn asked(field: &Field, sets: &[VineSet]) -> Vec<Option<ZoneMean>> {
    let found = field.means_of(sets);
    (0..sets.len()).map(|set| ZoneMean::of(&found, set)).collect()
}
