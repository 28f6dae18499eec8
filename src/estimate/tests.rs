//! The whole stage on invented ground whose truth is known.

use std::sync::Arc;

use super::{
    Field, Method, VineSet,
    count_noise::NoiseRules,
    design::{Ground, used_counts},
    kriging::Population,
    map,
};
use crate::{
    error::Error,
    finding::{Findings, Place},
    join::Observation,
    maths::{
        cholesky::Cholesky,
        covariance::{CovarianceModel, Family},
        float,
        nearest::square_distance,
        random::Random,
    },
    settings::{EstimateSettings, Settings},
};

pub(super) const SPACING_M: f64 = 2.0;
const ROW_M: f64 = 3.0;

/// Rows of vines, two metres of canopy each.
pub(super) struct Block {
    pub(super) ground: Ground,
}

impl Block {
    /// `kinds` of planting, in alternate rows.
    pub(super) fn new(rows: usize, vines: usize, kinds: usize) -> Self {
        let float = |n: usize| f64::from(u32::try_from(n).unwrap());
        let place = |n: usize| [float(n % vines) * SPACING_M, float(n / vines) * ROW_M];
        let at: Vec<[f64; 2]> = (0..rows * vines).map(place).collect();
        Self { ground: Self::ground(at, |n| (n / vines) % kinds, kinds) }
    }

    pub(super) fn ground(at: Vec<[f64; 2]>, kind: impl Fn(usize) -> usize, kinds: usize) -> Ground {
        let count = at.len();
        let kind: Vec<usize> = (0..count).map(kind).collect();
        let own: Vec<Option<usize>> = kind.iter().copied().map(Some).collect();
        let (least, most) = crate::maths::nearest::extent(&at);
        Ground {
            population: Arc::new(Population::with_means(at, &own, kinds)),
            stands: vec![true; count],
            young: vec![false; count],
            kind,
            kind_of_planting: (0..kinds).collect(),
            names: (0..kinds).map(|kind| format!("kind {kind}")).collect(),
            raster: None,
            spacing_m: SPACING_M,
            extent_m: (most[0] - least[0]).max(most[1] - least[1]),
        }
    }

    pub(super) fn len(&self) -> usize {
        self.ground.stands.len()
    }

    pub(super) fn field(
        &self,
        counts: &[Observation],
        settings: &EstimateSettings,
    ) -> Result<(Field, Findings), Error> {
        let canopy = vec![SPACING_M; self.len()];
        let none = settings.no_count_noise;
        let (used, _) = used_counts(&self.ground, counts, &canopy, none);
        let rules = NoiseRules { counting: true, observer_share: settings.observer_share, none };
        map::field(map::Quantity {
            ground: &self.ground,
            used,
            rules,
            settings,
            place: Place::default(),
            what: "shoots",
        })
    }

    /// The factor from which densities of all vines are drawn, nugget included.
    pub(super) fn pattern(&self, model: &CovarianceModel) -> Cholesky {
        let at = self.ground.population.places();
        let n = at.len();
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for k in 0..=i {
                matrix[i * n + k] = model.at(square_distance(at[i], at[k]).sqrt());
            }
            matrix[i * n + i] += model.nugget;
        }
        Cholesky::factor(matrix, n).unwrap()
    }

    pub(super) fn all(&self) -> VineSet {
        (0..self.len()).map(|vine| (vine, SPACING_M)).collect()
    }
}

pub(super) fn draw(pattern: &Cholesky, mean: f64, random: &mut Random) -> Vec<f64> {
    let draws: Vec<f64> = (0..pattern.size()).map(|_| random.normal()).collect();
    pattern.times(&draws).iter().map(|deviation| mean + deviation).collect()
}

pub(super) fn whole(vine: usize, per_m: f64) -> Observation {
    Observation {
        vines: vec![vine],
        per_m,
        canopy_m: SPACING_M,
        counted_m: SPACING_M,
        windows: vec![(per_m, SPACING_M)],
    }
}

pub(super) fn settings() -> EstimateSettings {
    Settings::default().estimate()
}

