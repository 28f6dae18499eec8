//! Invented blocks of two halves, or of none, through every stage: is their border found?

use catchwire::{
    block::{Block, BlockKeys, PlantingKeys, VineType},
    counts::{Count, Shoots, Spot},
    estimate::estimate,
    finding::Place,
    frame::{Site, place_block},
    join::join,
    layout::{Layout, Panel, lay_out},
    maths::random::Random,
    sample::{Stop, Unit, Wish, choose},
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::{Degrees, Metres},
    zones::{Zones, draw_zones},
};
use geo::{MultiPolygon, polygon};
use rayon::prelude::*;

/// Where two halves meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Border {
    /// At the middle of every row.
    AcrossRows,
    /// Between two rows.
    AlongRows,
    /// From corner to corner.
    Oblique,
}

/// What is counted at a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Counting {
    /// Single vines.
    Vines,
    /// Whole panels.
    Panels,
}

/// A kind of invented block: 60 by 100 m, 24 rows of 55 vines in panels of 4.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Invented {
    /// Where its halves meet; `None`: one mean everywhere.
    pub(crate) border: Option<Border>,
    /// How far the halves' means lie apart, in standard deviations of vines within a half.
    pub(crate) apart: f64,
    /// Stops of the sample that are for the mean.
    pub(crate) counts: usize,
    /// What is counted at a stop.
    pub(crate) counting: Counting,
}

/// What came of one block.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Outcome {
    /// Zones drawn.
    pub(crate) zones: usize,
    /// Panels beyond two from the border that are in the other half's zone; 0 without two zones.
    pub(crate) astray: usize,
    /// With two zones: their drawn difference over the true one, and whether its interval holds the
    /// truth.
    pub(crate) difference: Option<(f64, bool)>,
}

impl Outcome {
    /// Two zones, and every panel beyond two from the border is in its half's.
    pub(crate) const fn found(&self) -> bool {
        self.zones == 2 && self.astray == 0
    }
}

/// Shoots per metre in the middle of the block, and the standard deviation of vines in a half.
const MEAN_PER_M: f64 = 14.0;
const SPREAD_PER_M: f64 = 4.0;
const VINE_M: f64 = 1.8;
const PANEL_M: f64 = 4.0 * VINE_M;
const ROW_M: f64 = 2.5;

/// Draws the zones of each block of this kind.
pub(crate) fn judge(
    case: &Invented,
    seeds: std::ops::Range<u64>,
    settings: &Settings,
) -> Vec<Outcome> {
    let block = square_block();
    let (site, layout) = ground(&block, settings);
    seeds.into_par_iter().map(|seed| one((case, seed), (&site, &layout), settings)).collect()
}

fn one(
    (case, seed): (&Invented, u64),
    (site, layout): (&Site, &Layout),
    settings: &Settings,
) -> Outcome {
    let shoots = shoots((case, seed), layout);
    let counts = counts((case, seed), (site, layout, &shoots), settings);
    let (joined, _) = join(site, layout, &counts, &settings.join());
    let (estimate, _) = estimate(site, layout, &joined, &settings.estimate()).unwrap();
    let (zones, _) = draw_zones(site, layout, &joined, &estimate, &settings.zones()).unwrap();
    Outcome {
        zones: zones.zones.len(),
        astray: case.border.map_or(0, |border| astray(border, layout, &zones)),
        difference: difference(&zones, &shoots),
    }
}

/// The drawn difference of two zones over their true one, and whether its interval holds the truth.
fn difference(zones: &Zones, shoots: &[u32]) -> Option<(f64, bool)> {
    let [difference] = zones.differences[..] else { return None };
    let mean = |zone: usize| {
        let vines = &zones.zones[zone].vines;
        let sum: u32 = vines.iter().map(|&vine| shoots[vine]).sum();
        f64::from(sum) / vines.iter().map(|_| VINE_M).sum::<f64>()
    };
    let truth = mean(difference.one) - mean(difference.other);
    let holds = (difference.lo90..=difference.hi90).contains(&truth);
    Some((difference.per_m / truth, holds))
}

/// The shoots of every vine.
fn shoots((case, seed): (&Invented, u64), layout: &Layout) -> Vec<u32> {
    let mut random = Random::new(1000 + seed);
    let middle = middle(layout);
    let vines = layout.vines.iter().map(|vine| {
        let side = case.border.map_or(0.0, |border| {
            let [along, across] = beyond(border, [vine.at.along_m, vine.at.across_m], middle);
            (along + across).signum()
        });
        let mean = MEAN_PER_M + 0.5 * case.apart * SPREAD_PER_M * side;
        let shoots = (VINE_M * (mean + SPREAD_PER_M * random.normal())).round();
        (0..200).find(|n| f64::from(*n) >= shoots).unwrap()
    });
    vines.collect()
}

