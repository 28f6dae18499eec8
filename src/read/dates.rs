//! Days as people and spreadsheets write them -> a date; what may be two days is none.
//!
//! The year comes first, or the month has its name: `2026-06-01`, `2026/6/1`, `20260601`, `1 June
//! 2026`. A time of day behind it is left out.

use jiff::civil::Date;

use super::{
    no_day::{NoDay, no_day, not_in_the_calendar, not_year_first},
    table::{Row, Table, tidy},
};
use crate::{
    finding::{Finding, Findings},
    names::number_of,
};

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// A day, and whether a time of day stood behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Day {
    pub(super) date: Date,
    pub(super) timed: bool,
}

/// A day as text, as a cell, a key or an option has it.
///
/// # Errors
/// What may be two days, a day that no calendar has, a number of days, or no date at all.
pub(super) fn day_of(text: &str) -> Result<Day, NoDay> {
    let text = text.trim();
    let (day, timed) = without_time(text);
    let date = if let Some(numbers) = three_numbers(day) {
        by_numbers(day, numbers)?
    } else {
        by_name(day).or_else(|| all_digits(day)).ok_or_else(|| no_day(text))?
    };
    Ok(Day { date, timed })
}

/// A day of a key of a block or of an option.
///
/// # Errors
/// What is the matter and how to write it, in one line.
pub fn date_from_text(text: &str) -> Result<Date, String> {
    day_of(text).map(|day| day.date).map_err(|wrong| wrong.to_string())
}

/// Tells once a table that the times of day in a column are left out.
pub(super) fn tell_times(table: &Table, rows: &[Row], column: &str, findings: &mut Findings) {
    let Some(at) = table.column(column) else { return };
    let timed = |row: &&Row| {
        let cell = row.cells.get(at).map(|cell| tidy(cell));
        cell.is_some_and(|cell| day_of(&cell).is_ok_and(|day| day.timed))
    };
    let mut timed = rows.iter().filter(timed);
    let Some(first) = timed.next() else { return };
    let what = format!("{} with a time of day", number_of(1 + timed.count(), "date"));
    let why = "the day is taken as written, the time is not used";
    findings.push(Finding::note(first.place.at_field(column), what).because(why));
}

/// The text before a time of day, and whether there was one.
pub(super) fn without_time(text: &str) -> (&str, bool) {
    let Some(colon) = text.find(':') else { return (text, false) };
    let digits = text[..colon].bytes().rev().take_while(u8::is_ascii_digit).count();
    let (before, time) = text.split_at(colon - digits);
    let day =
        before.strip_suffix(['T', 't']).unwrap_or_else(|| before.trim_end_matches([' ', ',']));
    if day.len() < before.len() && is_time(time) { (day, true) } else { (text, false) }
}

/// `14:30`, `14:30:05.2`, `2:30 PM`, with `Z` or `+02:00` behind it.
fn is_time(text: &str) -> bool {
    let lower = text.to_lowercase();
    let clock =
        lower.trim_end_matches("am").trim_end_matches("pm").trim_end_matches('z').trim_end();
    let (clock, zone) = clock.split_once(['+', '-']).unwrap_or((clock, "00"));
    let within = |part: &str, most: f64| {
        let plain = part.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        plain && part.parse::<f64>().is_ok_and(|number| number < most)
    };
    let parts: Vec<&str> = clock.split(':').collect();
    let sound = match parts[..] {
        [hour, minute] => within(hour, 24.0) && within(minute, 60.0),
        [hour, minute, second] => {
            within(hour, 24.0) && within(minute, 60.0) && within(second, 60.0)
        }
        _ => false,
    };
    sound && (2..=5).contains(&zone.len()) && zone.bytes().all(|b| b.is_ascii_digit() || b == b':')
}

/// Three numbers with the same mark between them.
fn three_numbers(text: &str) -> Option<[&str; 3]> {
    ['-', '/', '.'].into_iter().find_map(|mark| {
        let parts: Vec<&str> = text.split(mark).collect();
        let sound =
            |part: &&str| (1..=4).contains(&part.len()) && part.bytes().all(|b| b.is_ascii_digit());
        <[&str; 3]>::try_from(parts).ok().filter(|parts| parts.iter().all(sound))
    })
}

fn by_numbers(text: &str, [first, second, third]: [&str; 3]) -> Result<Date, NoDay> {
    if first.len() == 4 {
        return civil(first, second, third).ok_or_else(|| not_in_the_calendar(text));
    }
    let short_year = first.len() <= 2 && third.len() <= 2;
    let mut readings: Vec<Date> = Vec::new();
    let orders = [
        Some((third, second, first)),
        Some((third, first, second)),
        short_year.then_some((first, second, third)),
    ];
    for date in orders.into_iter().flatten().filter_map(|(y, m, d)| civil(y, m, d)) {
        if !readings.contains(&date) {
            readings.push(date);
        }
    }
    Err(not_year_first(text, &readings))
}

