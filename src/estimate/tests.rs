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
fn counted(block: &Block, count: usize, seed: u64) -> (Vec<Observation>, Vec<f64>) {
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

#[test]
fn the_order_of_counts_and_the_number_of_threads_change_no_byte() {
    let block = Block::new(15, 30, 2);
    let (mut counts, _) = counted(&block, 60, 5);
    let told = |counts: &[Observation], threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| {
            let (field, _) = block.field(counts, &settings()).unwrap();
            let means = field.means_of(&[block.all(), vec![(3, 1.0), (4, 2.0)]]);
            format!("{:?} {:?} {means:?}", field.vines, field.model)
        })
    };
    let first = told(&counts, 1);
    assert_eq!(first, told(&counts, 3));
    counts.reverse();
    assert_eq!(first, told(&counts, 2));
}

#[test]
fn a_shifted_and_mirrored_block_has_the_same_estimates() {
    let block = Block::new(15, 30, 1);
    let (counts, _) = counted(&block, 60, 6);
    let (first, _) = block.field(&counts, &settings()).unwrap();
    let moved = |at: &[f64; 2]| [5000.0 - at[0], at[1] - 300.0];
    let at = block.ground.population.places().iter().map(moved).collect();
    let (second, _) =
        Block { ground: Block::ground(at, |_| 0, 1) }.field(&counts, &settings()).unwrap();
    for (a, b) in first.vines.iter().zip(&second.vines) {
        let (a, b) = (a.unwrap(), b.unwrap());
        assert!((a.per_m - b.per_m).abs() < 1e-6, "{} {}", a.per_m, b.per_m);
        assert!((a.se_per_m.unwrap() - b.se_per_m.unwrap()).abs() < 1e-6);
    }
}

#[test]
fn counts_that_are_all_alike_divide_nothing_by_zero() {
    let block = Block::new(10, 20, 1);
    for value in [0.0, 14.0] {
        for n in [3, 8, 40] {
            let counts: Vec<Observation> = (0..n).map(|k| whole(5 * k, value)).collect();
            let (field, _) = block.field(&counts, &settings()).unwrap();
            for vine in field.vines.iter().flatten() {
                assert!((vine.per_m - value).abs() < 1e-6 && vine.se_per_m.unwrap() < 1.0);
            }
            let means = field.means_of(&[block.all()]);
            assert!((means.means[0].unwrap() - value).abs() < 1e-6, "{value} {n}");
            assert!(means.se(0).is_finite() && means.factor90.is_finite());
        }
    }
}

#[test]
fn every_planting_has_its_own_mean_and_none_borrows_one() {
    let mut block = Block::new(12, 30, 2);
    let mut random = Random::new(4);
    let counts: Vec<Observation> = drawn(&block, 80, &mut random)
        .into_iter()
        .map(|vine| {
            let own = if block.ground.kind[vine] == 0 { 12.0 } else { 24.0 };
            whole(vine, own + random.normal())
        })
        .collect();
    let (field, findings) = block.field(&counts, &settings()).unwrap();
    assert!(findings.is_empty());
    for (mean, expected) in field.planting_means.iter().zip([12.0, 24.0]) {
        assert!((mean.unwrap() - expected).abs() < 0.6, "{mean:?}");
    }
    // The second planting is counted on three vines only.
    let of = |kind: usize| {
        let own = counts.iter().filter(|count| block.ground.kind[count.vines[0]] == kind);
        own.cloned().collect::<Vec<_>>()
    };
    let lopsided = [of(0), of(1)[..3].to_vec()].concat();
    block.ground.stands[7] = false;
    let (field, findings) = block.field(&lopsided, &settings()).unwrap();
    assert!(field.vines[0].is_some() && field.vines[7].is_none() && field.vines[30].is_none());
    assert_eq!((field.planting_means[1], findings.iter().count()), (None, 1));
    let means = field.means_of(&[vec![(30, 1.0)], vec![(0, 1.0), (7, 1.0), (30, 1.0)]]);
    assert!(means.means[0].is_none() && means.covariance_of(0, 1).abs() < f64::MIN_POSITIVE);
    assert!((means.means[1].unwrap() - field.vines[0].unwrap().per_m).abs() < 1e-12);
}

