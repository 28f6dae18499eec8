//! How much units vary, from earlier counts.

use std::collections::BTreeSet;

use crate::maths::float;

/// The pooled standard deviation within groups (plantings) over the mean of all; `values` are
/// `(group, value)`. `None` where they allow none.
///
/// # Source
/// Pooled variance: Snedecor & Cochran 1989, Statistical Methods, 8th ed., 6.9, from memory.
pub fn variation_within(values: &[(usize, f64)]) -> Option<f64> {
    let mean = mean(values.iter().map(|(_, value)| *value))?;
    let groups: BTreeSet<usize> = values.iter().map(|(group, _)| *group).collect();
    let squares: f64 = groups.iter().filter_map(|group| squares_of(values, *group)).sum();
    let degrees = float(values.len()) - float(groups.len());
    let variation = (squares / degrees).sqrt() / mean;
    (degrees > 0.0 && mean > 0.0 && variation > 0.0).then_some(variation)
}

fn squares_of(values: &[(usize, f64)], group: usize) -> Option<f64> {
    let own = values.iter().filter(|(of, _)| *of == group).map(|(_, value)| *value);
    let mean = mean(own.clone())?;
    Some(own.map(|value| (value - mean).powi(2)).sum())
}

fn mean(values: impl Iterator<Item = f64> + Clone) -> Option<f64> {
    let number = values.clone().count();
    (number > 0).then(|| values.sum::<f64>() / float(number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_between_plantings_are_no_variation_within_them() {
        // Worked by hand: 8, 12 around 10 and 28, 32 around 30: 16 over 2 degrees, mean 20.
        let values = [(0, 8.0), (0, 12.0), (1, 28.0), (1, 32.0)];
        let expected = 8.0_f64.sqrt() / 20.0;
        assert!((variation_within(&values).unwrap() - expected).abs() < 1e-12);
        assert_eq!(variation_within(&[(0, 1.0), (1, 2.0)]), None);
        assert_eq!(variation_within(&[(0, 3.0), (0, 3.0)]), None);
    }
}