/// So many vines by lot.
pub(super) fn drawn(block: &Block, count: usize, random: &mut Random) -> Vec<usize> {
    let mut vines: Vec<usize> = (0..block.len()).collect();
    random.shuffle(&mut vines);
    vines.truncate(count);
    vines
}

pub(super) fn exponential(nugget: f64, psill: f64, range_m: f64) -> CovarianceModel {
    CovarianceModel { family: Family::Exponential, nugget, psill, range_m }
}

/// Whole vines by lot from a patterned field.
pub(super) fn counted(block: &Block, count: usize, seed: u64) -> (Vec<Observation>, Vec<f64>) {
    let mut random = Random::new(seed);
    let truth = draw(&block.pattern(&exponential(2.0, 6.0, 25.0)), 20.0, &mut random);
    let vines = drawn(block, count, &mut random);
    (vines.into_iter().map(|vine| whole(vine, truth[vine])).collect(), truth)
}

#[test]
fn the_number_of_counts_decides_what_is_said() {
    let block = Block::new(15, 30, 1);
    let (counts, _) = counted(&block, 60, 3);
    let method = |n: usize| block.field(&counts[..n], &settings()).unwrap().0;
    let none = method(0);
    assert!(none.method == Method::None && none.means_of(&[block.all()]).means == [None]);
    let four = method(4);
    assert!(four.method == Method::None && four.vines.iter().all(Option::is_none));
    let mean = four.means_of(&[block.all()]);
    let plain = counts[..4].iter().map(|count| count.per_m).sum::<f64>() / 4.0;
    // The mean of four exact counts, each standing for itself too: the observer's noise is small.
    assert!((mean.means[0].unwrap() - plain).abs() < 0.01 && mean.se(0) > 0.0);
    assert_eq!(mean.degrees_of_freedom, Some(3.0));
    for n in [5, 29] {
        let few = method(n);
        assert!(matches!(few.method, Method::Mean | Method::InverseDistance), "{n}");
        assert!(few.vines.iter().all(Option::is_some) && few.model.is_none());
    }
    let many = method(60);
    assert_eq!(many.method, Method::Kriging);
    assert!(many.model.is_some() && many.check.unwrap().skill() > 0.0);
}

#[test]
fn few_counts_make_means_of_many_vines_less_sure() {
    let block = Block::new(15, 30, 1);
    let (counts, _) = counted(&block, 60, 3);
    let quarter: VineSet = block.all().into_iter().filter(|(vine, _)| vine % 30 < 8).collect();
    let errors = |n: usize, widening_of_means: f64, fewest_for_means: usize| {
        let settings = EstimateSettings { fewest_for_means, widening_of_means, ..settings() };
        let field = block.field(&counts[..n], &settings).unwrap().0;
        let means = field.means_of(&[block.all(), quarter.clone()]);
        let each = field.each_mean_of(&[block.all(), quarter.clone()]);
        for (set, one) in each.into_iter().enumerate() {
            assert!((means.se(set) / one.unwrap().1 - 1.0).abs() < 1e-9, "{n}");
        }
        [means.se(0), means.se(1)]
    };
    for n in [20, 40] {
        let (computed, patternless, few) =
            (errors(n, 1.0, 5), errors(n, 1.0, 60), errors(n, 1.2, 60));
        let values: Vec<f64> = counts[..n].iter().map(|count| count.per_m).collect();
        let mean = values.iter().sum::<f64>() / float(n);
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let by_lot = (squares / float(n - 1) / float(n) * (1.0 - float(n) / 450.0)).sqrt();
        // The pattern that evenly spread counts seem to show would make the block surer.
        assert!(computed[0] < 0.98 * by_lot, "{n}: {computed:?} {by_lot}");
        assert!((patternless[0] / by_lot - 1.0).abs() < 0.02, "{n}: {patternless:?} {by_lot}");
        assert!((patternless[1] - computed[1]).abs() < 1e-9, "{n}: {patternless:?} {computed:?}");
        assert!((few[0] - patternless[0].max(1.2 * computed[0])).abs() < 1e-9, "{n}: {few:?}");
        assert!((few[1] / computed[1] - 1.2).abs() < 1e-9, "{n}: {few:?}");
    }
    let [one, other] = [errors(60, 1.0, 60), errors(60, 1.2, 60)];
    assert!(one.iter().zip(other).all(|(one, other)| (one - other).abs() < 1e-12));
}

