//! Which vine or panel each record belongs to.
//!
//! Takes a [`Layout`] and the records of the field, gives a [`Joined`]: what stands at every place
//! and what was counted there. Never edits the layout, never drops a record: one that finds no
//! place is in [`Joined::unjoined`] with the reason. A missing vine is never a zero.
//!
//! What the next stage need not worry about: every observation is about vines that stand, no vine
//! is in two observations of one measure, lengths are above zero and none counted is longer than
//! the canopy it was counted on.

mod by_block;
mod by_name;
mod by_position;
mod contradiction;
mod correlation;
mod dormant;
mod doubts;
#[cfg(test)]
mod field;
mod measures;
mod observations;
#[cfg(test)]
mod observations_tests;
mod places;
mod raster;
mod recount;
mod shift;
mod standing;
mod timing;
mod told;
mod unusual;
mod visits;
#[cfg(test)]
mod visits_tests;
mod windows;

pub use by_block::sort_by_block;
pub use raster::on_raster;
pub use recount::join_recount;

use std::ops::Range;

use jiff::civil::Date;

use self::{places::Places, told::Told};
use crate::{
    counts::{Count, Status},
    finding::Findings,
    frame::Site,
    layout::Layout,
    settings::JoinSettings,
};

/// What stands at every place and what was counted there.
#[derive(Debug, Clone)]
pub struct Joined {
    /// By vine place, in the layout's order.
    pub vines: Vec<VineRecord>,
    /// Shoot densities: one for each vine or whole panel that was counted, young vines too.
    pub shoots: Vec<Observation>,
    /// The best measure of vigor that there is.
    pub vigor: Option<Vigor>,
    /// By vine place: the value of a raster of vigor there; see [`on_raster`].
    pub raster: Option<Vec<Option<f64>>>,
    /// Timed work: for labour.
    pub timed: Vec<Timed>,
    /// Every record that found its place, in the order read.
    pub records: Vec<JoinedRecord>,
    /// Every record that did not, with the reason.
    pub unjoined: Vec<UnjoinedRecord>,
    /// The date of the counts: the latest of those used.
    pub date: Option<Date>,
    /// Shoot length at the last visit, and before it at an earlier one where the same places were
    /// measured: date, mean length in metres, records.
    pub growth: Vec<(Date, f64, usize)>,
    /// Suckers per vine counted, mean; `None` when nobody counted them.
    pub suckers_per_vine: Option<f64>,
    /// Dead dormant buds and buds looked at, when someone looked.
    pub buds: Option<(u32, u32)>,
    /// What was measured in the dormant season.
    pub dormant: Dormant,
}

/// What was measured in the dormant season, each vine for itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Dormant {
    /// Pruning weights of the latest winter, kilograms per metre of canopy: one for each vine or
    /// whole panel that was weighed, however few; in the order of their vines.
    pub weighed: Vec<Observation>,
    /// Crops of the harvest before that winter, kilograms per metre of canopy.
    pub picked: Vec<Observation>,
    /// Buds looked at in the latest winter of which there are some, by planting: dead, all.
    pub buds: Vec<Option<(u32, u32)>>,
}

/// What stands at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VineRecord {
    /// What stands there.
    pub status: Status,
    /// Its planting, as an index into the site's plantings.
    pub planting: usize,
    /// Metres of canopy (live cordon or cane, all curtains); 0 where no vine stands.
    pub canopy_m: f64,
    /// True when its shoots were counted, alone or in a whole panel, and the count is used.
    pub counted: bool,
}

/// A measured density on one vine or over the vines of a panel.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// The present vines that it is about, as indices into [`Joined::vines`]; never empty.
    pub vines: Vec<usize>,
    /// Per metre of canopy: shoots, or the measure of vigor.
    pub per_m: f64,
    /// Metres of canopy of these vines together.
    pub canopy_m: f64,
    /// Metres of canopy that were counted: at most `canopy_m`.
    pub counted_m: f64,
    /// Estimates of `per_m` from repeated windows, each with the metres counted; one or more.
    pub windows: Vec<(f64, f64)>,
}

/// The best measure of vigor that there is.
#[derive(Debug, Clone)]
pub struct Vigor {
    /// What was measured.
    pub measure: VigorMeasure,
    /// Kilograms per metre of canopy, or metres of mean shoot length; none for a raster, whose
    /// values are in [`Joined::raster`].
    pub observations: Vec<Observation>,
}

/// What was measured for vigor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum VigorMeasure {
    /// Pruning weight per metre of canopy, kilograms.
    PruningWeight,
    /// Mean shoot length, metres.
    ShootLength,
    /// A raster of any relative measure, in a unit of its own; known at every vine that it covers.
    Raster,
}

impl VigorMeasure {
    /// What it is, for people.
    pub const fn words(self) -> &'static str {
        match self {
            Self::PruningWeight => "pruning weight",
            Self::ShootLength => "shoot length",
            Self::Raster => "the raster of vigor",
        }
    }
}

