//! A quantity that is known at every vine: no map is made of it, its values are taken as they are.

use super::{Field, Method, VineEstimate, design::Ground};
use crate::{join::Joined, maths::float};

/// The raster of vigor at every vine that stands, without an interval: how far a raster is off, it
/// does not say.
pub(super) fn raster(ground: &Ground, joined: &Joined) -> Field {
    let values = joined.raster.as_deref().unwrap_or_default();
    let value = |vine: usize| values.get(vine).copied().flatten().filter(|_| ground.stands[vine]);
    let vines: Vec<Option<VineEstimate>> = (0..ground.stands.len())
        .map(|vine| {
            value(vine).map(|at| VineEstimate { per_m: at, se_per_m: None, surface_per_m: at })
        })
        .collect();
    let of_kind: Vec<Option<[f64; 2]>> = (0..ground.names.len())
        .map(|kind| {
            let own = |&vine: &usize| ground.kind[vine] == kind && !ground.young[vine];
            mean_and_spread(&(0..vines.len()).filter(own).filter_map(value).collect::<Vec<_>>())
        })
        .collect();
    let of_planting = |part: usize| {
        let kinds = ground.kind_of_planting.iter();
        kinds.map(|&kind| of_kind[kind].map(|both| both[part])).collect()
    };
    let known = vines.iter().flatten().count();
    Field {
        method: Method::Given,
        why: format!("a raster, read at {known} vines"),
        model: None,
        across_ratio: 1.0,
        check: None,
        left_out: Vec::new(),
        count_noise: 0.0,
        observations: known,
        planting_means: of_planting(0),
        planting_spreads: of_planting(1),
        solved: None,
        vines,
    }
}

/// Mean and standard deviation; `None` of fewer than two values.
fn mean_and_spread(values: &[f64]) -> Option<[f64; 2]> {
    let n = float(values.len());
    if values.len() < 2 {
        return None;
    }
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Some([mean, (squares / (n - 1.0)).sqrt()])
}

impl Field {
    /// The weighted mean of the values of a set; `None` where there is none.
    pub(super) fn mean_of_given(&self, set: &[(usize, f64)]) -> Option<f64> {
        let known =
            |&(vine, metres): &(usize, f64)| Some((self.vines.get(vine)?.as_ref()?, metres));
        let (sum, all) = set
            .iter()
            .filter_map(known)
            .filter(|(_, metres)| *metres > 0.0)
            .fold((0.0, 0.0), |(sum, all), (value, metres)| {
                (sum + value.per_m * metres, all + metres)
            });
        (self.method == Method::Given && all > 0.0).then(|| sum / all)
    }
}