#[test]
fn counts_without_a_pattern_make_one_mean_that_says_so() {
    let block = Block::new(15, 30, 1);
    let mut random = Random::new(2);
    let vines = drawn(&block, 60, &mut random);
    let counts: Vec<Observation> =
        vines.iter().map(|&vine| whole(vine, 20.0 + 2.0 * random.normal())).collect();
    let (field, _) = block.field(&counts, &settings()).unwrap();
    assert_eq!(field.method, Method::Mean, "{}", field.why);
    assert!(field.why.contains("no spatial pattern at this number of counts"), "{}", field.why);
    let uncounted = (0..block.len()).find(|vine| !vines.contains(vine)).unwrap();
    let mean = field.planting_means[0].unwrap();
    assert!((field.vines[uncounted].unwrap().per_m - mean).abs() < 1e-9);
}

#[test]
fn the_mean_of_few_exact_counts_has_the_finite_population_error() {
    // Cochran 1977, Sampling Techniques, §2.6: s²/n·(1 − n/N) for a simple random sample; here the
    // assumed pattern may widen it, never narrow it by more than the spread of the sample allows.
    let block = Block::new(10, 20, 1);
    let (counts, _) = counted(&block, 12, 8);
    let exact = EstimateSettings { observer_share: 0.0, ..settings() };
    let (field, _) = block.field(&counts, &exact).unwrap();
    let n = 12.0;
    let mean = counts.iter().map(|count| count.per_m).sum::<f64>() / n;
    let squares: f64 = counts.iter().map(|count| (count.per_m - mean).powi(2)).sum();
    let plain = (squares / (n - 1.0) / n * (1.0 - n / 200.0)).sqrt();
    let found = field.means_of(&[block.all()]).se(0);
    assert!(found > 0.7 * plain && found < 2.0 * plain, "{found} beside {plain}");
}

#[test]
fn intervals_of_vines_and_quarters_cover_what_they_say() {
    // Nominal 0.90. Simulation with a known truth: 40 fields each.
    let block = Block::new(16, 24, 1);
    let pattern = block.pattern(&exponential(4.0, 4.0, 15.0));
    let quarter = |vine: usize| usize::from(vine % 24 >= 12) + 2 * usize::from(vine / 24 >= 8);
    for (n, least_of_quarters) in [(12, 0.84), (60, 0.80)] {
        let mut random = Random::new(9);
        let (mut vines, mut quarters) = (Vec::new(), Vec::new());
        for _ in 0..40 {
            let truth = draw(&pattern, 20.0, &mut random);
            let chosen = drawn(&block, n, &mut random);
            let counts: Vec<_> = chosen.iter().map(|&vine| whole(vine, truth[vine])).collect();
            let (field, _) = block.field(&counts, &settings()).unwrap();
            for vine in (0..block.len()).filter(|vine| !chosen.contains(vine)) {
                let found = field.vines[vine].unwrap();
                let half = field.interval_factor() * found.se_per_m.unwrap();
                vines.push((found.per_m - truth[vine]).abs() <= half);
            }
            let of = |q| (0..block.len()).filter(move |&v| quarter(v) == q).map(|v| (v, 1.0));
            let sets: Vec<VineSet> = (0..4).map(|q| of(q).collect()).collect();
            let means = field.means_of(&sets);
            for (k, set) in sets.iter().enumerate() {
                let true_mean = set.iter().map(|&(vine, _)| truth[vine]).sum::<f64>() / 96.0;
                let error = (means.means[k].unwrap() - true_mean).abs();
                quarters.push(error <= means.factor90 * means.se(k));
            }
        }
        let (vines, quarters) = (share(&vines), share(&quarters));
        assert!((0.84..=0.95).contains(&vines), "{n} counts: vines {vines}");
        assert!((least_of_quarters..=0.97).contains(&quarters), "{n} counts: quarters {quarters}");
    }
}

pub(super) fn share(hits: &[bool]) -> f64 {
    let float = |n: usize| f64::from(u32::try_from(n).unwrap());
    float(hits.iter().filter(|hit| **hit).count()) / float(hits.len())
}
