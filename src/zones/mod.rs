//! Which parts of a block differ.
//!
//! Takes an [`Estimate`], gives [`Zones`] of whole panels. Never splits a panel, never mixes
//! plantings, never draws a border that held-out counts do not support.

mod assemble;
mod border_length;
mod counts_alone;
mod differences;
mod draw;
mod given;
pub mod how_many;
mod least_cut;
pub mod merge;
mod neighbours;
mod panel_values;
mod planting;
mod score;
mod shape;
mod straighten;
pub mod wanted;
pub mod without_fold;

use std::collections::BTreeMap;

use geo::{Coord, MultiPolygon};

use self::assemble::Group;
pub use self::differences::Difference;
use crate::{
    error::Error,
    estimate::{Estimate, SetMeans},
    finding::{Finding, Findings, Place},
    frame::Site,
    join::Joined,
    layout::{Layout, Panel},
    settings::ZoneSettings,
};

/// The zones of a block.
#[derive(Debug, Clone)]
pub struct Zones {
    /// In the order of their ids: `Z1`, `Z2` …
    pub zones: Vec<Zone>,
    /// By panel: the zone, as an index; `None` for a panel without a present vine.
    pub of_panel: Vec<Option<usize>>,
    /// By vine place: the zone, as an index; `None` where no vine stands.
    pub of_vine: Vec<Option<usize>>,
    /// How the borders were found, in words for the report.
    pub why: String,
    /// Share of the variance of held-out counts that the zones explain; `None` when not asked.
    pub held_out_reduction: Option<f64>,
    /// The same of as many drawn zones, beside the grower's own; `None` where none can be drawn.
    pub drawn_reduction: Option<f64>,
    /// Every two zones with a mean: how much more the first carries than the second.
    pub differences: Vec<Difference>,
    /// Covariances between the zones' means, row by row, per metre squared.
    pub covariance: Vec<f64>,
}

/// A zone of whole panels.
#[derive(Debug, Clone)]
pub struct Zone {
    /// `Z1`, `Z2` …
    pub id: String,
    /// The grower's own name for it.
    pub name: Option<String>,
    /// Its planting, as an index into the site's plantings.
    pub planting: usize,
    /// Its panels, as indices into the layout's panels.
    pub panels: Vec<usize>,
    /// Its present vines, as indices into the layout's vines.
    pub vines: Vec<usize>,
    /// Metres of canopy.
    pub canopy_m: f64,
    /// Vines counted in it.
    pub counted_vines: usize,
    /// Shoots per metre, when something can be said.
    pub density: Option<ZoneMean>,
    /// The measure of vigor, when there is one.
    pub vigor: Option<ZoneMean>,
    /// Its ground, metres along and across; zones neither overlap nor leave slivers.
    pub shape: MultiPolygon<f64>,
    /// The ground that its rows span together, rows of other plantings between them: to be drawn.
    pub span: MultiPolygon<f64>,
    /// Its rows as text, such as `1-12,15`.
    pub rows: String,
}

impl Zones {
    /// No zones in a block of so many panels and vine places.
    pub fn none(panels: usize, places: usize, why: impl Into<String>) -> Self {
        Self {
            zones: Vec::new(),
            of_panel: vec![None; panels],
            of_vine: vec![None; places],
            why: why.into(),
            held_out_reduction: None,
            drawn_reduction: None,
            differences: Vec::new(),
            covariance: Vec::new(),
        }
    }

    /// Zones with an estimate: id; mean, lower and upper end of its 90 % interval, per metre.
    pub fn means(&self) -> Vec<(String, [f64; 3])> {
        let one = |zone: &Zone| {
            let mean = zone.density?;
            Some((zone.id.clone(), [mean.per_m, mean.lo90, mean.hi90]))
        };
        self.zones.iter().filter_map(one).collect()
    }
}

/// The mean of a zone with its error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneMean {
    /// Mean per metre.
    pub per_m: f64,
    /// Raw standard error.
    pub se: f64,
    /// Lower end of the 90 % interval.
    pub lo90: f64,
    /// Upper end of the 90 % interval.
    pub hi90: f64,
    /// Multiplies `se` before probabilities are taken.
    pub scale: f64,
    /// Degrees of freedom of Student's t; `None` for the normal.
    pub degrees_of_freedom: Option<f64>,
}

impl ZoneMean {
    /// The mean of one of several sets of vines; `None` where nothing can be said.
    pub(crate) fn of(means: &SetMeans, set: usize) -> Option<Self> {
        let per_m = means.means[set].filter(|mean| mean.is_finite())?;
        let se = means.se(set);
        let half = means.factor90 * se;
        Some(Self {
            per_m,
            se,
            lo90: (per_m - half).max(0.0),
            hi90: per_m + half,
            scale: means.scale,
            degrees_of_freedom: means.degrees_of_freedom,
        })
    }
}

