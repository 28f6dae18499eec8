//! The files of a block in winter.

use super::{
    deliver::{self, Made},
    prepare,
    prune::Winter,
    record::{self, Told},
};
use crate::{
    error::Error,
    finding::Findings,
    jobs::Call,
    picture::{Caption, to_png, vine_size_scene},
    read::Inputs,
    write::{
        Wanted,
        csv::csv,
        geojson::geojson,
        properties::{self, Thinned},
        run_record::CountsRecord,
    },
};

/// The files that `prune` writes for a block.
pub(super) const FILES: &[&str] = &[
    "pruning.csv",
    "pruning-vines.csv",
    "pruning.json",
    "vines.geojson",
    "vine-size.png",
    "counts-joined.csv",
    "unjoined.csv",
    record::NAME,
];

/// The wanted files of one block, the run record among them.
pub(super) fn files(
    call: &Call,
    inputs: &Inputs,
    winter: &Winter,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let evidence = winter.evidence();
    let thinned = Thinned::new(evidence, &winter.plan);
    let mut findings = winter.ground.findings.clone();
    findings.extend(winter.findings.clone());
    // A map without anything to show is not written; the report says why.
    let one = |name: &str| make(call, winter, (&thinned, &findings), name);
    let mut made = deliver::made(FILES, wanted, one)?;
    let (joined, left_out) = (winter.joined.records.len(), winter.joined.unjoined.len());
    let method = winter.estimate.vigor.iter().map(|(_, field)| field.why.clone()).collect();
    let told = Told {
        command: "prune",
        site: &winter.ground.site,
        counts: Some(CountsRecord {
            read: joined + left_out,
            joined,
            left_out,
            used: winter.pruning.weighed.len(),
        }),
        totals: thinned.totals(),
        method,
        findings: &findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

fn make(
    call: &Call,
    winter: &Winter,
    (thinned, findings): (&Thinned<'_>, &Findings),
    name: &str,
) -> Result<Option<Vec<u8>>, Error> {
    let (evidence, pruning) = (winter.evidence(), &winter.pruning);
    let units = prepare::units(call, &winter.ground.block);
    Ok(Some(match name {
        "pruning.csv" => csv(&properties::pruning_table(evidence, pruning, units)),
        "pruning-vines.csv" => csv(&properties::weighed_table(evidence, pruning, units)),
        "pruning.json" => {
            let block = winter.ground.site.name.as_str();
            properties::pruning_json(block, &winter.summary(call), findings)?
        }
        "vines.geojson" => geojson(&properties::pruned_vines(thinned, pruning)),
        "vine-size.png" => return size_map(call, winter),
        "counts-joined.csv" => csv(&properties::counts_joined(thinned)),
        "unjoined.csv" => csv(&properties::unjoined(&winter.joined.unjoined)),
        other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
    }))
}

fn size_map(call: &Call, winter: &Winter) -> Result<Option<Vec<u8>>, Error> {
    if !winter.pruning.estimated {
        return Ok(None);
    }
    let units = prepare::units(call, &winter.ground.block);
    let drawn = (prepare::paper(call, units), call.output.style);
    let caption = Caption::new(units, drawn, call.thinning.date, &call.settings.plan());
    let scene = vine_size_scene(winter.evidence(), &winter.plan, &caption)?;
    scene.map(|scene| to_png(&scene)).transpose()
}
