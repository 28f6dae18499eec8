//! Lengths, angles and densities with their units, and the one place that reads and converts them.
//!
//! A length is a number in metres or a text with a unit (`9 ft`, `8 ft 6 in`, `8'`, `240cm`); a
//! bearing is degrees clockwise from north (`14.5`, `N14.5E`, `14°30'`). Feet are 0.3048 m exactly.

use std::{f64::consts::PI, fmt, str::FromStr};

/// Metres in a foot (international foot, exact).
pub const METRES_PER_FOOT: f64 = 0.3048;

/// Kilograms in a pound (avoirdupois, exact).
pub const KILOGRAMS_PER_POUND: f64 = 0.453_592_37;

/// A length in metres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Metres(f64);

impl Metres {
    /// A length of so many metres.
    pub const fn new(metres: f64) -> Self {
        Self(metres)
    }

    /// A length of so many international feet.
    pub const fn from_feet(feet: f64) -> Self {
        Self(feet * METRES_PER_FOOT)
    }

    /// The length in metres.
    pub const fn metres(self) -> f64 {
        self.0
    }

    /// The length in international feet.
    pub const fn feet(self) -> f64 {
        self.0 / METRES_PER_FOOT
    }
}

/// A weight in kilograms.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Kilograms(f64);

impl Kilograms {
    /// A weight of so many kilograms.
    pub const fn new(kilograms: f64) -> Self {
        Self(kilograms)
    }

    /// A weight of so many pounds.
    pub const fn from_pounds(pounds: f64) -> Self {
        Self(pounds * KILOGRAMS_PER_POUND)
    }

    /// The weight in kilograms.
    pub const fn kilograms(self) -> f64 {
        self.0
    }

    /// The weight in pounds.
    pub const fn pounds(self) -> f64 {
        self.0 / KILOGRAMS_PER_POUND
    }
}

/// An angle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Degrees(f64);

impl Degrees {
    /// An angle of so many degrees.
    pub const fn new(degrees: f64) -> Self {
        Self(degrees)
    }

    /// An angle given in radians.
    pub const fn from_radians(radians: f64) -> Self {
        Self(radians * (180.0 / PI))
    }

    /// The angle in degrees.
    pub const fn degrees(self) -> f64 {
        self.0
    }

    /// The angle in radians.
    pub const fn radians(self) -> f64 {
        self.0 * (PI / 180.0)
    }

    /// The same direction within 0 … 360°.
    #[must_use]
    pub fn normalised(self) -> Self {
        let turned = self.0.rem_euclid(360.0);
        // A tiny negative angle rounds up to a whole turn.
        Self(if turned >= 360.0 { 0.0 } else { turned })
    }
}

impl Degrees {
    /// A direction of rows in words, whichever way they are walked: `N-S`, `N14.5E`, `E-W`,
    /// `N11.5W`.
    pub fn line_words(self) -> String {
        let hundredths = (self.0.rem_euclid(180.0) * 100.0).round() / 100.0;
        match hundredths {
            axis if axis <= 0.0 || axis >= 180.0 => "N-S".to_owned(),
            axis if (axis - 90.0).abs() < 0.005 => "E-W".to_owned(),
            axis if axis < 90.0 => format!("N{axis}E"),
            axis => format!("N{}W", ((180.0 - axis) * 100.0).round() / 100.0),
        }
    }

    /// The nearest of eight points of the compass: `N`, `NE` …
    pub fn compass_point(self) -> &'static str {
        const POINTS: [&str; 8] = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];
        let turned = self.normalised().0;
        let nearest = |(at, _): &(f64, &&str)| {
            let apart = (turned - at).abs();
            apart.min(360.0 - apart)
        };
        let points = (0..8_u8).map(|at| f64::from(at) * 45.0).zip(&POINTS);
        let point = points.min_by(|a, b| nearest(a).total_cmp(&nearest(b)));
        point.map_or("N", |(_, word)| word)
    }
}

/// Shoots (or kilograms, for vigor) per metre of canopy.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct PerMetre(f64);

impl PerMetre {
    /// So many per metre.
    pub const fn new(per_metre: f64) -> Self {
        Self(per_metre)
    }

    /// So many per foot.
    pub const fn from_per_foot(per_foot: f64) -> Self {
        Self(per_foot / METRES_PER_FOOT)
    }

    /// The density per metre.
    pub const fn per_metre(self) -> f64 {
        self.0
    }

    /// The density per foot.
    pub const fn per_foot(self) -> f64 {
        self.0 * METRES_PER_FOOT
    }
}

/// The units in which a person reads a report; files are SI whatever this says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ReadingUnits {
    /// Metres.
    #[default]
    Metric,
    /// Feet and inches.
    Us,
}

/// Why a text is no length, bearing or target.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}; {mend}")]
pub struct UnitError {
    /// What is wrong with the text.
    pub what: String,
    /// A form that would be understood.
    pub mend: String,
}

fn refuse(what: String, mend: &str) -> UnitError {
    UnitError { what, mend: mend.to_owned() }
}

