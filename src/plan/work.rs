//! The work as a crew walks it: zone by zone, row by row, there and back, panel by panel.

use std::collections::{BTreeMap, BTreeSet};

use super::{Evidence, Plan};
use crate::maths::float;

/// What is done in a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneWork {
    /// The zone, as an index into the zones.
    pub zone: usize,
    /// Its rows in the order of the walk.
    pub rows: Vec<RowWork>,
}

/// What is done in a row of a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct RowWork {
    /// The row's number.
    pub row: u32,
    /// True when it is walked from its last vine to its first.
    pub backwards: bool,
    /// Its panels in the zone, the way it is walked.
    pub panels: Vec<PanelWork>,
}

/// What is done in a panel, post to post.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelWork {
    /// The panel, as an index into the layout's panels.
    pub panel: usize,
    /// Its first and last vine that stand, the way it is walked.
    pub vines: [u32; 2],
    /// Vines that stand in it.
    pub standing: usize,
    /// Metres of their canopy.
    pub canopy_m: f64,
    /// Shoots to take off: the sum over its vines.
    pub take: f64,
    /// Person-minutes: its share of the zone's hours.
    pub minutes: f64,
    /// Vines whose own shoots were counted, the way it is walked.
    pub counted: Vec<CountedVine>,
}

/// A vine that was counted on its own.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountedVine {
    /// Its number in the row.
    pub vine: u32,
    /// Shoots to take off it.
    pub take: f64,
}

impl RowWork {
    /// Shoots to take off in the row.
    pub fn take(&self) -> f64 {
        self.panels.iter().map(|panel| panel.take).sum()
    }

    /// Person-minutes in the row.
    pub fn minutes(&self) -> f64 {
        self.panels.iter().map(|panel| panel.minutes).sum()
    }

    /// Its panels that stand one after the other, the way it is walked.
    pub fn runs(&self) -> Vec<&[PanelWork]> {
        self.panels.chunk_by(|one, next| one.panel.abs_diff(next.panel) == 1).collect()
    }

    /// The first and the last vine, the way it is walked.
    pub fn vines(&self) -> Option<[u32; 2]> {
        Some([self.panels.first()?.vines[0], self.panels.last()?.vines[1]])
    }
}

/// The work in every zone: those to be worked first, in their order, then the others.
pub fn work(evidence: Evidence<'_>, plan: &Plan) -> Vec<ZoneWork> {
    let others = (0..plan.zones.len()).filter(|zone| !plan.order.contains(zone));
    let zones = plan.order.iter().copied().chain(others);
    let counted = counted_alone(evidence);
    zones.map(|zone| zone_work(evidence, plan, zone, &counted)).collect()
}

/// Vines with a count of their own that is used.
fn counted_alone(evidence: Evidence<'_>) -> BTreeSet<usize> {
    let counts = evidence.joined.shoots.iter();
    counts.filter(|count| count.vines.len() == 1).flat_map(|count| count.vines.clone()).collect()
}

fn zone_work(
    evidence: Evidence<'_>,
    plan: &Plan,
    zone: usize,
    counted: &BTreeSet<usize>,
) -> ZoneWork {
    let mut by_row: BTreeMap<u32, Vec<usize>> = BTreeMap::new();
    for &panel in &evidence.zones.zones[zone].panels {
        by_row.entry(evidence.layout.panels[panel].row).or_default().push(panel);
    }
    let mut rows: Vec<RowWork> = (by_row.into_iter().enumerate())
        .map(|(at, (row, mut panels))| {
            panels.sort_by_key(|&panel| evidence.layout.panels[panel].panel);
            let backwards = at % 2 == 1;
            if backwards {
                panels.reverse();
            }
            let panels = panels.into_iter();
            let work = panels.filter_map(|p| panel_work(evidence, plan, (p, backwards), counted));
            RowWork { row, backwards, panels: work.collect() }
        })
        .filter(|row| !row.panels.is_empty())
        .collect();
    share_minutes(&mut rows, plan, zone);
    ZoneWork { zone, rows }
}

/// Gives every panel its share of the zone's hours, by its vines and what comes off them.
fn share_minutes(rows: &mut [RowWork], plan: &Plan, zone: usize) {
    let labour = &plan.labour;
    let alone = |panel: &PanelWork| labour.hours(float(panel.standing), panel.take);
    let all: f64 = rows.iter().flat_map(|row| &row.panels).map(alone).sum();
    let minutes = 60.0 * plan.zones[zone].hours.value;
    for panel in rows.iter_mut().flat_map(|row| &mut row.panels) {
        panel.minutes = if all > 0.0 { minutes * alone(panel) / all } else { 0.0 };
    }
}

/// The work in a panel; none where no vine stands.
fn panel_work(
    evidence: Evidence<'_>,
    plan: &Plan,
    (panel, backwards): (usize, bool),
    counted: &BTreeSet<usize>,
) -> Option<PanelWork> {
    let places = evidence.layout.panels[panel].vines.clone();
    let mut vines: Vec<usize> =
        places.filter(|&vine| !evidence.joined.vines[vine].status.is_missing()).collect();
    if backwards {
        vines.reverse();
    }
    let number = |vine: usize| evidence.layout.vines[vine].vine;
    let take = |vine: usize| plan.vines[vine].remove.unwrap_or(0.0);
    let alone = vines.iter().filter(|vine| counted.contains(vine));
    Some(PanelWork {
        panel,
        vines: [number(*vines.first()?), number(*vines.last()?)],
        standing: vines.len(),
        canopy_m: vines.iter().map(|&vine| evidence.joined.vines[vine].canopy_m).sum(),
        take: vines.iter().map(|&vine| take(vine)).sum(),
        minutes: 0.0,
        counted: alone.map(|&v| CountedVine { vine: number(v), take: take(v) }).collect(),
    })
}
