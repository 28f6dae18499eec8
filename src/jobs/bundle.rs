//! One zip for a consultant: everything that `thin` writes, with a sheet for its receiver.

use super::{
    deliver::{self, Made},
    prepare,
    thin::{Thinning, thin_all},
    thin_files::{self, FILES},
    thin_told::tell,
};
use crate::{
    error::Error,
    finding::{Finding, Place},
    frame::{Site, raster_grid},
    jobs::{Call, Report},
    write::{
        Delivery,
        properties::{BundleSheet, BundledBlock, bundle_readme},
        zip::zip,
    },
};

/// The archive, and the sheet in it.
pub const NAME: &str = "bundle.zip";
const README: &str = "README.txt";
/// Files that repeat what was typed in the field, places among it.
const TYPED: [&str; 3] = ["counts-joined.csv", "unjoined.csv", "run.json"];
/// Where blocks are moved to when their place is hidden: the middle of the Atlantic, degrees.
const ELSEWHERE_LON: f64 = -27.0;
/// What is added to a block's name then.
const MOVED: &str = " (place moved)";

/// Thins every block and packs what it writes.
///
/// # Errors
/// Those of `thin`.
pub fn bundle(call: &Call) -> Result<Report, Error> {
    let wanted = deliver::wanted(call, FILES)?;
    let (inputs, findings) = prepare::read(call)?;
    let mut thinnings = thin_all(call, &inputs, None)?;
    let folders = prepare::folders(&inputs.blocks);
    let mut report = Report::new("bundle", &findings);
    for (thinning, folder) in thinnings.iter().zip(&folders) {
        report.notice(&thinning.ground.findings);
        report.notice(&thinning.findings);
        report.blocks.push(tell(call, thinning, folder));
    }
    prepare::strict(call, &report)?;
    let moved = call.output.move_place;
    if moved {
        hide_place(&mut thinnings)?;
    }
    let mut files: Made = Vec::new();
    for (thinning, folder) in thinnings.iter().zip(&folders) {
        let made = thin_files::files(call, &inputs, thinning, &wanted)?;
        let kept = made.into_iter().filter(|(name, _)| !(moved && TYPED.contains(&name.as_str())));
        files.extend(kept.map(|(name, bytes)| (format!("{folder}/{name}"), bytes)));
    }
    let blocks = thinnings.iter().zip(&folders).map(|(thinning, folder)| block(thinning, folder));
    let sheet = BundleSheet { blocks: blocks.collect::<Result<_, _>>()?, files: &files, moved };
    let readme = bundle_readme(&sheet);
    let mut packed: Vec<(&str, &[u8])> = vec![(README, &readme)];
    packed.extend(files.iter().map(|(path, bytes)| (path.as_str(), bytes.as_slice())));
    let mut delivery = Delivery::into_folder(deliver::folder(call)?);
    delivery.add(NAME.to_owned(), zip(&packed)?)?;
    deliver::place(call, &delivery, &mut report)?;
    report.go_on([NEXT.to_owned()]);
    Ok(report)
}

const NEXT: &str = "send bundle.zip; its README.txt says what is in it";

/// Turns all blocks about the axis of the earth, the first onto another meridian.
fn hide_place(thinnings: &mut [Thinning]) -> Result<(), Error> {
    let Some(first) = thinnings.first() else { return Ok(()) };
    let turn = ELSEWHERE_LON - first.ground.site.frame.origin().lon();
    for thinning in thinnings {
        let site = &thinning.ground.site;
        let refused = |what: String| {
            let place = Place::file(site.name.as_str());
            Error::from(
                Finding::fault(place, what).mend("leave --move-place out, or shorten the name"),
            )
        };
        let name = format!("{}{MOVED}", site.name).parse();
        let name = name.map_err(|error: crate::names::NameError| refused(error.to_string()))?;
        let frame = site.frame.turned_about_the_axis(turn);
        let frame = frame.map_err(|error| refused(error.to_string()))?;
        thinning.ground.site = Site { name, frame, ..site.clone() };
    }
    Ok(())
}

fn block(thinning: &Thinning, folder: &str) -> Result<BundledBlock, Error> {
    let Thinning { ground, joined, .. } = thinning;
    // A block without a vine has no rasters.
    let grid = (!ground.layout.vines.is_empty()).then(|| raster_grid(&ground.site)).transpose();
    let grid = grid.map_err(|error| error.at(Place::file(ground.site.name.as_str())))?;
    Ok(BundledBlock {
        name: ground.site.name.to_string(),
        folder: folder.to_owned(),
        date: joined.date,
        vines_and_records: [ground.layout.vines.len(), joined.records.len()],
        grid: grid.map(|grid| grid.code().to_owned()),
    })
}