const LENGTH_FORMS: &str = "write a number of metres, or a number with m, cm, mm, ft or in, \
                            such as 2.4, \"9 ft\" or \"8 ft 6 in\"";

impl FromStr for Metres {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        let parts = number_unit_pairs(text)
            .ok_or_else(|| refuse(format!("`{text}` is not a length"), LENGTH_FORMS))?;
        let mut total = 0.0;
        for (number, unit) in &parts {
            let one = metres_in(unit, parts.len() == 1)
                .ok_or_else(|| refuse(format!("`{text}` has no unit of length"), LENGTH_FORMS))?;
            total += number * one;
        }
        Ok(Self(total))
    }
}

fn metres_in(unit: &str, alone: bool) -> Option<f64> {
    match unit {
        "" if alone => Some(1.0),
        "m" | "metre" | "metres" | "meter" | "meters" => Some(1.0),
        "cm" => Some(0.01),
        "mm" => Some(0.001),
        "ft" | "foot" | "feet" | "'" | "′" => Some(METRES_PER_FOOT),
        "in" | "inch" | "inches" | "\"" | "″" | "''" => Some(METRES_PER_FOOT / 12.0),
        _ => None,
    }
}

/// `8 ft 6 in` gives `[(8, "ft"), (6, "in")]`; a comma between digits is a decimal comma.
fn number_unit_pairs(text: &str) -> Option<Vec<(f64, String)>> {
    let mut rest = text.trim();
    let mut pairs = Vec::new();
    while !rest.is_empty() {
        let split =
            rest.find(|c: char| !(c.is_ascii_digit() || ".,+-".contains(c))).unwrap_or(rest.len());
        let number = plain_number(&rest[..split])?;
        let after = rest[split..].trim_start();
        let end = after.find(|c: char| c.is_ascii_digit() || "+-. ".contains(c));
        let (unit, remaining) = after.split_at(end.unwrap_or(after.len()));
        pairs.push((number, unit.trim().to_lowercase()));
        rest = remaining.trim_start();
    }
    (!pairs.is_empty()).then_some(pairs)
}

/// A decimal number as people write it: digits, one point or comma, a sign; no exponent, `inf` or
/// `NaN`, which `f64::from_str` would take.
///
/// Gives `None` for anything else.
pub fn plain_number(text: &str) -> Option<f64> {
    let digits = text.strip_prefix(['+', '-']).unwrap_or(text);
    let well_formed = digits.bytes().any(|b| b.is_ascii_digit())
        && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.' || b == b',')
        && digits.bytes().filter(|b| !b.is_ascii_digit()).count() <= 1;
    if !well_formed {
        return None;
    }
    text.replace(',', ".").parse::<f64>().ok().filter(|value| value.is_finite())
}

const BEARING_FORMS: &str = "write degrees clockwise from north, such as 14.5, \"N14.5E\" or \
                             \"14°30'\"";

impl FromStr for Degrees {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        parse_bearing(text.trim())
            .filter(|degrees| degrees.abs() <= 720.0)
            .map(Self)
            .ok_or_else(|| refuse(format!("`{text}` is not a bearing"), BEARING_FORMS))
    }
}

fn parse_bearing(text: &str) -> Option<f64> {
    let upper = text.to_uppercase();
    let (start, rest) = match upper.chars().next()? {
        letter @ ('N' | 'S') => (Some(letter), &upper[1..]),
        _ => (None, upper.as_str()),
    };
    let Some(start) = start else { return degrees_minutes_seconds(&upper) };
    if rest.is_empty() {
        return Some(if start == 'N' { 0.0 } else { 180.0 });
    }
    let side = rest.chars().last()?;
    let angle = degrees_minutes_seconds(rest[..rest.len() - side.len_utf8()].trim())?;
    if !(0.0..=90.0).contains(&angle) {
        return None;
    }
    match (start, side) {
        ('N', 'E') => Some(angle),
        ('N', 'W') => Some(360.0 - angle),
        ('S', 'E') => Some(180.0 - angle),
        ('S', 'W') => Some(180.0 + angle),
        _ => None,
    }
}

fn degrees_minutes_seconds(text: &str) -> Option<f64> {
    if let Some(number) = plain_number(text.trim_end_matches(['°', ' '])) {
        return Some(number);
    }
    let (degrees, rest) = text.split_once('°')?;
    let degrees = plain_number(degrees.trim())?;
    let rest = rest.trim().replace('′', "'").replace('″', "\"");
    let (minutes, seconds) = rest.split_once('\'')?;
    let sixtieth = |text: &str| {
        let text = text.trim().trim_end_matches('"').trim_end_matches('\'').trim();
        if text.is_empty() { Some(0.0) } else { plain_number(text) }
            .filter(|v| (0.0..60.0).contains(v))
    };
    let part = sixtieth(minutes)? / 60.0 + sixtieth(seconds)? / 3600.0;
    Some(if degrees.is_sign_negative() { degrees - part } else { degrees + part })
}

