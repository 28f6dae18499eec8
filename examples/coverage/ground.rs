//! An invented block, drawn densities on its vines, and counts of some of them.

use catchwire::{
    block::{Block, BlockKeys, PlantingKeys, VineType},
    counts::{Count, Shoots, Spot},
    estimate::VineSet,
    finding::Place,
    frame::{Site, place_block},
    join::{Joined, join},
    layout::{Layout, lay_out},
    maths::{
        cholesky::Cholesky,
        covariance::{CovarianceModel, Family},
        random::Random,
        whole,
    },
    sample::{Unit, Wish, choose},
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::{Degrees, Metres},
};
use geo::{Coord, Rect};
use jiff::civil::date;

/// Shoots per metre on average, and the standard deviation between vines over it.
pub(crate) const MEAN_PER_M: f64 = 15.0;
pub(crate) const VARIATION: f64 = 0.3;
/// Sides of the block, metres; rows run along the first.
pub(crate) const SIDES_M: [f64; 2] = [120.0, 80.0];
/// Vine spacing, which is the canopy of a vine, and row spacing, metres.
pub(crate) const SPACINGS_M: [f64; 2] = [2.0, 2.5];

/// How the variance lies on the ground; without a model every vine is independent.
pub(crate) struct Pattern(Option<CovarianceModel>);

impl Pattern {
    /// The patterns of the study, with their names.
    pub(crate) fn all(extent_m: f64) -> [(Self, &'static str); 3] {
        let variance = (MEAN_PER_M * VARIATION).powi(2);
        let of = |share: f64, range_m: f64| {
            Self(Some(CovarianceModel {
                family: Family::Exponential,
                nugget: share * variance,
                psill: (1.0 - share) * variance,
                range_m,
            }))
        };
        [
            (of(0.4, extent_m / 6.0), "strong"),
            (of(0.8, extent_m / 15.0), "weak"),
            (Self(None), "none"),
        ]
    }
}

/// The factor of the covariance of all vines; none where they are independent.
pub(crate) struct Drawing(Option<Cholesky>);

/// The block, laid out.
pub(crate) struct Ground {
    pub(crate) site: Site,
    pub(crate) layout: Layout,
}

impl Ground {
    /// A standing block at 47° N with its rows running east.
    pub(crate) fn new() -> Self {
        let settings = Settings::default();
        let block = block();
        let circumstances = Circumstances {
            defaults: settings.layout(),
            standing: None,
            allow_unusual: false,
            grid: None,
        };
        let rules = row_rules(&block, &circumstances).unwrap();
        let (site, _) = place_block(&block, rules, planting_rules(&block)).unwrap();
        let (layout, _) = lay_out(&site).unwrap();
        Self { site, layout }
    }

    /// The longest extent along or across the rows, metres.
    pub(crate) fn extent_m(&self) -> f64 {
        let span = |of: fn([f64; 2]) -> f64| {
            let values = || self.places().map(of);
            values().fold(f64::MIN, f64::max) - values().fold(f64::MAX, f64::min)
        };
        span(|at| at[0]).max(span(|at| at[1]))
    }

    fn places(&self) -> impl Iterator<Item = [f64; 2]> {
        self.layout.vines.iter().map(|vine| [vine.at.along_m, vine.at.across_m])
    }

    pub(crate) fn drawing(&self, pattern: &Pattern) -> Drawing {
        let Some(model) = pattern.0 else { return Drawing(None) };
        let at: Vec<[f64; 2]> = self.places().collect();
        let n = at.len();
        let mut matrix = vec![0.0; n * n];
        for i in 0..n {
            for k in 0..=i {
                let distance = (at[i][0] - at[k][0]).hypot(at[i][1] - at[k][1]);
                matrix[i * n + k] = model.at(distance);
            }
            matrix[i * n + i] += model.nugget;
        }
        Drawing(Some(Cholesky::factor(matrix, n).unwrap()))
    }

