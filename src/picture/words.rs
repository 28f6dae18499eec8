//! Numbers, units and dates as people read them.

use jiff::civil::Date;

use crate::{
    layout::Amount,
    units::{METRES_PER_FOOT, Metres, ReadingUnits},
};

/// Hectares in an acre of 43 560 square feet (exact).
const HECTARES_PER_ACRE: f64 = 0.404_685_642_24;
/// Kilograms in a pound (exact).
const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;

/// How a quantity is turned from the units of the middle to those of a reader.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Reading {
    /// Multiplies a value per metre (or in metres).
    pub(crate) factor: f64,
    /// The unit in words, such as `shoots per foot`.
    pub(crate) unit: String,
    /// The unit in short, such as `/ft`.
    pub(crate) short: &'static str,
}

/// Shoots per length of canopy.
pub(crate) fn shoots(units: ReadingUnits) -> Reading {
    match units {
        ReadingUnits::Metric => {
            Reading { factor: 1.0, unit: "shoots per metre".to_owned(), short: "/m" }
        }
        ReadingUnits::Us => {
            Reading { factor: METRES_PER_FOOT, unit: "shoots per foot".to_owned(), short: "/ft" }
        }
    }
}

/// Pruning weight per length of canopy, from kilograms a metre.
pub(super) fn pruning_weight(units: ReadingUnits) -> Reading {
    match units {
        ReadingUnits::Metric => {
            Reading { factor: 1.0, unit: "kilograms per metre".to_owned(), short: "kg/m" }
        }
        ReadingUnits::Us => Reading {
            factor: METRES_PER_FOOT / KILOGRAMS_PER_POUND,
            unit: "pounds per foot".to_owned(),
            short: "lb/ft",
        },
    }
}

/// A length of shoots, from metres.
pub(super) fn shoot_length(units: ReadingUnits) -> Reading {
    match units {
        ReadingUnits::Metric => {
            Reading { factor: 100.0, unit: "centimetres".to_owned(), short: "cm" }
        }
        ReadingUnits::Us => {
            Reading { factor: 12.0 / METRES_PER_FOOT, unit: "inches".to_owned(), short: "in" }
        }
    }
}

/// A raster of vigor, in whatever unit it has.
pub(super) fn of_raster() -> Reading {
    Reading { factor: 1.0, unit: "of the raster".to_owned(), short: "" }
}

/// A whole number with thin spaces between thousands from 10 000 on.
pub(crate) fn grouped(number: usize) -> String {
    let digits = number.to_string();
    if digits.len() < 5 {
        return digits;
    }
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push('\u{2009}');
        }
        text.push(digit);
    }
    text
}

/// How much of something is ordered: `2505`, `12 345 m`, `8219 ft`.
pub(super) fn amount(amount: Amount, units: ReadingUnits) -> String {
    match (amount, units, amount.whole_feet()) {
        (Amount::Pieces(pieces), ..) => grouped(pieces),
        (_, ReadingUnits::Us, Some(feet)) => format!("{} ft", grouped(feet)),
        (Amount::WholeMetres(metres), ..) => format!("{} m", grouped(metres)),
    }
}

/// `1 vine`, `2 vines`.
pub(crate) fn count_of(number: usize, one: &str, many: &str) -> String {
    format!("{} {}", grouped(number), if number == 1 { one } else { many })
}

/// A number with at most `decimals` digits after the point, and none that say nothing.
pub(super) fn number(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    if text == "-0" { "0".to_owned() } else { text.replace('-', "−") }
}

/// A length of ground with at most so many digits after the point: `2.5 m`, `8 ft`.
pub(super) fn length(length: Metres, units: ReadingUnits, decimals: usize) -> String {
    match units {
        ReadingUnits::Metric => format!("{} m", number(length.metres(), decimals)),
        ReadingUnits::Us => format!("{} ft", number(length.feet(), decimals)),
    }
}

