//! What a map says about itself: its subtitle, its zones, how it was made, what it is not.

use crate::{
    estimate::{Field, Method},
    join::Observation,
    names::capital,
    picture::{
        Caption,
        drawings::HeatMap,
        lettering::printable,
        vigor, words,
        zone_mark::{ZoneMark, calmed},
    },
    plan::{Evidence, Plan},
    zones::{Zone, ZoneMean},
};

pub(super) fn subtitle(
    kind: HeatMap,
    evidence: Evidence<'_>,
    observations: &[Observation],
    caption: &Caption,
) -> String {
    let what = match (kind, &evidence.estimate.vigor) {
        (HeatMap::ShootDensity, _) => {
            format!("{} of canopy", capital(&words::shoots(caption.units).unit))
        }
        (HeatMap::ThinningNeed, _) => "Shoots a vine above or below its target".to_owned(),
        (HeatMap::Vigor, Some((measure, _))) => {
            use crate::join::VigorMeasure::{PruningWeight, Raster, ShootLength};
            match measure {
                PruningWeight => "Vigor from last winter's prunings".to_owned(),
                ShootLength => "Vigor from the length of shoots".to_owned(),
                Raster => return from_a_raster(evidence),
            }
        }
        (HeatMap::Vigor, None) => "Vigor of the vines".to_owned(),
    };
    let date = evidence.joined.date.or(caption.date);
    let date = date.map_or_else(
        || "without a date".to_owned(),
        |date| format!("as of {}", words::date(date, caption.units)),
    );
    let [one, many] = match kind {
        HeatMap::Vigor => ["measurement", "measurements"],
        HeatMap::ShootDensity | HeatMap::ThinningNeed => ["count", "counts"],
    };
    let counts = words::count_of(observations.len(), one, many);
    format!("{what}, estimated from {counts}, {date}")
}

fn from_a_raster(evidence: Evidence<'_>) -> String {
    let known = evidence.joined.raster.iter().flatten().flatten().count();
    format!("Vigor from a raster, read at {}", words::count_of(known, "vine", "vines"))
}

pub(super) fn zone_words(kind: HeatMap, evidence: Evidence<'_>) -> Vec<String> {
    let plantings = evidence.site.plantings.all();
    if plantings.len() < 2 {
        return vec![kind.zone_words().to_owned()];
    }
    let name = |at: usize, cultivar: Option<&str>| {
        cultivar.map_or_else(|| format!("planting {}", at + 1), printable)
    };
    (plantings.iter().enumerate())
        .map(|(at, grows)| format!("zone of {}", name(at, grows.cultivar.as_deref())))
        .collect()
}

pub(super) fn zones(
    kind: HeatMap,
    evidence: Evidence<'_>,
    plan: &Plan,
    caption: &Caption,
) -> Vec<ZoneMark> {
    let zones = (evidence.zones.zones.iter().enumerate())
        .map(|(at, zone)| {
            let words = match kind {
                HeatMap::ShootDensity => {
                    value(zone.density.as_ref(), &words::shoots(caption.units))
                }
                HeatMap::Vigor => vigor_words(evidence, zone, caption),
                HeatMap::ThinningNeed => plan
                    .zones
                    .get(at)
                    .map_or_else(String::new, |zone| zone.verdict.word().replace('-', " ")),
            };
            let name = zone.name.as_deref().map(|name| format!(" {}", printable(name)));
            let name = format!("{}{}", zone.id, name.unwrap_or_default());
            ZoneMark::new([&zone.shape, &zone.span], (name, words), zone.planting)
        })
        .collect();
    calmed(zones)
}

fn vigor_words(evidence: Evidence<'_>, zone: &Zone, caption: &Caption) -> String {
    evidence.estimate.vigor.as_ref().map_or_else(String::new, |(measure, _)| {
        value(zone.vigor.as_ref(), &vigor::reading(*measure, caption))
    })
}

fn value(mean: Option<&ZoneMean>, reading: &words::Reading) -> String {
    mean.map_or_else(
        || "no estimate".to_owned(),
        |mean| {
            let value = mean.per_m * reading.factor;
            let decimals = if value < 1.0 { 2 } else { 1 };
            let bare = reading.short.is_empty() || reading.short.starts_with('/');
            let space = if bare { "" } else { " " };
            format!("{value:.decimals$}{space}{}", reading.short)
        },
    )
}

/// How a map was made; `sources` says what it rests on: the counts.
pub(super) fn method(field: &Field, sources: &str) -> String {
    match field.method {
        Method::None => "Too little was measured for an estimate.".to_owned(),
        Method::Mean => {
            format!("{} show no pattern on the ground: every vine has the mean.", capital(sources))
        }
        Method::InverseDistance => {
            format!("From few: near ones of {sources} weigh more, all are drawn to the mean.")
        }
        Method::Kriging => format!("Between {sources} by kriging: near ones weigh more."),
        Method::Given => "Every vine has the value of the raster on its own ground.".to_owned(),
    }
}

pub(super) fn cautions(
    kind: HeatMap,
    evidence: Evidence<'_>,
    observations: &[Observation],
) -> String {
    let counted: usize = observations.iter().map(|each| each.vines.len()).sum();
    let present = evidence.joined.vines.iter().filter(|vine| !vine.status.is_missing()).count();
    if kind == HeatMap::Vigor && observations.is_empty() {
        return "A raster shows leaves, not why they grow: no vine was measured for this map. Check \
                on the vines before cutting. Local advice goes first."
            .to_owned();
    }
    format!(
        "An estimate: {} of {} were {}. Check on the vines before cutting. Local advice goes \
         first. The map says nothing about slopes, heat or where machines can go: judge these on \
         the day.",
        words::grouped(counted),
        words::count_of(present, "vine", "vines"),
        kind.verb(),
    )
}
