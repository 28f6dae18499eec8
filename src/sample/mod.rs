//! Which panels or vines to count, and in which walk.
//!
//! Takes a [`Site`], its [`Layout`] and the places where nothing can be counted, gives a
//! [`Sample`]. Never looks at a count: how much vines vary is handed in as a number. The same seed
//! draws the same vines.
//!
//! What the next stage need not worry about: no vine is in two stops, every stop of the estimate
//! was drawn with the chance that it states, equal within its stratum, and stops are in the order
//! of the walk.

mod close_pairs;
mod drawable;
mod recount;
mod sheet;
mod size;
mod spread;
mod variation;
mod walk;
mod windows;

pub use recount::{Before, choose_recount, is_pair};
pub use sheet::{COMMON_PLACES, SheetLine, counted_vines, piece_letter, sheet_lines, what_to_do};
pub use size::{error_of_mean, number_for_error, variation_of_vines};
pub use spread::local_pivotal;
pub use variation::variation_within;
pub use walk::{Leg, RowEnd, way};

use crate::{
    counts::ChosenBy,
    error::Error,
    finding::{Finding, Findings, Place},
    frame::{RowPoint, Site},
    layout::Layout,
    maths::{float, random::Random},
    settings::SampleSettings,
    units::Metres,
};
use drawable::Drawable;

/// What is counted at one stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Unit {
    /// All vines between two posts together: posts can be found, and numbering stays honest.
    #[default]
    Panel,
    /// One vine.
    Vine,
}

impl Unit {
    /// Its name, one and several.
    pub const fn words(self) -> [&'static str; 2] {
        match self {
            Self::Panel => ["panel", "panels"],
            Self::Vine => ["vine", "vines"],
        }
    }
}

/// What is asked of a sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// What is counted at a stop.
    pub unit: Unit,
    /// So many stops; as many as the error asks for when unsaid.
    pub number: Option<usize>,
    /// Coefficient of variation between vines, from earlier counts; the setting when unsaid.
    pub variation: Option<f64>,
    /// Canopy length counted on a vine; all of it when unsaid. Only for single vines.
    pub window: Option<Metres>,
    /// Seed of the draw.
    pub seed: u64,
}

/// What to count.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// What is counted at a stop.
    pub unit: Unit,
    /// The stops, in the order of the walk.
    pub stops: Vec<Stop>,
    /// The parts that were drawn from, one a planting.
    pub strata: Vec<Stratum>,
    /// Metres on foot from the first stop to the last, rows crossed at their ends only.
    pub walk_m: f64,
    /// Coefficient of variation between the units that sizes were reckoned with.
    pub variation: f64,
}

/// A place where something is counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// The panel, as an index into the layout's panels.
    pub panel: usize,
    /// The vine, as an index into the layout's vines; `None` for a whole panel.
    pub vine: Option<usize>,
    /// Its stratum, as an index into [`Sample::strata`].
    pub stratum: usize,
    /// What it is counted for.
    pub purpose: Purpose,
    /// Starts of the stretches to count, from the trunk; none where all of it is counted.
    pub windows: Vec<Metres>,
    /// Where it is.
    pub at: RowPoint,
}

impl Stop {
    /// A stop that somebody chose: a whole panel, or one vine of it.
    pub fn chosen(layout: &Layout, panel: usize, vine: Option<usize>) -> Self {
        let vines = &layout.panels[panel].vines;
        let middle = vines.start + vines.len() / 2;
        let at = layout.vines[vine.unwrap_or(middle)].at;
        Self { panel, vine, stratum: 0, purpose: Purpose::Chosen, windows: Vec::new(), at }
    }
}

/// What a stop is counted for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Purpose {
    /// For the mean of its stratum: one of so many drawn.
    Mean {
        /// Stops drawn in its stratum.
        drawn: usize,
        /// Units of the stratum that could be drawn.
        of: usize,
    },
    /// As the neighbour of another stop: it tells how alike neighbours are, and is no part of a mean.
    ClosePair,
    /// Because somebody chose it.
    Chosen,
}

impl Purpose {
    /// The chance with which it was drawn.
    pub fn chance(self) -> Option<f64> {
        self.draw().map(|[drawn, of]| float(drawn) / float(of.max(1)))
    }

    /// How many were drawn in its stratum, and of how many.
    pub const fn draw(self) -> Option<[usize; 2]> {
        match self {
            Self::Mean { drawn, of } => Some([drawn, of]),
            Self::ClosePair | Self::Chosen => None,
        }
    }

    /// As the sheet of stops says it.
    pub const fn word(self) -> &'static str {
        let [mean, pair, chosen] = ChosenBy::WORDS;
        match self {
            Self::Mean { .. } => mean,
            Self::ClosePair => pair,
            Self::Chosen => chosen,
        }
    }
}

/// A part that was drawn from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stratum {
    /// The planting, as an index into the site's plantings.
    pub planting: usize,
    /// Units that could be drawn.
    pub units: usize,
    /// Units that were drawn, close pairs not among them.
    pub drawn: usize,
    /// Places for vines of the planting that could not be drawn: row ends, young and missing vines.
    pub vines_outside: usize,
}

