//! After the work: what it reached, and what to go back for.

use rayon::prelude::*;

use super::{
    audit_files::{FILES, files},
    audit_plan,
    audit_report::audit_report,
    deliver, prepare,
    thin::{self, Thinning},
    thin_settings::{estimate_settings, join_settings, plan_settings},
};
use crate::{
    audit::{self, Audit, Basis, Found},
    counts::Count,
    error::Error,
    estimate::{self, Estimate},
    finding::{Finding, Findings, Place},
    jobs::{Call, Report, report::BlockReport},
    join::{self, Joined},
    names::BlockName,
    read::Inputs,
    settings::EstimateSettings,
};

/// A block before and after the work.
#[derive(Debug, Clone)]
pub struct Audited {
    /// What was found out and planned before the work.
    pub thinning: Thinning,
    /// The recount at its places.
    pub after: Joined,
    /// The change between recounted places.
    pub estimate: Estimate,
    /// What the work reached.
    pub audit: Audit,
    /// What was noticed of the recount.
    pub findings: Findings,
}

/// Reads, plans by the counts before, holds the recount against it, writes, and tells.
///
/// # Errors
/// A call without counts, a recount or an output folder, wrong inputs, files that cannot be written;
/// [`Error::Nothing`] when no record of one of both found its place.
pub fn audit(call: &Call) -> Result<Report, Error> {
    if call.request.recount.is_empty() {
        return Err(Error::Usage(
            Finding::fault(Place::field("--recount"), "missing")
                .because(
                    "without counts from after the work there is nothing to hold the plan against",
                )
                .mend("pass them with --recount recount.csv"),
        ));
    }
    let twice = call.request.recount.iter().find(|file| call.request.counts.contains(file));
    if let Some(file) = twice {
        let what = format!("{} is passed to --counts too", file.display());
        return Err(Error::Usage(
            Finding::fault(Place::field("--recount"), what)
                .because("the same counts before and after tell no change")
                .mend(
                    "pass counts from before the work to --counts, those from after to --recount",
                ),
        ));
    }
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let mut audited = audit_all(call, &inputs)?;
    let mut report = Report::new("audit", &findings);
    let folders = prepare::folders(&inputs.blocks);
    if call.plan.is_none() {
        report.notice(&audit_plan::unknown().into());
    }
    for (block, folder) in audited.iter_mut().zip(&folders) {
        let plan = call.plan.as_deref().map(|plan| audit_plan::hold(call, &inputs, (plan, folder)));
        block.findings.extend(plan.transpose()?.unwrap_or_else(Findings::none));
    }
    for (block, folder) in audited.iter().zip(&folders) {
        report.notice(&block.thinning.ground.findings);
        report.notice(&block.thinning.findings);
        report.notice(&block.findings);
        report.blocks.push(tell(call, block, folder));
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, &audited[at], &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let steps = next(&report, audited.iter().any(|block| !block.audit.order.is_empty()));
    report.go_on(steps);
    Ok(report)
}

/// Where to look before anybody goes back.
fn next(report: &Report, go_back: bool) -> [String; 2] {
    let walk = "walk the zones to go back to before the crew does, and look at the vines";
    [
        if go_back { walk.to_owned() } else { String::new() },
        report.with("audit-pairs.csv", "audit-pairs.csv names every place that was recounted"),
    ]
}

/// Audits every block with its own records.
fn audit_all(call: &Call, inputs: &Inputs) -> Result<Vec<Audited>, Error> {
    let thinnings = thin::thin_all(call, inputs, None)?;
    let names: Vec<&BlockName> = inputs.blocks.iter().map(|block| &block.name).collect();
    let (before, _) = join::sort_by_block(&names, inputs.counts.clone());
    let (recount, leftovers) = join::sort_by_block(&names, inputs.recount.clone());
    let blocks = thinnings.into_par_iter().zip(before).zip(recount);
    let audited: Result<Vec<Audited>, Error> = blocks
        .map(|((thinning, before), recount)| audit_block(call, thinning, (&before, &recount)))
        .collect();
    let mut audited = audited?;
    if let Some(first) = audited.first_mut() {
        first.after.unjoined.extend(leftovers);
    }
    if audited.iter().all(|block| block.after.records.is_empty()) {
        let unjoined = audited.iter().flat_map(|block| &block.after.unjoined);
        return Err(Error::Nothing(thin::nothing_joined(unjoined)));
    }
    if audited.iter().all(|block| block.after.shoots.is_empty()) {
        return Err(Error::Nothing(no_recount()));
    }
    for block in &mut audited {
        block.findings.extend(thin::without_place(&block.after, "audit"));
    }
    Ok(audited)
}

fn no_recount() -> Finding {
    Finding::fault(Place::field("--recount"), "no record counts shoots after the work")
        .because(
            "records without shoots, or labelled as before the work, tell nothing of what was left",
        )
        .mend("count shoots after the work, and label the visit `after` or leave it empty")
}

/// Audits one block: its recount stands on the vines as the counts before knew them.
fn audit_block(
    call: &Call,
    thinning: Thinning,
    (before, recount): (&[Count], &[Count]),
) -> Result<Audited, Error> {
    let (site, layout) = (&thinning.ground.site, &thinning.ground.layout);
    let settings = join_settings(call);
    let (after, noticed) = join::join_recount((site, layout), (before, recount), &settings);
    let mut findings = only_new(&noticed, &thinning.findings);
    let basis = Basis { evidence: thinning.evidence(), plan: &thinning.plan };
    let planning = plan_settings(call);
    let changes = audit::changes(basis, &after, &planning);
    // A variation of counts says nothing of changes, and a difference is as it is.
    let settings = EstimateSettings {
        pinned: None,
        no_count_noise: false,
        observer_share: 0.0,
        ..estimate_settings(call)
    };
    let (estimate, _) = estimate::estimate(site, layout, &changes.joined, &settings)?;
    let found = Found { joined: &after, change: &estimate, moved_per_m: changes.moved_per_m };
    let (audit, noticed) = audit::audit(basis, found, &planning);
    findings.extend(noticed);
    Ok(Audited { thinning, after, estimate, audit, findings })
}

/// What was not noticed before: the counts before are looked at twice, for what stands.
fn only_new(noticed: &Findings, known: &Findings) -> Findings {
    let known: Vec<String> = known.iter().map(ToString::to_string).collect();
    noticed.iter().filter(|finding| !known.contains(&finding.to_string())).cloned().collect()
}

fn tell(call: &Call, block: &Audited, folder: &str) -> BlockReport {
    let units = prepare::units(call, &block.thinning.ground.block);
    BlockReport {
        audit: Some(audit_report(block, call.settings.plan().fewest_recounted)),
        ..BlockReport::of(&block.thinning.ground, folder, units)
    }
}
