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
fn speed() {
    let block = Block::new(100, 300, 2);
    let mut random = Random::new(4);
    let counts: Vec<Observation> = spread(&block, 120)
        .into_iter()
        .map(|vine| {
            let at = block.ground.population.places()[vine];
            whole(vine, 15.0 + 4.0 * (at[0] / 80.0).sin() + 2.0 * random.normal())
        })
        .map(|o| Observation { counted_m: 1.0, ..o })
        .collect();
    let t = std::time::Instant::now();
    let (field, _) = block.field(&counts, &settings()).unwrap();
    println!("field {:?} {:?} {}", t.elapsed(), field.model, field.why);
    println!("{:?}", field.check);
    let sets: Vec<VineSet> =
        (0..12).map(|z| (z * 2500..(z + 1) * 2500).map(|v| (v, 2.0)).collect()).collect();
    let t = std::time::Instant::now();
    let means = field.means_of(&sets);
    println!("means {:?} {:?} {}", t.elapsed(), means.means, means.se(0));
    let panels: Vec<VineSet> =
        (0..7500).map(|z| (z * 4..(z + 1) * 4).map(|v| (v, 2.0)).collect()).collect();
    let t = std::time::Instant::now();
    let means = field.each_mean_of(&panels);
    println!("panels {:?} {:?}", t.elapsed(), means[0]);
    assert!(field.method == Method::Kriging);
}
