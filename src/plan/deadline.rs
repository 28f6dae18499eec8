//! From shoot length to dates: when the window opens and closes.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | ℓ | mean shoot length on the day it was measured | m |
//! | g | growth, slow and fast | m a day |

use jiff::{Span, civil::Date};

use super::Window;
use crate::settings::PlanSettings;

/// How long shoots are and how fast they grow.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// When they were measured last.
    pub date: Date,
    /// Their mean length then, metres.
    pub length_m: f64,
    /// Slowest and fastest growth, metres a day.
    pub rates_m: [f64; 2],
    /// Where it comes from, in words.
    pub source: String,
}

/// Growth from dated visits: between the last two, else the range of the settings.
///
/// Gives `None` where no shoot length is dated.
pub fn growth(visits: &[(Date, f64, usize)], settings: &PlanSettings) -> Option<Growth> {
    let mut visits = visits.to_vec();
    visits.sort_by_key(|(date, _, _)| *date);
    let &(date, length_m, _) = visits.last()?;
    let before = visits.iter().rev().find(|(earlier, _, _)| *earlier < date);
    let measured = before.map(|&(earlier, length, _)| {
        (earlier, (length_m - length) / f64::from(days_between(earlier, date)))
    });
    let range = [settings.slowest_growth.metres(), settings.fastest_growth.metres()];
    let (rates_m, source) = match measured {
        Some((earlier, rate)) if believable(rate, range) => {
            ([rate, rate], format!("shoots grew {} a day from {earlier} to {date}", inches(rate)))
        }
        Some((earlier, rate)) if rate > 0.0 => (
            range,
            format!(
                "{} a day from {earlier} to {date} is hardly how shoots grow; {}",
                inches(rate),
                assumed(range)
            ),
        ),
        Some((earlier, _)) => (
            range,
            format!("shoots were no longer on {date} than on {earlier}; {}", assumed(range)),
        ),
        None => (
            range,
            format!(
                "one dated shoot length, {date}; {}: measure again in a few days",
                assumed(range)
            ),
        ),
    };
    Some(Growth { date, length_m, rates_m, source })
}

/// A measured rate is believed from a third of the slowest to thrice the fastest of the range (our
/// judgement): beyond, other vines or another way of measuring are likelier.
fn believable(rate: f64, [slowest, fastest]: [f64; 2]) -> bool {
    (slowest / 3.0..=fastest * 3.0).contains(&rate)
}

fn assumed(range: [f64; 2]) -> String {
    format!("growth assumed between {} and {} a day", inches(range[0]), inches(range[1]))
}

/// `0.95 in (2.4 cm)`.
fn inches(metres: f64) -> String {
    format!("{:.2} in ({:.1} cm)", metres / 0.0254, metres * 100.0)
}

/// When shoots of this length may be thinned.
///
/// It opens at the later of the opening length, reached by fast growth, and the last frost; it
/// closes on the last whole day before the closing length. Shoots that are past a length already
/// give the day they were measured on.
pub fn window(growth: Option<&Growth>, settings: &PlanSettings) -> Window {
    let Some(growth) = growth else {
        return Window {
            opens: settings.last_frost,
            closes_first: None,
            closes_last: None,
            source: "no dated shoot length: measure some shoots to get dates".to_owned(),
        };
    };
    let [slow, fast] = growth.rates_m;
    let days = |length: f64, rate: f64| days_until(growth.length_m, length, rate);
    // A hair of a day keeps 9.5 in at 0.95 in a day from taking eleven days.
    let open = later(growth.date, (days(settings.opens_at.metres(), fast) - HAIR).ceil());
    let closes =
        |rate| later(growth.date, (days(settings.closes_at.metres(), rate) + HAIR).floor());
    Window {
        opens: open.map(|open| settings.last_frost.map_or(open, |frost| frost.max(open))),
        closes_first: closes(fast),
        closes_last: closes(slow),
        source: growth.source.clone(),
    }
}

/// Days until shoots are so long; 0 when they are longer already.
///
/// # Units
/// Lengths in one unit, `rate` in that unit a day.
pub fn days_until(length: f64, wanted: f64, rate: f64) -> f64 {
    ((wanted - length) / rate).max(0.0)
}

/// Days that are only rounding.
const HAIR: f64 = 1e-6;

fn later(date: Date, days: f64) -> Option<Date> {
    #[expect(clippy::cast_possible_truncation, reason = "clamped to ten years")]
    let days = days.clamp(0.0, 3660.0) as i64;
    date.checked_add(Span::new().try_days(days).ok()?).ok()
}

/// Whole days from one date to another.
pub(super) fn days_between(from: Date, to: Date) -> i32 {
    (to - from).get_days()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::settings::Settings;

    const INCH: f64 = 0.0254;

    fn settings() -> PlanSettings {
        Settings::default().plan()
    }

    #[test]
    fn two_visits_measure_the_growth() {
        let visits = [(date(2026, 5, 10), 4.0 * INCH, 9), (date(2026, 5, 14), 6.0 * INCH, 9)];
        let growth = growth(&visits, &settings()).unwrap();
        let window = window(Some(&growth), &settings());
        // 6 in more at 0.5 in a day.
        assert_eq!(window.closes_first, Some(date(2026, 5, 26)));
        assert_eq!(window.closes_last, window.closes_first);
        assert_eq!(window.opens, Some(date(2026, 5, 14)));
    }

    #[test]
    fn one_visit_gives_a_range_and_frost_holds_the_opening_back() {
        let visits = [(date(2026, 5, 10), 3.0 * INCH, 9)];
        let settings = PlanSettings { last_frost: Some(date(2026, 5, 15)), ..settings() };
        let growth = growth(&visits, &settings).unwrap();
        let window = window(Some(&growth), &settings);
        // 9 in at 1 in a day, and at 0.3 in a day.
        assert_eq!(window.closes_first, Some(date(2026, 5, 19)));
        assert_eq!(window.closes_last, Some(date(2026, 6, 9)));
        assert_eq!(window.opens, Some(date(2026, 5, 15)));
        assert!(window.source.contains("measure again"), "{}", window.source);
    }

    #[test]
    fn without_a_dated_length_there_are_no_dates() {
        assert_eq!(growth(&[], &settings()), None);
        assert_eq!(window(None, &settings()).closes_first, None);
    }

    #[test]
    fn shoots_that_did_not_grow_fall_back_to_the_range() {
        let visits = [(date(2026, 5, 10), 0.2, 9), (date(2026, 5, 14), 0.1, 9)];
        let growth = growth(&visits, &settings()).unwrap();
        assert!(growth.rates_m[0] < growth.rates_m[1], "{growth:?}");
    }
}
