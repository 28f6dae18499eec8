//! What is said of how sure we are, in words that a grower reads.

use crate::{
    estimate::{Method, sure::Sure, variogram::Variogram},
    maths::float,
    names::{capital, number_of},
    picture::words::{self, Reading},
    units::{Metres, ReadingUnits},
};

/// What was counted, in one sentence.
pub(super) fn counted(sure: &Sure) -> String {
    let share = 100.0 * float(sure.counted_vines) / float(sure.vines.max(1));
    format!(
        "{} on {} of {} ({} %).",
        words::count_of(sure.counts, "count", "counts"),
        words::grouped(sure.counted_vines),
        words::count_of(sure.vines, "vine", "vines"),
        words::number(share, 1),
    )
}

/// How people who counted the same places compare; more than chance is a warning elsewhere.
pub(super) fn observers(sure: &Sure) -> Vec<String> {
    let alike = sure.compared.iter().filter(|two| !two.differs);
    alike.map(|two| format!("{}: no more than chance explains.", two.words())).collect()
}

/// How far a foretold vine is off, and whether the map is better than the mean.
pub(super) fn one_vine(sure: &Sure, reading: &Reading) -> Option<String> {
    let check = sure.check?;
    let unit = &reading.unit;
    let [map, mean] =
        [check.rmse_per_m, check.rmse_of_mean_per_m].map(|per_m| value(per_m, reading));
    if sure.method == Method::Mean || check.skill() <= 0.0 {
        return Some(format!(
            "Each count was foretold from the others: the plain mean errs by {mean} {unit}, and \
             knowing where a vine stands does not help. Every vine has the mean."
        ));
    }
    let better = 100.0 * (1.0 - check.rmse_per_m / check.rmse_of_mean_per_m);
    Some(format!(
        "Each count was foretold from the others. The map errs by {map} {unit} where the plain mean \
         would err by {mean}: {better:.0} % better."
    ))
}

/// How many counts fell where they should.
pub(super) fn coverage(sure: &Sure) -> Option<String> {
    let coverage = sure.coverage?;
    let (within, of) = (coverage.within, coverage.of);
    let doubt = if coverage.is_low() {
        let least = coverage.least_by_chance;
        format!(": too few, as chance alone seldom leaves fewer than {least}")
    } else {
        String::new()
    };
    Some(format!(
        "Of {of} counts, {within} fell into their 90 % interval, the range that should hold nine in \
         ten{doubt}."
    ))
}

/// Whether the foretold are too high or too low.
pub(super) fn bias(sure: &Sure, reading: &Reading) -> Option<String> {
    // The error is counted less foretold.
    let bias = sure.check?.bias_per_m * reading.factor;
    let size = words::number(bias.abs(), 1);
    if size == "0" {
        return Some("On average the foretold are neither too high nor too low.".to_owned());
    }
    let side = if bias > 0.0 { "low" } else { "high" };
    Some(format!("On average the foretold are {size} {} too {side}.", reading.unit))
}

/// What may be said of a vine.
pub(super) fn of_a_vine(sure: &Sure, reading: &Reading) -> Option<String> {
    let half = value(sure.vine_half90_per_m?, reading);
    Some(format!(
        "A vine that nobody counted: its number on the map, give or take {half} {}, nine times in \
         ten. So look at the vine before cutting.",
        reading.unit
    ))
}

/// What may be said of the block.
pub(super) fn of_the_block(sure: &Sure, reading: &Reading) -> Option<String> {
    let mean = sure.block?;
    let [mean, half] = [mean.per_m, mean.half90_per_m].map(|per_m| value(per_m, reading));
    Some(format!("The whole block: {mean} {}, give or take {half}.", reading.unit))
}

