//! The mean of what was counted on one visit, over the places counted and no others.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | yᵢ | shoots counted at place i | – |
//! | xᵢ | metres of canopy counted there | m |
//! | r | Σy / Σx | shoots per metre |

use crate::{
    join::Observation,
    maths::{float, normal::student_quantile},
};

/// Fewer places than this give no range.
pub const FEWEST_FOR_RANGE: usize = 5;

/// The mean over the places that were counted on one visit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Counted {
    /// Vines or whole panels counted.
    pub places: usize,
    /// Shoots counted over metres counted.
    pub per_m: f64,
    /// Half its 90 % interval; `None` where fewer than [`FEWEST_FOR_RANGE`] places were counted.
    pub half90: Option<f64>,
}

impl Counted {
    /// Both ends of the interval; no density is below 0.
    pub fn ends90(&self) -> Option<[f64; 2]> {
        self.half90.map(|half| [(self.per_m - half).max(0.0), self.per_m + half])
    }
}

/// The mean of some places: r = Σy/Σx, its error by the residuals y − r·x, half of the interval
/// t(n − 1) of them. `None` where nothing was counted.
///
/// # Source
/// The ratio estimator: Cochran, W. G. (1977), *Sampling Techniques*, 3rd ed., 6.4 (6.13).
pub fn counted<'a>(places: impl Iterator<Item = &'a Observation>) -> Option<Counted> {
    let places: Vec<[f64; 2]> =
        places.map(|one| [one.per_m * one.counted_m, one.counted_m]).collect();
    let [shoots, metres] =
        places.iter().fold([0.0, 0.0], |[y, x], place| [y + place[0], x + place[1]]);
    (metres > 0.0).then_some(())?;
    let per_m = shoots / metres;
    let n = float(places.len());
    let squares: f64 = places.iter().map(|[y, x]| (y - per_m * x).powi(2)).sum();
    let half90 = (places.len() >= FEWEST_FOR_RANGE)
        .then(|| student_quantile(0.95, n - 1.0) * (squares * n / (n - 1.0)).sqrt() / metres);
    Some(Counted { places: places.len(), per_m, half90 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(shoots: f64, metres: f64) -> Observation {
        let per_m = shoots / metres;
        Observation {
            vines: vec![0],
            per_m,
            canopy_m: metres,
            counted_m: metres,
            windows: vec![(per_m, metres)],
        }
    }

    #[test]
    fn with_one_length_it_is_mean_and_t() {
        let places: Vec<_> = [18.0, 20.0, 22.0, 24.0, 26.0].map(|s| place(2.0 * s, 2.0)).into();
        let found = counted(places.iter()).unwrap();
        // s² = 10, s/√5 = 1.41421, t(0.95; 4) = 2.13185 (tables of Student's t).
        assert!((found.per_m - 22.0).abs() < 1e-12);
        assert!((found.half90.unwrap() - 2.131_85 * 2.0_f64.sqrt()).abs() < 1e-4, "{found:?}");
        assert_eq!(counted(places[..4].iter()).unwrap().half90, None);
        assert_eq!(counted(places[..0].iter()), None);
    }

    #[test]
    fn a_long_place_weighs_more() {
        let places = [place(60.0, 6.0), place(40.0, 2.0)];
        assert!((counted(places.iter()).unwrap().per_m - 12.5).abs() < 1e-12);
    }
}
