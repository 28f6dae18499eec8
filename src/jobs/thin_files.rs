//! The files of a thinned block.

use rayon::prelude::*;

use super::{
    deliver::Made,
    overlays::{Overlay, kml_pictures},
    prepare,
    record::{self, Told},
    thin::Thinning,
};
use crate::{
    error::Error,
    estimate::sure::Sure,
    finding::{Findings, Place},
    frame::CellGrid,
    jobs::Call,
    layout::{VineCells, vine_cells},
    picture::{
        Caption, CrewPaper, HeatMap, Scene, SureCaption, crew_sheet, decision_scenes, heat_map,
        heat_map_scene, how_sure_scene, screen_maps, to_pdf, to_png, variogram_scene,
    },
    plan::{self, work},
    read::Inputs,
    units::ReadingUnits,
    write::{
        Layer, Table, Wanted,
        csv::csv,
        flatgeobuf::flatgeobuf,
        geojson::geojson,
        page::{MapPage, map_html},
        properties,
        properties::Thinned,
        run_record::CountsRecord,
    },
};

/// The files that `thin` writes for a block.
pub(super) const FILES: &[&str] = &[
    "rows.geojson",
    "vines.geojson",
    "panels.geojson",
    "zones.geojson",
    "rows.fgb",
    "vines.fgb",
    "panels.fgb",
    "zones.fgb",
    "zones.csv",
    "thinning.json",
    "counts-joined.csv",
    "unjoined.csv",
    "count-next.csv",
    "crew-sheet.csv",
    "crew-sheet.pdf",
    "shoot-density.png",
    "vigor.png",
    "thinning-need.png",
    "shoot-density-overlay.png",
    "shoot-density-overlay.pgw",
    "shoot-density-overlay.png.aux.xml",
    "shoot-density.tif",
    "vigor-overlay.png",
    "vigor-overlay.pgw",
    "vigor-overlay.png.aux.xml",
    "vigor.tif",
    "thinning-need-overlay.png",
    "thinning-need-overlay.pgw",
    "thinning-need-overlay.png.aux.xml",
    "thinning-need.tif",
    "variogram.png",
    "how-sure.pdf",
    "how-sure.png",
    PAGE,
    "map.kmz",
    "map.pdf",
    "block.gpkg",
    "run.json",
];

/// The maps with their file names.
const MAPS: [(&str, HeatMap); 3] = [
    ("shoot-density.png", HeatMap::ShootDensity),
    ("vigor.png", HeatMap::Vigor),
    ("thinning-need.png", HeatMap::ThinningNeed),
];

/// The page that has the maps in it.
const PAGE: &str = "map.html";

/// The pages of how sure the estimate is.
const SURE: [&str; 3] = ["variogram.png", "how-sure.pdf", "how-sure.png"];

/// So many panels are named to count next.
const NEXT_COUNTS: usize = 10;

