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
        nearest::square_distance,
        random::Random,
    },
    settings::{EstimateSettings, Settings},
};

const SPACING_M: f64 = 2.0;
const ROW_M: f64 = 3.0;

/// Rows of vines, two metres of canopy each.
struct Block {
    ground: Ground,
    vines_per_row: usize,
}

impl Block {
    /// `kinds` of planting, in alternate rows.
    fn new(rows: usize, vines: usize, kinds: usize) -> Self {
        let float = |n: usize| f64::from(u32::try_from(n).unwrap());
        let place = |n: usize| [float(n % vines) * SPACING_M, float(n / vines) * ROW_M];
        let at: Vec<[f64; 2]> = (0..rows * vines).map(place).collect();
        Self { ground: Self::ground(at, |n| (n / vines) % kinds, kinds), vines_per_row: vines }
    }

    fn ground(at: Vec<[f64; 2]>, kind: impl Fn(usize) -> usize, kinds: usize) -> Ground {
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
            spacing_m: SPACING_M,
            extent_m: (most[0] - least[0]).max(most[1] - least[1]),
        }
    }

    fn len(&self) -> usize {
        self.ground.stands.len()
    }

    fn field(
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

    /// A surface drawn from a model, the vine's nugget added, around a mean.
    fn truth(&self, model: &CovarianceModel, mean: f64, random: &mut Random) -> Vec<f64> {
        let at = self.ground.population.places();
        let n = at.len();
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for k in 0..=i {
                matrix[i * n + k] = model.at(square_distance(at[i], at[k]).sqrt());
            }
            matrix[i * n + i] += model.nugget;
        }
        let factor = Cholesky::factor(matrix, n).unwrap();
        let draws: Vec<f64> = (0..n).map(|_| random.normal()).collect();
        let deviations = factor.times(&draws);
        deviations.iter().map(|deviation| mean + deviation).collect()
    }
}

fn whole(vine: usize, per_m: f64) -> Observation {
    Observation {
        vines: vec![vine],
        per_m,
        canopy_m: SPACING_M,
        counted_m: SPACING_M,
        windows: vec![(per_m, SPACING_M)],
    }
}

fn settings() -> EstimateSettings {
    Settings::default().estimate()
}

/// Vines spread over a block: every so many, with a shift by the golden ratio.
fn spread(block: &Block, count: usize) -> Vec<usize> {
    let step = block.len() / count;
    let shift = |k: usize| (k * 618) % step.max(1);
    (0..count).map(|k| (k * step + shift(k)) % block.len()).collect()
}

#[test]
fn explore() {
    for (nugget, psill, range_m) in
        [(4.0, 4.0, 15.0), (2.0, 6.0, 25.0), (6.0, 2.0, 15.0), (8.0, 0.0, 1.0)]
    {
        for n in [8, 12, 20, 40, 80] {
            let block = Block::new(20, 40, 1);
            let model = CovarianceModel { family: Family::Exponential, nugget, psill, range_m };
            let (mut vines, mut cover, mut zones, mut zcover, mut bcover) =
                (0.0, 0.0, 0.0, 0.0, 0.0);
            let mut methods = [0; 4];
            let mut random = Random::new(9);
            let at = block.ground.population.places();
            let m = at.len();
            let mut matrix = vec![0.0; m * m];
            for i in 0..m {
                for k in 0..=i {
                    matrix[i * m + k] = model.at(square_distance(at[i], at[k]).sqrt());
                }
                matrix[i * m + i] += model.nugget;
            }
            let factor = Cholesky::factor(matrix, m).unwrap();
            for _ in 0..60 {
                let draws: Vec<f64> = (0..m).map(|_| random.normal()).collect();
                let truth: Vec<f64> = factor.times(&draws).iter().map(|d| 20.0 + d).collect();
                let mut order: Vec<usize> = (0..m).collect();
                random.shuffle(&mut order);
                let chosen =
                    if n < 0 { spread(&block, n as usize) } else { order[..n as usize].to_vec() };
                let counts: Vec<Observation> = chosen.iter().map(|&v| whole(v, truth[v])).collect();
                let (field, _) = block.field(&counts, &settings()).unwrap();
                methods[field.method as usize] += 1;
                for v in 0..m {
                    if chosen.contains(&v) {
                        continue;
                    }
                    let e = field.vines[v].unwrap();
                    vines += 1.0;
                    cover += f64::from(
                        (e.per_m - truth[v]).abs() <= field.interval_factor() * e.se_per_m.unwrap(),
                    );
                }
                // four quarters, and the block
                let mut sets: Vec<VineSet> = vec![vec![]; 5];
                for v in 0..m {
                    let q = usize::from(v % 40 >= 20) + 2 * usize::from(v / 40 >= 10);
                    sets[q].push((v, 2.0));
                    sets[4].push((v, 2.0));
                }
                let means = field.means_of(&sets);
                for (k, set) in sets.iter().enumerate() {
                    let t = set.iter().map(|&(v, _)| truth[v]).sum::<f64>() / set.len() as f64;
                    let hit = f64::from(
                        (means.means[k].unwrap() - t).abs() <= means.factor90 * means.se(k),
                    );
                    if k < 4 {
                        zones += 1.0;
                        zcover += hit;
                    } else {
                        bcover += hit;
                    }
                }
            }
            println!(
                "{nugget} {psill} {range_m} n={n} methods {methods:?} vine {:.3} zone {:.3} block {:.3}",
                cover / vines,
                zcover / zones,
                bcover / 60.0
            );
        }
    }
}
