//! Classes of shoot density: equal steps of a round number, light to dark, the target beside them.

use crate::{
    join::VineRecord,
    names::capital,
    picture::{
        classes::{Band, Class, Classes, Limits, Look},
        colours,
        words::{self, Reading},
    },
    plan::{Evidence, Plan, VineTarget},
    units::ReadingUnits,
};

/// No class is narrower than this, in shoots per foot or per metre: counting errs by more.
const FINEST: f64 = 0.25;

/// Classes of the surface of shoots, per metre by vine place; `None` when no vine has one.
pub(super) fn classes(
    surface_per_m: &[Option<f64>],
    targets: &[(String, VineTarget)],
    records: &[VineRecord],
    units: ReadingUnits,
) -> Option<Classes> {
    let known: Vec<f64> = surface_per_m.iter().copied().flatten().collect();
    let limits = limits(&known, units)?;
    classes_within(surface_per_m, targets, records, (units, limits))
}

/// Limits of classes that hold all of these, shoots per metre.
pub(super) fn limits(per_m: &[f64], units: ReadingUnits) -> Option<Limits> {
    let factor = words::shoots(units).factor;
    let known: Vec<f64> = per_m.iter().map(|value| value * factor).collect();
    Limits::around(&known, FINEST, colours::MOST_CLASSES)
}

/// The same in given classes, which hold every value.
pub(super) fn classes_within(
    surface_per_m: &[Option<f64>],
    targets: &[(String, VineTarget)],
    records: &[VineRecord],
    (units, limits): (ReadingUnits, Limits),
) -> Option<Classes> {
    let reading = words::shoots(units);
    let values: Vec<Option<f64>> =
        surface_per_m.iter().map(|value| value.map(|value| value * reading.factor)).collect();
    let ladder = (colours::sequential(limits.classes).into_iter().enumerate())
        .map(|(at, colour)| Class::new(limits.words(at), "", Look::Solid(colour)))
        .collect();
    let rungs: Vec<Option<usize>> =
        values.iter().map(|value| value.map(|value| limits.class(value))).collect();
    let heading = format!("{} of canopy", capital(&reading.unit));
    let mut classes = Classes::new(heading, ladder, &rungs, records)?;
    mark_target(&mut classes, targets, limits, &reading);
    Some(classes)
}

/// The target of each planting that has one, under the name of what grows.
pub(super) fn targets(evidence: Evidence<'_>, plan: &Plan) -> Vec<(String, VineTarget)> {
    let plantings = evidence.site.plantings.all();
    (plantings.iter().enumerate())
        .filter_map(|(planting, grows)| {
            let name = grows.cultivar.clone().unwrap_or_else(|| "vines".to_owned());
            let target = (evidence.joined.vines.iter().zip(&plan.vines))
                .filter(|(record, _)| record.planting == planting)
                .find_map(|(_, vine)| vine.target)?;
            Some((name, target))
        })
        .collect()
}

/// What a class says against the target, both in rungs of the ladder.
fn against([low, high]: [f64; 2], class: f64) -> &'static str {
    let near = 1e-6;
    if class + 1.0 <= low + near {
        "under target"
    } else if class >= high - near {
        "over target"
    } else if class >= low - near && class + 1.0 <= high + near {
        "on target"
    } else {
        "partly on target"
    }
}

fn mark_target(
    classes: &mut Classes,
    targets: &[(String, VineTarget)],
    limits: Limits,
    reading: &Reading,
) {
    let ends =
        |target: &VineTarget| [target.low_per_m, target.high_per_m].map(|end| end * reading.factor);
    let words = |target: &VineTarget| {
        let [low, high] = ends(target).map(|end| words::number(end, 1));
        if low == high { low } else { format!("{low} to {high}") }
    };
    let Some((_, first)) = targets.first() else { return };
    if targets.iter().all(|(_, target)| words(target) == words(first)) {
        let rungs = ends(first).map(|end| (end - limits.start) / limits.step);
        classes.notes.push(format!("Target: {} {}.", words(first), reading.unit));
        for (at, class) in classes.ladder.iter_mut().enumerate() {
            against(rungs, crate::maths::float(at)).clone_into(&mut class.meaning);
        }
        let inside = rungs[1] > 0.0 && rungs[0] < crate::maths::float(limits.classes);
        classes.band = inside.then(|| Band { ends: rungs, words: "target".to_owned() });
    } else {
        let each: Vec<String> = (targets.iter())
            .map(|(name, target)| {
                format!("{} {}", super::lettering::printable(name), words(target))
            })
            .collect();
        classes.notes.push(format!("Target, {}: {}.", reading.unit, each.join(", ")));
    }
}
