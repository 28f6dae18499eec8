//! Why a text is no day, and what to write.

use std::fmt;

use jiff::{Span, civil::Date};

/// Numbers that a spreadsheet keeps for the days from 1954 to 2119.
const DAY_NUMBERS: std::ops::Range<i32> = 20_000..80_000;

/// Why a text is no day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct NoDay {
    pub(super) what: String,
    pub(super) why: String,
    pub(super) mend: String,
}

impl fmt::Display for NoDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if !self.why.is_empty() {
            write!(f, " ({})", self.why)?;
        }
        write!(f, "; {}", self.mend)
    }
}

fn refused(what: String, why: &str, mend: String) -> NoDay {
    NoDay { what, why: why.to_owned(), mend }
}

/// A day that no calendar has.
pub(super) fn not_in_the_calendar(text: &str) -> NoDay {
    refused(
        format!("`{text}` is no day of the calendar"),
        "",
        "write year-month-day, such as 2026-05-01".to_owned(),
    )
}

/// Numbers that may be these days, or one only by guessing.
pub(super) fn not_year_first(text: &str, readings: &[Date]) -> NoDay {
    let days: Vec<String> = readings.iter().map(Date::to_string).collect();
    let mend = |day: &str| format!("write year-month-day, such as {day}");
    match &days[..] {
        [] => not_in_the_calendar(text),
        [only] => refused(
            format!("`{text}` does not begin with its year"),
            "days and months of such dates are taken for each other",
            mend(only),
        ),
        [first, ..] => refused(
            format!("`{text}` may be {}", days.join(" or ")),
            "days and months are not told apart by guessing",
            mend(first),
        ),
    }
}

/// What is no date, or a number of days.
pub(super) fn no_day(text: &str) -> NoDay {
    let shown: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    let Some(day) = day_of_number(text) else {
        let mend = "write year-month-day, such as 2026-05-01";
        return refused(format!("`{shown}` is no date"), "", mend.to_owned());
    };
    refused(
        format!("`{shown}` is a number of days, not a date"),
        &format!("as a spreadsheet counts days from 1900 it would be {day}"),
        format!("write {day} if that is the day, or format the column as dates and save it again"),
    )
}

/// The day of a spreadsheet's number, which counts from the end of 1899.
fn day_of_number(text: &str) -> Option<Date> {
    let (whole, rest) = text.split_once(['.', ',']).unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let number: i32 = whole.parse().ok().filter(|_| digits(whole) && digits(rest))?;
    let number = DAY_NUMBERS.contains(&number).then_some(number)?;
    Date::new(1899, 12, 30).ok()?.checked_add(Span::new().days(number)).ok()
}
