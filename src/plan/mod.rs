//! How many shoots come off, in which zones, in how many hours, and until when.
//!
//! Takes [`Zones`], gives a [`Plan`]. Never plans work in a zone that is not overcrowded, never says
//! that something is safe, never looks at a clock.

mod advice;
mod crew;
pub mod deadline;
mod labour;
mod next_counts;
pub mod removal;
pub mod simulate;
mod take_off;
mod target;
mod told_targets;
mod totals;
pub mod verdict;
mod vines;
pub mod work;
mod zone_plans;

use jiff::civil::Date;

use self::zone_plans::Circumstances;
use crate::{
    error::Error, estimate::Estimate, finding::Findings, frame::Site, join::Joined, layout::Layout,
    settings::PlanSettings, zones::Zones,
};

pub use labour::labour;
pub use next_counts::{NextCounts, next_counts};
pub use take_off::TakeOff;
pub use target::vigor_class;
pub use told_targets::PlantingTarget;

/// What the crew is to do.
#[derive(Debug, Clone)]
pub struct Plan {
    /// By vine place, in the layout's order.
    pub vines: Vec<VinePlan>,
    /// By zone, in the zones' order.
    pub zones: Vec<ZonePlan>,
    /// The targets of plantings that have vines to thin.
    pub targets: Vec<PlantingTarget>,
    /// How hours were reckoned.
    pub labour: Labour,
    /// When the window opens and closes.
    pub window: Window,
    /// A frost after which nothing is planned until a recount tells primary from secondary shoots.
    pub frost: Option<Date>,
    /// Which shoots go.
    pub take_off: TakeOff,
    /// Zones in the order of work, as indices into [`Plan::zones`]; only those to be worked.
    pub order: Vec<usize>,
    /// What a crew can finish, when its size was given.
    pub crew: Option<CrewOutlook>,
    /// Shoots to take off in all zones together, with a 90 % interval that carries how they vary
    /// together.
    pub remove: Interval,
}

impl Plan {
    /// A plan in which no vine is thinned, for winter: only the classes of vigor, by vine place.
    pub fn at_rest(vigor: &[Option<VigorClass>]) -> Self {
        let vine = |vigor: &Option<VigorClass>| VinePlan {
            target: None,
            remove: None,
            remove_se: None,
            excess: 0.0,
            vigor: *vigor,
        };
        let source = "no shoots are taken off in winter".to_owned();
        Self {
            vines: vigor.iter().map(vine).collect(),
            zones: Vec::new(),
            targets: Vec::new(),
            labour: Labour {
                per_vine: 0.0,
                per_shoot: 0.0,
                factor90: [1.0, 1.0],
                source: source.clone(),
                timed: 0,
                assumed: true,
            },
            window: Window { opens: None, closes_first: None, closes_last: None, source },
            frost: None,
            take_off: TakeOff::default(),
            order: Vec::new(),
            crew: None,
            remove: Interval::default(),
        }
    }
}

/// What is planned for one vine.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VinePlan {
    /// The target range and the aim inside it, shoots per metre; none for missing and young vines.
    pub target: Option<VineTarget>,
    /// Expected shoots to take off; `None` for a missing vine, 0 outside overcrowded zones.
    pub remove: Option<f64>,
    /// Standard error of `remove`.
    pub remove_se: Option<f64>,
    /// Expected shoots above the aim, whatever the verdict.
    pub excess: f64,
    /// Its class of vigor.
    pub vigor: Option<VigorClass>,
}

/// Shoots to leave on a vine, per metre of canopy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VineTarget {
    /// Low end.
    pub low_per_m: f64,
    /// High end.
    pub high_per_m: f64,
    /// The aim, between both.
    pub aim_per_m: f64,
}

/// A class of vigor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum VigorClass {
    /// Pruning weight below the low limit.
    Weak,
    /// Between the limits, lower half.
    Moderate,
    /// Between the limits, upper half.
    Strong,
    /// Above the high limit: more canopy length is the answer, not more shoots.
    Excess,
    /// A relative measure well below the planting's mean.
    Below,
    /// Near it.
    Near,
    /// Well above it.
    Above,
}

impl VigorClass {
    /// The word that files and reports use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Weak => "weak",
            Self::Moderate => "moderate",
            Self::Strong => "strong",
            Self::Excess => "excess",
            Self::Below => "below",
            Self::Near => "near",
            Self::Above => "above",
        }
    }
}

/// What is said of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Surely above the aim by more than the margin.
    Overcrowded,
    /// Surely within the target.
    OnTarget,
    /// Surely below the low end.
    UnderTarget,
    /// The counts do not tell.
    Undecided,
}

impl Verdict {
    /// The word that files and reports use.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Overcrowded => "overcrowded",
            Self::OnTarget => "on-target",
            Self::UnderTarget => "under-target",
            Self::Undecided => "undecided",
        }
    }
}

