//! `sure` in `thinning.json`: how sure the estimate of shoots is.

use serde::Serialize;

use super::thinned::DECIMALS;
use crate::{
    estimate::{
        observers::{Difference, Observer},
        sure::Sure,
        variogram::{Bin, Variogram},
    },
    write::layers::rounded,
};

/// How sure the estimate of shoots is.
#[derive(Debug, Serialize)]
pub(super) struct SureReport<'a> {
    counts: usize,
    counted_vines: usize,
    vines: usize,
    coverage: Option<CoverageReport>,
    vine_half90_per_m: Option<f64>,
    block_per_m: Option<f64>,
    block_half90_per_m: Option<f64>,
    variogram: Option<VariogramReport>,
    observers: Vec<ObserverReport<'a>>,
    compared: Vec<DifferenceReport<'a>>,
    warnings: Vec<String>,
}

#[derive(Debug, Serialize)]
struct CoverageReport {
    within: usize,
    of: usize,
    least_by_chance: usize,
}

#[derive(Debug, Serialize)]
struct VariogramReport {
    cutoff_m: f64,
    width_m: f64,
    reach_m: f64,
    /// Nugget and counting noise of a count.
    step: f64,
    all: Vec<BinReport>,
    along: Option<Vec<BinReport>>,
    across: Option<Vec<BinReport>>,
}

#[derive(Debug, Serialize)]
struct BinReport {
    pairs: usize,
    distance_m: f64,
    gamma: f64,
}

#[derive(Debug, Serialize)]
struct ObserverReport<'a> {
    counted_by: &'a str,
    counts: usize,
    counted_over_foretold: Option<f64>,
}

#[derive(Debug, Serialize)]
struct DifferenceReport<'a> {
    counts_more: &'a str,
    counts_less: &'a str,
    ratio: f64,
    counts: [usize; 2],
    same_vines: bool,
    chance: f64,
    differs: bool,
}

impl<'a> SureReport<'a> {
    /// From what is known.
    pub(super) fn of(sure: &'a Sure) -> Self {
        let round = |value: f64| rounded(value, DECIMALS);
        Self {
            counts: sure.counts,
            counted_vines: sure.counted_vines,
            vines: sure.vines,
            coverage: sure.coverage.map(|coverage| CoverageReport {
                within: coverage.within,
                of: coverage.of,
                least_by_chance: coverage.least_by_chance,
            }),
            vine_half90_per_m: sure.vine_half90_per_m.map(round),
            block_per_m: sure.block.map(|mean| round(mean.per_m)),
            block_half90_per_m: sure.block.map(|mean| round(mean.half90_per_m)),
            variogram: sure.variogram.as_ref().map(variogram),
            observers: sure.observers.iter().map(observer).collect(),
            compared: sure.compared.iter().map(difference).collect(),
            warnings: sure.warnings.iter().map(ToString::to_string).collect(),
        }
    }
}

fn variogram(drawn: &Variogram) -> VariogramReport {
    let [along, across] = drawn.by_way.as_ref().map_or([None, None], |[along, across]| {
        [along, across].map(|bins| Some(bins.iter().map(bin).collect()))
    });
    VariogramReport {
        cutoff_m: rounded(drawn.rules.cutoff_m, DECIMALS),
        width_m: rounded(drawn.rules.width_m, DECIMALS),
        reach_m: rounded(drawn.reach_m(), DECIMALS),
        step: rounded(drawn.step, DECIMALS),
        all: drawn.all.iter().map(bin).collect(),
        along,
        across,
    }
}

fn bin(bin: &Bin) -> BinReport {
    BinReport {
        pairs: bin.pairs,
        distance_m: rounded(bin.distance_m, DECIMALS),
        gamma: rounded(bin.gamma, DECIMALS),
    }
}

fn observer(one: &Observer) -> ObserverReport<'_> {
    ObserverReport {
        counted_by: &one.name,
        counts: one.counts,
        counted_over_foretold: one.counted_over_foretold.map(|ratio| rounded(ratio, DECIMALS)),
    }
}

fn difference(two: &Difference) -> DifferenceReport<'_> {
    let [counts_more, counts_less] = &two.names;
    DifferenceReport {
        counts_more,
        counts_less,
        ratio: rounded(two.ratio, DECIMALS),
        counts: two.counts,
        same_vines: two.same_vines,
        chance: rounded(two.chance, DECIMALS),
        differs: two.differs,
    }
}