/// The wanted files of one block, the run record among them.
pub(super) fn files(
    call: &Call,
    inputs: &Inputs,
    thinning: &Thinning,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let thinned = Thinned::new(thinning.evidence(), &thinning.plan);
    let units = prepare::units(call, &thinning.ground.block);
    let mut findings = thinning.ground.findings.clone();
    findings.extend(thinning.findings.clone());
    let all: Vec<&'static str> =
        FILES.iter().copied().filter(|name| *name == record::NAME || wanted.wants(name)).collect();
    let kept: Vec<&'static str> =
        all.iter().copied().filter(|name| *name != record::NAME).collect();
    let in_place = kept.iter().any(|name| Overlay::named(name).is_some());
    let ground = &thinning.ground;
    let cells =
        in_place.then(|| vine_cells(&ground.site, &ground.layout, CellGrid::Utm)).transpose();
    let cells = cells.map_err(|error| error.at(Place::file(ground.site.name.as_str())))?.flatten();
    let maker = Maker {
        thinned: &thinned,
        sure: &thinning.sure,
        units,
        findings: &findings,
        files: &all,
        cells: cells.as_ref(),
    };
    let made: Vec<Option<Vec<u8>>> =
        kept.par_iter().map(|name| maker.make(call, name)).collect::<Result<_, Error>>()?;
    // A map without anything to show is not written; the report says why.
    let mut made: Made = kept
        .into_iter()
        .zip(made)
        .filter_map(|(name, bytes)| Some((name.to_owned(), bytes?)))
        .collect();
    let told = Told {
        command: "thin",
        site: &thinning.ground.site,
        counts: Some(counts(thinning)),
        totals: thinned.totals(),
        method: vec![thinning.estimate.shoots.why.clone(), thinning.zones.why.clone()],
        findings: &findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

/// What the files of a block are made from.
struct Maker<'a> {
    thinned: &'a Thinned<'a>,
    sure: &'a Sure,
    units: ReadingUnits,
    findings: &'a Findings,
    files: &'a [&'static str],
    /// Whose ground each cell of a raster is; `None` where no raster is wanted or no vine stands.
    cells: Option<&'a VineCells>,
}

