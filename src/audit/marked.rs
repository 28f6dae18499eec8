//! Whether the crew did better where vines had been counted, and may have been marked.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | p, q | places of a zone counted before, and fresh ones | – |
//! | D | mean found at the p less that at the q of a zone | shoots / m |
//! | h | p·q / (p + q) | – |
//! | s² | variance within zones and kinds together | (shoots / m)² |
//!
//! The difference is Σ h·D / Σ h, its variance s² / Σ h: least squares with one mean a zone and one
//! step for having been counted. Every place weighs the same. s² is never below what rounding to
//! whole shoots makes.
//!
//! # Source
//! Two groups in blocks, for example Snedecor & Cochran 1989, Statistical Methods, 8th ed., ch. 20,
//! from memory.

use super::{Kind, Mean, Recounted, mean::ROUNDING};
use crate::maths::float;

/// How much more (below 0: less) stands where vines had been counted than on fresh ones, in the same
/// zones; `None` where no zone has both, or nothing tells the spread.
pub(super) fn counted_less_fresh(places: &[&Recounted], zones: &[usize]) -> Option<Mean> {
    let (mut weight, mut sum, mut squares, mut degrees, mut used) = (0.0, 0.0, 0.0, 0.0, 0);
    let mut least = 0.0;
    for &zone in zones {
        let own = |kind: Kind| {
            places.iter().filter(move |place| place.zone == Some(zone) && place.kind == kind)
        };
        let of = |kind: Kind| -> Vec<f64> { own(kind).map(|place| place.after_per_m).collect() };
        let (counted, fresh) = (of(Kind::Pair), of(Kind::Fresh));
        if counted.is_empty() || fresh.is_empty() {
            continue;
        }
        let (p, q) = (float(counted.len()), float(fresh.len()));
        let means = [counted.iter().sum::<f64>() / p, fresh.iter().sum::<f64>() / q];
        let spread = |values: &[f64], mean: f64| -> f64 {
            values.iter().map(|value| (value - mean).powi(2)).sum()
        };
        weight += p * q / (p + q);
        sum += p * q / (p + q) * (means[0] - means[1]);
        squares += spread(&counted, means[0]) + spread(&fresh, means[1]);
        // Between zones the least-squares fit may lose a little to D not being the same everywhere;
        // that is left out, so that the spread is that of places alone.
        degrees += p + q - 2.0;
        used += counted.len() + fresh.len();
        let both = own(Kind::Pair).chain(own(Kind::Fresh)).filter(|place| place.canopy_m > 0.0);
        least += both.map(|place| ROUNDING / place.canopy_m.powi(2)).sum::<f64>();
    }
    (weight > 0.0 && degrees > 0.0).then(|| Mean {
        per_m: sum / weight,
        se: Some(((squares / degrees).max(least / float(used)) / weight).sqrt()),
        degrees,
        places: used,
        by_zone: false,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(zone: usize, kind: Kind, after_per_m: f64) -> Recounted {
        Recounted { zone: Some(zone), kind, after_per_m, ..Recounted::default() }
    }

    // scipy.stats.ttest_ind([14, 15, 13, 14], [17, 16, 18]): t = −4.39155, 5 degrees of freedom, so
    // the difference −3 has the error 0.68313.
    #[test]
    fn in_one_zone_it_is_the_t_test_of_two_groups() {
        let counted = [14.0, 15.0, 13.0, 14.0].map(|value| place(0, Kind::Pair, value));
        let fresh = [17.0, 16.0, 18.0].map(|value| place(0, Kind::Fresh, value));
        let all: Vec<&Recounted> = counted.iter().chain(&fresh).collect();
        let found = counted_less_fresh(&all, &[0]).unwrap();
        assert!((found.per_m + 3.0).abs() < 1e-12);
        assert!((found.per_m / found.se.unwrap() + 4.39155).abs() < 1e-5, "{found:?}");
        assert!((found.degrees - 5.0).abs() < 1e-12);
        assert_eq!(counted_less_fresh(&all, &[1]), None);
    }

    #[test]
    fn zones_that_differ_do_not_pass_for_marks() {
        let all = [
            place(0, Kind::Pair, 10.0),
            place(0, Kind::Pair, 11.0),
            place(0, Kind::Fresh, 10.5),
            place(1, Kind::Pair, 20.5),
            place(1, Kind::Fresh, 20.0),
            place(1, Kind::Fresh, 21.0),
        ];
        let found = counted_less_fresh(&all.iter().collect::<Vec<_>>(), &[0, 1]).unwrap();
        assert!(found.per_m.abs() < 1e-12, "{found:?}");
    }
}
