//! What every writing command does last: make the wanted files of all blocks, and let them appear
//! together.

use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::record;
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    jobs::{Call, Report, report::FileReport},
    names::number_of,
    read::Request,
    write::{Delivery, Planned, Protect, Wanted},
};

/// The files of one block: name and bytes.
pub(super) type Made = Vec<(String, Vec<u8>)>;

/// Which of the files that a command can write were asked for.
///
/// # Errors
/// A usage error that names a file which the command does not write.
pub(super) fn wanted(call: &Call, known: &[&str]) -> Result<Wanted, Error> {
    call.output.only.as_ref().map_or(Ok(Wanted::all()), |list| Wanted::parse(list, known))
}

/// The wanted files of a block but its run record, each made by its name; one without anything to
/// show is not made.
///
/// # Errors
/// Whatever making a file refuses.
pub(super) fn made(
    known: &[&str],
    wanted: &Wanted,
    make: impl Fn(&str) -> Result<Option<Vec<u8>>, Error>,
) -> Result<Made, Error> {
    let names = known.iter().filter(|name| **name != record::NAME && wanted.wants(name));
    let mut made = Made::new();
    for name in names {
        made.extend(make(name)?.map(|bytes| ((*name).to_owned(), bytes)));
    }
    Ok(made)
}

/// Makes the files of every block (`make` is given its place in the list), writes them all or says
/// what would be written, and tells of them in the report.
///
/// # Errors
/// Without an output folder; whatever making or writing a file refuses.
pub(super) fn deliver(
    call: &Call,
    folders: &[String],
    report: &mut Report,
    make: impl Fn(usize) -> Result<Made, Error> + Sync + Send,
) -> Result<(), Error> {
    let folder = folder(call)?;
    let made: Vec<_> = (0..folders.len()).into_par_iter().map(make).collect();
    let mut delivery = Delivery::into_folder(folder);
    for (folder, files) in folders.iter().zip(made) {
        for (name, bytes) in files? {
            delivery.add(format!("{folder}/{name}"), bytes)?;
        }
    }
    place(call, &delivery, report)
}

/// Writes what was made or says what would be written, and tells of it in the report.
///
/// # Errors
/// Whatever writing a file refuses.
pub(super) fn place(call: &Call, delivery: &Delivery, report: &mut Report) -> Result<(), Error> {
    let inputs = inputs(&call.request);
    let protect = Protect { force: call.output.force, inputs: &inputs };
    let planned = delivery.planned();
    let left = delivery.left_over();
    if call.output.dry_run {
        delivery.check(Protect { force: true, ..protect })?;
    } else {
        delivery.place(protect)?;
    }
    report.files = planned.into_iter().map(|file| told(file, "")).collect();
    report.dry_run = call.output.dry_run;
    report.notice(&left_over(&left));
    Ok(())
}

fn left_over(files: &[String]) -> Findings {
    let Some(first) = files.first() else { return Findings::none() };
    let what =
        format!("{} of an earlier run stay beside the new ones", number_of(files.len(), "file"));
    let why = format!("`{first}` is one; they belong to what was asked then");
    Finding::warning(Place::field("--force"), what)
        .because(why)
        .mend("delete them, or write into another --out")
        .into()
}

/// What is told of a file, below a folder of the output folder.
pub(super) fn told(planned: Planned, below: &str) -> FileReport {
    let Planned { name, bytes, replaces } = planned;
    let file = if below.is_empty() { name } else { format!("{below}/{name}") };
    FileReport { file, bytes, replaces }
}

/// The output folder.
///
/// # Errors
/// A usage error when none was given.
pub(super) fn folder(call: &Call) -> Result<&Path, Error> {
    call.output.folder.as_deref().ok_or_else(|| {
        let finding = Finding::fault(Place::field("--out"), "missing")
            .because("files are only written where someone says so")
            .mend("pass a folder, such as --out plan");
        Error::Usage(finding)
    })
}

fn inputs(request: &Request) -> Vec<PathBuf> {
    let others = [&request.rows, &request.vines, &request.dem, &request.vigor, &request.stops];
    let others = others.into_iter().flatten();
    let all = std::iter::once(&request.blocks)
        .chain(&request.counts)
        .chain(&request.recount)
        .chain(others);
    all.filter(|path| !path.as_os_str().is_empty()).cloned().collect()
}
