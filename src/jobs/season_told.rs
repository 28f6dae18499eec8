//! What is told of several years of a block.

use std::collections::BTreeSet;

use super::{
    prepare,
    season::{Year, Years},
};
use crate::{
    finding::{Finding, Findings, Place},
    jobs::{Call, report::BlockReport},
    join::UnjoinedRecord,
    names::number_of,
    write::properties::season_summary,
};

/// The report of a block.
pub(super) fn tell(call: &Call, years: &Years, folder: &str) -> Option<BlockReport> {
    let ground = years.ground()?;
    let units = prepare::units(call, &ground.block);
    let season = Some(season_summary(&years.view()));
    Some(BlockReport { season, ..BlockReport::of(ground, folder, units) })
}

/// Everything noticed about a block, its ground first.
pub(super) fn findings_of(years: &Years) -> Findings {
    let mut findings = years.ground().map_or_else(Findings::none, |own| own.findings.clone());
    findings.extend(years.findings.clone());
    findings
}

/// Most records left out that are told one by one; `unjoined.csv` lists them all.
const MOST_TOLD: usize = 5;

/// What was noticed in every year, each once; then records that are left out.
pub(super) fn noticed(years: &[Year], unjoined: &[UnjoinedRecord]) -> Findings {
    let mut told = BTreeSet::new();
    let mut findings = Findings::none();
    for year in years {
        for finding in &year.thinning.findings {
            // What is said of a vine's standing is read again in later years.
            if told.insert((finding.place.clone(), finding.what.clone())) {
                let what = format!("{}: {}", year.year, finding.what);
                findings.push(Finding { what, ..finding.clone() });
            }
        }
    }
    if let [only] = years {
        let what = format!("the block has records of {} only", only.year);
        findings.push(
            Finding::note(block_of(only), what)
                .because("its visits are set side by side, and no year is compared")
                .mend("pass the sheet of another year too"),
        );
    }
    findings.extend(left_out(unjoined));
    findings
}

fn block_of(year: &Year) -> Place {
    Place::default().in_feature(format!("block {}", year.thinning.ground.site.name))
}

fn left_out(unjoined: &[UnjoinedRecord]) -> Findings {
    let mut findings: Findings = unjoined
        .iter()
        .take(MOST_TOLD)
        .map(|record| {
            Finding::warning(record.count.place.clone(), "the record is left out")
                .because(record.reason.clone())
                .mend("mend it, or let it be: the years are compared without it")
        })
        .collect();
    if unjoined.len() > MOST_TOLD {
        let what = format!("{} are left out", number_of(unjoined.len(), "record"));
        findings.push(
            Finding::warning(Place::default(), what)
                .mend("see unjoined.csv; give each record its date and a place of the block"),
        );
    }
    findings
}
