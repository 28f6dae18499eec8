//! The main job: from an outline and a sheet of counts to the decision.

use std::path::PathBuf;

use rayon::prelude::*;

use super::{
    deliver, prepare,
    thin_files::{FILES, files},
    thin_settings::{estimate_settings, join_settings, plan_settings, zone_settings},
    thin_told::tell,
};
use crate::{
    counts::Count,
    error::Error,
    estimate::{
        self, Estimate,
        sure::{Sure, how_sure},
    },
    finding::{Finding, Findings, Place},
    grid::Grid,
    jobs::{Call, Ground, Report},
    join::{self, Joined, UnjoinedRecord},
    names::BlockName,
    picture::letter_without_shape,
    plan::{self, Evidence, Plan},
    read::Inputs,
    settings::{CrewWords, EstimateSettings},
    zones::{self, Zones},
};

/// Everything that is found out about a block.
#[derive(Debug, Clone)]
pub struct Thinning {
    /// The block on its plane, its rows and vines.
    pub ground: Ground,
    /// What was counted where.
    pub joined: Joined,
    /// What is believed about every vine.
    pub estimate: Estimate,
    /// How sure the shoots are, for people.
    pub sure: Sure,
    /// Which parts differ.
    pub zones: Zones,
    /// What the crew is to do.
    pub plan: Plan,
    /// What was noticed after the layout.
    pub findings: Findings,
}

impl Thinning {
    /// All that the stages before the plan found out.
    pub const fn evidence(&self) -> Evidence<'_> {
        self.ground.evidence(&self.joined, &self.estimate, &self.zones)
    }
}

/// A block with its records at their places.
pub(super) struct Counted {
    pub(super) ground: Ground,
    pub(super) joined: Joined,
    pub(super) findings: Findings,
}

/// Puts the records of a block at their places.
pub(super) fn count_block(
    ground: Ground,
    counts: &[Count],
    vigor: Option<&Grid>,
    call: &Call,
) -> Result<Counted, Error> {
    let settings = join_settings(call);
    let (joined, mut findings) = join::join(&ground.site, &ground.layout, counts, &settings);
    let (joined, noticed) = prepare::with_vigor(joined, &ground, vigor, &settings)?;
    findings.extend(noticed);
    Ok(Counted { ground, joined, findings })
}

/// Thins one block: the flow from its counts to its plan.
pub(super) fn thin_block(
    counted: Counted,
    settings: &EstimateSettings,
    call: &Call,
) -> Result<Thinning, Error> {
    let Counted { ground, joined, mut findings } = counted;
    let (site, layout) = (&ground.site, &ground.layout);
    let (estimate, noticed) = estimate::estimate(site, layout, &joined, settings)?;
    findings.extend(noticed);
    let (sure, noticed) = how_sure(site, layout, &joined, &estimate, settings);
    findings.extend(noticed);
    let (zones, noticed) =
        zones::draw_zones(site, layout, &joined, &estimate, &zone_settings(call))?;
    findings.extend(noticed);
    let evidence = ground.evidence(&joined, &estimate, &zones);
    let (plan, noticed) = plan::plan(evidence, &plan_settings(call))?;
    findings.extend(noticed);
    Ok(Thinning { ground, joined, estimate, sure, zones, plan, findings })
}

/// How blocks are estimated: small ones by what they share, where that is asked for. A refusal is
/// told by the first block.
pub(super) fn shared_settings(counted: &mut [Counted], call: &Call) -> EstimateSettings {
    let mut settings = estimate_settings(call);
    if call.thinning.pool && settings.pinned.is_none() && !settings.no_count_noise {
        let blocks: Vec<_> = counted
            .iter()
            .map(|block| (&block.ground.site, &block.ground.layout, &block.joined))
            .collect();
        match estimate::pool::share(&blocks, &settings) {
            Ok(shared) => settings.shared = shared,
            Err(doubt) => {
                if let Some(first) = counted.first_mut() {
                    first.findings.push(doubt);
                }
            }
        }
    }
    settings
}