/// How many shoots to leave on a length of curtain, from low to high.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetRange {
    low: PerMetre,
    high: PerMetre,
}

impl TargetRange {
    /// The range from `low` to `high`, or `None` unless 0 < low ≤ high and both are finite.
    pub fn new(low: PerMetre, high: PerMetre) -> Option<Self> {
        let sound = low.0 > 0.0 && low.0 <= high.0 && high.0.is_finite();
        sound.then_some(Self { low, high })
    }

    /// The low end.
    pub const fn low(self) -> PerMetre {
        self.low
    }

    /// The high end.
    pub const fn high(self) -> PerMetre {
        self.high
    }

    /// The middle.
    pub const fn middle(self) -> PerMetre {
        PerMetre(f64::midpoint(self.low.0, self.high.0))
    }
}

impl FromStr for TargetRange {
    type Err = UnitError;

    fn from_str(text: &str) -> Result<Self, UnitError> {
        parse_target(text).ok_or_else(|| {
            refuse(
                format!("`{text}` is not a target of shoots"),
                "write a range per foot or per metre of curtain, such as \"3-5 per ft\" or \
                 \"10-16 per m\"",
            )
        })
    }
}

fn parse_target(text: &str) -> Option<TargetRange> {
    let (range, unit) = match text.split_once("per") {
        Some(halves) => halves,
        None => text.split_once('/')?,
    };
    let range = range.replace(['–', '—'], "-");
    let (low, high) = range.split_once('-').unwrap_or((&range, &range));
    let (low, high) = (plain_number(low.trim())?, plain_number(high.trim())?);
    let per = |value| match unit.trim() {
        "ft" | "foot" => Some(PerMetre::from_per_foot(value)),
        "m" | "metre" | "meter" => Some(PerMetre::new(value)),
        _ => None,
    };
    TargetRange::new(per(low)?, per(high)?)
}

impl fmt::Display for Metres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} m", self.0)
    }
}

impl fmt::Display for Degrees {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.3}°", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn length(text: &str, expected_m: f64) {
        let found = text.parse::<Metres>().unwrap().metres();
        assert!((found - expected_m).abs() < 1e-12, "{text}: {found} m");
    }

    #[test]
    fn directions_have_words() {
        let line = |degrees: f64| Degrees::new(degrees).line_words();
        let words = [0.0, 14.5, 90.0, 168.5, 348.5, 180.0, 179.999, -45.0, 100.25].map(line);
        let wanted = ["N-S", "N14.5E", "E-W", "N11.5W", "N11.5W", "N-S", "N-S", "N45W", "N79.75W"];
        assert_eq!(words, wanted);
        let point = |degrees: f64| Degrees::new(degrees).compass_point();
        let points = [0.0, 22.4, 22.6, 90.0, 258.5, 337.6, -90.0].map(point);
        assert_eq!(points, ["N", "N", "NE", "E", "W", "N", "W"]);
    }

    #[test]
    fn lengths_are_read_as_people_write_them() {
        length("2.4", 2.4);
        length("2,4m", 2.4);
        length("2.4 meters", 2.4);
        length("9 ft", 2.7432);
        length("8'", 2.4384);
        length("8 ft 6 in", 2.5908);
        length("8'6\"", 2.5908);
        length("240cm", 2.4);
    }

    #[test]
    fn what_is_no_length_is_refused() {
        for text in ["", "2.4°", "inf", "1e3", "8 ft 6", "1.2.3", "m", "½"] {
            assert!(text.parse::<Metres>().is_err(), "{text}");
        }
    }

    #[test]
    fn bearings_are_read_in_every_form_of_the_contract() {
        let cases = [
            ("14.5", 14.5),
            ("N14.5E", 14.5),
            ("14°30'", 14.5),
            ("S 20 W", 200.0),
            ("N10W", 350.0),
            ("-17.5", -17.5),
            ("377.5", 377.5),
            ("17°30'36\"", 17.51),
        ];
        for (text, expected) in cases {
            let found = text.parse::<Degrees>().unwrap().degrees();
            assert!((found - expected).abs() < 1e-12, "{text}: {found}°");
        }
        for text in ["NaN", "N95E", "east", "", "14°75'"] {
            assert!(text.parse::<Degrees>().is_err(), "{text}");
        }
        assert!((Degrees::new(-17.5).normalised().degrees() - 342.5).abs() < 1e-12);
    }

    #[test]
    fn targets_are_per_foot_or_per_metre() {
        let range = "3-5 per ft".parse::<TargetRange>().unwrap();
        assert!((range.low().per_metre() - 3.0 / 0.3048).abs() < 1e-12);
        assert!((range.high().per_foot() - 5.0).abs() < 1e-12);
        let range = "10–16 per m".parse::<TargetRange>().unwrap();
        assert!((range.middle().per_metre() - 13.0).abs() < 1e-12);
        assert!("5-3 per ft".parse::<TargetRange>().is_err());
        assert!("3-5".parse::<TargetRange>().is_err());
    }
}
