//! Counts of several years side by side: what changed since the year before.

use std::collections::BTreeSet;

use rayon::prelude::*;

use super::{
    deliver, prepare,
    season_files::{FILES, files},
    season_told::{findings_of, noticed, tell},
    thin::{Thinning, count_block, nothing_joined, shared_settings, thin_block, together},
};
use crate::{
    counts::Count,
    error::Error,
    finding::{Finding, Findings, Place},
    grid::Grid,
    jobs::{Call, Ground, Report, ThinningOptions},
    join::{self, UnjoinedRecord},
    names::BlockName,
    picture::SeasonYearMap,
    read::{Inputs, Plans, Request},
    season::{self, Comparison, Season, Visit, YearFacts},
    write::properties::{SeasonView, Thinned},
};

/// Everything that is found out about a block in several years.
#[derive(Debug, Clone)]
pub struct Years {
    /// From the first year to the latest; never empty.
    pub years: Vec<Year>,
    /// The years side by side.
    pub comparison: Comparison,
    /// Every record that is in no year or found no place, with the reason.
    pub unjoined: Vec<UnjoinedRecord>,
    /// What was noticed after the layout.
    pub findings: Findings,
}

/// A year of a block.
#[derive(Debug, Clone)]
pub struct Year {
    /// The year.
    pub year: i16,
    /// What the stages found out from its counts alone.
    pub thinning: Thinning,
    /// What was counted on each visit.
    pub visits: Vec<Visit>,
}

impl Year {
    /// The year with its results, numbers as they are written.
    fn thinned(&self) -> (i16, Thinned<'_>) {
        (self.year, Thinned::new(self.thinning.evidence(), &self.thinning.plan))
    }

    /// The year as it is drawn.
    pub(super) fn map(&self) -> SeasonYearMap<'_> {
        let (evidence, plan) = (self.thinning.evidence(), &self.thinning.plan);
        SeasonYearMap { year: self.year, evidence, plan }
    }
}

impl Years {
    /// What is written and told of it.
    pub(super) fn view(&self) -> SeasonView<'_> {
        SeasonView {
            years: self.years.iter().map(Year::thinned).collect(),
            comparison: &self.comparison,
            left_out: self.unjoined.len(),
        }
    }

    /// The block's rows and vines: the same in every year.
    pub(super) fn ground(&self) -> Option<&Ground> {
        self.years.last().map(|year| &year.thinning.ground)
    }
}

/// Reads, estimates every year of every block, compares, writes, and tells.
///
/// # Errors
/// A call without counts or an output folder, counts of fewer than two visits, wrong inputs, files
/// that cannot be written; [`Error::Nothing`] when no record found its place.
pub fn season(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    // Every year has a sheet of its own.
    let request = Request { plans: Plans::Several, ..call.request.clone() };
    let call = &Call { request, ..call.clone() };
    let (inputs, findings) = prepare::read(call)?;
    let blocks = all(call, &inputs)?;
    let mut report = Report::new("season", &findings);
    let folders = prepare::folders(&inputs.blocks);
    for (years, folder) in blocks.iter().zip(&folders) {
        report.notice(&findings_of(years));
        report.blocks.extend(tell(call, years, folder));
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, &blocks[at], &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let step = report.look_at(&["season.png", "season.csv"], NEXT);
    report.go_on([step]);
    Ok(report)
}

const NEXT: &str = "where a change is sure, ask first what was done otherwise: pruning, thinning, and \
                    who counted";

/// Every block in every year.
fn all(call: &Call, inputs: &Inputs) -> Result<Vec<Years>, Error> {
    if call.request.counts.is_empty() {
        return Err(Error::Usage(
            Finding::fault(Place::field("--counts"), "missing")
                .because("without counts of two visits or years there is nothing to compare")
                .mend("pass the sheets with --counts counts-2025.csv counts-2026.csv"),
        ));
    }
    let days = call.settings.join().season_days;
    let (seasons, undated) = season::split(inputs.counts.clone(), days);
    enough(&seasons)?;
    let grounds = prepare::ground(call, inputs, None)?;
    let names: Vec<&BlockName> = inputs.blocks.iter().map(|block| &block.name).collect();
    let run = Run { call, names: &names, grounds: &grounds, seasons: &seasons };
    let mut blocks: Vec<Vec<Year>> = vec![Vec::new(); grounds.len()];
    let mut unjoined = by_block(&names, undated);
    for at in 0..seasons.len() {
        let vigor = inputs.vigor.as_ref().filter(|_| at + 1 == seasons.len());
        let (years, leftovers) = run.season(at, vigor)?;
        for (block, year) in blocks.iter_mut().zip(years) {
            block.push(year);
        }
        if let Some(first) = unjoined.first_mut() {
            first.extend(leftovers);
        }
    }
    finish(blocks, unjoined)
}

/// The years of every block side by side.
fn finish(blocks: Vec<Vec<Year>>, unjoined: Vec<Vec<UnjoinedRecord>>) -> Result<Vec<Years>, Error> {
    let all: Vec<Years> = blocks.into_iter().zip(unjoined).map(|(b, left)| one(b, left)).collect();
    let joined = |years: &Years| years.years.iter().any(|y| !y.thinning.joined.records.is_empty());
    if all.iter().any(joined) {
        Ok(all)
    } else {
        Err(Error::Nothing(nothing_joined(all.iter().flat_map(|years| &years.unjoined))))
    }
}

/// One block: the years in which it has a record, else the latest alone.
fn one(mut years: Vec<Year>, mut unjoined: Vec<UnjoinedRecord>) -> Years {
    for year in &mut years {
        unjoined.append(&mut year.thinning.joined.unjoined);
    }
    let latest = years.last().map(|year| year.year);
    let any = years.iter().any(|year| !year.thinning.joined.records.is_empty());
    years.retain(|year| {
        !year.thinning.joined.records.is_empty() || (!any && Some(year.year) == latest)
    });
    let facts: Vec<YearFacts<'_>> = years
        .iter()
        .map(|own| YearFacts {
            year: own.year,
            evidence: own.thinning.evidence(),
            plan: &own.thinning.plan,
            visits: &own.visits,
        })
        .collect();
    let comparison = season::compare(&facts);
    let findings = noticed(&years, &unjoined);
    Years { years, comparison, unjoined, findings }
}

/// Refuses counts in which nothing can be compared.
fn enough(seasons: &[Season]) -> Result<(), Error> {
    let counts = seasons.iter().flat_map(|season| &season.counts);
    let visits: BTreeSet<_> = counts
        .filter(|count| count.shoots.is_some())
        .map(|count| (count.date, count.visit.as_deref().unwrap_or_default().trim().to_lowercase()))
        .collect();
    let place = Place::field("--counts");
    let fault = match visits.first() {
        Some(_) if visits.len() > 1 => return Ok(()),
        Some((Some(date), _)) => {
            let what = format!("all counts of shoots are of one visit, {date}");
            Finding::fault(place, what)
                .because("a season is two visits or two years side by side")
                .mend("pass the sheets of another visit or year too; for one visit there is `thin`")
        }
        _ => Finding::fault(place, "no count of shoots has a date")
            .because("without dates nothing says which year or visit a count belongs to")
            .mend("fill the `date` column"),
    };
    Err(fault.into())
}

/// What a season of all blocks is found out from.
struct Run<'a> {
    call: &'a Call,
    names: &'a [&'a BlockName],
    grounds: &'a [Ground],
    seasons: &'a [Season],
}