/// Reads, thins every block, writes, and tells.
///
/// # Errors
/// A call without counts or an output folder, wrong inputs, files that cannot be written;
/// [`Error::Nothing`] when no record found its place.
pub fn thin(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    lettered(&call.words)?;
    let (inputs, findings) = prepare::read(call)?;
    let thinnings = thin_all(call, &inputs, None)?;
    let mut report = Report::new("thin", &findings);
    report.notice(&call.words.doubts());
    let folders = prepare::folders(&inputs.blocks);
    for (thinning, folder) in thinnings.iter().zip(&folders) {
        report.notice(&thinning.ground.findings);
        report.notice(&thinning.findings);
        report.blocks.push(tell(call, thinning, folder));
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, &thinnings[at], &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let step = next(&report, thinnings.iter().all(|one| one.plan.frost.is_some()));
    report.go_on([step]);
    Ok(report)
}

/// Words of the crew sheet that its font cannot letter are a fault, told before any work.
fn lettered(words: &CrewWords) -> Result<(), Error> {
    let Some((file, words)) = words.of_file() else { return Ok(()) };
    let faults = words.filter_map(|(key, words)| {
        let letter = letter_without_shape(words)?;
        let place = Place::file(file).at_field(key);
        let what = format!("the font of the pages has no `{letter}`");
        Some(
            Finding::fault(place, what)
                .because("it has Latin, Greek and Cyrillic letters and some others")
                .mend("write the words in one of these scripts"),
        )
    });
    let faults: Findings = faults.collect();
    if faults.is_empty() { Ok(()) } else { Err(Error::Input(faults)) }
}

/// What to do with the plan, or without one after a frost.
fn next(report: &Report, after_frost: bool) -> String {
    if after_frost {
        return AFTER_FROST.to_owned();
    }
    if report.wrote("map.html") {
        return format!("open map.html in a browser; {WALK}");
    }
    report.look_at(&["thinning-need.png", "map.pdf", "zones.csv"], WALK)
}

const WALK: &str = "walk one zone of each verdict and look at the vines before the crew starts";

const AFTER_FROST: &str = "recount after the frost, primary and secondary shoots apart, and pass the \
                           recount to `thin` with the same --frost";

/// Thins every block with its own records. Records that belong to no block are told by the block
/// that comes first.
///
/// # Errors
/// The faults of all blocks together; [`Error::Nothing`] when no record found its place.
pub(super) fn thin_all(
    call: &Call,
    inputs: &Inputs,
    standing: Option<bool>,
) -> Result<Vec<Thinning>, Error> {
    if call.request.counts.is_empty() {
        return Err(Error::Usage(
            Finding::fault(Place::field("--counts"), "missing")
                .because("without counts there is nothing to estimate")
                .mend("pass the sheet with --counts counts.csv"),
        ));
    }
    let grounds = prepare::ground(call, inputs, standing)?;
    let names: Vec<&BlockName> = inputs.blocks.iter().map(|block| &block.name).collect();
    let (by_block, leftovers) = join::sort_by_block(&names, inputs.counts.clone());
    let vigor = inputs.vigor.as_ref();
    let counted = grounds.into_par_iter().zip(by_block);
    let counted = counted.map(|(ground, counts)| count_block(ground, &counts, vigor, call));
    let mut counted = together(counted.collect())?;
    let settings = shared_settings(&mut counted, call);
    let thinned = counted.into_par_iter().map(|block| thin_block(block, &settings, call));
    let mut thinnings = together(thinned.collect())?;
    if let Some(first) = thinnings.first_mut() {
        first.joined.unjoined.extend(leftovers);
    }
    if inputs.counts.is_empty() {
        return Err(Error::Nothing(no_record(&call.request.counts)));
    }
    if thinnings.iter().all(|thinning| thinning.joined.records.is_empty()) {
        return Err(Error::Nothing(nothing_joined(
            thinnings.iter().flat_map(|thinning| &thinning.joined.unjoined),
        )));
    }
    for thinning in &mut thinnings {
        thinning.findings.extend(without_place(&thinning.joined, "plan"));
    }
    Ok(thinnings)
}

/// Most records without a place that are told one by one; `unjoined.csv` lists them all.
const MOST_TOLD: usize = 5;

/// The records that found no place, as doubts: what is made, such as the plan, is made without them.
pub(super) fn without_place(joined: &Joined, made: &str) -> Findings {
    let unjoined = &joined.unjoined;
    let mut findings: Findings = unjoined
        .iter()
        .take(MOST_TOLD)
        .map(|record| {
            Finding::warning(record.count.place.clone(), "the record found no place")
                .because(record.reason.clone())
                .mend(format!("mend it, or let it be: the {made} is made without it"))
        })
        .collect();
    if unjoined.len() > MOST_TOLD {
        let all = joined.records.len() + unjoined.len();
        let what = format!("{} of {all} records found no place", unjoined.len());
        findings.push(
            Finding::warning(Place::default(), what)
                .mend("see unjoined.csv, and compare spacings and numbering with the sheet"),
        );
    }
    findings
}

pub(super) fn nothing_joined<'a>(unjoined: impl Iterator<Item = &'a UnjoinedRecord>) -> Finding {
    let reasons: Vec<String> = unjoined
        .take(3)
        .map(|record| format!("{}: {}", record.count.place, record.reason))
        .collect();
    if reasons.is_empty() {
        return no_record(&[]);
    }
    Finding::fault(Place::default(), "no record found its place")
        .because(reasons.join("; "))
        .mend("compare the sheet with the block: `catchwire check` prints its rows")
}

/// Tables without a record, by their files.
fn no_record(files: &[PathBuf]) -> Finding {
    let name = |path: &PathBuf| path.file_name().map(|name| name.to_string_lossy().into_owned());
    let names: Vec<String> = files.iter().filter_map(name).collect();
    let file = (!names.is_empty()).then(|| names.join(", "));
    Finding::fault(Place { file, ..Place::default() }, "no record was read")
        .because("below the names of the columns stands nothing; a record is a row there")
        .mend("fill in the rows and save the file, or pass the file that holds the counts")
}

/// All results, or the faults of all of them.
pub(super) fn together<T>(results: Vec<Result<T, Error>>) -> Result<Vec<T>, Error> {
    let (mut done, mut faults) = (Vec::new(), Findings::none());
    for result in results {
        match result {
            Ok(value) => done.push(value),
            Err(Error::Input(findings)) => faults.extend(findings),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(done) } else { Err(Error::Input(faults)) }
}