    /// Shoots per metre on every vine: whole shoots over its canopy.
    pub(crate) fn truth(&self, drawing: &Drawing, seed: u64) -> Vec<f64> {
        let mut random = Random::new(seed);
        let normal: Vec<f64> = self.layout.vines.iter().map(|_| random.normal()).collect();
        let deviations = match &drawing.0 {
            Some(factor) => factor.times(&normal),
            None => normal.iter().map(|z| MEAN_PER_M * VARIATION * z).collect(),
        };
        let canopy = SPACINGS_M[0];
        let shoots = |deviation: f64| (canopy * (MEAN_PER_M + deviation)).round().max(0.0);
        deviations.into_iter().map(|deviation| shoots(deviation) / canopy).collect()
    }

    /// So many vines as `sample` draws them, close pairs among them.
    pub(crate) fn choose(&self, counts: usize, seed: u64) -> Vec<usize> {
        let out = vec![false; self.layout.vines.len()];
        let settings = Settings::default().sample();
        let stops = |number: usize| {
            let wish = Wish {
                unit: Unit::Vine,
                number: Some(number),
                variation: None,
                window: None,
                seed,
            };
            choose((&self.site, &self.layout), &out, &wish, &settings).unwrap().0.stops
        };
        let fits = (1..=counts).rev().map(stops).find(|stops| stops.len() <= counts);
        fits.unwrap().into_iter().filter_map(|stop| stop.vine).collect()
    }

    /// Counts these vines whole, with the error of an observer.
    pub(crate) fn count(
        &self,
        chosen: &[usize],
        truth: &[f64],
        observer_share: f64,
        random: &mut Random,
    ) -> Joined {
        let counted = |&vine: &usize| {
            let shoots = truth[vine] * SPACINGS_M[0];
            let seen = whole((shoots + observer_share * shoots * random.normal()).round());
            let place = &self.layout.vines[vine];
            Count {
                spot: Spot { row: Some(place.row), vine: Some(place.vine), ..Default::default() },
                date: Some(date(2026, 5, 10)),
                shoots: Some(Shoots {
                    all: u32::try_from(seen).unwrap(),
                    secondary: None,
                    base: None,
                }),
                ..Default::default()
            }
        };
        let counts: Vec<Count> = chosen.iter().map(counted).collect();
        join(&self.site, &self.layout, &counts, &Settings::default().join()).0
    }

    /// The four quarters of the block and the block itself, weighted by canopy.
    pub(crate) fn sets(&self) -> Vec<VineSet> {
        let middle = |of: fn([f64; 2]) -> f64| {
            let values = || self.places().map(of);
            f64::midpoint(values().fold(f64::MIN, f64::max), values().fold(f64::MAX, f64::min))
        };
        let [along, across] = [middle(|at| at[0]), middle(|at| at[1])];
        let mut sets = vec![VineSet::new(); 5];
        for (vine, at) in self.places().enumerate() {
            let quarter = usize::from(at[0] > along) + 2 * usize::from(at[1] > across);
            sets[quarter].push((vine, SPACINGS_M[0]));
            sets[4].push((vine, SPACINGS_M[0]));
        }
        sets
    }
}

fn block() -> Block {
    let [along, across] = SIDES_M;
    // Metres of a degree at 47° N, to the metre; from memory.
    let corner = Coord { x: 8.0 + along / 76_056.0, y: 47.0 + across / 111_180.0 };
    let outline = Rect::new(Coord { x: 8.0, y: 47.0 }, corner).to_polygon();
    Block {
        name: "study".parse().unwrap(),
        outline: outline.into(),
        keys: BlockKeys {
            standing: Some(true),
            row_bearing: Some(Degrees::new(90.0)),
            row_spacing: Some(Metres::new(SPACINGS_M[1])),
            vine_spacing: Some(Metres::new(SPACINGS_M[0])),
            planting: PlantingKeys { vine_type: Some(VineType::Vinifera), ..Default::default() },
            ..Default::default()
        },
        keep_outs: Vec::new(),
        row_lines: Vec::new(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        vines: Vec::new(),
        place: Place::default(),
    }
}
