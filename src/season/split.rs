//! Which season each record belongs to.

use std::collections::BTreeSet;

use jiff::{Span, civil::Date};

use crate::{counts::Count, join::UnjoinedRecord};

/// The records of one season.
#[derive(Debug, Clone, Default)]
pub struct Season {
    /// The calendar year of its first count.
    pub year: i16,
    /// The season before ended on this day; `None` for the first.
    pub after: Option<Date>,
    /// Its last day; `None` for the latest, which takes all that follows.
    pub until: Option<Date>,
    /// Its records, in the order read.
    pub counts: Vec<Count>,
}

impl Season {
    /// True when a day is one of its own.
    pub fn holds(&self, date: Option<Date>) -> bool {
        date.is_some_and(|date| {
            self.after.is_none_or(|after| date > after)
                && self.until.is_none_or(|until| date <= until)
        })
    }
}

/// Parts records by season, from the first to the latest; those without a date are left over, with
/// the reason. Counts more than `season_days` before the last of a season belong to an earlier one.
///
/// No season comes of records none of which measures something that grows and has a date; all are
/// left over then.
pub fn split(counts: Vec<Count>, season_days: i32) -> (Vec<Season>, Vec<UnjoinedRecord>) {
    let mut seasons = empty(&counts, season_days);
    let mut leftovers = Vec::new();
    for count in counts {
        if let Some(season) = seasons.iter_mut().find(|season| season.holds(count.date)) {
            season.counts.push(count);
        } else {
            let reason = if count.date.is_some() { NOTHING_GROWN } else { NO_DATE };
            leftovers.push(UnjoinedRecord { count, reason: reason.to_owned() });
        }
    }
    (seasons, leftovers)
}

const NO_DATE: &str =
    "has no date, so that nothing says which year it belongs to; fill the `date` column";
const NOTHING_GROWN: &str =
    "no record of the run counts shoots on a day, so that there is no season";

/// The seasons without their records.
fn empty(counts: &[Count], season_days: i32) -> Vec<Season> {
    let days: BTreeSet<Date> =
        counts.iter().filter(|count| is_of_growth(count)).filter_map(|count| count.date).collect();
    let mut seasons: Vec<Season> = Vec::new();
    let mut left: Vec<Date> = days.into_iter().collect();
    while let Some(&last) = left.last() {
        let from = last.checked_sub(Span::new().days(season_days)).unwrap_or(Date::MIN);
        let own = left.split_off(left.partition_point(|day| *day < from));
        let first = own.first().copied().unwrap_or(last);
        // Of two that begin in one calendar year the earlier grew out of the spring before.
        let later = seasons.last().map_or(i16::MAX, |later| later.year);
        let year = first.year().min(later.saturating_sub(1));
        let until = (!seasons.is_empty()).then_some(last);
        seasons.push(Season { year, after: left.last().copied(), until, counts: Vec::new() });
    }
    seasons.reverse();
    seasons
}

/// True when a record measures what grows in a season: it cannot be of winter.
const fn is_of_growth(count: &Count) -> bool {
    count.shoots.is_some() || count.shoot_length.is_some() || count.suckers.is_some()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;
    use crate::counts::Shoots;

    fn on(year: i16, month: i8, day: i8) -> Count {
        let shoots = Some(Shoots { all: 20, secondary: None, base: None });
        Count { date: Some(date(year, month, day)), shoots, ..Count::default() }
    }

    fn winter(year: i16, month: i8) -> Count {
        Count { shoots: None, pruning_weight_kg: Some(0.6), ..on(year, month, 4) }
    }

    fn parted(counts: Vec<Count>) -> Vec<(i16, usize)> {
        let (seasons, _) = split(counts, 200);
        seasons.iter().map(|season| (season.year, season.counts.len())).collect()
    }

    #[test]
    fn years_are_parted_and_visits_of_a_year_are_not() {
        let counts = vec![on(2026, 6, 19), on(2025, 6, 12), on(2026, 6, 3), on(2024, 5, 30)];
        assert_eq!(parted(counts), [(2024, 1), (2025, 1), (2026, 2)]);
    }

    #[test]
    fn a_winter_belongs_to_the_season_that_follows() {
        let counts = vec![on(2025, 6, 12), winter(2026, 3), on(2026, 6, 10), winter(2025, 2)];
        assert_eq!(parted(counts), [(2025, 2), (2026, 2)]);
        // No season follows yet: what is weighed then is of the latest.
        assert_eq!(parted(vec![on(2026, 6, 10), winter(2027, 2)]), [(2026, 2)]);
    }

    #[test]
    fn a_season_over_the_turn_of_the_year_has_the_year_of_its_spring() {
        let counts = vec![on(2025, 1, 5), on(2024, 11, 20), on(2025, 11, 25), on(2026, 1, 3)];
        assert_eq!(parted(counts), [(2024, 2), (2025, 2)]);
        // Counted late in one summer and early in the next.
        assert_eq!(parted(vec![on(2025, 1, 5), on(2025, 11, 25)]), [(2024, 1), (2025, 1)]);
    }

    #[test]
    fn a_record_without_a_date_is_left_over_with_the_reason() {
        let undated = Count { date: None, ..on(2026, 6, 10) };
        let (seasons, left) = split(vec![undated, on(2026, 6, 10)], 200);
        assert_eq!((seasons.len(), left.len()), (1, 1));
        assert!(left[0].reason.contains("no date"), "{}", left[0].reason);
        let (seasons, left) = split(vec![winter(2026, 3)], 200);
        assert!(seasons.is_empty() && left[0].reason.contains("no season"));
    }

    proptest! {
        #[test]
        fn every_record_is_in_one_season_or_left_over_whatever_the_order(
            days in proptest::collection::vec(
                proptest::option::weighted(0.9, (2020_i16..2027, 1_i8..=12, 1_i8..=28)), 0..40)
        ) {
            let count = |day: &Option<(i16, i8, i8)>| {
                let date = day.map(|(year, month, day)| date(year, month, day));
                Count { date, ..on(2026, 1, 1) }
            };
            let counts: Vec<Count> = days.iter().map(count).collect();
            let (seasons, left) = split(counts.clone(), 200);
            let held: usize = seasons.iter().map(|season| season.counts.len()).sum();
            prop_assert_eq!(held + left.len(), counts.len());
            prop_assert!(left.iter().all(|record| record.count.date.is_none()));
            prop_assert!(seasons.windows(2).all(|two| two[0].year < two[1].year));
            let sizes = parted(counts.clone());
            prop_assert_eq!(sizes, parted(counts.into_iter().rev().collect()));
        }
    }
}