/// A count of every stop that the library's own sample draws.
fn counts(
    (case, seed): (&Invented, u64),
    (site, layout, shoots): (&Site, &Layout, &[u32]),
    settings: &Settings,
) -> Vec<Count> {
    let unit = match case.counting {
        Counting::Vines => Unit::Vine,
        Counting::Panels => Unit::Panel,
    };
    let wish = Wish { unit, number: Some(case.counts), variation: None, window: None, seed };
    let (sample, _) =
        choose((site, layout), &vec![false; layout.vines.len()], &wish, &settings.sample())
            .unwrap();
    let stops = sample.stops.iter().filter(|stop| stop.purpose.chance().is_some());
    let all = |shoots: u32| Some(Shoots { all: shoots, secondary: None, base: None });
    let of_stop = |stop: &Stop| {
        let panel = &layout.panels[stop.panel];
        let spot = Spot { row: Some(panel.row), ..Default::default() };
        if let Some(at) = stop.vine {
            let spot = Spot { vine: Some(layout.vines[at].vine), ..spot };
            return Count { spot, shoots: all(shoots[at]), ..Default::default() };
        }
        let spot = Spot { panel: Some(panel.panel), ..spot };
        let sum = shoots[panel.vines.clone()].iter().sum();
        Count { spot, shoots: all(sum), ..Default::default() }
    };
    stops.map(of_stop).collect()
}

/// Metres beyond the border, measured along the row and across the rows, with their sign; the sign
/// of both is the half's.
fn beyond(border: Border, [along, across]: [f64; 2], middle: [f64; 2]) -> [f64; 2] {
    let (along, across) = (along - middle[0], across - middle[1]);
    match border {
        Border::AcrossRows => [along, along.signum() * 0.0],
        Border::AlongRows => [0.0, across],
        // The diagonal of a block that is 100 m long and 60 m wide.
        Border::Oblique => [along + across / 0.6, across + 0.6 * along],
    }
}

fn middle(layout: &Layout) -> [f64; 2] {
    let mean = |of: fn(&catchwire::layout::Vine) -> f64| {
        let ends = layout.vines.iter().map(of);
        let (low, high) =
            (ends.clone().fold(f64::INFINITY, f64::min), ends.fold(f64::NEG_INFINITY, f64::max));
        f64::midpoint(low, high)
    };
    [mean(|vine| vine.at.along_m), mean(|vine| vine.at.across_m)]
}

fn astray(border: Border, layout: &Layout, zones: &Zones) -> usize {
    if zones.zones.len() != 2 {
        return 0;
    }
    let middle = middle(layout);
    let mut wrong = 0;
    // The zone with more shoots is that of the half with the greater sign.
    let mean = |zone: usize| zones.zones[zone].density.map_or(0.0, |mean| mean.per_m);
    let high = usize::from(mean(1) > mean(0));
    for (panel, zone) in layout.panels.iter().zip(&zones.of_panel) {
        let [along, across] = beyond(border, centre(layout, panel), middle);
        let near = match border {
            Border::AcrossRows => along.abs() <= 2.0 * PANEL_M + 1e-6,
            Border::AlongRows => across.abs() <= 2.0 * ROW_M + 1e-6,
            Border::Oblique => {
                along.abs() <= 2.0 * PANEL_M + 1e-6 || across.abs() <= 2.0 * ROW_M + 1e-6
            }
        };
        let expected = if along + across > 0.0 { high } else { 1 - high };
        wrong += usize::from(!near && *zone != Some(expected));
    }
    wrong
}

fn centre(layout: &Layout, panel: &Panel) -> [f64; 2] {
    let vines = &layout.vines[panel.vines.clone()];
    let (first, last) = (vines[0].at, vines[vines.len() - 1].at);
    [f64::midpoint(first.along_m, last.along_m), first.across_m]
}

/// A block on its plane and laid out.
pub(crate) fn ground(block: &Block, settings: &Settings) -> (Site, Layout) {
    let circumstances = Circumstances {
        defaults: settings.layout(),
        standing: None,
        allow_unusual: false,
        grid: None,
    };
    let rules = row_rules(block, &circumstances).unwrap();
    let (site, _) = place_block(block, rules, planting_rules(block)).unwrap();
    let (layout, _) = lay_out(&site).unwrap();
    (site, layout)
}

/// A flat block of 60 by 100 m at 47° N with 24 rows running north, standing.
pub(crate) fn square_block() -> Block {
    let (east, north) = (60.0 / 76_056.0, 100.0 / 111_180.0);
    let outline = polygon![(x: 8.0, y: 47.0), (x: 8.0 + east, y: 47.0), (x: 8.0 + east, y: 47.0 + north), (x: 8.0, y: 47.0 + north)];
    Block {
        name: "square".parse().unwrap(),
        outline: MultiPolygon::new(vec![outline]),
        keys: BlockKeys {
            standing: Some(true),
            row_bearing: Some(Degrees::new(0.0)),
            row_spacing: Some(Metres::new(ROW_M)),
            vine_spacing: Some(Metres::new(VINE_M)),
            planting: PlantingKeys { vine_type: Some(VineType::Vinifera), ..Default::default() },
            ..Default::default()
        },
        keep_outs: Vec::new(),
        row_lines: Vec::new(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        vines: Vec::new(),
        place: Place::file("square.geojson"),
    }
}
