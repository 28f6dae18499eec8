//! What counts are taken for: plantings, panels, parts of vines, noise, counts in line.

use super::{
    Method, VineSet,
    tests::{Block, counted, draw, drawn, exponential, settings, whole},
};
use crate::{join::Observation, maths::random::Random, settings::EstimateSettings};

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
