//! Rows, vines and posts from an outline, a bearing and spacings.

use super::{
    deliver::{self, Made},
    prepare,
    record::{self, Told},
};
use crate::{
    error::Error,
    jobs::{Call, Ground, Report, report::BlockReport},
    picture::{PlanNotes, Scene, planting_plan, to_pdf, to_png},
    read::Inputs,
    write::{Wanted, geojson::geojson, properties, run_record::Totals},
};

/// The files that `layout` writes for a block.
pub const FILES: &[&str] = &[
    "block-standing.geojson",
    "rows.geojson",
    "vines.geojson",
    "posts.geojson",
    "layout.json",
    "plan.png",
    "plan.pdf",
    "run.json",
];

/// Reads, lays out every block, writes, and tells.
///
/// # Errors
/// A call without an output folder, wrong inputs, files that cannot be written.
pub fn layout(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let grounds = prepare::ground(call, &inputs.blocks, Some(false))?;
    let folders = prepare::folders(&inputs.blocks);
    let mut report = Report::new("layout", &findings);
    for (ground, folder) in grounds.iter().zip(&folders) {
        report.notice(&ground.findings);
        report.blocks.push(BlockReport::of(ground, folder, prepare::units(call, &ground.block)));
    }
    prepare::strict(call, &report)?;
    report.files =
        deliver::deliver(call, &folders, |at| files(call, &inputs, &grounds[at], &wanted))?;
    report.dry_run = call.output.dry_run;
    report.next.push(
        "print plan.pdf at 100 % and look at rows.geojson on a map; once planted, give block-standing.geojson to the other \
         commands, so that ids never move"
            .to_owned(),
    );
    Ok(report)
}

/// The wanted files of one block, the run record among them.
fn files(call: &Call, inputs: &Inputs, ground: &Ground, wanted: &Wanted) -> Result<Made, Error> {
    let (site, layout) = (&ground.site, &ground.layout);
    let units = prepare::units(call, &ground.block);
    let mut made = Made::new();
    let plan = drawn(call, ground, wanted)?;
    for name in FILES.iter().filter(|name| **name != record::NAME && wanted.wants(name)) {
        let bytes = match *name {
            "block-standing.geojson" => geojson(&properties::block_standing(site, layout, units)),
            "rows.geojson" => geojson(&properties::rows(site, layout)),
            "vines.geojson" => geojson(&properties::planted_vines(site, layout)),
            "posts.geojson" => geojson(&properties::posts(site, layout)),
            "layout.json" => properties::layout_json(site, layout)?,
            "plan.png" => plan.first().map_or_else(no_plan, to_png)?,
            "plan.pdf" => plan.first().map_or_else(no_plan, |first| to_pdf(&plan, &first.title))?,
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        };
        made.push(((*name).to_owned(), bytes));
    }
    let told = Told {
        command: "layout",
        site,
        counts: None,
        totals: Totals {
            rows: layout.rows.len(),
            panels: layout.panels.len(),
            places: layout.vines.len(),
            vines: layout.vines.len(),
            ..Totals::default()
        },
        method: Vec::new(),
        findings: &ground.findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

/// The pages of the plan, once for all its forms, where one of them is wanted.
fn drawn(call: &Call, ground: &Ground, wanted: &Wanted) -> Result<Vec<Scene>, Error> {
    if !wanted.wants_any(&["plan.png", "plan.pdf"]) {
        return Ok(Vec::new());
    }
    let units = prepare::units(call, &ground.block);
    let notes = PlanNotes::of(&ground.layout, units, prepare::paper(call, units));
    planting_plan(&ground.site, &ground.layout, &notes)
}

fn no_plan() -> Result<Vec<u8>, Error> {
    Err(Error::Unexpected("the plan was not drawn".to_owned()))
}