/// Draws a sample of a block; `out` is true for places where no vine can be counted.
///
/// # Errors
/// When nothing can be drawn, or more is asked for than there is.
///
/// # Source
/// Size: Cochran 1977, Sampling Techniques, 3rd ed., 4.4. Choice: Grafström, Lundström & Schelin
/// 2012, Biometrics 68:514–520 (local pivotal method), within each planting.
pub fn choose(
    (site, layout): (&Site, &Layout),
    out: &[bool],
    wish: &Wish,
    settings: &SampleSettings,
) -> Result<(Sample, Findings), Error> {
    let drawable = Drawable::of((site, layout), out, wish.unit, settings);
    let per_unit = drawable.mean_vines();
    let variation = size::variation_of_unit(
        wish.variation.unwrap_or(settings.variation),
        per_unit,
        settings.alike_in_panel,
    );
    let number = number(site, &drawable, (wish, settings), variation)?;
    let mut random = Random::new(wish.seed);
    let (mut stops, strata) = drawable.draw(number, &mut random);
    walk::put_in_order(&mut stops, layout);
    close_pairs::add(&mut stops, (&drawable, layout), settings, &mut random);
    walk::put_in_order(&mut stops, layout);
    windows::draw(&mut stops, (site, layout), (wish.window, settings), &mut random);
    let walk_m = walk::length_m(&stops, layout);
    let sample = Sample { unit: wish.unit, stops, strata, walk_m, variation };
    let findings = told(site, &sample);
    Ok((sample, findings))
}

/// Stops in the order of the walk: rows in turn, there and back.
pub fn in_walking_order(mut stops: Vec<Stop>, layout: &Layout) -> Vec<Stop> {
    walk::put_in_order(&mut stops, layout);
    stops
}

/// How many stops: as asked, else as the error asks for and at least as many as a map needs.
fn number(
    site: &Site,
    drawable: &Drawable,
    (wish, settings): (&Wish, &SampleSettings),
    variation: f64,
) -> Result<usize, Error> {
    let units = drawable.units.len();
    let word = wish.unit.words()[1];
    let fault =
        |what: String| Finding::fault(Place::default().in_feature(site.name.as_str()), what);
    if units == 0 {
        return Err(fault(format!("no {word} can be drawn"))
            .because("every one is at a row's end, young or missing")
            .mend("check `plantings`, `planted` and `missing`, or count by --by vine")
            .into());
    }
    let by_error = number_for_error(variation, settings.error, settings.confidence, units);
    match wish.number {
        Some(asked) if asked > units => {
            Err(fault(format!("{asked} {word} asked for, {units} can be drawn"))
                .mend("ask for fewer with --number")
                .into())
        }
        Some(asked) => Ok(asked),
        None => Ok(by_error.max(settings.fewest).min(units)),
    }
}

/// What a grower should know of a sample.
fn told(site: &Site, sample: &Sample) -> Findings {
    let mut findings = Findings::none();
    let place = Place::default().in_feature(site.name.as_str());
    let word = sample.unit.words()[1];
    for stratum in sample.strata.iter().filter(|stratum| stratum.drawn < 2) {
        let name = site.plantings.all().get(stratum.planting).and_then(|p| p.cultivar.clone());
        let name = name.unwrap_or_else(|| "a planting without a name".to_owned());
        let what = format!("{} of {} {word} of {name} drawn", stratum.drawn, stratum.units);
        findings.push(
            Finding::warning(place.clone(), what)
                .because("fewer than two say nothing of how it varies")
                .mend("ask for more with --number, or count it as its own block"),
        );
    }
    findings
}

impl Sample {
    /// Stops that somebody chose, in the order of the walk: nothing was drawn.
    pub fn of_chosen(unit: Unit, stops: Vec<Stop>, layout: &Layout) -> Self {
        let stops = in_walking_order(stops, layout);
        let walk_m = walk::length_m(&stops, layout);
        Self { unit, stops, strata: Vec::new(), walk_m, variation: 0.0 }
    }

    /// Stops for the mean, and the units that could be drawn.
    fn drawn_of(&self) -> [usize; 2] {
        let add = |[drawn, of]: [usize; 2], stratum: &Stratum| {
            [drawn + stratum.drawn, of + stratum.units]
        };
        self.strata.iter().fold([0, 0], add)
    }

    /// Stops that were drawn for the mean.
    pub fn drawn(&self) -> usize {
        self.drawn_of()[0]
    }

    /// Units that could be drawn.
    pub fn drawable(&self) -> usize {
        self.drawn_of()[1]
    }

    /// Half-width of the interval around the block's mean that this sample lets expect, as a share
    /// of the mean; `None` where nothing was drawn.
    pub fn expected_error(&self, confidence: f64) -> Option<f64> {
        let [drawn, units] = self.drawn_of();
        let error = || error_of_mean(self.variation, drawn, units, confidence);
        (!self.strata.is_empty()).then(error)
    }

    /// The same for some numbers of stops and the one drawn, ascending: number, error. Numbers above
    /// what could be drawn are left out; nothing where nothing was drawn.
    pub fn errors_by_number(&self, numbers: &[usize], confidence: f64) -> Vec<(usize, f64)> {
        let [drawn, units] = self.drawn_of();
        let mut numbers: Vec<usize> =
            numbers.iter().copied().chain([drawn]).filter(|n| (1..=units).contains(n)).collect();
        numbers.sort_unstable();
        numbers.dedup();
        let error = |number| error_of_mean(self.variation, number, units, confidence);
        numbers.into_iter().map(|number| (number, error(number))).collect()
    }

    /// Stops that are no part of the mean.
    pub fn close_pairs(&self) -> usize {
        self.stops.iter().filter(|stop| stop.purpose == Purpose::ClosePair).count()
    }

    /// The share of the vines that could be drawn.
    pub fn share_drawable(&self, layout: &Layout) -> f64 {
        let outside: usize = self.strata.iter().map(|stratum| stratum.vines_outside).sum();
        1.0 - float(outside) / float(layout.vines.len().max(1))
    }
}
