//! Numbers of the page as people read them.

use crate::{
    maths::whole,
    picture::{self, Reading, grouped},
    plan::Interval,
    units::ReadingUnits,
};

/// How often a range holds, in words.
pub(super) const HOLDS: &str = "9 times in 10";

/// `2 459`.
pub(super) fn shoots(number: f64) -> String {
    grouped(whole(number.round()))
}

/// `1 845 to 3 110`.
pub(super) fn shoots_between(interval: Interval) -> String {
    format!("{} to {}", shoots(interval.lo90), shoots(interval.hi90))
}

/// `7.5`.
pub(super) fn tenth(number: f64) -> String {
    format!("{number:.1}")
}

/// `3.0 to 18.9`.
pub(super) fn tenths_between([low, high]: [f64; 2]) -> String {
    format!("{} to {}", tenth(low), tenth(high))
}

/// A density in the reader's unit: `23.1`.
pub(super) fn density(per_m: f64, units: ReadingUnits) -> String {
    tenth(per_m * reading(units).factor)
}

/// How densities are read.
pub(super) fn reading(units: ReadingUnits) -> Reading {
    picture::shoots_reading(units)
}

/// `Z1, Z2 and Z4`.
pub(super) fn listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_for_readers() {
        let interval = Interval { value: 2458.8, lo90: 1844.7, hi90: 13_109.8 };
        assert_eq!(shoots(interval.value), "2459");
        assert_eq!(shoots_between(interval), "1845 to 13\u{2009}110");
        assert_eq!(density(10.0, ReadingUnits::Us), "3.0");
        let ids = ["Z1", "Z2", "Z4"].map(str::to_owned);
        assert_eq!(listed(&ids), "Z1, Z2 and Z4");
        assert_eq!(listed(&ids[..1]), "Z1");
    }
}
