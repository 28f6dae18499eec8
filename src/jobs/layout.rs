//! Rows, vines and posts from an outline, a bearing and spacings.

use super::{
    deliver::{self, Made},
    prepare,
    record::{self, Told},
    stakes,
};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    frame::StakeGrid,
    jobs::{Call, Ground, Report, report::BlockReport},
    layout::{CheckPoint, Materials, check_points, materials},
    picture::{CheckMark, PlanNotes, Scene, planting_plan, to_pdf, to_png},
    read::Inputs,
    write::{
        Wanted, csv::csv, flatgeobuf::flatgeobuf, geojson::geojson, properties, run_record::Totals,
    },
};

/// The files that `layout` writes for a block.
pub const FILES: &[&str] = &[
    "block-standing.geojson",
    "rows.geojson",
    "vines.geojson",
    "posts.geojson",
    "rows.fgb",
    "vines.fgb",
    "posts.fgb",
    "layout.json",
    "block.kmz",
    "block.gpkg",
    "plan.png",
    "plan.pdf",
    "materials.csv",
    stakes::FILES[0],
    stakes::FILES[1],
    stakes::FILES[2],
    stakes::FILES[3],
    stakes::FILES[4],
    "run.json",
];

/// The forms of the drawing.
pub(super) const PLANS: [&str; 2] = ["plan.png", "plan.pdf"];

/// Reads, lays out every block, writes, and tells.
///
/// # Errors
/// A call without an output folder, wrong inputs, files that cannot be written.
pub fn layout(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let grounds = prepare::ground(call, &inputs, Some(false))?;
    let folders = prepare::folders(&inputs.blocks);
    let mut report = Report::new("layout", &findings);
    for (ground, folder) in grounds.iter().zip(&folders) {
        report.notice(&ground.findings);
        report.notice(&prepare::missing_places(call, ground));
        report.blocks.push(BlockReport::of(ground, folder, prepare::units(call, &ground.block)));
    }
    let (grids, notes) = stakes::grids(call, &grounds, &wanted)?;
    report.notice(&notes);
    prepare::strict(call, &report)?;
    deliver::deliver(call, &folders, &mut report, |at| {
        let block = Planted { ground: &grounds[at], grid: grids[at].as_ref() };
        files(call, &inputs, &block, &wanted)
    })?;
    report.notice(&not_made(&report, &wanted));
    let steps = NEXT.map(|(file, words)| report.with(file, words));
    report.go_on(steps);
    Ok(report)
}

/// What to do with which file.
const NEXT: [(&str, &str); 4] = [
    (
        "stakeout-readme.txt",
        "read stakeout-readme.txt and visit both check points before any stake is set",
    ),
    ("plan.pdf", "print plan.pdf at 100 %"),
    ("rows.geojson", "look at rows.geojson on a map"),
    (
        "block-standing.geojson",
        "once planted, give block-standing.geojson to the other commands, so that ids never move",
    ),
];

/// Files that were asked for by a name that none has.
fn not_made(report: &Report, wanted: &Wanted) -> Findings {
    let name = |file: &str| file.rsplit('/').next().unwrap_or(file).to_owned();
    let made: Vec<String> = report.files.iter().map(|file| name(&file.file)).collect();
    let made: Vec<&str> = made.iter().map(String::as_str).collect();
    let told = |name: &str| {
        Finding::warning(Place::field("--write"), format!("no block has a file called `{name}`"))
            .because("grid, unit and number of files follow from the block and the options")
            .mend("ask by pattern, such as stakeout-*.csv")
    };
    wanted.not_among(&made).into_iter().map(told).collect()
}

/// A block with the grid that it is staked out in.
struct Planted<'a> {
    ground: &'a Ground,
    grid: Option<&'a StakeGrid>,
}

/// The wanted files of one block, the run record among them.
fn files(
    call: &Call,
    inputs: &Inputs,
    block: &Planted<'_>,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let ground = block.ground;
    let (site, layout) = (&ground.site, &ground.layout);
    let units = prepare::units(call, &ground.block);
    let materials = materials(layout, &site.rules, &site.plantings, &call.settings.materials());
    let elsewhere = |name: &str| name == record::NAME || stakes::FILES.contains(&name);
    let mut made = Made::new();
    let plan = drawn(call, block, &materials, wanted)?;
    let layer = |stem: &str| match stem {
        "rows" => properties::rows(site, layout),
        "vines" => properties::planted_vines(site, layout),
        _ => properties::posts(site, layout),
    };
    for name in FILES.iter().filter(|name| !elsewhere(name) && wanted.wants(name)) {
        if let Some(stem) = name.strip_suffix(".fgb") {
            let bytes = flatgeobuf(&layer(stem))?;
            made.extend(bytes.map(|bytes| ((*name).to_owned(), bytes)));
            continue;
        }
        let bytes = match *name {
            "block-standing.geojson" => geojson(&properties::block_standing(site, layout, units)),
            "rows.geojson" | "vines.geojson" | "posts.geojson" => {
                geojson(&layer(name.trim_end_matches(".geojson")))
            }
            "block.kmz" => properties::planting_kmz(site, layout, units)?,
            "block.gpkg" => properties::planting_gpkg(site, layout)?,
            "plan.png" => plan.first().map_or_else(no_plan, to_png)?,
            "plan.pdf" => plan.first().map_or_else(no_plan, |first| to_pdf(&plan, &first.title))?,
            "layout.json" => properties::layout_json(site, layout, &materials)?,
            "materials.csv" => csv(&properties::materials_table(&materials, units)),
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        };
        made.push(((*name).to_owned(), bytes));
    }
    made.extend(stakes::files(call, ground, block.grid, wanted)?);
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
fn drawn(
    call: &Call,
    block: &Planted<'_>,
    materials: &Materials,
    wanted: &Wanted,
) -> Result<Vec<Scene>, Error> {
    if !wanted.wants_any(&PLANS) {
        return Ok(Vec::new());
    }
    let ground = block.ground;
    let units = prepare::units(call, &ground.block);
    let check_points = check_points(&ground.site);
    let marks = check_points.iter().map(|point| check_mark(block, point));
    let notes = PlanNotes {
        units,
        paper: prepare::paper(call, units),
        up: call.output.style.up,
        materials: materials.lines.clone(),
        check_system: block.grid.map_or_else(
            || "longitude and latitude on WGS 84".to_owned(),
            |grid| format!("{}, unit: {}", grid.transform.code(), grid.facts.unit.words()),
        ),
        check_points: marks.collect::<Result<_, Error>>()?,
    };
    planting_plan(&ground.site, &ground.layout, &notes)
}

/// A check point with its coordinates, in the grid of the stakes where there is one.
///
/// # Errors
/// A place that the grid does not reach.
fn check_mark(block: &Planted<'_>, point: &CheckPoint) -> Result<CheckMark, Error> {
    let site = &block.ground.site;
    let place = if let Some(grid) = block.grid {
        let at = grid.point(site, point.at).map_err(|error| stakes::off(&error))?;
        format!("E {:.3}  N {:.3}", at.east, at.north)
    } else {
        let at = site.frame.to_lon_lat(point.at);
        format!("longitude {:.9}°  latitude {:.9}°", at.lon(), at.lat())
    };
    Ok(CheckMark { name: point.name.to_owned(), at: point.at, words: point.words.clone(), place })
}

fn no_plan() -> Result<Vec<u8>, Error> {
    Err(Error::Unexpected("the plan was not drawn".to_owned()))
}
