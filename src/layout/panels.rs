//! Post to post: which vines stand in which panel, and where the line posts stand.

use std::ops::Range;

use super::{along, strand::Strand};
use crate::maths::intervals::Interval;

/// How many vines stand in the first panel of a strand and in the others; at least one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sizes {
    pub(super) first: u32,
    pub(super) others: u32,
}

/// A panel of a strand.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    /// How many panels of the strand come before it, empty ones too.
    pub(super) before: u32,
    /// Its vines, as indices into those of the strand.
    pub(super) vines: Range<usize>,
    /// From post to post, metres along the strand.
    pub(super) part: Interval,
}

/// The panels of a strand, from its first post on.
pub(super) fn panels_of(strand: &Strand, sizes: Sizes) -> Vec<Stretch> {
    let mut panels: Vec<Stretch> = Vec::new();
    let mut place = 0_u32;
    for vine in 0..strand.vines.len() {
        // Given numbers may leave places out; the posts stand as if they were there.
        place = strand.numbers.as_ref().map_or(place + 1, |numbers| numbers[vine]);
        let before = before(place, sizes);
        match panels.last_mut() {
            Some(panel) if panel.before == before => panel.vines.end = vine + 1,
            last => {
                let post = last.map_or(0.0, |panel| {
                    panel.part.high = line_post(strand, vine - 1);
                    panel.part.high
                });
                let part = Interval::new(post, strand.length_m());
                panels.push(Stretch { before, vines: vine..vine + 1, part });
            }
        }
    }
    panels
}

/// How many panels come before that of a place, counted from 1.
fn before(place: u32, sizes: Sizes) -> u32 {
    let after_first = place.saturating_sub(sizes.first.max(1));
    after_first.div_ceil(sizes.others.max(1))
}

/// Half a vine spacing after a panel's last vine, but never where a keep-out lets nothing stand
/// nor past the next vine.
fn line_post(strand: &Strand, last: usize) -> f64 {
    let vine = strand.vines[last];
    let next = strand.vines.get(last + 1).map_or(strand.step_m, |next| next - vine);
    let post = vine + next.min(strand.step_m) / 2.0;
    let gap = strand.gaps.iter().find(|gap| along::within(**gap, post));
    gap.map_or(post, |gap| gap.low)
}

#[cfg(test)]
mod tests {
    use geo::LineString;

    use super::*;

    fn strand(vines: &[f64], length: f64) -> Strand {
        let path = LineString::from(vec![(0.0, 0.0), (length, 0.0)]);
        Strand { vines: vines.to_vec(), ..Strand::along(path, 2.0) }
    }

    fn check(strand: &Strand, first: u32, expected: &[(u32, Range<usize>, f64, f64)]) {
        let panels = panels_of(strand, Sizes { first, others: 3 });
        let expected: Vec<Stretch> = expected
            .iter()
            .cloned()
            .map(|(before, vines, low, high)| Stretch {
                before,
                vines,
                part: Interval::new(low, high),
            })
            .collect();
        assert_eq!(panels, expected);
    }

    #[test]
    fn a_line_post_stands_half_a_spacing_after_the_last_vine() {
        let seven: Vec<f64> = (0..7).map(|at| 1.0 + 2.0 * f64::from(at)).collect();
        let row = strand(&seven, 14.5);
        check(&row, 3, &[(0, 0..3, 0.0, 6.0), (1, 3..6, 6.0, 12.0), (2, 6..7, 12.0, 14.5)]);
        check(&row, 1, &[(0, 0..1, 0.0, 2.0), (1, 1..4, 2.0, 8.0), (2, 4..7, 8.0, 14.5)]);
        check(&strand(&[], 14.5), 3, &[]);
    }

    #[test]
    fn a_post_keeps_out_of_a_gap() {
        let gapped = Strand {
            gaps: vec![Interval::new(5.5, 8.0)],
            ..strand(&[1.0, 3.0, 5.0, 9.0, 11.0], 12.0)
        };
        check(&gapped, 3, &[(0, 0..3, 0.0, 5.5), (1, 3..5, 5.5, 12.0)]);
    }

    #[test]
    fn numbers_that_were_given_say_which_panel() {
        let numbers = Some(vec![1, 2, 4, 8]);
        let given = Strand { numbers, ..strand(&[1.0, 3.0, 7.0, 15.0], 16.0) };
        check(&given, 3, &[(0, 0..2, 0.0, 4.0), (1, 2..3, 4.0, 8.0), (2, 3..4, 8.0, 16.0)]);
    }
}
