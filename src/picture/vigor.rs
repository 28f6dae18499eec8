//! Classes of vigor: the plan's own, in words, light (weak) to dark (strong).

use crate::{
    join::{VigorMeasure, VineRecord},
    picture::{
        Caption,
        classes::{Class, Classes, Look},
        colours,
        words::{self, Reading},
    },
    plan::VigorClass,
};

/// The unit in which a measure of vigor is read.
pub(super) fn reading(measure: VigorMeasure, caption: &Caption) -> Reading {
    match measure {
        VigorMeasure::PruningWeight => words::pruning_weight(caption.units),
        VigorMeasure::ShootLength => words::shoot_length(caption.units),
        VigorMeasure::Raster => words::of_raster(),
    }
}

/// Classes of vigor by vine place; `None` when no vine has one.
pub(super) fn classes(
    measure: VigorMeasure,
    vines: &[Option<VigorClass>],
    records: &[VineRecord],
    caption: &Caption,
) -> Option<Classes> {
    let (heading, order, ladder) = match measure {
        VigorMeasure::PruningWeight => (
            format!("Prunings, {} of canopy", reading(measure, caption).unit),
            &[VigorClass::Weak, VigorClass::Moderate, VigorClass::Strong, VigorClass::Excess][..],
            weights(caption),
        ),
        VigorMeasure::ShootLength => (
            "Shoot length against the planting's mean".to_owned(),
            &[VigorClass::Below, VigorClass::Near, VigorClass::Above][..],
            lengths(caption),
        ),
        VigorMeasure::Raster => (
            "Raster against the planting's mean".to_owned(),
            &[VigorClass::Below, VigorClass::Near, VigorClass::Above][..],
            deviations(),
        ),
    };
    let rung = |class: VigorClass| order.iter().position(|rung| *rung == class);
    let rungs: Vec<Option<usize>> = vines.iter().map(|vine| vine.and_then(rung)).collect();
    let mut classes = Classes::new(heading, ladder, &rungs, records)?;
    if measure == VigorMeasure::ShootLength {
        classes.notes.push("Crowding and late budbreak shorten shoots too.".to_owned());
    }
    Some(classes)
}

fn weights(caption: &Caption) -> Vec<Class> {
    let factor = words::pruning_weight(caption.units).factor;
    let [weak, excess] = [caption.weak, caption.excess].map(|limit| limit.per_metre() * factor);
    let [low, middle, high] =
        [weak, f64::midpoint(weak, excess), excess].map(|limit| format!("{limit:.2}"));
    let limits = [
        (format!("weak: under {low}"), ""),
        (format!("moderate: {low} to {middle}"), ""),
        (format!("strong: {middle} to {high}"), ""),
        (format!("excess: {high} and more"), "give it more canopy, not more shoots"),
    ];
    (limits.into_iter().zip(colours::sequential_green(4)))
        .map(|((limits, meaning), colour)| Class::new(limits, meaning, Look::Solid(colour)))
        .collect()
}

fn deviations() -> Vec<Class> {
    let limits = [
        "below: under by a standard deviation and more",
        "near: within a standard deviation",
        "above: over by a standard deviation and more",
    ];
    (limits.into_iter().zip(colours::sequential_green(3)))
        .map(|(limits, colour)| Class::new(limits.to_owned(), "", Look::Solid(colour)))
        .collect()
}

fn lengths(caption: &Caption) -> Vec<Class> {
    let share = words::number(caption.band_share * 100.0, 0);
    let limits = [
        format!("below: shorter by {share} % and more"),
        format!("near: within {share} %"),
        format!("above: longer by {share} % and more"),
    ];
    (limits.into_iter().zip(colours::sequential_green(3)))
        .map(|(limits, colour)| Class::new(limits, "", Look::Solid(colour)))
        .collect()
}
