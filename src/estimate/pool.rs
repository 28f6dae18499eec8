//! One variation for several small blocks of a run, each with means of its own.
//!
//! A dozen counts fit no variation; a dozen in each of six blocks do, if vines vary alike in all of
//! them. The restricted likelihoods of the blocks are added: counts of different blocks say nothing
//! about each other, only about the variation (`docs/methods.md`).

use super::{
    count_noise::NoiseRules,
    design::{Ground, used_counts},
    fit::{FitRules, Reml},
    kriging::Observed,
    map::Quantity,
};
use crate::{
    finding::{Finding, Findings, Place},
    frame::Site,
    join::Joined,
    layout::Layout,
    maths::covariance::CovarianceModel,
    names::number_of,
    settings::{EstimateSettings, SharedVariation},
};

/// The variation of shoots that the blocks with fewer counts than a fit needs share; `None` where
/// no block has so few.
///
/// # Errors
/// A doubt, in words: too few counts in all, or no pattern in them.
pub fn share(
    blocks: &[(&Site, &Layout, &Joined)],
    settings: &EstimateSettings,
) -> Result<Option<SharedVariation>, Finding> {
    let parts: Vec<Part> = blocks.iter().filter_map(|block| Part::new(*block, settings)).collect();
    let counts: usize = parts.iter().map(|part| part.observed.len()).sum();
    if parts.is_empty() {
        return Ok(None);
    }
    let of_what = format!("{} of {}", number_of(counts, "count"), number_of(parts.len(), "block"));
    let refused = |why: String| {
        Finding::warning(Place::field("--pool"), format!("{of_what} are not put together"))
            .because(why)
            .mend("count more vines; each small block is estimated for itself")
    };
    let fewest = settings.fewest_for_kriging;
    if counts < fewest {
        return Err(refused(format!("a shared variation needs {fewest}")));
    }
    let model = fitted(&parts, settings);
    let model = model.ok_or_else(|| refused("no variation could be fitted".to_owned()))?;
    let share = model.nugget / (model.nugget + model.psill);
    if share > settings.most_nugget_share {
        return Err(refused(format!("{:.0} % of their variation is nugget", 100.0 * share)));
    }
    Ok(Some(SharedVariation { model, blocks: parts.len(), counts }))
}

/// A small block.
struct Part {
    ground: Ground,
    /// Its counts with their noise around the block's own means.
    observed: Vec<Observed>,
}

impl Part {
    /// `None` where counts are too few for a map or enough for a fit.
    fn new(
        (site, layout, joined): (&Site, &Layout, &Joined),
        settings: &EstimateSettings,
    ) -> Option<Self> {
        let ground = Ground::new(site, layout, joined, settings);
        let canopy: Vec<f64> = joined.vines.iter().map(|vine| vine.canopy_m).collect();
        let (used, _) = used_counts(&ground, &joined.shoots, &canopy, false);
        let observer_share = settings.observer_share;
        let mut quantity = Quantity {
            ground: &ground,
            used,
            rules: NoiseRules { counting: true, observer_share, none: false },
            settings,
            place: Place::default(),
            what: "shoots",
        };
        quantity.choose_kinds(&mut Findings::none());
        let few = settings.fewest_for_map..settings.fewest_for_kriging;
        let settled = few.contains(&quantity.used.len()).then(|| quantity.settle_mean());
        let observed = settled.flatten()?.observed;
        Some(Self { ground, observed })
    }
}

fn fitted(parts: &[Part], settings: &EstimateSettings) -> Option<CovarianceModel> {
    let spacing_m = parts.iter().map(|part| part.ground.spacing_m).fold(f64::MAX, f64::min);
    let longest_m = parts.iter().map(|part| part.ground.extent_m).fold(0.0, f64::max);
    let rules = FitRules::on_ground(settings.family, spacing_m, longest_m);
    let blocks = parts.iter().map(|part| (&*part.ground.population, part.observed.as_slice()));
    let noise: Vec<f64> =
        parts.iter().flat_map(|part| &part.observed).map(|count| count.noise).collect();
    Reml::over(&blocks.collect::<Vec<_>>(), rules)?.fit(&noise)
}
