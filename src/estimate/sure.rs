//! How sure an estimate is, gathered for people: what was counted, how well counts are foretold, how
//! wide intervals are, and what is doubtful.

use super::{
    ByDesign, Estimate, Field, LeaveOneOut, Method, VineSet,
    observers::{Difference, Observer, observers},
    variogram::{Variogram, reach_m},
};
use crate::{
    finding::{Finding, Findings, Place},
    frame::Site,
    join::Joined,
    layout::Layout,
    maths::{float, normal::incomplete_beta, whole},
    settings::EstimateSettings,
};

/// So many in a hundred counts should fall into their interval.
const NOMINAL: f64 = 0.9;
/// Fewer within than chance gives once in twenty is told.
const CHANCE: f64 = 0.05;

/// How sure an estimate of shoots is.
#[derive(Debug, Clone, PartialEq)]
pub struct Sure {
    /// Counts that it rests on.
    pub counts: usize,
    /// Vines that were counted, young ones too.
    pub counted_vines: usize,
    /// Vines that stand.
    pub vines: usize,
    /// How the map was made.
    pub method: Method,
    /// Fewest counts for a map, and for a fitted variation.
    pub fewest: [usize; 2],
    /// How well counts are foretold from the others.
    pub check: Option<LeaveOneOut>,
    /// Counts in their interval.
    pub coverage: Option<Coverage>,
    /// Each count: foretold from the others, counted; per metre.
    pub foretold: Vec<[f64; 2]>,
    /// Half the 90 % interval of a vine that was not counted, the median of them, per metre.
    pub vine_half90_per_m: Option<f64>,
    /// The mean of the block.
    pub block: Option<BlockMean>,
    /// How counts differ by their distance, where a variation is fitted or given.
    pub variogram: Option<Variogram>,
    /// Everybody who counted.
    pub observers: Vec<Observer>,
    /// Pairs of them who differ, or counted the same vines.
    pub compared: Vec<Difference>,
    /// What is doubtful about the shoots.
    pub warnings: Vec<Finding>,
}

/// The mean density of a block with its 90 % interval, shoots per metre of canopy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockMean {
    /// The mean.
    pub per_m: f64,
    /// Half the interval.
    pub half90_per_m: f64,
    /// True when it rests on the draw alone and holds for what could be drawn; false when it comes
    /// from the map and is about every vine with an estimate.
    pub from_draw: bool,
}

impl BlockMean {
    /// From the draw alone where that is given and counts are too few for a fitted variation, else
    /// from the map.
    fn new(estimate: &Estimate, joined: &Joined, fewest_for_kriging: usize) -> Option<Self> {
        let shoots = &estimate.shoots;
        let few = shoots.observations < fewest_for_kriging;
        let by_draw = estimate.by_design.as_ref().filter(|_| few).and_then(Self::by_draw);
        by_draw.or_else(|| Self::by_map(joined, shoots))
    }

    fn by_draw(design: &ByDesign) -> Option<Self> {
        let mean = design.block?;
        Some(Self { per_m: mean.per_m, half90_per_m: mean.half90(), from_draw: true })
    }

    fn by_map(joined: &Joined, shoots: &Field) -> Option<Self> {
        let vines: VineSet =
            joined.vines.iter().enumerate().map(|(at, vine)| (at, vine.canopy_m)).collect();
        let means = shoots.means_of(&[vines]);
        let per_m = (*means.means.first()?)?;
        Some(Self { per_m, half90_per_m: means.factor90 * means.se(0), from_draw: false })
    }

    /// Both ends of the interval; a density is not below 0.
    pub fn ends90_per_m(&self) -> [f64; 2] {
        [(self.per_m - self.half90_per_m).max(0.0), self.per_m + self.half90_per_m]
    }
}

/// Counts that fell into the 90 % interval which the others foretold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coverage {
    /// Counts within.
    pub within: usize,
    /// All of them.
    pub of: usize,
    /// Chance alone gives fewer less than once in twenty.
    pub least_by_chance: usize,
}

impl Coverage {
    /// From the share within.
    fn new(share: f64, of: usize) -> Self {
        let least = (0..=of).find(|&within| at_most(within, of) >= CHANCE).unwrap_or(of);
        Self { within: whole((share * float(of)).round()), of, least_by_chance: least }
    }

    /// Too few within to be chance.
    pub const fn is_low(self) -> bool {
        self.within < self.least_by_chance
    }
}

/// Probability of at most so many of n within, when each is with probability 0.9: the binomial
/// distribution by the incomplete beta function (Abramowitz & Stegun 1964, 26.5.24).
fn at_most(within: usize, of: usize) -> f64 {
    if within >= of {
        return 1.0;
    }
    incomplete_beta(float(of - within), float(within + 1), 1.0 - NOMINAL)
}

/// How sure the shoots of an estimate are, and the doubts that come to light only here.
pub fn how_sure(
    site: &Site,
    layout: &Layout,
    joined: &Joined,
    estimate: &Estimate,
    settings: &EstimateSettings,
) -> (Sure, Findings) {
    let place = Place::default().in_feature(format!("block {}", site.name));
    Asked { site, layout, joined, settings, place }.how_sure(estimate)
}

/// What is asked, and of what.
pub(super) struct Asked<'a> {
    pub site: &'a Site,
    pub layout: &'a Layout,
    pub joined: &'a Joined,
    pub settings: &'a EstimateSettings,
    pub place: Place,
}

