//! Which drawn stops came back with a count, by the stratum that they were drawn in.

use std::collections::BTreeMap;

use super::by_design::{DesignMean, DrawnStratum, DrawnUnit};
use crate::{
    counts::ChosenBy,
    finding::{Finding, Findings, Place},
    join::{Joined, JoinedRecord, Observation},
    layout::Layout,
    maths::float,
};

/// What the draw alone says about a block.
#[derive(Debug, Clone, PartialEq)]
pub struct ByDesign {
    /// The mean of all plantings that were counted; `None` where one of them was not drawn, or fewer
    /// than two of its stops came back.
    pub block: Option<DesignMean>,
    /// The mean of each planting, as an index into the site's plantings.
    pub plantings: Vec<(usize, DesignMean)>,
    /// Stops that were drawn.
    pub drawn: usize,
    /// Those that came back with a count.
    pub counted: usize,
    /// About the share of the block's vines that could be drawn: as many a unit as the stops hold.
    pub share_drawable: f64,
}

/// A drawn stop: the first of its places and how many there are.
type Spot = (usize, usize);

/// The stops of one planting, as their sheet knows them.
#[derive(Debug, Default)]
struct Drawn {
    /// How many were drawn and of how many, as the sheet says; several where sheets are mixed.
    sizes: Vec<(u32, u32)>,
    spots: Vec<Spot>,
}

/// What the draw alone says, where stops drawn by `sample` came back; what is odd about it.
///
/// Close pairs and stops that somebody chose are no part of it. A stop has the density that was
/// joined to it, whatever its visits and stretches.
pub fn by_design(layout: &Layout, joined: &Joined, place: &Place) -> (Option<ByDesign>, Findings) {
    let mut findings = Findings::none();
    let drawn = drawn_stops(joined);
    if drawn.is_empty() {
        return (None, findings);
    }
    let field = Field { layout, joined, of_vine: observation_of_vine(joined) };
    let (mut strata, mut reached) = (Vec::new(), 0.0);
    let (mut asked, mut counted) = (0, 0);
    for (&planting, stops) in &drawn {
        let Some((number, of)) = stops.size(field.units_at_most(planting)) else {
            findings.push(mixed(place));
            return (None, findings);
        };
        let units: Vec<(DrawnUnit, bool)> =
            stops.spots.iter().filter_map(|&spot| field.unit(spot)).collect();
        asked += number;
        counted += units.len();
        reached += stops.places_a_unit() * float(of);
        let whole = units.iter().all(|(_, whole)| *whole);
        let units = units.into_iter().map(|(unit, _)| unit).collect();
        strata.push((planting, DrawnStratum { units, of, whole }));
    }
    if counted < asked {
        findings.push(not_all_back(place, asked, counted));
    }
    let design = ByDesign {
        block: field.block(&strata),
        plantings: strata.iter().filter_map(mean_of_planting).collect(),
        drawn: asked,
        counted,
        share_drawable: (reached / float(layout.vines.len().max(1))).min(1.0),
    };
    (Some(design), findings)
}

fn mean_of_planting((planting, stratum): &(usize, DrawnStratum)) -> Option<(usize, DesignMean)> {
    DesignMean::of(std::slice::from_ref(stratum)).map(|mean| (*planting, mean))
}

/// The stops that were drawn for the mean, by planting.
fn drawn_stops(joined: &Joined) -> BTreeMap<usize, Drawn> {
    let mut by_planting: BTreeMap<usize, Drawn> = BTreeMap::new();
    for record in &joined.records {
        let Some(ChosenBy::Drawn { number, of }) = record.count.chosen_by else { continue };
        let Some(spot) = spot(record) else { continue };
        let drawn = by_planting.entry(joined.vines[spot.0].planting).or_default();
        if !drawn.sizes.contains(&(number, of)) {
            drawn.sizes.push((number, of));
        }
        if !drawn.spots.contains(&spot) {
            drawn.spots.push(spot);
        }
    }
    by_planting
}

fn spot(record: &JoinedRecord) -> Option<Spot> {
    record.vines.first().map(|&first| (first, record.vines.len()))
}

