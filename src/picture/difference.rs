//! The map of what changed: shoots fewer than before the work, by vine, or only where recounted.
//!
//! Neutral where nothing changed; filled and darker the more came off; open where more stand than
//! before, so that a black-and-white print tells both apart.

use crate::{
    audit::{Audit, Basis},
    error::Error,
    estimate::Estimate,
    join::{Joined, VineRecord},
    picture::{
        Caption, Ink, Scene, captions,
        classes::{Class, Classes, Look},
        colours, columns,
        in_black::in_black,
        sheet,
        subject::{Subject, VINE_ONE},
        words,
    },
    units::ReadingUnits,
};

/// What a map of differences is drawn from.
#[derive(Debug, Clone, Copy)]
pub struct DifferenceMap<'a> {
    /// What was found out and planned before the work.
    pub basis: Basis<'a>,
    /// The recount at its places.
    pub after: &'a Joined,
    /// The change between recounted places.
    pub estimate: &'a Estimate,
    /// What the work reached.
    pub audit: &'a Audit,
}

/// The page of what changed.
///
/// # Errors
/// When a letter has no shape, or the block has no extent.
pub fn difference_scene(map: &DifferenceMap<'_>, caption: &Caption) -> Result<Scene, Error> {
    let subject = subject(map, caption);
    let (page, placement) = columns::choose_for(std::slice::from_ref(&subject))?;
    sheet::compose(&subject, (&page, &placement))
}

fn subject(map: &DifferenceMap<'_>, caption: &Caption) -> Subject {
    let Basis { evidence, plan } = map.basis;
    let plain = Subject::of_zones(evidence, plan, caption);
    let mut zones = plain.zones;
    for (zone, audit) in zones.iter_mut().zip(&map.audit.zones) {
        zone.words = audit.outcome.word().replace('-', " ");
    }
    let everywhere = everywhere(map);
    let measured = map.audit.places.iter().map(|place| place.vines.clone());
    let single = evidence.site.plantings.all().len() < 2;
    Subject {
        quantity: "difference",
        subtitle: subtitle(map, caption),
        classes: classes(map, caption),
        // Where only recounted vines have a class, a dot on them would hide it.
        measured: if everywhere { measured.collect() } else { Vec::new() },
        little: Vec::new(),
        zone_words: if single { vec!["zone and its verdict".to_owned()] } else { plain.zone_words },
        zones,
        verb: "recounted",
        sources: "the recounts",
        method: format!("{} {VINE_ONE}", method(map)),
        cautions: cautions(map),
        ..plain
    }
}

/// True where the recounts allow a value on every vine.
fn everywhere(map: &DifferenceMap<'_>) -> bool {
    map.audit.change_per_m.iter().any(Option::is_some)
}

fn subtitle(map: &DifferenceMap<'_>, caption: &Caption) -> String {
    let unit = words::shoots(caption.units).unit;
    let places = words::count_of(map.audit.places.len(), "recount", "recounts");
    let date = |date: Option<jiff::civil::Date>| {
        date.map_or_else(|| "without a date".to_owned(), |date| words::date(date, caption.units))
    };
    format!(
        "Change in {unit}, from {places}: {} beside {}",
        date(map.after.date),
        date(map.basis.evidence.joined.date)
    )
}

fn method(map: &DifferenceMap<'_>) -> String {
    if !everywhere(map) {
        return "Too few recounts for a value on every vine: only what was recounted is drawn, \
                beside its count before, or else beside what was expected of it."
            .to_owned();
    }
    let how = captions::method(&map.estimate.shoots, "the recounts");
    format!(
        "Each recount stands beside the count of the same place, or else beside what was expected of \
         it. {how}"
    )
}

fn cautions(map: &DifferenceMap<'_>) -> String {
    let facts = &map.audit.block;
    let pairs = words::count_of(facts.pairs, "place was", "places were");
    let fresh = words::count_of(facts.fresh, "was", "were");
    format!(
        "An estimate: {pairs} counted before and after, {fresh} recounted only. The verdicts rest on the \
         recounts in each zone, not on the colours between them. Check on the vines before going back. \
         Local advice goes first."
    )
}

/// Half-widths of the neutral class, shoots per foot or metre; other limits are 3 and 6 times as far.
const HALF_WIDTHS: [f64; 5] = [0.25, 0.5, 1.0, 2.0, 4.0];