/// A length that is kept clear: to a centimetre, or a tenth of a foot.
pub(super) fn clear(kept: Metres, units: ReadingUnits) -> String {
    match units {
        ReadingUnits::Metric => length(kept, units, 2),
        ReadingUnits::Us => length(kept, units, 1),
    }
}

/// The length of a row to a tenth, without its unit: `158.0`.
pub(super) fn row_length(metres: f64, units: ReadingUnits) -> String {
    let length = Metres::new(metres);
    match units {
        ReadingUnits::Metric => format!("{:.1}", length.metres()),
        ReadingUnits::Us => format!("{:.1}", length.feet()),
    }
}

/// The unit of lengths of ground in short.
pub(super) const fn unit(units: ReadingUnits) -> &'static str {
    match units {
        ReadingUnits::Metric => "m",
        ReadingUnits::Us => "ft",
    }
}

/// An area of ground from hectares: `1.23 ha`, `3.04 acres`.
pub(super) fn area(hectares: f64, units: ReadingUnits) -> String {
    match units {
        ReadingUnits::Metric => format!("{hectares:.2} ha"),
        ReadingUnits::Us => format!("{:.2} acres", hectares / HECTARES_PER_ACRE),
    }
}

/// A date as the reader writes it: `14 May 2026`, `May 14, 2026`.
pub(crate) fn date(date: Date, units: ReadingUnits) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let month = usize::try_from(date.month() - 1).ok().and_then(|at| MONTHS.get(at)).unwrap_or(&"");
    match units {
        ReadingUnits::Metric => format!("{} {month} {}", date.day(), date.year()),
        ReadingUnits::Us => format!("{month} {}, {}", date.day(), date.year()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_for_readers() {
        assert_eq!(number(4.0, 2), "4");
        assert_eq!(number(-0.04, 1), "0");
        assert_eq!(number(-2.5, 1), "−2.5");
        assert_eq!(grouped(9876), "9876");
        assert_eq!(grouped(1_234_567), "1\u{2009}234\u{2009}567");
        assert_eq!(count_of(1, "vine", "vines"), "1 vine");
    }

    #[test]
    fn amounts_are_grouped_as_counts_are() {
        let (metric, us) = (ReadingUnits::Metric, ReadingUnits::Us);
        assert_eq!(amount(Amount::Pieces(2505), metric), grouped(2505));
        assert_eq!(amount(Amount::WholeMetres(12_345), metric), "12\u{2009}345 m");
        assert_eq!(amount(Amount::WholeMetres(100), us), "329 ft", "328.08 ft do not hold 100 m");
    }

    #[test]
    fn units_are_those_of_the_reader() {
        // 0.3 kg/m is 0.2016 lb/ft: 0.3 / 0.45359237 * 0.3048.
        assert!((0.3 * pruning_weight(ReadingUnits::Us).factor - 0.201_59).abs() < 1e-5);
        assert!((0.254 * shoot_length(ReadingUnits::Us).factor - 10.0).abs() < 1e-12);
        assert!((10.0 * shoots(ReadingUnits::Us).factor - 3.048).abs() < 1e-12);
    }

    #[test]
    fn lengths_and_areas_of_ground_are_those_of_the_reader() {
        let (metric, us) = (ReadingUnits::Metric, ReadingUnits::Us);
        assert_eq!(length(Metres::new(2.438_4), us, 2), "8 ft");
        assert_eq!(length(Metres::new(82.44), metric, 1), "82.4 m");
        // 43 560 ft² × 0.3048² m²/ft².
        assert_eq!(area(0.404_685_642_24, us), "1.00 acres");
        assert_eq!(area(1.234, metric), "1.23 ha");
    }

    #[test]
    fn dates_are_in_words() {
        let day = jiff::civil::date(2026, 5, 14);
        assert_eq!(date(day, ReadingUnits::Metric), "14 May 2026");
        assert_eq!(date(day, ReadingUnits::Us), "May 14, 2026");
    }
}