#[test]
fn a_whole_panel_is_the_mean_of_its_vines() {
    let block = Block::new(15, 30, 1);
    let (counts, truth) = counted(&block, 50, 7);
    let panel: Vec<usize> = (100..104).collect();
    let per_m = panel.iter().map(|&vine| truth[vine]).sum::<f64>() / 4.0;
    let outside = counts.into_iter().filter(|count| !panel.contains(&count.vines[0]));
    let mut counts: Vec<Observation> = outside.collect();
    counts.push(Observation {
        vines: panel.clone(),
        canopy_m: 8.0,
        counted_m: 8.0,
        ..whole(0, per_m)
    });
    let exact = EstimateSettings { observer_share: 0.0, ..settings() };
    let (field, _) = block.field(&counts, &exact).unwrap();
    assert_eq!(field.method, Method::Kriging);
    let set: VineSet = panel.iter().map(|&vine| (vine, 2.0)).collect();
    let means = field.means_of(&[set]);
    assert!((means.means[0].unwrap() - per_m).abs() < 1e-9 && means.se(0) < 1e-6);
    // One of its vines is not known by its panel alone, but better than one that nobody counted.
    let se = |vine: usize| field.vines[vine].unwrap().se_per_m.unwrap();
    let uncounted = (0..block.len()).filter(|v| counts.iter().all(|c| !c.vines.contains(v)));
    assert!(se(101) > 0.5 && uncounted.map(se).all(|other| se(101) < other));
}

#[test]
fn a_count_of_part_of_a_vine_is_believed_in_part() {
    let block = Block::new(15, 30, 1);
    let mut random = Random::new(12);
    let truth = draw(&block.pattern(&exponential(2.0, 6.0, 25.0)), 15.0, &mut random);
    let part = |vine: usize, random: &mut Random| {
        // Two windows of half a metre, with a third of a Poisson's variance around the vine.
        let mut window = || (truth[vine] + (truth[vine] / 3.0 / 0.5).sqrt() * random.normal(), 0.5);
        let windows = vec![window(), window()];
        let per_m = f64::midpoint(windows[0].0, windows[1].0);
        Observation { counted_m: 1.0, per_m, windows, ..whole(vine, 0.0) }
    };
    let vines = drawn(&block, 100, &mut random);
    let counts: Vec<Observation> = vines.iter().map(|&vine| part(vine, &mut random)).collect();
    let (field, _) = block.field(&counts, &settings()).unwrap();
    assert!(field.why.contains("from repeated windows"), "{}", field.why);
    let of = |vine: usize| field.vines[vine].unwrap();
    let se = |vine: usize| of(vine).se_per_m.unwrap();
    let mean = |own: &dyn Fn(usize) -> f64| vines.iter().map(|&v| own(v)).sum::<f64>() / 100.0;
    let uncounted = (0..block.len()).filter(|vine| !vines.contains(vine));
    let least = uncounted.map(se).fold(f64::MAX, f64::min);
    assert!(vines.iter().all(|&vine| se(vine) > 0.1 && se(vine) < least));
    // The estimate lies nearer to the truth than the count does.
    let counted = |vine: usize| counts.iter().find(|c| c.vines[0] == vine).unwrap().per_m;
    let of_counts = mean(&|v| (counted(v) - truth[v]).powi(2));
    let of_estimates = mean(&|v| (of(v).per_m - truth[v]).powi(2));
    assert!(of_estimates < 0.9 * of_counts, "{of_estimates} beside {of_counts}");
}