/// A date from its parts; of a year of two digits, in this century.
fn civil(year: &str, month: &str, day: &str) -> Option<Date> {
    let century = match year.len() {
        4 => 0,
        2 => 2000,
        _ => return None,
    };
    let year: i16 = year.parse().ok()?;
    Date::new(century + year, month.parse().ok()?, day.parse().ok()?).ok()
}

/// `1 June 2026`, `1-Jun-2026`, `June 1, 2026`.
fn by_name(text: &str) -> Option<Date> {
    let parts = text.split(['-', '/', '.', ',', ' ']).filter(|part| !part.is_empty());
    let parts = <[&str; 3]>::try_from(parts.collect::<Vec<_>>()).ok()?;
    let (at, month) = parts.iter().enumerate().find_map(|(at, part)| Some((at, month(part)?)))?;
    let is_year = |part: &&str| part.len() == 4;
    let year =
        parts.iter().find(|part| is_year(part) && part.bytes().all(|b| b.is_ascii_digit()))?;
    let day = parts.iter().enumerate().find(|(own, part)| *own != at && !is_year(part))?.1;
    civil(year, &month.to_string(), day)
}

/// The number of a month by its English name or the first letters of it.
fn month(name: &str) -> Option<usize> {
    let lower = name.to_lowercase();
    let plain = if lower == "sept" { "sep" } else { lower.as_str() };
    let fits = |month: &str| month == plain || &month[..3] == plain;
    MONTHS.iter().position(|month| fits(month)).map(|at| at + 1)
}

/// `20260601`.
fn all_digits(text: &str) -> Option<Date> {
    let digits = text.len() == 8 && text.bytes().all(|b| b.is_ascii_digit());
    let year = text.get(..4).filter(|year| digits && ("1900".."2200").contains(year))?;
    civil(year, &text[4..6], &text[6..])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, day: &str, timed: bool) {
        let found = day_of(text).unwrap_or_else(|wrong| panic!("{wrong}"));
        assert_eq!((found.date.to_string().as_str(), found.timed), (day, timed), "{text}");
    }

    #[test]
    fn what_can_be_one_day_only_is_that_day() {
        for text in ["2026-06-01", "2026/06/01", "2026.06.01", "2026-6-1", "20260601"] {
            check(text, "2026-06-01", false);
        }
        for text in ["1 June 2026", "01 jun 2026", "1-Jun-2026", "June 1, 2026", "1. June 2026"] {
            check(text, "2026-06-01", false);
        }
        check("1 Sept 2026", "2026-09-01", false);
    }

    #[test]
    fn a_time_of_day_is_left_out() {
        for time in ["T00:00:00", " 00:00:00", " 14:30", "T23:59:59.5Z", "T08:15+02:00", " 2:30 PM"]
        {
            check(&format!("2026-06-01{time}"), "2026-06-01", true);
        }
        check("1 June 2026, 14:30", "2026-06-01", true);
        for wrong in ["2026-06-01 25:00", "2026-06-01 12:", "2026-06-0112:00", "12:30"] {
            assert!(day_of(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn what_may_be_two_days_is_none_and_says_which() {
        for (text, said) in [
            ("01/06/2026", "may be 2026-06-01 or 2026-01-06"),
            ("6/1/26", "may be 2026-01-06 or 2026-06-01"),
            ("26-06-01", "may be 2001-06-26 or 2026-06-01"),
            ("25.06.2026", "write year-month-day, such as 2026-06-25"),
            ("2026-02-29", "no day of the calendar"),
            ("31/31/2026", "no day of the calendar"),
            ("1 June 26", "is no date"),
            ("June 2026", "is no date"),
            ("yesterday", "is no date"),
        ] {
            let wrong = day_of(text).map_err(|wrong| wrong.to_string());
            assert!(wrong.as_ref().is_err_and(|wrong| wrong.contains(said)), "{text}: {wrong:?}");
        }
    }

    #[test]
    fn a_number_of_days_is_told_with_its_day() {
        // 25 May 2026 is day 46 167 of the years from 1900 (ECMA-376, part 1, 18.17.4.1).
        for number in ["46167", "46167.5"] {
            let wrong = day_of(number).expect_err("a number").to_string();
            assert!(wrong.contains("it would be 2026-05-25"), "{wrong}");
        }
        assert!(day_of("12").expect_err("a number").to_string().contains("`12` is no date"));
    }
}