/// Timed work on a vine or a panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timed {
    /// Person-minutes.
    pub minutes: f64,
    /// Vines worked.
    pub vines: usize,
    /// Shoots counted there, before the work.
    pub shoots: Option<f64>,
}

/// A record that found its place.
#[derive(Debug, Clone)]
pub struct JoinedRecord {
    /// The record.
    pub count: Count,
    /// How its place was found.
    pub how: FoundBy,
    /// The vines that it is about, as indices into [`Joined::vines`].
    pub vines: Vec<usize>,
    /// The panel, when it is about a whole panel: an index into the layout's panels.
    pub panel: Option<usize>,
    /// Shoots per metre of canopy, where shoots were counted and used.
    pub shoots_per_m: Option<f64>,
}

/// How a record's place was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FoundBy {
    /// By its id.
    Id,
    /// By row and vine, or panel and place.
    RowAndVine,
    /// By row and panel: a whole panel.
    Panel,
    /// By its position.
    Position,
}

/// A record that found no place.
#[derive(Debug, Clone)]
pub struct UnjoinedRecord {
    /// The record.
    pub count: Count,
    /// Why, and how to mend it.
    pub reason: String,
}

/// Joins the records of one block to its places.
///
/// The records are those of this block: [`sort_by_block`] has sorted them. Conflicts, doubts and
/// everything left out of the estimate are in the findings.
pub fn join(
    site: &Site,
    layout: &Layout,
    counts: &[Count],
    settings: &JoinSettings,
) -> (Joined, Findings) {
    let places = Places::of(site, layout);
    let mut findings = Findings::none();
    let (placed, unjoined) = place_all(&places, counts, &mut findings);
    let stand = standing::settle(&places, &placed, settings, &mut findings);
    let vines_of = |target| places_of(layout, target);
    let timing = timing::settle(&placed, vines_of, settings);
    let season_days = settings.season_days;
    let ground = Ground { layout, placed: &placed, vines: stand, timing, season_days };
    let counted = observations::shoots(&ground, settings, &mut findings);
    let mut vines = ground.vines.clone();
    for &vine in &counted.vines {
        vines[vine].counted = true;
    }
    doubts::tell(&ground, &counted.observations, &mut findings);
    unusual::tell(&ground, &mut findings);
    let dormant = dormant::settle(&ground, site.plantings.all().len(), &mut findings);
    let joined = Joined {
        vigor: measures::vigor(&ground, &dormant.weighed, &mut findings),
        raster: None,
        timed: measures::timed(&ground, &counted.observations),
        date: measures::date(&placed, &counted.densities),
        growth: measures::growth(&ground),
        suckers_per_vine: measures::suckers_per_vine(&ground),
        buds: dormant::all_buds(&dormant.buds),
        dormant,
        records: records(&ground, &counted.densities),
        shoots: counted.observations,
        vines,
        unjoined,
    };
    told::nothing_joined(&joined, &mut findings);
    (joined, findings)
}

/// A record and the place that was found for it.
struct Placed<'a> {
    count: &'a Count,
    target: Target,
    how: FoundBy,
}

/// A vine place or a whole panel, as an index into the layout's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Target {
    Vine(usize),
    Panel(usize),
}

/// The placed records and what stands: all that a measure is taken from.
struct Ground<'a> {
    layout: &'a Layout,
    placed: &'a [Placed<'a>],
    vines: Vec<VineRecord>,
    /// By placed record: why it does not tell what stood before the work of this season.
    timing: Vec<Option<timing::Why>>,
    /// Records more days apart belong to two seasons.
    season_days: i32,
}

impl Ground<'_> {
    /// True when a record counts shoots as they stood before the work of this season.
    fn tells_shoots(&self, at: usize) -> bool {
        self.placed[at].count.shoots.is_some() && self.timing[at].is_none()
    }

    /// The vine places of a target.
    fn places_of(&self, target: Target) -> Range<usize> {
        places_of(self.layout, target)
    }

    /// The vines that stand there.
    fn standing_in(&self, target: Target) -> Vec<usize> {
        self.places_of(target).filter(|&vine| !self.vines[vine].status.is_missing()).collect()
    }

    /// True when a grown vine is among them.
    fn any_grown(&self, vines: &[usize]) -> bool {
        vines.iter().any(|&vine| !self.vines[vine].status.is_young())
    }

    /// Metres of canopy of some vines.
    fn canopy_m(&self, vines: &[usize]) -> f64 {
        vines.iter().map(|&vine| self.vines[vine].canopy_m).sum()
    }

    /// `R012V034` or `R012P07`.
    fn name(&self, target: Target) -> String {
        name(self.layout, target)
    }
}

fn places_of(layout: &Layout, target: Target) -> Range<usize> {
    match target {
        Target::Vine(vine) => vine..vine + 1,
        Target::Panel(panel) => layout.panels[panel].vines.clone(),
    }
}

fn name(layout: &Layout, target: Target) -> String {
    match target {
        Target::Vine(at) => {
            let vine = &layout.vines[at];
            layout.digits.vine(vine.row, vine.vine)
        }
        Target::Panel(at) => {
            let panel = &layout.panels[at];
            layout.digits.panel(panel.row, panel.panel)
        }
    }
}