/// What is planned for a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct ZonePlan {
    /// What is said of it.
    pub verdict: Verdict,
    /// Shoots to leave per metre, the mean aim of its vines.
    pub target_per_m: Option<VineTarget>,
    /// Shoots above the aim with a 90 % interval, whatever the verdict.
    pub excess: Option<Interval>,
    /// Shoots to take off with a 90 % interval; zeros unless overcrowded.
    pub remove: Interval,
    /// Person-hours with a 90 % interval; zeros unless overcrowded.
    pub hours: Interval,
    /// Person-hours if it were worked.
    pub hours_if_worked: Option<f64>,
    /// Its place in the order of work, from 1.
    pub order: Option<usize>,
    /// When the window opens; `None` without a shoot length and a date.
    pub thin_from: Option<Date>,
    /// When it closes if shoots grow fast.
    pub thin_by: Option<Date>,
    /// When it closes if they grow slowly.
    pub thin_by_latest: Option<Date>,
    /// How many more counts would settle an undecided verdict.
    pub counts_to_settle: Option<usize>,
    /// What to check or mind there, in plain words.
    pub advice: Vec<String>,
}

/// A value with its 90 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Interval {
    /// The value.
    pub value: f64,
    /// Lower end.
    pub lo90: f64,
    /// Upper end.
    pub hi90: f64,
}

impl Interval {
    /// Both ends.
    pub const fn ends90(self) -> [f64; 2] {
        [self.lo90, self.hi90]
    }
}

/// How hours are reckoned: person-minutes on a vine = `per_vine` + `per_shoot` × shoots taken off.
#[derive(Debug, Clone, PartialEq)]
pub struct Labour {
    /// Walk and look, minutes a vine.
    pub per_vine: f64,
    /// Minutes a shoot.
    pub per_shoot: f64,
    /// Relative half-width of its 90 % interval, as factors below and above.
    pub factor90: [f64; 2],
    /// Where it comes from: fitted from timed vines, or an assumption that calls itself one.
    pub source: String,
    /// Timed records it rests on.
    pub timed: usize,
    /// True when the times are an assumption, not a fit to timed work.
    pub assumed: bool,
}

/// When thinning can start and must end.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    /// When shoots are long enough and frost is past.
    pub opens: Option<Date>,
    /// When it closes if shoots grow fast.
    pub closes_first: Option<Date>,
    /// When it closes if they grow slowly.
    pub closes_last: Option<Date>,
    /// Where the growth comes from, in words.
    pub source: String,
}

/// What a crew can finish in time.
#[derive(Debug, Clone, PartialEq)]
pub struct CrewOutlook {
    /// People.
    pub people: u32,
    /// Hours a day.
    pub hours_per_day: f64,
    /// Days the plan takes, every day worked.
    pub days: f64,
    /// By zone in the order of work: the day it is finished, counted from the opening or from the
    /// day of the plan where that is later, every day worked, and whether that is in time; `None`
    /// when the window is not known.
    pub finished: Vec<(usize, f64, Option<bool>)>,
    /// Zones that are not finished in time, with the person-hours that fall after it.
    pub late: Vec<(usize, f64)>,
    /// The fewest people that finish everything in time; `None` when that is not known, or when no
    /// number of people would.
    pub enough: Option<u32>,
}

/// All that the stages before found out about a block.
#[derive(Debug, Clone, Copy)]
pub struct Evidence<'a> {
    /// The block on its plane.
    pub site: &'a Site,
    /// Its rows, vines and panels.
    pub layout: &'a Layout,
    /// What was counted.
    pub joined: &'a Joined,
    /// What is believed about every vine.
    pub estimate: &'a Estimate,
    /// Which parts differ.
    pub zones: &'a Zones,
}

/// Plans the thinning.
///
/// # Errors
/// When a planting of natives has no target.
///
/// # Source
/// `docs/methods.md`, Thinning; see [`removal`], [`verdict`], [`simulate`] and [`deadline`].
pub fn plan(evidence: Evidence<'_>, settings: &PlanSettings) -> Result<(Plan, Findings), Error> {
    let (targets, findings) = target::vine_targets(evidence, settings)?;
    let excesses = vines::excesses(evidence, &targets, settings);
    let around = Circumstances::new(evidence, &targets, settings);
    let verdicts = zone_plans::verdicts(evidence, &targets, &around);
    let totals = totals::totals(evidence, (&targets, &excesses), &verdicts, settings);
    let mut zones = zone_plans::zone_plans(evidence, &targets, (&verdicts, &totals.zones), &around);
    let order = crew::order(&zones);
    for (place, &zone) in order.iter().enumerate() {
        zones[zone].order = Some(place + 1);
    }
    let vines = vines::vine_plans(evidence, (&targets, &excesses), &verdicts, settings);
    let plan = Plan {
        targets: told_targets::planting_targets(evidence, &vines, settings),
        vines,
        crew: crew::outlook(&zones, &order, &around.window, settings),
        zones,
        frost: around.frost,
        take_off: around.take_off(),
        labour: around.labour,
        window: around.window,
        order,
        remove: totals.block,
    };
    Ok((plan, findings))
}
