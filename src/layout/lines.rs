//! Which rows lie where: a number and a place across the block for every row to be laid.

use std::collections::BTreeMap;

use super::clearance::GRACE_M;
use crate::maths::intervals::Interval;

/// A gap between surveyed rows is shared evenly while that keeps the spacing within these bounds;
/// beyond them neighbours stand too near, or something lies between them.
const EVEN_SHARE: std::ops::RangeInclusive<f64> = 0.75..=1.25;

/// Rows whose place across is known, by number.
#[derive(Debug, Clone, Default)]
pub(super) struct KnownRows(BTreeMap<u32, f64>);

impl KnownRows {
    /// These rows, each with its metres across.
    pub(super) fn new(rows: impl IntoIterator<Item = (u32, f64)>) -> Self {
        Self(rows.into_iter().collect())
    }

    /// Where the row with this number lies: as known, evenly between its neighbours, or one
    /// spacing a number beyond the last known row.
    pub(super) fn across(&self, number: u32, spacing_m: f64) -> Option<f64> {
        let below = self.0.range(..=number).next_back();
        let above = self.0.range(number..).next();
        match (below, above) {
            (Some((&low, &v)), Some((&high, _))) if low == high => Some(v),
            (Some((&low, &v)), Some((&high, &w))) => {
                Some(v + (w - v) * steps(low, number) / steps(low, high))
            }
            (Some((&low, &v)), None) => Some(v + steps(low, number) * spacing_m),
            (None, Some((&high, &w))) => Some(w - steps(number, high) * spacing_m),
            (None, None) => None,
        }
    }

    /// The rows to lay between and around the known ones, by rising number, and the pairs of known
    /// rows between which the numbers do not fit the spacing.
    pub(super) fn rows_to_lay(&self, across: Interval, spacing_m: f64) -> RowsToLay {
        let mut rows = RowsToLay::default();
        let (Some((&first, &v)), Some((&last, &w))) =
            (self.0.first_key_value(), self.0.last_key_value())
        else {
            return rows;
        };
        let below = (1..first).rev().map(|number| (number, v - steps(number, first) * spacing_m));
        rows.lay.extend(below.take_while(|(_, at)| *at >= across.low - GRACE_M));
        let before_1 = v - f64::from(first) * spacing_m;
        rows.room_below_1 = (before_1 >= across.low - GRACE_M).then_some(before_1);
        for (low, high) in self.0.iter().zip(self.0.iter().skip(1)) {
            lay_between((*low.0, *low.1), (*high.0, *high.1), spacing_m, &mut rows);
        }
        let above = (last..u32::MAX).skip(1);
        let above = above.map(|number| (number, w + steps(last, number) * spacing_m));
        rows.lay.extend(above.take_while(|(_, at)| *at <= across.high + GRACE_M));
        // Lines numbered against their order across would have new rows laid over them.
        let room = EVEN_SHARE.start() * spacing_m;
        rows.lay.retain(|(_, at)| self.0.values().all(|known| (known - at).abs() >= room));
        rows.lay.sort_by(|one, other| one.1.total_cmp(&other.1));
        rows
    }
}

fn lay_between(low: (u32, f64), high: (u32, f64), spacing_m: f64, to: &mut RowsToLay) {
    let steps_high = steps(low.0, high.0);
    let apart = (high.1 - low.1) / (steps_high * spacing_m);
    let even = EVEN_SHARE.contains(&apart);
    // Room for another number of rows than the numbers say.
    let fits = (apart - 1.0).abs() * steps_high < 0.5;
    if !even || !fits {
        let apart_m = high.1 - low.1;
        to.uneven.push(Misfit { rows: (low.0, high.0), apart_m, shared: even });
    }
    for number in low.0 + 1..high.0 {
        let at = low.1 + steps(low.0, number) * spacing_m * if even { apart } else { 1.0 };
        if even || high.1 - at >= EVEN_SHARE.start() * spacing_m {
            to.lay.push((number, at));
        }
    }
}

/// How many numbers on, or back when negative.
fn steps(from: u32, to: u32) -> f64 {
    f64::from(to) - f64::from(from)
}

