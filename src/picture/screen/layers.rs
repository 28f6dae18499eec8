//! The maps of vines: the class and the value of every vine.

use super::{ScreenLayer, SpokenValue, keys};
use crate::{
    join::VigorMeasure,
    picture::{
        Caption, HeatMap, classes::Look, colours::INK, need, subject::Subject, vigor, words,
    },
    plan::{Evidence, Plan},
};

/// A map of vines; `None` when there is nothing to show.
pub(super) fn layer(
    kind: HeatMap,
    (evidence, plan): (Evidence<'_>, &Plan),
    caption: &Caption,
) -> Option<ScreenLayer> {
    let subject = Subject::of(kind, evidence, plan, caption)?;
    let (id, name) = match kind {
        HeatMap::ThinningNeed => ("need", "Thinning need"),
        HeatMap::ShootDensity => ("density", "Shoot density"),
        HeatMap::Vigor => ("vigor", "Vigor"),
    };
    let (spoken, values) = values(kind, (evidence, plan), caption)?;
    Some(ScreenLayer {
        map: kind,
        id,
        name,
        key: keys::of_vines(&subject),
        looks: subject.classes.iter().map(|(_, class)| look(class.look)).collect(),
        spoken,
        values,
        of_vine: subject.classes.of_vine,
        little: subject.little,
        measured: subject.measured,
    })
}

fn look(look: Look) -> (&'static str, String) {
    match look {
        Look::Solid(colour) => ("solid", colour.to_string()),
        Look::Open(colour) => ("open", colour.to_string()),
        Look::Hatched => ("hatched", String::new()),
        Look::Slight => ("slight", String::new()),
        Look::Gap => ("gap", String::new()),
        // Patterns are for paper.
        Look::Weight(_) | Look::Barred(_) => ("solid", INK.to_string()),
    }
}

/// By vine place, in the reader's unit; none where no vine stands.
fn values(
    kind: HeatMap,
    (evidence, plan): (Evidence<'_>, &Plan),
    caption: &Caption,
) -> Option<(SpokenValue, Vec<Option<f64>>)> {
    let shoots = &evidence.estimate.shoots.vines;
    let (spoken, values): (_, Vec<Option<f64>>) = match kind {
        HeatMap::ThinningNeed => {
            (spoken("Against its target", "shoots", 1, true), need::needs(evidence, plan, caption))
        }
        HeatMap::ShootDensity => {
            let reading = words::shoots(caption.units);
            let value = |per_m: f64| per_m * reading.factor;
            let surface = shoots.iter().map(|vine| vine.map(|vine| value(vine.surface_per_m)));
            (spoken("On the map", &reading.unit, 1, false), surface.collect())
        }
        HeatMap::Vigor => {
            let (measure, field) = evidence.estimate.vigor.as_ref()?;
            let reading = vigor::reading(*measure, caption);
            let known = field.vines.iter().map(|vine| vine.map(|vine| vine.per_m * reading.factor));
            (vigor_words(*measure, reading.short), known.collect())
        }
    };
    let stands = |vine: &crate::join::VineRecord| !vine.status.is_missing();
    let standing = values.into_iter().zip(&evidence.joined.vines);
    Some((spoken, standing.map(|(value, vine)| value.filter(|_| stands(vine))).collect()))
}

fn vigor_words(measure: VigorMeasure, unit: &str) -> SpokenValue {
    match measure {
        VigorMeasure::PruningWeight => spoken("Prunings", unit, 2, false),
        VigorMeasure::ShootLength => spoken("Shoot length", unit, 1, false),
        VigorMeasure::Raster => spoken("Raster of vigor", unit, 2, false),
    }
}

fn spoken(what: &'static str, unit: &str, decimals: u8, signed: bool) -> SpokenValue {
    SpokenValue { what, unit: unit.to_owned(), decimals, signed }
}
