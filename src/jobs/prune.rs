//! The dormant season: from pruning weights and buds to what is kept on a vine.

use rayon::prelude::*;

use super::{
    deliver, prepare,
    prune_files::{FILES, files},
    thin::{Counted, count_block, nothing_joined, together, without_place},
    thin_settings::{estimate_settings, plan_settings},
};
use crate::{
    error::Error,
    estimate::{self, Estimate},
    finding::{Finding, Findings, Place},
    jobs::{Call, Ground, Report, report::BlockReport},
    join::{self, Joined},
    names::BlockName,
    plan::{Evidence, Plan},
    prune::{self, PruneRules, Pruning},
    read::Inputs,
    settings::PruneSettings,
    write::properties::{PruningSummary, pruning_summary},
    zones::Zones,
};

/// Everything that is found out about a block in winter.
#[derive(Debug, Clone)]
pub struct Winter {
    /// The block on its plane, its rows and vines.
    pub ground: Ground,
    /// What was measured where.
    pub joined: Joined,
    /// What is believed about every vine.
    pub estimate: Estimate,
    /// No zones: they are drawn from shoots.
    pub zones: Zones,
    /// What is kept.
    pub pruning: Pruning,
    /// The classes of the map.
    pub plan: Plan,
    /// What was noticed after the layout.
    pub findings: Findings,
}

impl Winter {
    /// All that the stages before found out.
    pub const fn evidence(&self) -> Evidence<'_> {
        self.ground.evidence(&self.joined, &self.estimate, &self.zones)
    }

    /// What is told of it.
    pub(super) fn summary(&self, call: &Call) -> PruningSummary {
        let plan = call.settings.plan();
        let [low, high] =
            ["plan.weak_below", "plan.excess_above"].map(|key| call.settings.source(key));
        let source = if low == high { low.to_owned() } else { format!("{low}; {high}") };
        let limits = (plan.weak_kg_per_m, plan.excess_kg_per_m, source);
        pruning_summary(self.evidence(), &self.pruning, limits)
    }
}

/// Reads, weighs up every block, writes, and tells.
///
/// # Errors
/// A call without counts or an output folder, wrong inputs, files that cannot be written;
/// [`Error::Nothing`] when no pruning weight found its place.
pub fn prune(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let winters = all(call, &inputs)?;
    let mut report = Report::new("prune", &findings);
    let folders = prepare::folders(&inputs.blocks);
    for (winter, folder) in winters.iter().zip(&folders) {
        report.notice(&winter.ground.findings);
        report.notice(&winter.findings);
        report.blocks.push(tell(call, winter, folder));
    }
    prepare::strict(call, &report)?;
    let make = |at: usize| files(call, &inputs, &winters[at], &wanted);
    deliver::deliver(call, &folders, &mut report, make)?;
    let step = report.look_at(&["vine-size.png", "pruning.csv"], NEXT);
    report.go_on([step]);
    Ok(report)
}

const NEXT: &str = "prune a few vines of each size by what is kept there, and ask your local extension \
                    viticulturist about the cultivar and its buds";

/// Every block with its own records.
fn all(call: &Call, inputs: &Inputs) -> Result<Vec<Winter>, Error> {
    if call.request.counts.is_empty() {
        return Err(Error::Usage(
            Finding::fault(Place::field("--counts"), "missing")
                .because("without pruning weights there is nothing to balance nodes against")
                .mend("pass the sheet with --counts pruning.csv"),
        ));
    }
    let grounds = prepare::ground(call, inputs, None)?;
    let names: Vec<&BlockName> = inputs.blocks.iter().map(|block| &block.name).collect();
    let (by_block, leftovers) = join::sort_by_block(&names, inputs.counts.clone());
    let counted = grounds.into_par_iter().zip(by_block);
    let counted = counted.map(|(ground, counts)| count_block(ground, &counts, None, call));
    let counted = together(counted.collect())?;
    let weighed_up = counted.into_par_iter().map(|block| weigh_up(block, call));
    let mut winters = together(weighed_up.collect())?;
    if let Some(first) = winters.first_mut() {
        first.joined.unjoined.extend(leftovers);
    }
    if winters.iter().all(|winter| winter.pruning.weighed.is_empty()) {
        return Err(Error::Nothing(nothing_weighed(&winters)));
    }
    for winter in &mut winters {
        winter.findings.extend(without_place(&winter.joined, "map"));
    }
    Ok(winters)
}

fn weigh_up(counted: Counted, call: &Call) -> Result<Winter, Error> {
    let Counted { ground, joined, mut findings } = counted;
    let (site, layout) = (&ground.site, &ground.layout);
    let (estimate, noticed) = estimate::estimate(site, layout, &joined, &estimate_settings(call))?;
    findings.extend(noticed);
    let zones = Zones::none(layout.panels.len(), layout.vines.len(), "zones are drawn from shoots");
    let evidence = ground.evidence(&joined, &estimate, &zones);
    let settings = prune_settings(call);
    let rules = PruneRules::new(&settings, &plan_settings(call));
    let (pruning, noticed) = prune::prune(evidence, &rules);
    findings.extend(noticed);
    let plan = Plan::at_rest(&pruning.sizes);
    Ok(Winter { ground, joined, estimate, zones, pruning, plan, findings })
}

/// The settings, overruled by the call.
fn prune_settings(call: &Call) -> PruneSettings {
    let settings = call.settings.prune();
    let typed = &call.pruning;
    PruneSettings {
        formula: typed.formula,
        most_nodes: typed.most_nodes.unwrap_or(settings.most_nodes),
        fewest_nodes: typed.fewest_nodes.unwrap_or(settings.fewest_nodes),
        bud_rule: typed.bud_rule.unwrap_or(settings.bud_rule),
        ..settings
    }
}

fn nothing_weighed(winters: &[Winter]) -> Finding {
    if winters.iter().all(|winter| winter.joined.records.is_empty()) {
        return nothing_joined(winters.iter().flat_map(|winter| &winter.joined.unjoined));
    }
    Finding::fault(Place::field("pruning_weight"), "no pruning weight of a grown vine was joined")
        .because("nodes are balanced against the weight of a vine's own prunings")
        .mend("weigh some vines: a column pruning_weight_kg, or _lb, _g, _oz")
}

fn tell(call: &Call, winter: &Winter, folder: &str) -> BlockReport {
    let units = prepare::units(call, &winter.ground.block);
    let pruning = Some(winter.summary(call));
    BlockReport { pruning, ..BlockReport::of(&winter.ground, folder, units) }
}