fn place_all<'a>(
    places: &Places<'_>,
    counts: &'a [Count],
    findings: &mut Findings,
) -> (Vec<Placed<'a>>, Vec<UnjoinedRecord>) {
    let (mut placed, mut unjoined) = (Vec::new(), Vec::new());
    let mut told = Told::default();
    for count in counts {
        match by_name::find(places, count, &mut told) {
            Ok((target, how)) => placed.push(Placed { count, target, how }),
            Err(reason) => unjoined.push(UnjoinedRecord { count: count.clone(), reason }),
        }
    }
    told.tell(findings);
    (placed, unjoined)
}

fn records(ground: &Ground<'_>, densities: &[Option<f64>]) -> Vec<JoinedRecord> {
    let joined = ground.placed.iter().zip(densities).map(|(placed, density)| JoinedRecord {
        count: placed.count.clone(),
        how: placed.how,
        vines: ground.places_of(placed.target).collect(),
        panel: match placed.target {
            Target::Vine(_) => None,
            Target::Panel(panel) => Some(panel),
        },
        shoots_per_m: *density,
    });
    joined.collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{
        field::{Field, on, on_panel, shoots, told},
        *,
    };
    use crate::{counts::Spot, units::Metres};

    #[test]
    fn a_record_of_another_block_is_not_joined() {
        let mut count = on(1, 1, 20);
        count.block = Some("South".to_owned());
        let (joined, findings) = Field::new().join(&[count]);
        assert!(joined.unjoined[0].reason.contains("belongs to block `South`"));
        assert_eq!(told(&findings, "none of 1 record found"), 1);
    }

    #[test]
    fn nothing_counted_is_no_observation_but_a_record() {
        let mut count = on(1, 1, 0);
        count.shoots = None;
        count.minutes = Some(2.5);
        count.buds = Some(10);
        count.buds_dead = Some(3);
        let (joined, _) = Field::new().join(&[count]);
        assert!(joined.shoots.is_empty() && !joined.vines[0].counted);
        assert_eq!(joined.timed, [Timed { minutes: 2.5, vines: 1, shoots: None }]);
        assert_eq!((joined.buds, joined.records.len()), (Some((3, 10)), 1));
    }

    fn any_count() -> impl Strategy<Value = Count> {
        let number = |to: u32| prop_oneof![Just(None), (0..=to).prop_map(Some)];
        let id = prop_oneof![
            Just(None),
            Just(Some("r1v2".to_owned())),
            Just(Some("R002P01".to_owned())),
            Just(Some("12".to_owned())),
        ];
        let length = prop_oneof![Just(None), (0.0..3.0).prop_map(|m| Some(Metres::new(m)))];
        let status = prop_oneof![
            3 => Just(None),
            1 => Just(Some(Status::Missing)),
            1 => Just(Some(Status::Replant)),
        ];
        let place = (number(4), number(9), number(3), number(5), id);
        (place, number(40), length.clone(), length, status).prop_map(
            |((row, vine, panel, place, id), all, counted_length, canopy_length, status)| Count {
                spot: Spot { id, row, vine, panel, place, position: None },
                counted_length,
                canopy_length,
                status,
                ..all.map_or_else(Count::default, shoots)
            },
        )
    }

    proptest! {
        /// What the front page of the stage promises to the next one.
        #[test]
        fn every_record_is_joined_or_told_and_every_observation_is_sound(
            counts in proptest::collection::vec(any_count(), 0..40)
        ) {
            // `Field::join` holds that no record is lost.
            let (joined, findings) = Field::new().join(&counts);
            prop_assert!(!findings.any_fault());
            let mut seen = std::collections::BTreeSet::new();
            for one in &joined.shoots {
                prop_assert!(!one.vines.is_empty() && !one.windows.is_empty());
                prop_assert!(one.per_m.is_finite() && one.per_m >= 0.0);
                prop_assert!(one.counted_m > 0.0 && one.counted_m <= one.canopy_m * (1.0 + 1e-9));
                for &vine in &one.vines {
                    prop_assert!(seen.insert(vine), "vine {} is counted twice", vine);
                    prop_assert!(!joined.vines[vine].status.is_missing());
                    prop_assert!(joined.vines[vine].counted);
                }
            }
            for vine in &joined.vines {
                prop_assert_eq!(vine.status.is_missing(), vine.canopy_m <= 0.0);
            }
            prop_assert!(joined.unjoined.iter().all(|record| !record.reason.is_empty()));
        }
    }

    #[test]
    fn a_panel_and_its_vines_are_not_counted_twice() {
        let (joined, _) = Field::new().join(&[on_panel(1, 1, 80), on(1, 2, 26)]);
        let vines: Vec<_> = joined.shoots.iter().map(|one| one.vines.clone()).collect();
        assert_eq!(vines, [vec![0, 2, 3], vec![1]]);
        assert!((joined.shoots[0].per_m - 54.0 / 3.6).abs() < 1e-12);
    }
}
