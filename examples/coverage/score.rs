//! What an estimate said, held to the truth.

use catchwire::{
    estimate::{Field, Method},
    join::Joined,
    maths::float,
    zones::Zones,
};

use crate::ground::Ground;

/// Intervals that were asked, those that held the truth, and the sum of their widths.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Hits {
    pub(crate) asked: usize,
    pub(crate) held: usize,
    pub(crate) width: f64,
}

impl Hits {
    fn add(&mut self, truth: f64, [low, high]: [f64; 2]) {
        self.asked += 1;
        self.held += usize::from((low..=high).contains(&truth));
        self.width += high - low;
    }
}

/// One block.
#[derive(Debug, Clone)]
pub(crate) struct Score {
    pub(crate) vines: Hits,
    pub(crate) drawn: Hits,
    pub(crate) quarters: Hits,
    pub(crate) block: Hits,
    /// Mean squared error on uncounted vines: of the map, of the mean of the counts.
    pub(crate) squares: [f64; 2],
    pub(crate) method: Method,
    pub(crate) zones: usize,
}

pub(crate) fn score(
    ground: &Ground,
    truth: &[f64],
    joined: &Joined,
    (field, zones): (&Field, &Zones),
) -> Score {
    let mut score = Score {
        vines: Hits::default(),
        drawn: Hits::default(),
        quarters: Hits::default(),
        block: Hits::default(),
        squares: [0.0; 2],
        method: field.method,
        zones: zones.zones.len(),
    };
    score.add_vines(truth, joined, field);
    for zone in &zones.zones {
        let canopy = |vine: usize| joined.vines[vine].canopy_m;
        let sum: f64 = zone.vines.iter().map(|&vine| canopy(vine) * truth[vine]).sum();
        if let Some(mean) = zone.density {
            score.drawn.add(sum / zone.canopy_m, [mean.lo90, mean.hi90]);
        }
    }
    let sets = ground.sets();
    let means = field.means_of(&sets);
    for (set, vines) in sets.iter().enumerate() {
        let metres: f64 = vines.iter().map(|(_, metres)| metres).sum();
        let true_mean = vines.iter().map(|&(vine, m)| m * truth[vine]).sum::<f64>() / metres;
        let hits = if set < 4 { &mut score.quarters } else { &mut score.block };
        if let Some(mean) = means.means[set] {
            let half = means.factor90 * means.se(set);
            hits.add(true_mean, [mean - half, mean + half]);
        }
    }
    score
}

impl Score {
    fn add_vines(&mut self, truth: &[f64], joined: &Joined, field: &Field) {
        let counts = joined.shoots.iter().map(|count| count.per_m);
        let mean = counts.sum::<f64>() / float(joined.shoots.len());
        for (vine, &true_value) in truth.iter().enumerate() {
            let believed = field.vines[vine].filter(|_| !joined.vines[vine].counted);
            let Some(believed) = believed else { continue };
            if let Some(se) = believed.se_per_m {
                let half = field.interval_factor() * se;
                self.vines.add(true_value, [believed.per_m - half, believed.per_m + half]);
            }
            self.squares[0] += (believed.per_m - true_value).powi(2);
            self.squares[1] += (mean - true_value).powi(2);
        }
        self.squares = self.squares.map(|sum| sum / float(self.vines.asked.max(1)));
    }
}