#[test]
fn noise_that_would_exceed_the_nugget_is_lowered_and_said() {
    let block = Block::new(15, 30, 1);
    let mut random = Random::new(13);
    let truth = draw(&block.pattern(&exponential(0.5, 6.0, 25.0)), 15.0, &mut random);
    let part = |vine: usize| Observation { counted_m: 0.3, ..whole(vine, truth[vine]) };
    let counts: Vec<Observation> = drawn(&block, 100, &mut random).into_iter().map(part).collect();
    let (field, _) = block.field(&counts, &settings()).unwrap();
    // Poisson noise of 0.3 m at 15 shoots a metre is 42, the counts vary by about 6.
    assert!(field.why.contains("lowered to 0.0"), "{}", field.why);
}

#[test]
fn neighbours_come_near_what_all_counts_give() {
    let block = Block::new(20, 40, 1);
    let (counts, _) = counted(&block, 320, 21);
    let (near, _) = block.field(&counts, &settings()).unwrap();
    let all = EstimateSettings { all_at_once: true, ..settings() };
    let (all, _) = block.field(&counts, &all).unwrap();
    let (mut worst, mut worst_se): (f64, f64) = (0.0, 0.0);
    for (a, b) in near.vines.iter().zip(&all.vines) {
        let (a, b) = (a.unwrap(), b.unwrap());
        worst = worst.max((a.per_m - b.per_m).abs());
        worst_se = worst_se.max((a.se_per_m.unwrap() - b.se_per_m.unwrap()).abs());
    }
    // A tenth of the standard deviation of the field, √8.
    assert!(worst < 0.28 && worst_se < 0.1, "{worst} {worst_se}");
    let (near, all) = (near.check.unwrap(), all.check.unwrap());
    assert!((near.rmse_per_m / all.rmse_per_m - 1.0).abs() < 0.02);
}

#[test]
fn counts_put_together_hardly_change_the_error_of_a_zone() {
    let block = Block::new(20, 40, 1);
    let (counts, _) = counted(&block, 640, 22);
    let zone: VineSet = (0..400).map(|vine| (vine, 2.0)).collect();
    let (together, _) = block.field(&counts, &settings()).unwrap();
    let all = EstimateSettings { all_at_once: true, ..settings() };
    let (all, _) = block.field(&counts, &all).unwrap();
    let sets = [zone, block.all()];
    let (together, all) = (together.means_of(&sets), all.means_of(&sets));
    for k in 0..2 {
        assert!((together.se(k) / all.se(k) - 1.0).abs() < 0.1, "{} {}", together.se(k), all.se(k));
        assert!((together.means[k].unwrap() - all.means[k].unwrap()).abs() < 0.05);
    }
}

#[test]
fn exact_counts_under_a_given_variation_are_plain_ordinary_kriging() {
    // The wheat trial of 1911 (tests/data/checks/wheat-1911.json): gstat 2.1-0 and numpy.
    let text = include_str!("../../tests/data/checks/wheat-1911.json");
    let check: serde_json::Value = serde_json::from_str(text).unwrap();
    let list = |key: &str| -> Vec<f64> {
        check[key].as_array().unwrap().iter().map(|value| value.as_f64().unwrap()).collect()
    };
    let at = list("x").into_iter().zip(list("y")).map(|(x, y)| [x, y]).collect();
    // Two plantings by rows of plots: exact counts have one mean all the same, set by the ground.
    let block = Block { ground: Block::ground(at, |_| 0, 1) };
    let yields = list("yield");
    let plots = check["sampled_from_1"].as_array().unwrap().iter().map(|n| n.as_u64().unwrap() - 1);
    let plots: Vec<usize> = plots.map(|plot| usize::try_from(plot).unwrap()).collect();
    let counts: Vec<_> = plots.iter().map(|&plot| whole(plot, yields[plot])).collect();
    let pinned = EstimateSettings {
        pinned: Some(exponential(0.11, 0.1, 10.0)),
        no_count_noise: true,
        all_at_once: true,
        ..settings()
    };
    let (field, _) = block.field(&counts, &pinned).unwrap();
    let others = (0..500).filter(|plot| !plots.contains(plot));
    for ((plot, mean), variance) in others.zip(list("ok_mean")).zip(list("ok_variance")) {
        let found = field.vines[plot].unwrap();
        assert!((found.per_m / mean - 1.0).abs() < 1e-9);
        assert!((found.se_per_m.unwrap().powi(2) / variance - 1.0).abs() < 1e-9);
    }
    for &plot in &plots {
        let found = field.vines[plot].unwrap();
        assert!((found.per_m - yields[plot]).abs() < 1e-9 && found.se_per_m == Some(0.0));
    }
    // No scaling, whatever leave-one-out says; three counts are as welcome as a hundred.
    assert!((field.interval_factor() - 1.644_853_626_951).abs() < 1e-9);
    let (three, _) = block.field(&counts[..3], &pinned).unwrap();
    assert_eq!(three.method, Method::Kriging);
}

