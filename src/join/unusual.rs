//! Measures that hardly any vine has: told with their line, and used all the same.
//!
//! | limit of a vine | value |
//! |---|---|
//! | prunings | 5 g to 10 kg |
//! | crop | 30 kg |
//! | shoot length | 0.5 cm to 3 m |
//! | minutes of work | 8 h |
//!
//! Limits: common practice, no source. Beyond them a slip of the pen, a wrong unit or a whole panel is
//! likelier than the vine.

use super::{Ground, told::Told};
use crate::{
    counts::Count,
    finding::{Finding, Findings},
    maths::float,
    names::number_of,
    units::{KILOGRAMS_PER_POUND, METRES_PER_FOOT, Metres},
};

const PRUNINGS_KG: [f64; 2] = [0.005, 10.0];
const CROP_KG: [f64; 2] = [0.0, 30.0];
const SHOOT_M: [f64; 2] = [0.005, 3.0];
const WORK_MIN: [f64; 2] = [0.0, 480.0];

/// Units of a quantity: the end of its column, its word, and what it is in the first unit.
type Units = &'static [(&'static str, &'static str, f64)];

const KILOGRAMS: Units = &[
    ("_kg", "kilograms", 1.0),
    ("_g", "grams", 0.001),
    ("_lb", "pounds", KILOGRAMS_PER_POUND),
    ("_oz", "ounces", KILOGRAMS_PER_POUND / 16.0),
];
/// A crop is weighed in these alone.
const CROP_KILOGRAMS: Units = &[("_kg", "kilograms", 1.0), ("_lb", "pounds", KILOGRAMS_PER_POUND)];
const METRES: Units = &[
    ("_m", "metres", 1.0),
    ("_cm", "centimetres", 0.01),
    ("_mm", "millimetres", 0.001),
    ("_ft", "feet", METRES_PER_FOOT),
    ("_in", "inches", METRES_PER_FOOT / 12.0),
];
const MINUTES: Units = &[("minutes", "minutes", 1.0), ("seconds", "seconds", 1.0 / 60.0)];

/// A measure with what is usual of a vine.
struct Measure {
    /// The column, without its unit.
    column: &'static str,
    /// What it is, of a vine.
    name: &'static str,
    limits: [f64; 2],
    units: Units,
    /// A panel holds so much of all its vines together, or the mean of them.
    summed: bool,
    value: fn(&Count) -> Option<f64>,
}

const MEASURES: [Measure; 4] = [
    Measure {
        column: "pruning_weight",
        name: "prunings",
        limits: PRUNINGS_KG,
        units: KILOGRAMS,
        summed: true,
        // A weight of 0 is no weight, which is told where it is left out.
        value: |count| count.pruning_weight_kg.filter(|kg| *kg > 0.0),
    },
    Measure {
        column: "yield",
        name: "crop",
        limits: CROP_KG,
        units: CROP_KILOGRAMS,
        summed: true,
        value: |count| count.yield_kg,
    },
    Measure {
        column: "shoot_length",
        name: "shoots",
        limits: SHOOT_M,
        units: METRES,
        summed: false,
        value: |count| count.shoot_length.map(Metres::metres),
    },
    Measure {
        column: "minutes",
        name: "work",
        limits: WORK_MIN,
        units: MINUTES,
        summed: true,
        value: |count| count.minutes,
    },
];

/// Tells every record with a measure beyond what is usual of a vine.
pub(super) fn tell(ground: &Ground<'_>, findings: &mut Findings) {
    let mut told = Told::default();
    for record in ground.placed {
        let vines = ground.standing_in(record.target);
        let grown = ground.any_grown(&vines);
        for measure in &MEASURES {
            if let Some(doubt) = measure.doubt(record.count, vines.len(), grown) {
                told.push(measure.column, doubt);
            }
        }
    }
    told.tell(findings);
}

impl Measure {
    /// What is doubtful of a record of so many vines; little is no doubt where none is `grown`.
    fn doubt(&self, count: &Count, vines: usize, grown: bool) -> Option<Finding> {
        let shared = if self.summed { float(vines) } else { 1.0 };
        let value = (self.value)(count).filter(|_| vines > 0)? / shared;
        let [least, most] = self.limits;
        if value <= most && (value >= least || !grown) {
            return None;
        }
        let (column, written) = self.written(count)?;
        let unit = self.units.iter().find(|(end, ..)| column.ends_with(end))?;
        let shown = |value: f64| format!("{} {}", plain(value / unit.2), unit.1);
        let share = if self.summed && vines > 1 {
            format!("`{written}` over {} is {} each", number_of(vines, "vine"), shown(value))
        } else if self.summed {
            format!("{} of {} on a vine", shown(value), self.name)
        } else {
            format!("{} of {} on average", self.name, shown(value))
        };
        let why = if value > most {
            format!("hardly any vine has over {}; it is used as written", shown(most))
        } else {
            format!("hardly any vine has under {}; it is used as written", shown(least))
        };
        let mend = self.other_units(unit, value);
        Some(Finding::warning(count.place.at_field(column), share).because(why).mend(mend))
    }

