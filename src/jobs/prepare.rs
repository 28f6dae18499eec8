//! What every command does first: read, settle the rules, place and lay out each block.

use rayon::prelude::*;

use crate::{
    block::Block,
    error::Error,
    estimate::Estimate,
    finding::{Finding, Findings, Place},
    frame::{self, Site},
    grid::Grid,
    jobs::{Call, Report},
    join::{self, Joined},
    layout::{self, Layout},
    picture::Paper,
    plan::Evidence,
    read::Inputs,
    settings::{Circumstances, JoinSettings, doubtful_plantings, planting_rules, row_rules},
    units::ReadingUnits,
    zones::Zones,
};

/// A block with its rows and vines.
#[derive(Debug, Clone)]
pub struct Ground {
    /// The block as its grower describes it.
    pub block: Block,
    /// The block on its plane.
    pub site: Site,
    /// Its rows, vines and panels.
    pub layout: Layout,
    /// What was noticed on the way.
    pub findings: Findings,
}

impl Ground {
    /// What the stages after the layout found out, with the ground that they stand on.
    pub(super) const fn evidence<'a>(
        &'a self,
        joined: &'a Joined,
        estimate: &'a Estimate,
        zones: &'a Zones,
    ) -> Evidence<'a> {
        Evidence { site: &self.site, layout: &self.layout, joined, estimate, zones }
    }
}

/// Reads every file of a call.
pub(super) fn read(call: &Call) -> Result<(Inputs, Findings), Error> {
    Inputs::read(&call.request)
}

/// Places and lays out every block; the faults of all blocks together.
pub(super) fn ground(
    call: &Call,
    inputs: &Inputs,
    standing: Option<bool>,
) -> Result<Vec<Ground>, Error> {
    let circumstances = circumstances(call, inputs, standing);
    let elevation = inputs.elevation.as_ref();
    each(&inputs.blocks, |block| lay_out(block, &circumstances, elevation))
}

/// What the rules of a block need besides its own keys.
pub(super) fn circumstances(call: &Call, inputs: &Inputs, standing: Option<bool>) -> Circumstances {
    Circumstances {
        defaults: call.settings.layout(),
        standing,
        allow_unusual: call.request.allow_unusual,
        grid: inputs.grid.clone(),
    }
}

/// Does something with every block; the faults of all blocks together.
pub(super) fn each<T: Send>(
    blocks: &[Block],
    make: impl Fn(&Block) -> Result<T, Error> + Sync + Send,
) -> Result<Vec<T>, Error> {
    let made: Vec<_> = blocks.par_iter().map(make).collect();
    let (mut values, mut faults) = (Vec::new(), Findings::none());
    for value in made {
        match value {
            Ok(value) => values.push(value),
            Err(Error::Input(findings)) => faults.extend(findings),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(values) } else { Err(Error::Input(faults)) }
}

fn lay_out(
    block: &Block,
    circumstances: &Circumstances,
    elevation: Option<&Grid>,
) -> Result<Ground, Error> {
    let (site, mut findings) = place(block, circumstances, elevation)?;
    let (layout, noticed) = layout::lay_out(&site)?;
    findings.extend(noticed);
    if !circumstances.allow_unusual {
        let far = layout::far_off(&site, &layout);
        if far.any_fault() {
            return Err(Error::Input(far));
        }
    }
    let numbers: Vec<u32> = layout.rows.iter().map(|row| row.number).collect();
    findings.extend(doubtful_plantings(block, &numbers));
    Ok(Ground { block: block.clone(), site, layout, findings })
}

/// Puts a block on its plane and its ground.
pub(super) fn place(
    block: &Block,
    circumstances: &Circumstances,
    elevation: Option<&Grid>,
) -> Result<(Site, Findings), Error> {
    let rules = row_rules(block, circumstances).map_err(Error::Input)?;
    let (mut site, mut findings) = frame::place_block(block, rules, planting_rules(block))?;
    if let Some(grid) = elevation {
        let noticed;
        (site, noticed) = frame::on_terrain(site, grid, circumstances.defaults.slope_support)?;
        findings.extend(noticed);
    }
    Ok((site, findings))
}

/// The values of a raster of vigor at the vines, where one was given.
pub(super) fn with_vigor(
    joined: Joined,
    ground: &Ground,
    vigor: Option<&Grid>,
    settings: &JoinSettings,
) -> Result<(Joined, Findings), Error> {
    match vigor {
        Some(grid) => join::on_raster(joined, (&ground.site, &ground.layout), grid, settings),
        None => Ok((joined, Findings::none())),
    }
}

/// What is told of a raster of vigor where there are no counts to hold it against.
pub(super) fn raster_of_vigor(
    call: &Call,
    ground: &Ground,
    vigor: Option<&Grid>,
) -> Result<Findings, Error> {
    if vigor.is_none() {
        return Ok(Findings::none());
    }
    let settings = call.settings.join();
    let (joined, _) = join::join(&ground.site, &ground.layout, &[], &settings);
    with_vigor(joined, ground, vigor, &settings).map(|(_, findings)| findings)
}

/// What is odd about the places that a block lists as `missing`, for commands that join no counts.
pub(super) fn missing_places(call: &Call, ground: &Ground) -> Findings {
    if ground.site.missing.is_empty() {
        return Findings::none();
    }
    join::join(&ground.site, &ground.layout, &[], &call.settings.join()).1
}

/// The units in which a block's reports are read.
pub(super) fn units(call: &Call, block: &Block) -> ReadingUnits {
    let by_block = if block.keys.in_feet { ReadingUnits::Us } else { ReadingUnits::Metric };
    call.units.unwrap_or(by_block)
}

/// The paper of pages: as asked, else Letter for those who read feet and A4 for others.
pub(super) fn paper(call: &Call, units: ReadingUnits) -> Paper {
    let by_units = match units {
        ReadingUnits::Us => Paper::Letter,
        ReadingUnits::Metric => Paper::A4,
    };
    call.output.paper.unwrap_or(by_units)
}

/// A folder name for every block, each its own: a second `north` becomes `north-2`.
pub(super) fn folders(blocks: &[Block]) -> Vec<String> {
    let mut taken: Vec<String> = Vec::new();
    for block in blocks {
        let plain = block.name.folder();
        let mut folder = plain.clone();
        let mut number = 2;
        while taken.contains(&folder) {
            folder = format!("{plain}-{number}");
            number += 1;
        }
        taken.push(folder);
    }
    taken
}

/// Doubts that are named in one sentence.
const MOST_DOUBTS: usize = 20;

/// Doubts stop the job under `--strict`.
pub(super) fn strict(call: &Call, report: &Report) -> Result<(), Error> {
    let doubts = report.findings.iter().filter(|finding| finding.severity == "warning");
    let doubts: Vec<String> = doubts.map(|finding| finding.what.clone()).collect();
    if !call.request.strict || doubts.is_empty() {
        return Ok(());
    }
    let mut first = doubts.iter().take(MOST_DOUBTS).cloned().collect::<Vec<_>>();
    if doubts.len() > MOST_DOUBTS {
        first.push(format!("and {} more", doubts.len() - MOST_DOUBTS));
    }
    let finding = Finding::fault(Place::field("--strict"), "doubts stop the job")
        .because(first.join("; "))
        .mend("mend them, or run without --strict");
    Err(finding.into())
}
