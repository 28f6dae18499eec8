//! Small blocks that share one variation, on invented ground whose every vine is known.

use catchwire::{
    block::Block,
    estimate::{Field, Method, estimate, pool::share},
    finding::Findings,
    frame::Site,
    join::{Joined, Observation, join},
    layout::Layout,
    maths::{cholesky::Cholesky, covariance::CovarianceModel, float, random::Random},
    settings::{EstimateSettings, Settings},
};
use geo::{MultiPolygon, polygon};

use super::zones::square_block;
use crate::support::two_halves::ground;

const BLOCKS: usize = 6;
const COUNTS: usize = 18;

/// 36 by 40 m: 14 rows of 22 vines.
fn small_block() -> Block {
    let (east, north) = (36.0 / 76_056.0, 40.0 / 111_180.0);
    let outline = polygon![
        (x: 8.0, y: 47.0), (x: 8.0 + east, y: 47.0),
        (x: 8.0 + east, y: 47.0 + north), (x: 8.0, y: 47.0 + north)
    ];
    Block { outline: MultiPolygon::new(vec![outline]), ..square_block() }
}

/// Nearly all of the variation is patterned.
fn truth() -> CovarianceModel {
    "exponential nugget=2 psill=10 range=12".parse().unwrap()
}

/// The factor of the covariance of all vines.
fn drawing(layout: &Layout) -> Cholesky {
    let at: Vec<[f64; 2]> =
        layout.vines.iter().map(|vine| [vine.at.along_m, vine.at.across_m]).collect();
    let model = truth();
    let n = at.len();
    let apart = |one: [f64; 2], other: [f64; 2]| (one[0] - other[0]).hypot(one[1] - other[1]);
    let cell = |k: usize| {
        let nugget = if k / n == k % n { model.nugget } else { 0.0 };
        nugget + model.at(apart(at[k / n], at[k % n]))
    };
    Cholesky::factor((0..n * n).map(cell).collect(), n).unwrap()
}

/// Six blocks with means of their own: what every vine carries, and what was counted.
fn counted(site: &Site, layout: &Layout, factor: &Cholesky, seed: u64) -> Vec<(Vec<f64>, Joined)> {
    let mut random = Random::new(seed);
    let (empty, _) = join(site, layout, &[], &Settings::default().join());
    let one = |_| {
        let mean = 14.0 + 6.0 * random.uniform();
        let normal: Vec<f64> = layout.vines.iter().map(|_| random.normal()).collect();
        let carried: Vec<f64> = factor.times(&normal).iter().map(|value| mean + value).collect();
        let mut vines: Vec<usize> = (0..layout.vines.len()).collect();
        random.shuffle(&mut vines);
        let mut joined = empty.clone();
        let canopy_m = joined.vines[0].canopy_m;
        joined.shoots = vines[..COUNTS]
            .iter()
            .map(|&vine| Observation {
                vines: vec![vine],
                per_m: carried[vine],
                canopy_m,
                counted_m: canopy_m,
                windows: vec![(carried[vine], canopy_m)],
            })
            .collect();
        (carried, joined)
    };
    (0..BLOCKS).map(one).collect()
}

/// Squared errors and intervals that held, of all vines that were not counted.
fn score(field: &Field, carried: &[f64], joined: &Joined) -> [f64; 3] {
    let mut sums = [0.0; 3];
    for (vine, (estimated, truth)) in field.vines.iter().zip(carried).enumerate() {
        if joined.shoots.iter().any(|count| count.vines == [vine]) {
            continue;
        }
        let estimated = estimated.unwrap();
        let error = estimated.per_m - truth;
        let half = field.interval_factor() * estimated.se_per_m.unwrap();
        sums[0] += error * error;
        sums[1] += f64::from(error.abs() <= half);
        sums[2] += 1.0;
    }
    sums
}

#[test]
fn six_small_blocks_together_err_less_than_each_alone_and_cover_what_they_say() {
    let settings = Settings::default().estimate();
    let (site, layout) = ground(&small_block(), &Settings::default());
    let factor = drawing(&layout);
    let (mut alone, mut together, mut kriged) = ([0.0; 3], [0.0; 3], 0);
    for seed in 0..12 {
        let blocks = counted(&site, &layout, &factor, seed);
        let parts: Vec<_> = blocks.iter().map(|(_, joined)| (&site, &layout, joined)).collect();
        let shared = share(&parts, &settings).unwrap().unwrap();
        assert_eq!((shared.blocks, shared.counts), (BLOCKS, BLOCKS * COUNTS));
        let pooled = EstimateSettings { shared: Some(shared), ..settings.clone() };
        for (carried, joined) in &blocks {
            for (sums, settings) in [(&mut alone, &settings), (&mut together, &pooled)] {
                let (estimate, _) = estimate(&site, &layout, joined, settings).unwrap();
                let score = score(&estimate.shoots, carried, joined);
                sums.iter_mut().zip(score).for_each(|(sum, value)| *sum += value);
                if estimate.shoots.method == Method::Kriging {
                    kriged += 1;
                    assert!(
                        estimate.shoots.why.contains("shared by 6 small blocks with 108 counts")
                    );
                }
            }
        }
    }
    let rmse = |sums: [f64; 3]| (sums[0] / sums[2]).sqrt();
    let covered = |sums: [f64; 3]| sums[1] / sums[2];
    assert!(float(kriged) > 0.6 * 72.0, "{kriged}");
    assert!(rmse(together) < 0.98 * rmse(alone), "{} {}", rmse(together), rmse(alone));
    assert!((covered(together) - 0.9).abs() < 0.03, "{}", covered(together));
}

#[test]
fn what_cannot_be_shared_is_said() {
    let settings = Settings::default().estimate();
    let (site, layout) = ground(&small_block(), &Settings::default());
    let blocks = counted(&site, &layout, &drawing(&layout), 1);
    let one = [(&site, &layout, &blocks[0].1)];
    let told: Findings = share(&one, &settings).unwrap_err().into();
    let text = told.iter().map(ToString::to_string).collect::<String>();
    assert!(text.contains("18 counts of 1 block are not put together"), "{text}");
    assert!(text.contains("a shared variation needs 30"), "{text}");
    // A block with enough counts of its own shares none.
    let few = EstimateSettings { fewest_for_kriging: COUNTS, ..settings };
    assert_eq!(share(&one, &few), Ok(None));
}
