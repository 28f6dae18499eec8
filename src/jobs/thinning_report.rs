//! What `thin` tells of a block, for people and scripts alike.

use serde::Serialize;

use crate::{
    estimate::{ByDesign, by_design::DesignMean, sure::BlockMean},
    frame::Site,
    plan::{Interval, Plan},
    units::{METRES_PER_FOOT, ReadingUnits},
    zones::{Difference, Zones},
};

/// What is told of the thinning of a block.
#[derive(Debug, Clone, Serialize)]
pub struct ThinningReport {
    /// Records that found their place, and those that did not.
    pub records: [usize; 2],
    /// Vines counted.
    pub counted_vines: usize,
    /// How the map was made and why.
    pub method: String,
    /// How sure that is, in plain words.
    pub sure: Vec<String>,
    /// The mean of the whole block.
    pub block: Option<MeanReport>,
    /// What the draw alone says, where stops drawn by `sample` were counted.
    pub by_design: Option<DesignReport>,
    /// How the zones were found.
    pub zones_why: String,
    /// The targets by planting, with their source, in words and the units that people read.
    pub targets: Vec<String>,
    /// By zone.
    pub zones: Vec<ZoneReport>,
    /// How zones that touch differ, in words and the units that people read.
    pub differences: Vec<String>,
    /// Shoots to take off.
    pub remove: f64,
    /// Person-hours.
    pub hours: f64,
    /// Where the hours come from.
    pub labour: String,
    /// A frost that forbids any plan until a recount.
    pub frost: Option<String>,
    /// When the work can start and must end.
    pub window: WindowReport,
    /// What a crew can finish.
    pub crew: Option<String>,
}

/// A mean density.
#[derive(Debug, Clone, Serialize)]
pub struct MeanReport {
    /// Shoots per metre with its 90 % interval.
    pub shoots_per_m: [f64; 3],
    /// `draw`: the chances of the drawn stops alone; `map`: the estimates of all vines.
    pub from: &'static str,
}

/// What the draw alone says.
#[derive(Debug, Clone, Serialize)]
pub struct DesignReport {
    /// Stops drawn, and those that came back counted.
    pub stops: [usize; 2],
    /// About the share of the vines that could be drawn.
    pub share_drawable: f64,
    /// The block's mean, shoots per metre, and half its 90 % interval.
    pub block: Option<[f64; 2]>,
    /// The same by planting.
    pub plantings: Vec<PlantingReport>,
}

/// What the draw alone says of a planting.
#[derive(Debug, Clone, Serialize)]
pub struct PlantingReport {
    /// Its cultivar.
    pub cultivar: Option<String>,
    /// Its mean, shoots per metre, and half its 90 % interval.
    pub shoots_per_m: [f64; 2],
}

/// What is told of a zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneReport {
    /// Its id, and the grower's own name.
    pub zone: String,
    /// The grower's own name.
    pub name: Option<String>,
    /// Its rows.
    pub rows: String,
    /// Present vines.
    pub vines: usize,
    /// Shoots per metre with its 90 % interval.
    pub shoots_per_m: Option<[f64; 3]>,
    /// The aim, shoots per metre.
    pub target_per_m: Option<f64>,
    /// `overcrowded`, `on-target`, `under-target`, `undecided`.
    pub verdict: &'static str,
    /// Shoots to take off with their 90 % interval.
    pub remove: [f64; 3],
    /// Person-hours with their 90 % interval.
    pub hours: [f64; 3],
    /// Place in the order of work.
    pub order: Option<usize>,
    /// What to check or mind there.
    pub advice: Vec<String>,
}

/// When the work can start and must end.
#[derive(Debug, Clone, Serialize)]
pub struct WindowReport {
    /// When it opens.
    pub thin_from: Option<String>,
    /// When it closes if shoots grow fast.
    pub thin_by: Option<String>,
    /// When it closes if they grow slowly.
    pub thin_by_latest: Option<String>,
    /// Where the growth comes from.
    pub source: String,
    /// Zones to be worked whose own shoots close it on other days, the first to close first.
    pub by_zone: Vec<ZoneWindowReport>,
}

/// When the work in a zone must end.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct ZoneWindowReport {
    /// When it closes if shoots grow fast.
    pub thin_by: String,
    /// When it closes if they grow slowly.
    pub thin_by_latest: Option<String>,
    /// The zone.
    pub zone: String,
}