/// The classes of what is fewer.
fn classes(map: &DifferenceMap<'_>, caption: &Caption) -> Classes {
    let reading = words::shoots(caption.units);
    let fewer: Vec<Option<f64>> =
        by_vine(map).into_iter().map(|change| Some(-change? * reading.factor)).collect();
    let half = half_width(&fewer, caption.units);
    let limits = [-3.0, -1.0, 1.0, 3.0, 6.0].map(|times| times * half);
    let rungs: Vec<Option<usize>> = (fewer.iter())
        .map(|value| value.map(|value| limits.iter().filter(|limit| value >= **limit).count()))
        .collect();
    let heading = format!("Change in {}", reading.unit);
    let records = &map.after.vines;
    let found = Classes::new(heading.clone(), ladder(half), &rungs, records);
    let mut classes = found.unwrap_or_else(|| without_value(heading, half, records));
    if !everywhere(map) {
        name_the_others(&mut classes);
    }
    match caption.style.ink {
        Ink::Colour => classes,
        Ink::Black => in_black(classes),
    }
}

/// After less before by vine: on every vine, else where it was recounted.
fn by_vine(map: &DifferenceMap<'_>) -> Vec<Option<f64>> {
    if everywhere(map) {
        return map.audit.change_per_m.clone();
    }
    let mut change = vec![None; map.audit.change_per_m.len()];
    for place in &map.audit.places {
        for &vine in &place.vines {
            change[vine] = place.change_at_all_per_m();
        }
    }
    change
}

/// The ladder with no vine on it.
fn without_value(heading: String, half: f64, records: &[VineRecord]) -> Classes {
    let rungs = vec![Some(0); records.len()];
    let none = Classes::new(heading, ladder(half), &rungs, records).unwrap_or_else(Classes::none);
    let nothing = none.ladder.len();
    let of_vine = vec![nothing; records.len()];
    let ladder = none.ladder.into_iter().map(|class| Class { vines: 0, ..class }).collect();
    let beside =
        vec![Class { vines: records.len(), ..Class::new("no estimate", "", Look::Slight) }];
    Classes { ladder, beside, of_vine, ..Classes::none() }
}

/// Vines without a value were not recounted: slight, so that those that were stand out.
fn name_the_others(classes: &mut Classes) {
    for class in classes.beside.iter_mut().filter(|class| class.look == Look::Hatched) {
        "not recounted".clone_into(&mut class.limits);
        class.look = Look::Slight;
    }
}

/// The least half-width at which one vine in twenty or fewer is beyond twice the outermost limit.
fn half_width(fewer: &[Option<f64>], units: ReadingUnits) -> f64 {
    let mut sizes: Vec<f64> = fewer.iter().flatten().map(|value| value.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let far = sizes.get(sizes.len() * 19 / 20).copied().unwrap_or(0.0);
    let finest = match units {
        ReadingUnits::Us => HALF_WIDTHS[0],
        ReadingUnits::Metric => HALF_WIDTHS[1],
    };
    let fit = HALF_WIDTHS.into_iter().filter(|half| *half >= finest);
    fit.into_iter().find(|half| far <= 9.0 * half).unwrap_or(8.0)
}

fn ladder(half: f64) -> Vec<Class> {
    let [near, middle, far] = colours::above_target();
    let [more, far_more] = colours::below_target();
    let number = |times: f64| {
        let value = times * half;
        let decimals = if (value - value.round()).abs() < 1e-9 { 0 } else { 2 };
        let text = words::number(value, decimals);
        if decimals == 2 { text.trim_end_matches('0').to_owned() } else { text }
    };
    let (one, three, six) = (number(1.0), number(3.0), number(6.0));
    vec![
        Class::new(format!("more by {three} and more"), "", Look::Open(far_more)),
        Class::new(format!("more by {one} to {three}"), "", Look::Open(more)),
        Class::new(format!("as before, {one} either way"), "", Look::Solid(colours::NEUTRAL)),
        Class::new(format!("fewer by {one} to {three}"), "", Look::Solid(near)),
        Class::new(format!("fewer by {three} to {six}"), "", Look::Solid(middle)),
        Class::new(format!("fewer by {six} and more"), "", Look::Solid(far)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_as_fine_as_what_changed_allows() {
        let metric = |values: &[Option<f64>]| half_width(values, ReadingUnits::Metric);
        assert!((metric(&[Some(4.0), Some(-1.0), None]) - 0.5).abs() < 1e-12);
        assert!((metric(&[Some(8.0), Some(8.0)]) - 1.0).abs() < 1e-12);
        assert!((half_width(&[Some(1.0)], ReadingUnits::Us) - 0.25).abs() < 1e-12);
        let words: Vec<String> = ladder(0.25).iter().map(Class::words).collect();
        assert_eq!(words[3], "fewer by 0.25 to 0.75");
        assert_eq!(ladder(0.5)[5].words(), "fewer by 3 and more");
    }
}
