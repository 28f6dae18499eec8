//! What the counts of each zone say by themselves, without a map.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | z, v | a count, and its variance up to a factor | shoots / m, – |
//! | m, W | a zone's mean Σ(z/v) / W, with W = Σ 1/v | shoots / m, – |
//! | s² | Σ (z − m)²/v over n − k, for n counts in k zones | shoots² / m² |
//!
//! ```text
//! mₐ − m_b  ±  t(n − k) · s · √(1/Wₐ + 1/W_b)
//! ```

use std::collections::BTreeMap;

use super::Stage;
use crate::maths::{float, normal};

/// Means of the counts in each zone.
pub(super) struct CountsAlone {
    /// By zone m and W; `None` without a count.
    zones: Vec<Option<(f64, f64)>>,
    /// s², and its degrees of freedom.
    spread: f64,
    degrees: f64,
}

impl CountsAlone {
    /// `zone_of` is the zone of each panel.
    pub(super) fn new(stage: Stage<'_>, zone_of: &BTreeMap<usize, usize>, zones: usize) -> Self {
        let counts: Vec<(usize, f64, f64)> = stage
            .joined
            .shoots
            .iter()
            .filter_map(|count| {
                let panel = stage.layout.vines[*count.vines.first()?].panel;
                let counted = (count.counted_m / count.canopy_m).clamp(0.0, 1.0);
                // Of panels counted whole the vines' differences are averaged out; of a part of a
                // vine as much less is known.
                let weight = float(count.vines.len()) * counted;
                let sound = weight > 0.0 && count.per_m.is_finite();
                sound.then_some((*zone_of.get(&panel)?, count.per_m, weight))
            })
            .collect();
        Self::of(&counts, zones)
    }

    /// Counts are given by zone, value and 1/v.
    fn of(counts: &[(usize, f64, f64)], zones: usize) -> Self {
        let mut sums = vec![[0.0; 2]; zones];
        for &(zone, per_m, weight) in counts {
            sums[zone][0] += weight * per_m;
            sums[zone][1] += weight;
        }
        let zones: Vec<Option<(f64, f64)>> =
            sums.iter().map(|[sum, all]| (*all > 0.0).then(|| (sum / all, *all))).collect();
        let squares = counts.iter().filter_map(|&(zone, per_m, weight)| {
            zones[zone].map(|(mean, _)| weight * (per_m - mean).powi(2))
        });
        let squares: f64 = squares.sum();
        let degrees = float(counts.len()) - float(zones.iter().flatten().count());
        Self { zones, spread: squares / degrees.max(1.0), degrees }
    }

    /// The 90 % interval of a difference; `None` where a zone has no count, or no zone a second.
    pub(super) fn difference90(&self, one: usize, other: usize) -> Option<[f64; 2]> {
        let ((a, weight_a), (b, weight_b)) = (self.zones[one]?, self.zones[other]?);
        let error = (self.spread * (1.0 / weight_a + 1.0 / weight_b)).sqrt();
        let half =
            (self.degrees >= 1.0).then(|| normal::student_quantile(0.95, self.degrees) * error)?;
        Some([a - b - half, a - b + half])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_zones_of_equal_weights_differ_as_in_the_two_sample_t_test() {
        // scipy 1.17.1: ttest_ind([12, 15, 11, 14], [19, 22, 18]).confidence_interval(0.9).
        let counts: Vec<(usize, f64, f64)> = [12.0, 15.0, 11.0, 14.0]
            .map(|value| (0, value, 1.0))
            .into_iter()
            .chain([19.0, 22.0, 18.0].map(|value| (1, value, 1.0)))
            .collect();
        let alone = CountsAlone::of(&counts, 3);
        let [low, high] = alone.difference90(0, 1).unwrap();
        assert!((low + 9.640_333).abs() < 1e-6 && (high + 3.693_000).abs() < 1e-6, "{low} {high}");
        assert_eq!(alone.difference90(0, 2), None);
    }
}