/// By vine place: the observation that it is part of.
fn observation_of_vine(joined: &Joined) -> Vec<Option<usize>> {
    let mut of_vine = vec![None; joined.vines.len()];
    for (at, observation) in joined.shoots.iter().enumerate() {
        for &vine in &observation.vines {
            of_vine[vine] = Some(at);
        }
    }
    of_vine
}

impl Drawn {
    /// How many were drawn and of how many; `None` where two draws are mixed, or another block's.
    fn size(&self, most: usize) -> Option<(usize, usize)> {
        let [(number, of)] = self.sizes[..] else { return None };
        let (number, of) = (usize::try_from(number).ok()?, usize::try_from(of).ok()?);
        (self.spots.len() <= number && of <= most).then_some((number, of))
    }

    fn places_a_unit(&self) -> f64 {
        let places: usize = self.spots.iter().map(|(_, places)| places).sum();
        float(places) / float(self.spots.len().max(1))
    }
}

/// What came back from a block.
struct Field<'a> {
    layout: &'a Layout,
    joined: &'a Joined,
    of_vine: Vec<Option<usize>>,
}

impl Field<'_> {
    /// No draw has more units than the planting has places for vines.
    fn units_at_most(&self, planting: usize) -> usize {
        self.joined.vines.iter().filter(|vine| vine.planting == planting).count()
    }

    /// A stop with its shoots, and whether all of it was counted; `None` where it was not counted.
    /// Where no grown vine stands there is no canopy to ask about.
    fn unit(&self, (first, places): Spot) -> Option<(DrawnUnit, bool)> {
        let at = self.middle(first, places);
        let asked = |vine: &usize| !self.joined.vines[*vine].status.is_missing();
        let standing: Vec<usize> = (first..first + places).filter(asked).collect();
        if standing.iter().all(|&vine| self.joined.vines[vine].status.is_young()) {
            return Some((DrawnUnit { at, shoots: 0.0, canopy_m: 0.0 }, true));
        }
        let found: Option<Vec<usize>> = standing.iter().map(|&vine| self.of_vine[vine]).collect();
        let mut found = found?;
        found.dedup();
        let found: Vec<&Observation> = found.iter().map(|&at| &self.joined.shoots[at]).collect();
        if found.iter().any(|one| one.vines.iter().any(|vine| !standing.contains(vine))) {
            return None;
        }
        let canopy_m = found.iter().map(|one| one.canopy_m).sum();
        let shoots = found.iter().map(|one| one.per_m * one.canopy_m).sum();
        let whole = found.iter().all(|one| one.counted_m >= one.canopy_m * (1.0 - WHOLE));
        Some((DrawnUnit { at, shoots, canopy_m }, whole))
    }

    fn middle(&self, first: usize, places: usize) -> [f64; 2] {
        let [one, other] = [first, first + places - 1].map(|vine| self.layout.vines[vine].at);
        [one.along_m.midpoint(other.along_m), one.across_m.midpoint(other.across_m)]
    }

    /// The mean of the block: of all plantings with a count on a grown vine.
    fn block(&self, strata: &[(usize, DrawnStratum)]) -> Option<DesignMean> {
        let known = |planting: usize| strata.iter().any(|(own, _)| *own == planting);
        let grown = self.joined.shoots.iter().flat_map(|one| &one.vines);
        let mut grown =
            grown.map(|&vine| &self.joined.vines[vine]).filter(|vine| !vine.status.is_young());
        if !grown.all(|vine| known(vine.planting)) {
            return None;
        }
        let strata: Vec<DrawnStratum> = strata.iter().map(|(_, stratum)| stratum.clone()).collect();
        DesignMean::of(&strata)
    }
}

/// A count of all but this share is a count of all.
const WHOLE: f64 = 1e-6;

fn mixed(place: &Place) -> Finding {
    Finding::note(place.clone(), "no mean is taken from the draw alone")
        .because("the sheets are of several draws, or of another block: stops have no one chance")
        .mend("pass the counts of one sample")
}

fn not_all_back(place: &Place, drawn: usize, counted: usize) -> Finding {
    Finding::note(place.clone(), format!("{counted} of {drawn} drawn stops were counted"))
        .because("the mean from the draw alone holds only if the others are like these")
        .mend("count the rest, above all those that were hard to reach")
}
