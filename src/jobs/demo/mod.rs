//! An invented estate, and the whole job on it.
//!
//! Plovermoss on the isle of Quernsay does not exist: its blocks, vines and field book are made up
//! by the modules below, the same on every machine. The stages see it only as the files that a
//! grower would hand in.

mod blocks;
mod choice;
mod counting;
pub mod estate;
mod field_book;
mod flight;
mod ground;
mod hill;
mod last_year;
mod mistakes;
mod records;
#[cfg(test)]
mod support;
mod truth;

use std::path::Path;

use estate::{EstateFile, LaidOut};

use super::{audit, bearings, deliver, layout, prepare, prune, sample, season, thin};
use crate::{
    error::Error,
    finding::Findings,
    jobs::{BearingOptions, Call, OutputOptions, Report, report::FileReport},
    read::Request,
    write::{Delivery, Protect},
};

/// Folder of the estate's own files, below the demo's.
pub const ESTATE: &str = "estate";
/// Folder of the bearings compared for the new planting.
pub const BEARINGS: &str = "0-bearings";
/// Folder of the layout of the new planting.
pub const LAYOUT: &str = "1-layout";
/// Folder of what to count in the standing blocks.
pub const SAMPLE: &str = "2-sample";
/// Folder of the thinning of the standing blocks.
pub const THIN: &str = "3-thin";
/// Folder of what the thinning reached, by the recount.
pub const AUDIT: &str = "4-audit";

/// Folder of what to keep in the standing blocks in winter.
pub const PRUNE: &str = "5-prune";

/// Folder of the standing blocks beside the year before.
pub const SEASON: &str = "6-season";

/// Writes the estate, compares bearings for its new planting and lays it out, draws what to count in
/// its standing blocks, thins them, audits the work, says what to keep on their vines in winter, and
/// sets them beside the year before.
///
/// # Errors
/// A call without an output folder, files that cannot be written.
pub fn demo(call: &Call) -> Result<Report, Error> {
    let folder = deliver::folder(call)?;
    let estate = folder.join(ESTATE);
    let mut report = Report::new("demo", &Findings::none());
    let elevation = hill::elevation_model(estate::ELEVATION)?;
    let ground = texts(estate::block_files()).chain([(estate::ELEVATION, elevation)]);
    report.files.extend(put(call, &estate, ground)?);
    let (book, vigor) = field_files(call, &estate)?;
    let vigor = vigor.map(|bytes| (estate::VIGOR, bytes));
    report.files.extend(put(call, &estate, texts(book).chain(vigor))?);
    let mut planted = on(call, &estate, estate::NEW_GROUND, &[], &folder.join(LAYOUT));
    planted.request.dem = Some(estate.join(estate::ELEVATION));
    report.add(bearings::bearings(&for_a_season(&planted, &folder.join(BEARINGS)))?, BEARINGS);
    report.add(layout::layout(&planted)?, LAYOUT);
    let to_count = on(call, &estate, estate::BLOCKS, &[], &folder.join(SAMPLE));
    report.add(sample::sample(&to_count)?, SAMPLE);
    let counts = [estate::COUNTS, estate::PRUNING];
    let mut standing = on(call, &estate, estate::BLOCKS, &counts, &folder.join(THIN));
    standing.request.vigor = Some(estate.join(estate::VIGOR));
    report.add(thin::thin(&standing)?, THIN);
    let worked = after_the_work(&standing, &estate, &folder.join(AUDIT));
    report.add(audit::audit(&worked)?, AUDIT);
    let winter = on(call, &estate, estate::BLOCKS, &[estate::PRUNING], &folder.join(PRUNE));
    report.add(prune::prune(&winter)?, PRUNE);
    let years = [estate::LAST_YEAR, estate::COUNTS, estate::RECOUNT, estate::PRUNING];
    let beside = on(call, &estate, estate::BLOCKS, &years, &folder.join(SEASON));
    report.add(season::season(&beside)?, SEASON);
    report.next = vec![look_at(&report)];
    Ok(report)
}

/// The field book, at the vines of the blocks as they are laid out, and the raster of the flight over
/// one of them.
fn field_files(call: &Call, estate: &Path) -> Result<(Vec<EstateFile>, Option<Vec<u8>>), Error> {
    let blocks = on(call, estate, estate::BLOCKS, &[], estate);
    let (inputs, _) = prepare::read(&blocks)?;
    let grounds = prepare::ground(&blocks, &inputs, None)?;
    let laid: Vec<LaidOut<'_>> = grounds
        .iter()
        .map(|ground| LaidOut { name: ground.block.name.as_str(), layout: &ground.layout })
        .collect();
    let flown = grounds.iter().find(|ground| ground.block.name.as_str() == estate::FLOWN);
    let vigor = flown.map(|ground| estate::vigor(&ground.site, &ground.layout)).transpose()?;
    let book = estate::field_files(&laid).into_iter().chain([estate::last_year_file(&laid)]);
    Ok((book.collect(), vigor))
}

/// Files of text as names with bytes.
fn texts(
    files: impl IntoIterator<Item = EstateFile>,
) -> impl Iterator<Item = (&'static str, Vec<u8>)> {
    files.into_iter().map(|file| (file.name, file.text.into_bytes()))
}

fn put(
    call: &Call,
    estate: &Path,
    files: impl Iterator<Item = (&'static str, Vec<u8>)>,
) -> Result<Vec<FileReport>, Error> {
    let mut delivery = Delivery::into_folder(estate);
    for (name, bytes) in files {
        delivery.add(name, bytes)?;
    }
    let planned = delivery.planned();
    delivery.place(Protect { force: call.output.force, inputs: &[] })?;
    Ok(planned.into_iter().map(|file| deliver::told(file, ESTATE)).collect())
}

/// The call of a job on the estate's files.
fn on(call: &Call, estate: &Path, blocks: &str, counts: &[&str], out: &Path) -> Call {
    Call {
        request: Request {
            blocks: estate.join(blocks),
            counts: counts.iter().map(|name| estate.join(name)).collect(),
            ..Request::default()
        },
        output: OutputOptions { folder: Some(out.to_owned()), ..call.output.clone() },
        ..call.clone()
    }
}

/// The same call, for comparing bearings with the sun of a growing season.
fn for_a_season(planted: &Call, out: &Path) -> Call {
    let bearings = BearingOptions {
        sun_from: Some(jiff::civil::date(2027, 4, 15)),
        sun_to: Some(jiff::civil::date(2027, 10, 15)),
        ..BearingOptions::default()
    };
    let output = OutputOptions { folder: Some(out.to_owned()), ..planted.output.clone() };
    Call { bearings, output, ..planted.clone() }
}

/// The same call with the recount, beside the plan that the crew worked by.
fn after_the_work(standing: &Call, estate: &Path, out: &Path) -> Call {
    let request =
        Request { recount: vec![estate.join(estate::RECOUNT)], ..standing.request.clone() };
    let output = OutputOptions { folder: Some(out.to_owned()), ..standing.output.clone() };
    Call { request, output, plan: standing.output.folder.clone(), ..standing.clone() }
}

fn look_at(report: &Report) -> String {
    let thinned = report.blocks.iter().find(|block| block.thinning.is_some());
    let folder = thinned.map_or_else(String::new, |block| block.folder.clone());
    format!(
        "open {folder}/map.html under the output folder, then zones.csv beside it; 2-sample has a \
         count-sheet.html for each block, 4-audit a difference.png"
    )
}