impl Maker<'_> {
    /// The bytes of one file; `None` where there is nothing to show.
    fn make(&self, call: &Call, name: &str) -> Result<Option<Vec<u8>>, Error> {
        let thinned = self.thinned;
        let evidence = thinned.evidence;
        if let Some((_, map)) = MAPS.iter().find(|(file, _)| *file == name) {
            return self.map(call, *map);
        }
        if let Some(overlay) = Overlay::named(name) {
            let found = (evidence, thinned.plan);
            let Some(cells) = self.cells else { return Ok(None) };
            return overlay.bytes(found, &self.caption(call), cells);
        }
        if SURE.contains(&name) {
            return self.how_sure(call, name);
        }
        let zones = || properties::zones(thinned);
        if let Some(stem) = name.strip_suffix(".geojson") {
            return Ok(Some(geojson(&self.layer(stem)?)));
        }
        if let Some(stem) = name.strip_suffix(".fgb") {
            return flatgeobuf(&self.layer(stem)?);
        }
        Ok(Some(match name {
            "zones.csv" => csv(&properties::zones_table(&zones(), self.units)),
            "thinning.json" => {
                properties::thinning_json(thinned, self.sure, &zones(), self.findings)?
            }
            "counts-joined.csv" => csv(&properties::counts_joined(thinned)),
            "unjoined.csv" => csv(&properties::unjoined(&evidence.joined.unjoined)),
            "count-next.csv" => csv(&self.next_counts()),
            "crew-sheet.csv" => {
                let work = work::work(evidence, thinned.plan);
                csv(&properties::crew_table(thinned, &work, self.units))
            }
            "crew-sheet.pdf" => self.crew_sheet(call)?,
            "map.kmz" => {
                let pictures = kml_pictures((evidence, thinned.plan), &self.caption(call))?;
                properties::map_kmz(thinned, pictures, self.units)?
            }
            "map.pdf" => self.map_pdf(call)?,
            "block.gpkg" => properties::thinned_gpkg(thinned)?,
            PAGE => self.page(call)?,
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        }))
    }

    /// What a mapping program opens, by the beginning of the file's name.
    fn layer(&self, stem: &str) -> Result<Layer, Error> {
        let evidence = self.thinned.evidence;
        Ok(match stem {
            "rows" => properties::rows(evidence.site, evidence.layout),
            "vines" => properties::vines(self.thinned),
            "panels" => properties::panels(self.thinned),
            "zones" => properties::zones(self.thinned),
            other => return Err(Error::Unexpected(format!("no layer is called `{other}`"))),
        })
    }

    /// The sheet of the panels to count next.
    fn next_counts(&self) -> Table {
        let (evidence, plan) = (self.thinned.evidence, self.thinned.plan);
        let next = plan::next_counts(evidence, plan, NEXT_COUNTS);
        properties::next_sheet(evidence, (&next, plan), self.units)
    }

    /// What the crew is handed.
    fn crew_sheet(&self, call: &Call) -> Result<Vec<u8>, Error> {
        let (evidence, plan) = (self.thinned.evidence, self.thinned.plan);
        let told = CrewPaper {
            units: self.units,
            paper: prepare::paper(call, self.units),
            today: call.thinning.date,
            renewal_shoots: call.settings.plan().renewal_shoots,
            words: &call.words,
        };
        let pages = crew_sheet(evidence, plan, &work::work(evidence, plan), &told)?;
        to_pdf(&pages, evidence.site.name.as_str())
    }

    fn how_sure(&self, call: &Call, name: &str) -> Result<Option<Vec<u8>>, Error> {
        let evidence = self.thinned.evidence;
        let zones: Vec<(String, [f64; 3])> = evidence.zones.means();
        let caption = SureCaption {
            block: evidence.site.name.as_str(),
            date: evidence.joined.date.or(call.thinning.date),
            units: self.units,
            paper: prepare::paper(call, self.units),
            zones: &zones,
        };
        if name == "variogram.png" {
            return variogram_scene(self.sure, &caption)?.map(|scene| to_png(&scene)).transpose();
        }
        let page: Scene = how_sure_scene(self.sure, &caption)?;
        let as_pdf = name == "how-sure.pdf";
        let bytes =
            if as_pdf { to_pdf(std::slice::from_ref(&page), &page.title) } else { to_png(&page) };
        bytes.map(Some)
    }

    fn map(&self, call: &Call, map: HeatMap) -> Result<Option<Vec<u8>>, Error> {
        heat_map(map, self.thinned.evidence, self.thinned.plan, &self.caption(call))
    }

    /// The decision, then a page for every map that has something to show.
    fn map_pdf(&self, call: &Call) -> Result<Vec<u8>, Error> {
        let (evidence, plan, caption) =
            (self.thinned.evidence, self.thinned.plan, self.caption(call));
        let mut pages = decision_scenes(evidence, plan, &caption)?;
        for map in [HeatMap::ThinningNeed, HeatMap::ShootDensity, HeatMap::Vigor] {
            pages.extend(heat_map_scene(map, evidence, plan, &caption)?);
        }
        to_pdf(&pages, evidence.site.name.as_str())
    }

    fn caption(&self, call: &Call) -> Caption {
        let paper = prepare::paper(call, self.units);
        let drawn = (paper, call.output.style);
        Caption::new(self.units, drawn, call.thinning.date, &call.settings.plan())
    }

    /// The page with the maps; it names the other files, those left out that have nothing to show.
    fn page(&self, call: &Call) -> Result<Vec<u8>, Error> {
        let thinned = self.thinned;
        let maps = screen_maps(thinned.evidence, thinned.plan, &self.caption(call))?;
        // A map that has nothing to show is written in none of its forms.
        let shown = |map: HeatMap| maps.layers.iter().any(|layer| layer.map == map);
        let of_map = |name: &str, file: &str| name.starts_with(file.trim_end_matches(".png"));
        let empty = |name: &str| {
            MAPS.iter().any(|(file, map)| of_map(name, file) && !shown(*map))
                || (name == SURE[0] && self.sure.variogram.is_none())
        };
        let others = self.files.iter().copied().filter(|name| *name != PAGE && !empty(name));
        let files: Vec<&str> = others.collect();
        map_html(&MapPage {
            thinned,
            sure: self.sure,
            maps: &maps,
            units: self.units,
            date: call.thinning.date,
            files: &files,
        })
    }
}

/// What became of the records of the field.
fn counts(thinning: &Thinning) -> CountsRecord {
    let joined = &thinning.joined;
    CountsRecord {
        read: joined.records.len() + joined.unjoined.len(),
        joined: joined.records.len(),
        left_out: joined.unjoined.len(),
        used: joined.shoots.len(),
    }
}
