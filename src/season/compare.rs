//! Years and visits side by side, on the zones of the latest year.

use jiff::civil::Date;

use super::{
    Change, Counted, Planned, StandingChange, Visit, change, counted, means::means,
    planned::planned, standing::changes,
};
use crate::{
    join::{Joined, Observation, VigorMeasure},
    plan::{Evidence, Plan},
    zones::ZoneMean,
};

/// What the stages before found out about one year.
#[derive(Debug, Clone, Copy)]
pub struct YearFacts<'a> {
    /// The year.
    pub year: i16,
    /// What was joined, estimated and drawn.
    pub evidence: Evidence<'a>,
    /// What was planned then, or would have been.
    pub plan: &'a Plan,
    /// Its visits.
    pub visits: &'a [Visit],
}

/// Years and visits side by side.
#[derive(Debug, Clone, Default)]
pub struct Comparison {
    /// The zones of the latest year in their order, then the whole block.
    pub parts: Vec<Part>,
    /// Vines that are others than the year before, by year; none for the first.
    pub standing: Vec<(i16, Vec<StandingChange>)>,
}

/// A zone of the latest year, or the block.
#[derive(Debug, Clone)]
pub struct Part {
    /// The zone, as an index; `None` for the block.
    pub zone: Option<usize>,
    /// Its vines that stand in the latest year, as indices into the layout's.
    pub vines: Vec<usize>,
    /// From the first year to the latest.
    pub years: Vec<PartYear>,
}

/// What is known of a part in one year.
#[derive(Debug, Clone)]
pub struct PartYear {
    /// The year.
    pub year: i16,
    /// The date of the counts that the estimate rests on.
    pub date: Option<Date>,
    /// Places counted in it for the estimate.
    pub counts: usize,
    /// Vines of the part that did not stand then.
    pub absent: usize,
    /// Shoots per metre.
    pub shoots: Option<ZoneMean>,
    /// Pruning weight, kilograms per metre, where it was weighed.
    pub pruning: Option<ZoneMean>,
    /// What that year's plan says.
    pub planned: Planned,
    /// The change since the year before.
    pub change: Option<Change>,
    /// The visits, as they were counted.
    pub visits: Vec<PartVisit>,
}

/// What was counted in a part on one visit.
#[derive(Debug, Clone)]
pub struct PartVisit {
    /// Its day.
    pub date: Option<Date>,
    /// Its label.
    pub label: String,
    /// The mean over the places counted; `None` where none was.
    pub counted: Option<Counted>,
}

/// Compares years, from the first to the latest.
pub fn compare(years: &[YearFacts<'_>]) -> Comparison {
    let Some(latest) = years.last() else { return Comparison::default() };
    let mut parts = empty_parts(latest.evidence);
    for year in years {
        add_year(&mut parts, year, year.year == latest.year);
    }
    let pairs = years.iter().zip(years.iter().skip(1));
    let standing = pairs
        .map(|(before, now)| (now.year, changes(before.evidence.joined, now.evidence.joined)))
        .collect();
    Comparison { parts, standing }
}

fn empty_parts(latest: Evidence<'_>) -> Vec<Part> {
    let zones = latest.zones.zones.iter().enumerate();
    let zones =
        zones.map(|(at, zone)| Part { zone: Some(at), vines: zone.vines.clone(), years: vec![] });
    let stands = |vine: &usize| !latest.joined.vines[*vine].status.is_missing();
    let all = (0..latest.joined.vines.len()).filter(stands).collect();
    zones.chain([Part { zone: None, vines: all, years: Vec::new() }]).collect()
}

fn add_year(parts: &mut [Part], year: &YearFacts<'_>, is_latest: bool) {
    let Evidence { joined, estimate, .. } = year.evidence;
    let groups: Vec<Vec<usize>> = parts.iter().map(|part| part.vines.clone()).collect();
    let shoots = means(&estimate.shoots, joined, &groups);
    let weighed =
        estimate.vigor.as_ref().filter(|(measure, _)| *measure == VigorMeasure::PruningWeight);
    let pruning = weighed.map(|(_, field)| means(field, joined, &groups));
    for (at, part) in parts.iter_mut().enumerate() {
        let before = part.years.last().and_then(|before| before.shoots);
        let now = shoots[at];
        let inside = Inside::of(part, joined.vines.len());
        let one = PartYear {
            year: year.year,
            date: joined.date,
            counts: inside.among(&joined.shoots).count(),
            absent: absent(part, joined),
            shoots: now,
            pruning: pruning.as_ref().and_then(|pruning| pruning[at]),
            planned: planned(part, year, is_latest),
            change: before.zip(now).and_then(|(before, now)| change(&before, &now)),
            visits: year.visits.iter().map(|visit| inside.visited(visit)).collect(),
        };
        part.years.push(one);
    }
}

fn absent(part: &Part, joined: &Joined) -> usize {
    part.vines.iter().filter(|vine| joined.vines[**vine].status.is_missing()).count()
}

/// Which vine places are of a part.
struct Inside(Vec<bool>);

impl Inside {
    fn of(part: &Part, places: usize) -> Self {
        let mut inside = vec![part.zone.is_none(); places];
        for &vine in &part.vines {
            inside[vine] = true;
        }
        Self(inside)
    }

    /// The counts at its vines: a panel counted whole is in one zone.
    fn among<'a>(&self, shoots: &'a [Observation]) -> impl Iterator<Item = &'a Observation> {
        shoots.iter().filter(|one| one.vines.iter().any(|&vine| self.0[vine]))
    }

    fn visited(&self, visit: &Visit) -> PartVisit {
        PartVisit {
            date: visit.date,
            label: visit.label.clone(),
            counted: counted(self.among(&visit.shoots)),
        }
    }
}