impl Asked<'_> {
    fn how_sure(&self, estimate: &Estimate) -> (Sure, Findings) {
        let field = &estimate.shoots;
        let coverage = field.check.map(|c| Coverage::new(c.coverage90, field.left_out.len()));
        let (observers, compared) = observers(self.joined, &field.left_out);
        let doubts = self.doubts(field, coverage, &compared);
        let present = || self.joined.vines.iter().filter(|vine| !vine.status.is_missing());
        let foretold = field.left_out.iter().map(|one| [one.foretold_per_m, one.counted_per_m]);
        let sure = Sure {
            counts: field.observations,
            counted_vines: present().filter(|vine| vine.counted).count(),
            vines: present().count(),
            method: field.method,
            fewest: [self.settings.fewest_for_map, self.settings.fewest_for_kriging],
            check: field.check,
            coverage,
            foretold: foretold.collect(),
            vine_half90_per_m: self.vine_half90(field),
            block: BlockMean::new(estimate, self.joined, self.settings.fewest_for_kriging),
            variogram: field
                .model_of_all_ways()
                .and_then(|model| Variogram::new(&self.deviations(field), model, self.step(field))),
            observers,
            compared,
            warnings: estimate.doubts.iter().chain(doubts.iter()).cloned().collect(),
        };
        (sure, doubts)
    }

    fn doubts(
        &self,
        field: &Field,
        coverage: Option<Coverage>,
        compared: &[Difference],
    ) -> Findings {
        let mut doubts = Findings::none();
        if let Some(model) = field.model {
            let given = self.settings.pinned.is_some();
            doubts.extend(self.no_close_pairs(field).filter(|_| !given).into_iter().collect());
            doubts.extend(self.far_vines(field, reach_m(&model)).into_iter().collect());
        }
        doubts.extend(
            coverage.and_then(|coverage| self.low_coverage(coverage)).into_iter().collect(),
        );
        let differ = compared.iter().filter(|two| two.differs);
        doubts.extend(differ.map(|two| self.two_differ(two)).collect());
        doubts
    }

    fn low_coverage(&self, coverage: Coverage) -> Option<Finding> {
        let Coverage { within, of, least_by_chance } = coverage;
        let what = format!("of {of} counts only {within} fell into the 90 % interval foretold");
        coverage.is_low().then(|| {
            Finding::warning(self.place.clone(), what)
                .because(format!(
                    "chance leaves fewer than {least_by_chance} less than once in twenty: the \
                     ranges are too narrow"
                ))
                .mend("take every range for wider than it is printed")
        })
    }

    fn two_differ(&self, two: &Difference) -> Finding {
        Finding::warning(self.place.at_field("counted_by"), two.words())
            .because("the map may show who counted where, and not how vines differ")
            .mend("let both count the same five vines, agree on what a shoot is, and count again")
    }

    /// Half the interval of a vine that nobody counted.
    fn vine_half90(&self, field: &Field) -> Option<f64> {
        let uncounted = field.vines.iter().zip(&self.joined.vines).filter(|(_, at)| !at.counted);
        let errors = uncounted.filter_map(|(vine, _)| vine.as_ref()?.se_per_m);
        let mut errors: Vec<f64> = errors.collect();
        errors.sort_by(f64::total_cmp);
        Some(field.interval_factor() * errors.get(errors.len() / 2)?)
    }

    /// Each count less its planting's mean and trend, at the middle of its vines.
    fn deviations(&self, field: &Field) -> Vec<([f64; 2], f64)> {
        let one = |count: &super::LeftOut| {
            let first = self.joined.vines.get(*count.vines.first()?)?;
            let mean = field.planting_means.get(first.planting).copied().flatten()?;
            let n = float(count.vines.len());
            let at = |axis: fn(&crate::frame::RowPoint) -> f64| {
                count.vines.iter().map(|&vine| axis(&self.layout.vines[vine].at)).sum::<f64>() / n
            };
            let middle = [at(|place| place.along_m), at(|place| place.across_m)];
            Some((middle, count.counted_per_m - mean - field.trend_per_m(&count.vines)))
        };
        field.left_out.iter().filter_map(one).collect()
    }

    /// Nugget and counting noise of a count: of several vines together the nugget is less.
    fn step(&self, field: &Field) -> f64 {
        let canopy = |vine: &usize| self.joined.vines[*vine].canopy_m;
        let share = |count: &super::LeftOut| {
            let total: f64 = count.vines.iter().map(canopy).sum();
            count.vines.iter().map(|vine| (canopy(vine) / total).powi(2)).sum::<f64>()
        };
        let n = float(field.left_out.len().max(1));
        let shares = field.left_out.iter().map(share).filter(|share| share.is_finite());
        field.nugget() * shares.sum::<f64>() / n + field.count_noise
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chance_leaves_so_many_counts_outside() {
        // Binomial(40, 0.9): P(X ≤ 32) = 0.041902, P(X ≤ 33) = 0.099516, summed in Python.
        assert!((at_most(32, 40) - 0.041_902).abs() < 1e-6, "{}", at_most(32, 40));
        let of = |share| Coverage::new(share, 40);
        assert_eq!(of(0.9).least_by_chance, 33);
        assert!(of(32.0 / 40.0).is_low() && !of(33.0 / 40.0).is_low());
        assert!(!Coverage::new(1.0, 3).is_low());
    }
}