    /// The column that holds it, and what was written there.
    fn written<'a>(&self, count: &'a Count) -> Option<(&'a str, &'a str)> {
        let own = |(column, text): &&(String, String)| {
            column.starts_with(self.column) && !text.trim().is_empty()
        };
        count.raw.iter().find(own).map(|(column, text)| (column.as_str(), text.trim()))
    }

    /// What it would be were its number in another unit, where that is usual.
    fn other_units(&self, own: &(&str, &str, f64), value: f64) -> String {
        let [least, most] = self.limits;
        let number = value / own.2;
        let others = self.units.iter().filter(|unit| unit.0 != own.0);
        let fits = others.filter(|unit| (least..=most).contains(&(number * unit.2)));
        let base = self.units[0].1;
        let fits: Vec<String> = fits
            .map(|unit| format!("in {} it would be {} {base}", unit.1, plain(number * unit.2)))
            .collect();
        let check = if self.summed {
            "check the number, its unit, and whether it is of a whole panel"
        } else {
            "check the number and its unit"
        };
        [vec![check.to_owned()], fits].concat().join("; ")
    }
}

/// Three digits that matter: 0.00283, 45.4, 1200.
fn plain(value: f64) -> String {
    let (mut places, mut scaled) = (2_usize, value.abs());
    while scaled > 0.0 && scaled < 1.0 && places < 8 {
        scaled *= 10.0;
        places += 1;
    }
    let text = format!("{value:.places$}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        counts::Status,
        finding::Place,
        join::field::{Field, on, on_panel},
    };

    /// A record as it is read, with one more cell.
    fn with(count: Count, column: &str, text: &str, measure: impl Fn(&mut Count, f64)) -> Count {
        let mut count = Count { shoots: None, place: Place::file("a.csv").at_line(7), ..count };
        measure(&mut count, text.parse().unwrap());
        count.raw = vec![(column.to_owned(), text.to_owned())];
        count
    }

    fn doubts(counts: &[Count]) -> Vec<String> {
        let (_, findings) = Field::new().join(counts);
        let warned = findings.iter().map(ToString::to_string);
        warned.filter(|text| text.contains("hardly any vine")).collect()
    }

    #[track_caller]
    fn check(count: Count, said: &[&str]) {
        let told = doubts(&[count]);
        assert_eq!(told.len(), 1, "{told:?}");
        for words in said.iter().chain(&["a.csv, line 7"]) {
            assert!(told[0].contains(words), "`{words}` is not in {told:?}");
        }
    }

    #[test]
    fn what_hardly_any_vine_has_is_told_with_its_line_and_what_another_unit_makes_of_it() {
        let kg = |count: &mut Count, number: f64| count.pruning_weight_kg = Some(number);
        let grams = |count: &mut Count, number: f64| count.pruning_weight_kg = Some(number / 1e3);
        let crop = |count: &mut Count, number: f64| count.yield_kg = Some(number);
        let metres =
            |count: &mut Count, number: f64| count.shoot_length = Some(Metres::new(number));
        let minutes = |count: &mut Count, number: f64| count.minutes = Some(number);
        check(
            with(on(1, 1, 0), "pruning_weight_kg", "45", kg),
            &["`pruning_weight_kg`", "45 kilograms of prunings", "in grams it would be 0.045 kil"],
        );
        check(
            with(on(1, 1, 0), "pruning_weight_g", "0.6", grams),
            &["0.6 grams of prunings", "under 5 grams", "in kilograms it would be 0.6 kilograms"],
        );
        check(
            with(on(1, 1, 0), "yield_kg", "40", crop),
            &["over 30 kilograms", "in pounds", "18.14"],
        );
        check(
            with(on(1, 1, 0), "shoot_length_m", "25", metres),
            &["in centimetres", "0.25 metres"],
        );
        check(
            with(on(1, 1, 0), "shoot_length_m", "0.001", metres),
            &["shoots of 0.001 metres on average", "under 0.005 metres"],
        );
        check(with(on(1, 1, 0), "minutes", "600", minutes), &["over 480 minutes", "10 minutes"]);
        check(
            with(on_panel(1, 1, 0), "yield_kg", "160", crop),
            &["`160` over 4 vines is 40 kilograms each"],
        );
    }

    #[test]
    fn usual_measures_weights_of_zero_and_young_vines_are_no_doubt() {
        let kg = |count: &mut Count, number: f64| count.pruning_weight_kg = Some(number);
        let crop = |count: &mut Count, number: f64| count.yield_kg = Some(number);
        let young = with(on(1, 3, 0), "pruning_weight_kg", "0.002", kg);
        let told = doubts(&[
            with(on(1, 1, 0), "pruning_weight_kg", "0.6", kg),
            with(on(1, 2, 0), "pruning_weight_kg", "0", kg),
            Count { status: Some(Status::Young), ..young },
            with(on_panel(1, 2, 0), "yield_kg", "100", crop),
            with(on(2, 1, 0), "yield_kg", "0", crop),
        ]);
        assert!(told.is_empty(), "{told:?}");
    }
}
