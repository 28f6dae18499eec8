//! How many shoots are wanted on every vine, and which class of vigor it is in.

use std::collections::BTreeSet;

use super::{Evidence, VigorClass, VineTarget};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    settings::{PlanSettings, Planting, TargetSettings},
    zones::wanted::{Vigor, aim, range_of, vigor_of},
};

/// The target of every vine place; `None` for missing and young vines.
///
/// # Errors
/// When a planting of natives that is to be thinned has no target.
pub(super) fn vine_targets(
    evidence: Evidence<'_>,
    settings: &PlanSettings,
) -> Result<(Vec<Option<VineTarget>>, Findings), Error> {
    let bearing: Vec<bool> =
        (0..evidence.joined.vines.len()).map(|vine| is_bearing(evidence, vine, settings)).collect();
    let plantings = evidence.joined.vines.iter().zip(&bearing).filter(|(_, bearing)| **bearing);
    let plantings: BTreeSet<usize> = plantings.map(|(vine, _)| vine.planting).collect();
    let findings = check_plantings(evidence, &plantings, settings);
    if findings.any_fault() {
        return Err(Error::Input(findings));
    }
    let target = |vine: usize| {
        let planting = evidence.joined.vines[vine].planting;
        bearing[vine].then(|| target_of(evidence, (vine, planting), settings)).flatten()
    };
    Ok(((0..bearing.len()).map(target).collect(), findings))
}

/// True when a vine stands there that is old enough to be thinned.
fn is_bearing(evidence: Evidence<'_>, vine: usize, settings: &PlanSettings) -> bool {
    let record = &evidence.joined.vines[vine];
    let planting = evidence.site.plantings.all().get(record.planting);
    let young =
        planting.is_some_and(|p| p.is_young(year(evidence, settings), settings.young_years));
    !record.status.is_missing() && !record.status.is_young() && !young
}

/// The year of the counts, else of the plan.
fn year(evidence: Evidence<'_>, settings: &PlanSettings) -> Option<i16> {
    evidence.joined.date.or(settings.date).map(jiff::civil::Date::year)
}

fn target_of(
    evidence: Evidence<'_>,
    (vine, planting): (usize, usize),
    settings: &PlanSettings,
) -> Option<VineTarget> {
    let targets = settings.targets();
    let range = range_of(evidence.site.plantings.all().get(planting)?, &targets)?;
    let vigor = vigor_of(evidence.estimate, vine, planting);
    Some(VineTarget {
        low_per_m: range.low().per_metre(),
        high_per_m: range.high().per_metre(),
        aim_per_m: aim(range, vigor, &targets),
    })
}

fn check_plantings(
    evidence: Evidence<'_>,
    plantings: &BTreeSet<usize>,
    settings: &PlanSettings,
) -> Findings {
    let all = evidence.site.plantings.all();
    let thinned = plantings.iter().filter_map(|&planting| all.get(planting));
    let mut findings: Findings =
        thinned.clone().filter_map(|planting| doubt(evidence, planting, settings)).collect();
    if thinned.clone().any(|p| p.planted.is_some()) && year(evidence, settings).is_none() {
        let why = "vines in their first years have no thinning target";
        let finding = Finding::warning(place(evidence, "date"), "no count is dated").because(why);
        findings.push(finding.mend("date the counts, or pass --date"));
    }
    findings
}

fn doubt(evidence: Evidence<'_>, planting: &Planting, settings: &PlanSettings) -> Option<Finding> {
    let cultivar = planting.cultivar.as_deref().unwrap_or("the vines");
    if range_of(planting, &settings.targets()).is_none() {
        let what = format!("{cultivar}: natives have no thinning target unless you give one");
        return Some(
            Finding::fault(place(evidence, "target"), what)
                .because("the sources give only an upper limit, 15 shoots a foot")
                .mend("add \"target\": \"6-10 per ft\" (your own range) to the block or planting"),
        );
    }
    let unsaid = planting.vine_type.is_none() && planting.target.is_none();
    unsaid.then(|| {
        let what = format!(
            "{cultivar}: no `type` is given, so {:.0} to {:.0} shoots a foot are left",
            settings.unsaid.low().per_foot(),
            settings.unsaid.high().per_foot()
        );
        Finding::note(place(evidence, "type"), what)
            .because("common practice")
            .mend("add \"type\": \"vinifera\" or \"hybrid\", or your own \"target\"")
    })
}

fn place(evidence: Evidence<'_>, field: &str) -> Place {
    Place::field(field).in_feature(format!("block `{}`", evidence.site.name))
}

/// The class of vigor of a vine.
pub fn vigor_class(vigor: Vigor, settings: &TargetSettings) -> VigorClass {
    match vigor {
        Vigor::PruningWeight(kg_per_m) => {
            let (weak, excess) =
                (settings.weak_kg_per_m.per_metre(), settings.excess_kg_per_m.per_metre());
            if kg_per_m <= weak {
                VigorClass::Weak
            } else if kg_per_m > excess {
                VigorClass::Excess
            } else if kg_per_m <= f64::midpoint(weak, excess) {
                VigorClass::Moderate
            } else {
                VigorClass::Strong
            }
        }
        Vigor::Relative(ratio) if ratio < 1.0 - settings.vigor_band_share => VigorClass::Below,
        Vigor::Relative(ratio) if ratio > 1.0 + settings.vigor_band_share => VigorClass::Above,
        Vigor::Standardised(off) if off < -1.0 => VigorClass::Below,
        Vigor::Standardised(off) if off > 1.0 => VigorClass::Above,
        Vigor::Relative(_) | Vigor::Standardised(_) => VigorClass::Near,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::Settings;

    #[test]
    fn classes_follow_their_limits() {
        use VigorClass::{Above, Below, Excess, Moderate, Near, Strong, Weak};
        let settings = Settings::default().plan().targets();
        let weights = [0.1, 0.30, 0.31, 0.44, 0.46, 0.60, 0.61];
        let classes = weights.map(|w| vigor_class(Vigor::PruningWeight(w), &settings));
        assert_eq!(classes, [Weak, Weak, Moderate, Moderate, Strong, Strong, Excess]);
        let classes = [0.8, 0.9, 1.1, 1.2].map(|r| vigor_class(Vigor::Relative(r), &settings));
        assert_eq!(classes, [Below, Near, Near, Above]);
    }

    #[test]
    fn a_planting_is_young_in_its_first_three_years() {
        let settings = Settings::default().plan();
        let planting = Planting {
            cultivar: None,
            vine_type: None,
            training: None,
            curtains: 1,
            planted: Some(2024),
            target: None,
        };
        let young = |year| planting.is_young(year, settings.young_years);
        assert_eq!([2024, 2026, 2027].map(|y| young(Some(y))), [true, true, false]);
        assert!(!young(None));
    }
}