/// What is told of a block's mean.
pub(super) fn block_mean(mean: BlockMean) -> MeanReport {
    let [lo90, hi90] = mean.ends90_per_m();
    MeanReport {
        shoots_per_m: [mean.per_m, lo90, hi90],
        from: if mean.from_draw { "draw" } else { "map" },
    }
}

/// What is told of the draw.
pub(super) fn by_design(design: &ByDesign, site: &Site) -> DesignReport {
    let pair = |mean: DesignMean| [mean.per_m, mean.half90()];
    let planting = |&(planting, mean): &(usize, DesignMean)| PlantingReport {
        cultivar: site.plantings.all().get(planting).and_then(|own| own.cultivar.clone()),
        shoots_per_m: pair(mean),
    };
    DesignReport {
        stops: [design.drawn, design.counted],
        share_drawable: design.share_drawable,
        block: design.block.map(pair),
        plantings: design.plantings.iter().map(planting).collect(),
    }
}

/// What is told of every zone of a plan.
pub(super) fn zones(zones: &Zones, plan: &Plan) -> Vec<ZoneReport> {
    zones
        .zones
        .iter()
        .zip(&plan.zones)
        .map(|(zone, planned)| ZoneReport {
            zone: zone.id.clone(),
            name: zone.name.clone(),
            rows: zone.rows.clone(),
            vines: zone.vines.len(),
            shoots_per_m: zone.density.map(|mean| [mean.per_m, mean.lo90, mean.hi90]),
            target_per_m: planned.target_per_m.map(|target| target.aim_per_m),
            verdict: planned.verdict.word(),
            remove: triple(planned.remove),
            hours: triple(planned.hours),
            order: planned.order,
            advice: planned.advice.clone(),
        })
        .collect()
}

/// How zones that touch differ: "Z1 carries 3.1 to 5.2 shoots a metre more than Z2".
pub(super) fn differences(zones: &Zones, units: ReadingUnits) -> Vec<String> {
    let touching = zones.differences.iter().filter(|difference| difference.touching);
    touching.map(|difference| difference_words(zones, difference, units)).collect()
}

fn difference_words(zones: &Zones, difference: &Difference, units: ReadingUnits) -> String {
    let (factor, unit) = match units {
        ReadingUnits::Us => (METRES_PER_FOOT, "foot"),
        ReadingUnits::Metric => (1.0, "metre"),
    };
    let [one, other] = [difference.one, difference.other].map(|zone| &zones.zones[zone].id);
    let ends = [difference.lo90 * factor, difference.hi90 * factor];
    if !difference.is_clear() {
        let [fewer, more] = [-ends[0], ends[1]];
        return format!(
            "{one} and {other} may carry alike: {one} anything from {fewer:.1} shoots a {unit} less \
             to {more:.1} more"
        );
    }
    let (more, less, [low, high]) =
        if ends[0] > 0.0 { (one, other, ends) } else { (other, one, [-ends[1], -ends[0]]) };
    format!("{more} carries {low:.1} to {high:.1} shoots a {unit} more than {less}")
}

const fn triple(interval: Interval) -> [f64; 3] {
    [interval.value, interval.lo90, interval.hi90]
}

/// What is told of the window of a plan, and of zones that have another one.
pub(super) fn window(zones: &Zones, plan: &Plan) -> WindowReport {
    let Plan { window, .. } = plan;
    let text = |date: Option<jiff::civil::Date>| date.map(|date| date.to_string());
    WindowReport {
        thin_from: text(window.opens),
        thin_by: text(window.closes_first),
        thin_by_latest: text(window.closes_last),
        source: window.source.clone(),
        by_zone: by_zone(zones, plan),
    }
}

/// Zones to be worked that close on other days than the block.
fn by_zone(zones: &Zones, plan: &Plan) -> Vec<ZoneWindowReport> {
    let of_block = [plan.window.closes_first, plan.window.closes_last];
    let own = zones.zones.iter().zip(&plan.zones).filter(|(_, planned)| {
        planned.order.is_some() && [planned.thin_by, planned.thin_by_latest] != of_block
    });
    let mut told: Vec<ZoneWindowReport> = own
        .filter_map(|(zone, planned)| {
            Some(ZoneWindowReport {
                thin_by: planned.thin_by?.to_string(),
                thin_by_latest: planned.thin_by_latest.map(|day| day.to_string()),
                zone: zone.id.clone(),
            })
        })
        .collect();
    told.sort();
    told
}