/// Draws the zones, or takes the grower's own.
///
/// # Errors
/// When the grower's own zones overlap.
///
/// # Source
/// Ward's merging among neighbouring panels, `docs/methods.md`; see [`merge`] and [`how_many`].
pub fn draw_zones(
    site: &Site,
    layout: &Layout,
    joined: &Joined,
    estimate: &Estimate,
    settings: &ZoneSettings,
) -> Result<(Zones, Findings), Error> {
    let stage = Stage { site, layout, joined, estimate };
    let mut findings = Findings::none();
    let drawn = if site.zones.is_empty() {
        draw::draw(stage, settings)
    } else {
        given_groups(stage, settings, &mut findings)?
    };
    Ok((assemble::assemble(stage, drawn), findings))
}

/// All that the stages before found out.
#[derive(Debug, Clone, Copy)]
struct Stage<'a> {
    site: &'a Site,
    layout: &'a Layout,
    joined: &'a Joined,
    estimate: &'a Estimate,
}

/// Panels in groups, and how they came about.
#[derive(Debug)]
struct Drawn {
    groups: Vec<Group>,
    why: String,
    held_out_reduction: Option<f64>,
    as_many_reduce: Option<f64>,
}

impl Stage<'_> {
    /// The present vines of a panel.
    fn present(&self, panel: usize) -> impl Iterator<Item = usize> + use<'_> {
        let vines = self.layout.panels[panel].vines.clone();
        vines.filter(|&vine| !self.joined.vines[vine].status.is_missing())
    }

    fn planting(&self, panel: usize) -> usize {
        self.site.plantings.of_row(self.layout.panels[panel].row)
    }

    /// The panels with a present vine, by planting.
    fn panels_by_planting(&self) -> BTreeMap<usize, Vec<usize>> {
        let mut panels: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for panel in 0..self.layout.panels.len() {
            if self.present(panel).next().is_some() {
                panels.entry(self.planting(panel)).or_default().push(panel);
            }
        }
        panels
    }
}

/// Least and greatest metres along the rows, and across them, of a panel's row line.
fn extent(panel: &Panel) -> [[f64; 2]; 2] {
    let nothing = [[f64::INFINITY, f64::NEG_INFINITY]; 2];
    panel.path.coords().fold(nothing, |[along, across], at| {
        [[along[0].min(at.x), along[1].max(at.x)], [across[0].min(at.y), across[1].max(at.y)]]
    })
}

/// The middle of a panel's row line, metres along and across.
fn centre(panel: &Panel) -> Coord<f64> {
    let [along, across] = extent(panel);
    Coord { x: f64::midpoint(along[0], along[1]), y: f64::midpoint(across[0], across[1]) }
}

/// The grower's own zones, split by planting; the rest is one zone a planting.
fn given_groups(
    stage: Stage<'_>,
    settings: &ZoneSettings,
    findings: &mut Findings,
) -> Result<Drawn, Error> {
    let zones = &stage.site.zones;
    let centres: Vec<Coord<f64>> = stage.layout.panels.iter().map(centre).collect();
    let polygons = given::polygon_of_panels(zones, &centres).map_err(Error::Input)?;
    let mut groups: BTreeMap<(usize, Option<usize>), Vec<usize>> = BTreeMap::new();
    for (planting, panels) in stage.panels_by_planting() {
        for panel in panels {
            groups.entry((planting, polygons[panel])).or_default().push(panel);
        }
    }
    for (index, (name, _)) in zones.iter().enumerate() {
        if !groups.keys().any(|(_, polygon)| *polygon == Some(index)) {
            let place = Place::default().in_feature(format!("zone `{name}`"));
            let empty = Finding::warning(place, "no panel with a vine has its middle in this zone");
            findings.push(empty.mend("check its place, or delete it"));
        }
    }
    let score = score::score(stage, &by_planting(&groups), settings);
    let named = |((planting, polygon), panels): (_, _)| Group {
        planting,
        name: Option::map(polygon, |zone: usize| zones[zone].0.clone()),
        panels,
    };
    let own = "the zones are the grower's own; what they leave is one zone a planting";
    Ok(Drawn {
        groups: groups.into_iter().map(named).collect(),
        why: score.map_or_else(|| own.to_owned(), |score| format!("{own}; {}", score.words())),
        held_out_reduction: score.map(|score| score.given),
        as_many_reduce: score.and_then(|score| score.drawn),
    })
}

fn by_planting(
    groups: &BTreeMap<(usize, Option<usize>), Vec<usize>>,
) -> BTreeMap<usize, Vec<Vec<usize>>> {
    let mut plantings: BTreeMap<usize, Vec<Vec<usize>>> = BTreeMap::new();
    for ((planting, _), panels) in groups {
        plantings.entry(*planting).or_default().push(panels.clone());
    }
    plantings
}