impl Run<'_> {
    /// Every block in one season, and what belongs to no block.
    fn season(
        &self,
        at: usize,
        vigor: Option<&Grid>,
    ) -> Result<(Vec<Year>, Vec<UnjoinedRecord>), Error> {
        let own = &self.seasons[at];
        let call = self.call_of(at);
        let standing = season::statuses_before(&self.seasons[..at]);
        let records = standing.iter().chain(&own.counts).cloned().collect();
        let (by_block, mut leftovers) = join::sort_by_block(self.names, records);
        leftovers.retain(|record| own.holds(record.count.date));
        let grounds = self.grounds.par_iter().cloned().zip(by_block);
        let counted =
            grounds.map(|(ground, counts)| count_block(ground, &counts, vigor, &call)).collect();
        let mut counted = together(counted)?;
        for block in &mut counted {
            block.joined.records.retain(|record| own.holds(record.count.date));
            block.joined.unjoined.retain(|record| own.holds(record.count.date));
        }
        let settings = shared_settings(&mut counted, &call);
        let thinned = counted.into_par_iter().map(|block| thin_block(block, &settings, &call));
        let thinned = together(thinned.collect())?;
        let visits = self.visits(at);
        let year = |(thinning, visits)| Year { year: own.year, thinning, visits };
        Ok((thinned.into_iter().zip(visits).map(year).collect(), leftovers))
    }

    /// The visits of a season by block.
    fn visits(&self, at: usize) -> Vec<Vec<Visit>> {
        let sorted = |counts: Vec<Count>| join::sort_by_block(self.names, counts).0;
        let standing = sorted(season::statuses_before(&self.seasons[..=at]));
        let counts = sorted(self.seasons[at].counts.clone());
        let settings = self.call.settings.join();
        let blocks = self.grounds.par_iter().zip(counts.into_par_iter().zip(standing));
        blocks
            .map(|(ground, (counts, standing))| {
                season::visits((&ground.site, &ground.layout), &counts, &standing, &settings)
            })
            .collect()
    }

    /// The call as it is for a season: the day of the plan and frosts are those of the latest.
    fn call_of(&self, at: usize) -> Call {
        let typed = &self.call.thinning;
        if at + 1 == self.seasons.len() {
            return self.call.clone();
        }
        let own = &self.seasons[at];
        let frost = typed.frost.filter(|frost| own.holds(Some(*frost)));
        let thinning =
            ThinningOptions { date: None, crew: None, last_frost: None, frost, ..typed.clone() };
        Call { thinning, ..self.call.clone() }
    }
}

/// Records without a season at the blocks that they name; those that name none are told by the first.
fn by_block(names: &[&BlockName], left: Vec<UnjoinedRecord>) -> Vec<Vec<UnjoinedRecord>> {
    let mut sorted: Vec<Vec<UnjoinedRecord>> = vec![Vec::new(); names.len()];
    for record in left {
        let (of, _) = join::sort_by_block(names, vec![record.count.clone()]);
        let block = of.iter().position(|own| !own.is_empty()).unwrap_or(0);
        if let Some(own) = sorted.get_mut(block) {
            own.push(record);
        }
    }
    sorted
}
