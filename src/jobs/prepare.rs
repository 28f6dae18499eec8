//! What every command does first: read, settle the rules, place and lay out each block.

use rayon::prelude::*;

use crate::{
    block::Block,
    error::Error,
    finding::{Finding, Findings, Place},
    frame::{self, Site},
    jobs::{Call, Report},
    layout::{self, Layout},
    read::Inputs,
    settings::{Circumstances, doubtful_plantings, planting_rules, row_rules},
    units::ReadingUnits,
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

/// Reads every file of a call.
pub(super) fn read(call: &Call) -> Result<(Inputs, Findings), Error> {
    Inputs::read(&call.request)
}

/// Places and lays out every block; the faults of all blocks together.
pub(super) fn ground(
    call: &Call,
    blocks: &[Block],
    standing: Option<bool>,
) -> Result<Vec<Ground>, Error> {
    let circumstances = Circumstances {
        defaults: call.settings.layout(),
        standing,
        allow_unusual: call.request.allow_unusual,
        grid: call.request.crs.clone(),
    };
    let laid: Vec<_> = blocks.par_iter().map(|block| lay_out(block, &circumstances)).collect();
    let (mut grounds, mut faults) = (Vec::new(), Findings::none());
    for ground in laid {
        match ground {
            Ok(ground) => grounds.push(ground),
            Err(Error::Input(findings)) => faults.extend(findings),
            Err(other) => return Err(other),
        }
    }
    if faults.is_empty() { Ok(grounds) } else { Err(Error::Input(faults)) }
}

fn lay_out(block: &Block, circumstances: &Circumstances) -> Result<Ground, Error> {
    let rules = row_rules(block, circumstances).map_err(Error::Input)?;
    let (site, mut findings) = frame::place_block(block, rules, planting_rules(block))?;
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

/// The units in which a block's reports are read.
pub(super) fn units(call: &Call, block: &Block) -> ReadingUnits {
    let by_block = if block.keys.in_feet { ReadingUnits::Us } else { ReadingUnits::Metric };
    call.units.unwrap_or(by_block)
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

/// Doubts stop the job under `--strict`.
pub(super) fn strict(call: &Call, report: &Report) -> Result<(), Error> {
    let doubts = report.findings.iter().filter(|finding| finding.severity == "warning");
    let doubts: Vec<String> = doubts.map(|finding| finding.what.clone()).collect();
    if !call.request.strict || doubts.is_empty() {
        return Ok(());
    }
    let finding = Finding::fault(Place::field("--strict"), "doubts stop the job")
        .because(doubts.join("; "))
        .mend("mend them, or run without --strict");
    Err(finding.into())
}
