//! How shoots become numbers in the invented field book: windows, parts, and luck.

use super::records::Record;
use crate::maths::random::Random;

/// A stretch of cordon on which shoots are counted instead of on the whole vine.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    /// Its length, centimetres.
    pub(super) length_cm: f64,
    /// Of the whole vine, centimetres.
    pub(super) canopy_cm: f64,
    /// The next stretch is counted too.
    pub(super) twice: bool,
}

/// The counts of one window, or of two neighbouring ones, on a vine with so many shoots.
pub(super) fn in_windows(
    record: &Record,
    shoots: u32,
    window: Window,
    random: &mut Random,
) -> Vec<Record> {
    let Window { length_cm, canopy_cm, twice } = window;
    let line = |label: u32, start_cm: f64, shoots: u32| {
        let record = record.clone().with("window", label).with("shoots", shoots);
        record.with("window_start_cm", start_cm).with("counted_length_cm", length_cm)
    };
    let first = binomial(shoots, length_cm / canopy_cm, random);
    let mut records = vec![line(1, 0.0, first)];
    if twice {
        let share = (length_cm / (canopy_cm - length_cm)).min(1.0);
        let second = binomial(shoots - first, share, random);
        let next = line(2, length_cm, second);
        // What belongs to the vine as a whole is written once.
        records.push(next.with("shoot_length_cm", "").with("suckers", "").with("minutes", ""));
    }
    records
}

/// The shoots told apart: two from one node, from old wood, and the rest.
pub(super) fn in_parts(record: Record, shoots: u32, random: &mut Random) -> Record {
    let secondary = binomial(shoots, 0.12, random);
    let base = binomial(shoots - secondary, 0.08, random);
    record
        .with("primary", shoots - secondary - base)
        .with("secondary", secondary)
        .with("base", base)
}

/// How many of `n` are hit when each is hit with this probability.
pub(super) fn binomial(n: u32, probability: f64, random: &mut Random) -> u32 {
    (0..n).map(|_| u32::from(random.uniform() < probability)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(record: &Record, column: &str) -> u32 {
        record.cell(column).parse().unwrap()
    }

    #[test]
    fn two_windows_that_fill_the_vine_hold_all_its_shoots() {
        let mut random = Random::new(1);
        let window = Window { length_cm: 60.0, canopy_cm: 120.0, twice: true };
        let records = in_windows(&Record::default(), 22, window, &mut random);
        assert_eq!(number(&records[0], "shoots") + number(&records[1], "shoots"), 22);
        assert_eq!(records[1].cell("window_start_cm"), "60");
    }

    #[test]
    fn parts_add_up() {
        let mut random = Random::new(2);
        let record = in_parts(Record::default(), 23, &mut random);
        let sum: u32 =
            ["primary", "secondary", "base"].map(|part| number(&record, part)).iter().sum();
        assert_eq!(sum, 23);
    }

    #[test]
    fn luck_is_fair() {
        // 10 000 draws with probability 0.3: 3000 ± 4.4 × √(10 000 · 0.3 · 0.7), one in 100 000.
        let hit = binomial(10_000, 0.3, &mut Random::new(3));
        assert!((2798..=3202).contains(&hit), "{hit}");
    }
}
