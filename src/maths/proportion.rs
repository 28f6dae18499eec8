//! The interval of a share of things that were looked at.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | n | things looked at | – |
//! | p | share of them that had it | – |
//! | z | standard normal deviate | – |

use super::float;

/// Lower and upper end of the score interval of a share: `had` of `n`, `z` standard deviations to
/// each side; `None` when nothing was looked at.
///
/// # Source
/// Wilson 1927, J. Amer. Stat. Assoc. 22:209–212.
pub fn score_interval(had: usize, n: usize, z: f64) -> Option<[f64; 2]> {
    if n == 0 {
        return None;
    }
    let (had, n) = (float(had.min(n)), float(n));
    let share = had / n;
    let middle = (had + z * z / 2.0) / (n + z * z);
    let half = z / (n + z * z) * (n * share * (1.0 - share) + z * z / 4.0).max(0.0).sqrt();
    Some([(middle - half).clamp(0.0, share), (middle + half).clamp(share, 1.0)])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intervals_are_those_of_the_table() {
        // Newcombe 1998, Statistics in Medicine 17:857–872, table I, method 3 (from memory).
        let expected = [
            ((81, 263), [0.2553, 0.3662]),
            ((15, 148), [0.0624, 0.1605]),
            ((0, 20), [0.0, 0.1611]),
            ((1, 29), [0.0061, 0.1718]),
        ];
        for ((had, n), ends) in expected {
            let found = score_interval(had, n, 1.959_964).unwrap();
            let near = found.iter().zip(ends).all(|(found, end)| (found - end).abs() < 5e-5);
            assert!(near, "{had} of {n}: {found:?}");
        }
        assert_eq!(score_interval(0, 0, 1.0), None);
    }

    #[test]
    fn the_share_is_inside_its_interval() {
        for n in 1..40 {
            for had in 0..=n {
                let [low, high] = score_interval(had, n, 1.645).unwrap();
                let share = float(had) / float(n);
                assert!((0.0..=share).contains(&low) && (share..=1.0).contains(&high));
            }
        }
    }
}