/// Neighbouring known rows whose distance does not fit their numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Misfit {
    /// Their numbers.
    pub(super) rows: (u32, u32),
    /// Metres from the lower to the higher; negative where they lie the other way round.
    pub(super) apart_m: f64,
    /// The rows between share it evenly; else they are laid at the row spacing.
    pub(super) shared: bool,
}

/// Rows to lay beside those that are known.
#[derive(Debug, Clone, Default)]
pub(super) struct RowsToLay {
    /// Number and metres across, by rising place across.
    pub(super) lay: Vec<(u32, f64)>,
    /// Neighbouring known rows whose distance does not fit their numbers.
    pub(super) uneven: Vec<Misfit>,
    /// Where a row before row 1 would lie, if that is within the block.
    pub(super) room_below_1: Option<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_laid_between_and_around_those_that_stand() {
        let known = KnownRows::new([(2, 0.0), (5, 7.8)]);
        let rows = known.rows_to_lay(Interval::new(-6.0, 11.0), 2.5);
        let expected = [(1, -2.5), (3, 2.6), (4, 5.2), (6, 10.3)];
        assert_eq!(rows.lay.len(), expected.len(), "{rows:?}");
        for (one, other) in rows.lay.iter().zip(&expected) {
            assert_eq!(one.0, other.0);
            assert!((one.1 - other.1).abs() < 1e-12, "{rows:?}");
        }
        assert!(rows.room_below_1.is_some() && rows.uneven.is_empty());
    }

    #[test]
    fn numbers_that_do_not_fit_the_distance_are_told() {
        let known = KnownRows::new([(1, 0.0), (9, 7.5)]);
        let rows = known.rows_to_lay(Interval::new(0.0, 7.5), 2.5);
        assert_eq!(rows.uneven, [Misfit { rows: (1, 9), apart_m: 7.5, shared: false }]);
        assert_eq!(rows.lay, [(2, 2.5), (3, 5.0)]);
    }

    #[test]
    fn numbers_between_are_honoured_and_told_where_there_is_room_for_more_or_fewer() {
        // Rows 1, 2 and 7 at 2.5 m: from row 2 on, 5 spacings have room for the 4 rows 3 to 6, 4
        // for 3 of them and 6 for 5. All share the room evenly, and the last two are told.
        for (spacings, told) in [(5.0, false), (4.0, true), (6.0, true)] {
            let at = 2.5 * (1.0 + spacings);
            let known = KnownRows::new([(1, 0.0), (2, 2.5), (7, at)]);
            let rows = known.rows_to_lay(Interval::new(0.0, at), 2.5);
            let numbers: Vec<u32> = rows.lay.iter().map(|row| row.0).collect();
            assert_eq!(numbers, [3, 4, 5, 6]);
            assert!((rows.lay[0].1 - 2.5 - spacings / 2.0).abs() < 1e-12, "{rows:?}");
            assert_eq!(rows.uneven.iter().any(|misfit| misfit.rows == (2, 7)), told, "{rows:?}");
        }
    }

    #[test]
    fn nothing_is_laid_on_a_track_between_rows_that_follow_each_other() {
        let known = KnownRows::new([(4, 7.5), (5, 10.0), (6, 15.0), (8, 20.0)]);
        let rows = known.rows_to_lay(Interval::new(7.5, 20.0), 2.5);
        assert_eq!(rows.lay, [(7, 17.5)]);
        assert_eq!(rows.uneven, [Misfit { rows: (5, 6), apart_m: 5.0, shared: false }]);
    }

    #[test]
    fn a_row_beyond_the_known_ones_lies_one_spacing_a_number_further() {
        let known = KnownRows::new([(10, 4.0), (12, 9.0)]);
        assert_eq!(known.across(11, 2.2), Some(6.5));
        assert_eq!(known.across(14, 2.0), Some(13.0));
        assert_eq!(known.across(8, 2.0), Some(0.0));
        assert_eq!(KnownRows::default().across(1, 2.0), None);
    }
}
