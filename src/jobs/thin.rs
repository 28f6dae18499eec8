//! The main job: from an outline and a sheet of counts to the decision.

use rayon::prelude::*;

use super::prepare;
use crate::{
    counts::Count,
    error::Error,
    estimate::{self, Estimate},
    finding::{Finding, Findings, Place},
    frame::Site,
    join::{self, Joined},
    jobs::{Call, Ground, Report, report},
    layout::Layout,
    picture::{self, Caption, HeatMap},
    plan::{self, Evidence, Plan},
    read::Inputs,
    settings::{EstimateSettings, JoinSettings, PlanSettings},
    units::ReadingUnits,
    write::{self, Delivery, Wanted},
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
        Evidence {
            site: &self.ground.site,
            layout: &self.ground.layout,
            joined: &self.joined,
            estimate: &self.estimate,
            zones: &self.zones,
        }
    }
}

/// Thins one block: the flow from its layout to its plan.
///
/// # Errors
/// Whatever stops a stage: see [`estimate::estimate`], [`zones::draw_zones`], [`plan::plan`].
pub fn thin_block(ground: Ground, counts: &[Count], call: &Call) -> Result<Thinning, Error> {
    let (site, layout): (&Site, &Layout) = (&ground.site, &ground.layout);
    let (joined, mut findings) = join::join(site, layout, counts, &join_settings(call));
    let (estimate, noticed) = estimate::estimate(site, layout, &joined, &estimate_settings(call))?;
    findings.extend(noticed);
    let (zones, noticed) =
        zones::draw_zones(site, layout, &joined, &estimate, &call.settings.zones())?;
    findings.extend(noticed);
    let evidence =
        Evidence { site, layout, joined: &joined, estimate: &estimate, zones: &zones };
    let (plan, noticed) = plan::plan(evidence, &plan_settings(call))?;
    findings.extend(noticed);
    Ok(Thinning { ground, joined, estimate, zones, plan, findings })
}

/// Reads, thins every block, writes, and tells.
///
/// # Errors
/// A call without counts, wrong inputs, files that cannot be written; [`Error::Nothing`] when no
/// record found its place.
pub fn thin(call: &Call) -> Result<Report, Error> {
    let wanted = Wanted::parse(call.output.only.as_deref(), write::THIN_FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let (thinnings, leftovers) = thin_all(call, &inputs, None)?;
    let mut report = Report::new("thin", &findings);
    let folders = prepare::folders(&inputs.blocks);
    let delivered: Vec<_> = thinnings
        .par_iter()
        .zip(&folders)
        .map(|(thinning, folder)| files(call, &inputs, thinning, &wanted, folder))
        .collect();
    let mut delivery = Delivery::new(&call.output, &call.request.paths());
    for ((thinning, files), folder) in thinnings.iter().zip(delivered).zip(&folders) {
        delivery.add(folder, files?);
        report.notice(&thinning.ground.findings);
        report.notice(&thinning.findings);
        report.blocks.push(tell(call, thinning, folder));
    }
    let _ = leftovers;
    report.files = delivery.write()?;
    Ok(report)
}