#[test]
fn thousands_of_counts_are_borne() {
    let block = Block::new(60, 100, 2);
    let mut random = Random::new(31);
    let at = block.ground.population.places().to_vec();
    for hill in [0.0, 3.0] {
        let counts: Vec<Observation> = drawn(&block, 4000, &mut random)
            .into_iter()
            .map(|vine| {
                let [along, across] = at[vine];
                let surface = hill * (along / 40.0).sin() * (across / 50.0).cos();
                whole(vine, 20.0 + surface + random.normal())
            })
            .collect();
        let (field, _) = block.field(&counts, &settings()).unwrap();
        assert_eq!(field.method, if hill > 0.0 { Method::Kriging } else { Method::Mean });
        // The observer's 3 % of 20 shoots weighs little beside a nugget of 1.
        for count in &counts {
            let found = field.vines[count.vines[0]].unwrap();
            assert!((found.per_m - count.per_m).abs() < 1.6 && found.se_per_m.unwrap() < 0.6);
        }
        let means = field.means_of(&[block.all()]);
        let kind = |k: usize| field.planting_means[k].unwrap();
        assert!((kind(0) - kind(1)).abs() < 0.5);
        let plain = counts.iter().map(|count| count.per_m).sum::<f64>() / 4000.0;
        assert!((means.means[0].unwrap() - plain).abs() < 0.2 && means.se(0) < 0.1);
    }
}

#[test]
fn counts_in_line_are_told() {
    let block = Block::new(20, 40, 1);
    let (counts, truth) = counted(&block, 60, 14);
    let told = |counts: &[Observation]| {
        let (field, findings) = block.field(counts, &settings()).unwrap();
        assert_eq!(field.method, Method::Kriging, "{}", field.why);
        findings.iter().map(|finding| finding.what.clone()).collect::<Vec<_>>()
    };
    assert!(told(&counts).is_empty());
    let row_by_row = (0..3).flat_map(|row| (0..20).map(move |k| row * 320 + 2 * k));
    let in_rows: Vec<_> = row_by_row.map(|vine| whole(vine, truth[vine])).collect();
    assert!(told(&in_rows)[0].contains("stand on 3 rows"));
}

#[test]
fn each_set_for_itself_has_what_it_has_among_others() {
    let block = Block::new(15, 30, 2);
    let sets = [block.all(), vec![(3, 1.0), (40, 2.0)], Vec::new()];
    for n in [12, 60] {
        let (counts, _) = counted(&block, n, 15);
        let (field, _) = block.field(&counts, &settings()).unwrap();
        let pairs = [
            (field.means_of(&sets), field.each_mean_of(&sets)),
            (field.surface_of(&sets), field.each_surface_of(&sets)),
        ];
        for (together, alone) in pairs {
            let both = (0..3).map(|k| together.means[k].map(|mean| (mean, together.se(k))));
            assert_eq!(alone, both.collect::<Vec<_>>());
            assert!(alone[2].is_none() && together.means[2].is_none());
        }
        // The vines' own estimates make the mean of the set.
        let own = |(vine, metres): (usize, f64)| metres * field.vines[vine].unwrap().per_m / 3.0;
        let of_vines: f64 = sets[1].iter().copied().map(own).sum();
        assert!((field.means_of(&sets).means[1].unwrap() - of_vines).abs() < 1e-12);
    }
}
