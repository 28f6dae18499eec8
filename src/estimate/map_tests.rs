//! What holds for every map, and maps of many counts.

use super::{
    Method, VineSet,
    tests::{Block, counted, drawn, exponential, settings, whole},
};
use crate::{join::Observation, maths::random::Random, settings::EstimateSettings};

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
