//! Zones from the estimate, planting by planting.

use super::{Drawn, Stage, assemble::Group, planting::Planting};
use crate::{
    estimate::{Field, Method},
    settings::ZoneSettings,
};

/// Draws the zones of every planting.
pub(super) fn draw(stage: Stage<'_>, settings: &ZoneSettings) -> Drawn {
    let mut groups = Vec::new();
    let mut errors = [0.0; 2];
    let by_planting = stage.panels_by_planting();
    let plantings = by_planting.len();
    let flat = why_flat(&stage.estimate.shoots);
    for (planting, panels) in by_planting {
        let known = match flat {
            Some(_) => None,
            None => Planting::new(stage, planting, &panels, settings),
        };
        let zones = match known {
            None => vec![panels],
            Some(known) => {
                let division = known.divide();
                if let Some([zoned, one]) = division.held_out {
                    errors = [errors[0] + zoned, errors[1] + one];
                }
                known.groups(&division.labels)
            }
        };
        let group = |panels| Group { planting, name: None, panels };
        groups.extend(zones.into_iter().map(group));
    }
    let reduction = (errors[1] > 0.0).then(|| 1.0 - errors[0] / errors[1]);
    let what = if settings.whole_rows { "whole rows" } else { "whole panels" };
    let why = why(flat, (groups.len(), plantings), reduction, what);
    Drawn { groups, why, held_out_reduction: reduction, as_many_reduce: None }
}

/// Why no border can be drawn at all, if so.
pub(super) fn why_flat(field: &Field) -> Option<&'static str> {
    let skill = field.check.as_ref().is_some_and(|c| c.rmse_per_m < c.rmse_of_mean_per_m);
    match field.method {
        Method::None => Some("there are too few counts for a map"),
        Method::Mean => Some("the counts show no spatial pattern"),
        Method::InverseDistance if !skill => Some("the counts show no spatial pattern"),
        Method::InverseDistance | Method::Kriging | Method::Given => None,
    }
}

fn why(
    flat: Option<&str>,
    (zones, plantings): (usize, usize),
    reduction: Option<f64>,
    what: &str,
) -> String {
    match (flat, reduction) {
        (Some(flat), _) => format!("one zone a planting: {flat}"),
        (None, Some(reduction)) if zones > plantings => format!(
            "{zones} zones of {what}: neighbours differ, and they explain {:.0} % of the \
             variance of counts that were held out",
            100.0 * reduction
        ),
        _ => "one zone a planting: no border foretells held-out counts better than none".to_owned(),
    }
}