/// How far vines resemble each other.
pub(super) fn alike(drawn: &Variogram, reading: &Reading, units: ReadingUnits) -> String {
    let differ = |gamma: f64| value((2.0 * gamma).sqrt(), reading);
    let near = differ(drawn.curve(0.0));
    let far = differ(drawn.curve(drawn.reach_m().min(drawn.diagonal_m())));
    let how_far = if drawn.is_everywhere() {
        "Vines resemble each other over the whole block, the less the farther apart.".to_owned()
    } else {
        let reach = reach_words(drawn.reach_m(), units);
        format!("Vines up to {reach} apart resemble each other.")
    };
    format!(
        "{how_far} Counts of neighbours differ by {near} {}, because vines differ and counting errs; \
         counts far apart by {far}.",
        reading.unit
    )
}

/// What so many counts cannot tell, and how many would.
pub(super) fn cannot(sure: &Sure) -> Option<String> {
    let [for_map, for_fit] = sure.fewest;
    let more = |wanted: usize| number_of(wanted.saturating_sub(sure.counts), "more count");
    if sure.method == Method::None {
        let wanted = if sure.counts < for_map {
            format!(
                "{} would allow a map, {} would allow it to be tested well.",
                capital(&more(for_map)),
                more(for_fit)
            )
        } else {
            format!("Count until one planting has {for_map}.")
        };
        return Some(format!(
            "{for_map} counts on a planting are the fewest for a map, {for_fit} for measuring how far \
             vines resemble each other. With {} nothing is known of a single vine, of where vines \
             differ, or of how far a number is off. {wanted}",
            number_of(sure.counts, "count"),
        ));
    }
    if sure.variogram.is_some() {
        return None;
    }
    if sure.counts < for_fit {
        return Some(format!(
            "Fewer than {for_fit} counts do not tell how far vines resemble each other. The map leans \
             on near counts and is drawn to the mean; ranges of zones rest on an assumed pattern. {} \
             would allow it to be measured.",
            capital(&more(for_fit)),
        ));
    }
    Some(
        "These counts show no pattern on the ground: how far vines resemble each other cannot be \
         told. More counts, some of them next to each other, may show one that is weak."
            .to_owned(),
    )
}

/// A value per metre as it is read: `2.9`.
fn value(per_m: f64, reading: &Reading) -> String {
    format!("{:.1}", per_m * reading.factor)
}

/// `about 25 m`.
pub(super) fn reach_words(reach_m: f64, units: ReadingUnits) -> String {
    let length = round_length(Metres::new(reach_m), units);
    format!("about {} {}", words::number(length, 0), words::unit(units))
}

/// A length that is known roughly, in the reader's unit: whole below 20, then fives, then tens.
pub(super) fn round_length(length: Metres, units: ReadingUnits) -> f64 {
    let length = match units {
        ReadingUnits::Metric => length.metres(),
        ReadingUnits::Us => length.feet(),
    };
    let step = match length {
        short if short < 20.0 => 1.0,
        middling if middling < 100.0 => 5.0,
        _ => 10.0,
    };
    (length / step).round().max(1.0) * step
}

/// Few lines of the same for a report that is read on a screen.
pub fn sure_lines(sure: &Sure, units: ReadingUnits) -> Vec<String> {
    let reading = words::shoots(units);
    let together = |parts: [Option<String>; 2]| {
        let parts: Vec<String> = parts.into_iter().flatten().collect();
        (!parts.is_empty()).then(|| parts.join(" "))
    };
    let alike = sure.variogram.as_ref().map(|drawn| alike(drawn, &reading, units));
    let doubts = match sure.warnings.len() {
        0 => None,
        number => Some(format!("{} above and in how-sure.pdf.", number_of(number, "warning"))),
    };
    let compared = observers(sure);
    let compared = (!compared.is_empty()).then(|| compared.join(" "));
    [
        together([Some(counted(sure)), one_vine(sure, &reading)]),
        compared,
        together([coverage(sure), bias(sure, &reading)]),
        together([of_a_vine(sure, &reading), of_the_block(sure, &reading)]),
        alike.or_else(|| cannot(sure)),
        doubts,
    ]
    .into_iter()
    .flatten()
    .collect()
}
