//! Which records tell what stood before the work of this season.
//!
//! Known work at a vine is a record with minutes, or one labelled as after the work, on that vine or
//! on a panel with it. A later count there that carries no label is after the work, and is no count
//! of what was there before. Of a recount, which tells what was left, only those labelled as before
//! the work are none.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::{Placed, Target, visits};
use crate::{counts::Count, settings::JoinSettings};

/// Why a record does not tell what stood before the work of this season.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    /// It is older than a season.
    OtherSeason,
    /// Its label says so.
    LabelledAfter,
    /// Work was done there on an earlier day, or on the same day between two counts.
    AfterKnownWork,
    /// A frost came after it, or it has no date.
    BeforeFrost,
    /// What was left is asked for, and its label says that it was made before the work.
    LabelledBefore,
}

/// The reason by placed record; `None` for those that tell it.
pub(super) fn settle(
    placed: &[Placed<'_>],
    vines_of: impl Fn(Target) -> std::ops::Range<usize>,
    settings: &JoinSettings,
) -> Vec<Option<Why>> {
    let oldest = season_from(placed, settings.season_days, |count| {
        count.shoots.is_some() || count.shoot_length.is_some() || count.suckers.is_some()
    });
    let work = Work::of(placed, vines_of, settings.season_days);
    let why = |(at, record): (usize, &Placed<'_>)| {
        let count = record.count;
        if count.date.zip(oldest).is_some_and(|(date, oldest)| date < oldest) {
            Some(Why::OtherSeason)
        } else if settings.after_work {
            visits::is_before_work(count).then_some(Why::LabelledBefore)
        } else if visits::is_after_work(count) {
            Some(Why::LabelledAfter)
        } else if !visits::still_holds(count, settings.not_before) {
            Some(Why::BeforeFrost)
        } else {
            work.is_before(at).then_some(Why::AfterKnownWork)
        }
    };
    placed.iter().enumerate().map(why).collect()
}

/// The first day of the season of the latest record that measures something, when records more days
/// apart than these belong to two seasons.
pub(super) fn season_from(
    placed: &[Placed<'_>],
    season_days: i32,
    measures: impl Fn(&Count) -> bool,
) -> Option<Date> {
    let measured = placed.iter().filter(|record| measures(record.count));
    let latest = measured.filter_map(|record| record.count.date).max()?;
    latest.checked_sub(jiff::Span::new().days(season_days)).ok()
}

/// Known work by vine, as indices into the placed records.
struct Work<'a, F> {
    placed: &'a [Placed<'a>],
    vines_of: F,
    by_vine: BTreeMap<usize, Vec<usize>>,
    season_days: i32,
}

impl<'a, F: Fn(Target) -> std::ops::Range<usize>> Work<'a, F> {
    fn of(placed: &'a [Placed<'a>], vines_of: F, season_days: i32) -> Self {
        let mut by_vine: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (at, record) in placed.iter().enumerate() {
            let timed = record.count.minutes.is_some_and(|minutes| minutes > 0.0);
            if timed || visits::is_after_work(record.count) {
                for vine in vines_of(record.target) {
                    by_vine.entry(vine).or_default().push(at);
                }
            }
        }
        Self { placed, vines_of, by_vine, season_days }
    }

    /// True when a record without the label `before` was made after work on one of its vines.
    fn is_before(&self, at: usize) -> bool {
        let record = &self.placed[at];
        let (_, label) = visits::visit(record.count);
        let known = (self.vines_of)(record.target).filter_map(|vine| self.by_vine.get(&vine));
        !label.contains("before")
            && known.flatten().any(|&work| work != at && self.is_between(work, at))
    }

    fn is_between(&self, work: usize, at: usize) -> bool {
        let (done, made) = (self.placed[work].count.date, self.placed[at].count.date);
        match (done, made) {
            (Some(done), Some(made)) if done != made => {
                done < made && (made - done).get_days() <= self.season_days
            }
            // Of one day, the order of the file: a count, the work, and the count that follows.
            _ => done == made && work < at && self.was_counted(work, at),
        }
    }

    /// True when the place was counted before the work on the same day.
    fn was_counted(&self, work: usize, at: usize) -> bool {
        let (target, date) = (self.placed[at].target, self.placed[at].count.date);
        self.placed[..=work].iter().any(|record| {
            record.target == target
                && record.count.date == date
                && record.count.shoots.is_some()
                && !visits::is_after_work(record.count)
        })
    }
}
