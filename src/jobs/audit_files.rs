//! The files of an audited block.

use super::{
    audit::Audited,
    deliver::{self, Made},
    prepare,
    record::{self, Told},
};
use crate::{
    audit::Basis,
    error::Error,
    jobs::Call,
    picture::{Caption, DifferenceMap, difference_scene, to_png},
    read::Inputs,
    write::{
        Wanted,
        csv::csv,
        geojson::geojson,
        properties,
        properties::{AuditedBlock, Thinned},
        run_record::CountsRecord,
    },
};

/// The files that `audit` writes for a block.
pub(super) const FILES: &[&str] = &[
    "audit.csv",
    "audit-pairs.csv",
    "zones.geojson",
    "difference.png",
    "audit.json",
    "counts-joined.csv",
    "unjoined.csv",
    "run.json",
];

/// The wanted files of one block, the run record among them.
pub(super) fn files(
    call: &Call,
    inputs: &Inputs,
    block: &Audited,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let thinned = Thinned::new(block.thinning.evidence(), &block.thinning.plan);
    let of = AuditedBlock { thinned: &thinned, after: &block.after, audit: &block.audit };
    let units = prepare::units(call, &block.thinning.ground.block);
    let mut findings = block.thinning.ground.findings.clone();
    findings.extend(block.thinning.findings.clone());
    findings.extend(block.findings.clone());
    let mut made = deliver::made(FILES, wanted, |name| {
        Ok(Some(match name {
            "audit.csv" => csv(&properties::audit_table(&of, units)),
            "audit-pairs.csv" => csv(&properties::audit_pairs(&of, units)),
            "zones.geojson" => geojson(&properties::audit_zones(&of)),
            "difference.png" => difference(call, block)?,
            "audit.json" => properties::audit_json(&of, &findings)?,
            "counts-joined.csv" => csv(&properties::counts_joined_twice(&of)),
            "unjoined.csv" => csv(&properties::unjoined(&unjoined(block))),
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        }))
    })?;
    let told = Told {
        command: "audit",
        site: &block.thinning.ground.site,
        counts: Some(counts(block)),
        totals: thinned.totals(),
        method: vec![
            block.thinning.estimate.shoots.why.clone(),
            block.thinning.zones.why.clone(),
            format!("the change: {}", block.estimate.shoots.why),
        ],
        findings: &findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

/// The map of what changed.
fn difference(call: &Call, block: &Audited) -> Result<Vec<u8>, Error> {
    let thinning = &block.thinning;
    let units = prepare::units(call, &thinning.ground.block);
    let drawn = (prepare::paper(call, units), call.output.style);
    let caption = Caption::new(units, drawn, call.thinning.date, &call.settings.plan());
    let map = DifferenceMap {
        basis: Basis { evidence: thinning.evidence(), plan: &thinning.plan },
        after: &block.after,
        estimate: &block.estimate,
        audit: &block.audit,
    };
    to_png(&difference_scene(&map, &caption)?)
}

/// Records without a place, those before the work first.
fn unjoined(block: &Audited) -> Vec<crate::join::UnjoinedRecord> {
    block.thinning.joined.unjoined.iter().chain(&block.after.unjoined).cloned().collect()
}

/// What became of the records of the field, before and after.
fn counts(block: &Audited) -> CountsRecord {
    let both = [&block.thinning.joined, &block.after];
    let sum = |of: fn(&crate::join::Joined) -> usize| both.iter().map(|joined| of(joined)).sum();
    CountsRecord {
        read: sum(|joined| joined.records.len() + joined.unjoined.len()),
        joined: sum(|joined| joined.records.len()),
        left_out: sum(|joined| joined.unjoined.len()),
        used: sum(|joined| joined.shoots.len()),
    }
}
