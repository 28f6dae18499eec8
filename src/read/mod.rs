//! Files in, nouns out: what people draw and write down, with everything odd about it told.
//!
//! Takes paths, gives [`Inputs`]. Never panics on input, never drops a record silently, never asks
//! the earth for more than longitude and latitude.

mod archive;
mod block_features;
mod cells;
mod count_columns;
mod crossing;
mod csv;
mod dates;
mod dbf;
mod elsewhere;
mod features;
mod geojson;
mod geopackage;
mod given_vines;
mod gp_blob;
mod gpx;
mod grid_doubts;
mod homes;
mod journal;
mod json_scan;
mod json_token;
mod key_values;
mod keys;
mod kml;
mod kml_geometry;
mod loops;
mod map_file;
mod neighbours;
mod no_day;
mod outline;
mod own_grid;
mod positions;
mod raster;
mod raster_facts;
mod raster_heights;
mod raster_vigor;
mod records;
mod role_features;
mod row_list;
mod row_set;
mod shape_faults;
mod shape_geometry;
mod shapefile;
mod sheet;
mod source;
mod spikes;
mod spreadsheets;
mod table;
mod telling;
#[cfg(test)]
mod tests;
mod text_keys;
mod walked;
mod workbook;
mod xml;

use std::{
    ops::Range,
    path::{Path, PathBuf},
};

use crate::{
    block::{Block, BlockKeys},
    counts::Count,
    error::Error,
    finding::{Finding, Findings, Place},
    geodesy::{GridTransform, LonLat},
    grid::Grid,
};
use block_features::{BlockReading, blocks_of};
use journal::{Journal, OfPlan};
use map_file::map_of;
use own_grid::{Given, MapFile, OwnGrid};
use positions::Axes;
use source::Source;
use table::Table;

pub use dates::date_from_text;
pub use keys::{KEYS, Key, key_from_text};

/// What to read and how.
#[derive(Debug, Clone, Default)]
pub struct Request {
    /// The block file.
    pub blocks: PathBuf,
    /// Keys from the command line, which overrule those of every block.
    pub overriding: BlockKeys,
    /// Counts (CSV, XLSX, GeoJSON points, or journals of the count sheet).
    pub counts: Vec<PathBuf>,
    /// Counts after the work, in the same forms.
    pub recount: Vec<PathBuf>,
    /// The grower's own list of rows.
    pub rows: Option<PathBuf>,
    /// Vine positions taken as they are.
    pub vines: Option<PathBuf>,
    /// An elevation model of the ground (GeoTIFF).
    pub dem: Option<PathBuf>,
    /// A raster of any relative measure of vigor (GeoTIFF).
    pub vigor: Option<PathBuf>,
    /// A list of stops that somebody chose, as records without a count.
    pub stops: Option<PathBuf>,
    /// The files name latitude before longitude.
    pub swap_axes: bool,
    /// The character set of the tables, when it is not Unicode.
    pub encoding: Option<String>,
    /// Doubts are faults.
    pub strict: bool,
    /// Limits of plausibility do not apply.
    pub allow_unusual: bool,
    /// Whose counts of a block go together.
    pub plans: Plans,
    /// The projected grid of positions that are no degrees, such as `EPSG:32610`.
    pub crs: Option<String>,
}

/// Whose counts of a block go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Plans {
    /// Those of one plan: of one sheet that was drawn.
    #[default]
    One,
    /// Those of several, each put together by itself.
    Several,
}

/// The text of a file that is neither a block nor a table, such as a settings file.
///
/// # Errors
/// A file that cannot be read, or that is no text.
pub fn text_of(path: &Path) -> Result<String, Error> {
    Ok(Source::open(path)?.text(None, &mut Findings::none())?)
}

/// The text of such a file, and the SHA-256 of its bytes.
///
/// # Errors
/// Those of [`text_of`].
pub fn text_and_hash_of(path: &Path) -> Result<(String, String), Error> {
    let source = Source::open(path)?;
    Ok((source.text(None, &mut Findings::none())?, source.hash))
}

/// Everything that was read.
#[derive(Debug, Clone)]
pub struct Inputs {
    /// The blocks, in the file's order.
    pub blocks: Vec<Block>,
    /// The records of the field, in the order of files and lines, those of journals last.
    pub counts: Vec<Count>,
    /// The records of a recount after the work, in the same order.
    pub recount: Vec<Count>,
    /// Heights of the ground around the blocks, metres.
    pub elevation: Option<Grid>,
    /// A relative measure of vigor around the blocks, in a unit of its own.
    pub vigor: Option<Grid>,
    /// The stops that somebody chose, in the order of lines.
    pub stops: Vec<Count>,
    /// The projected grid of `--crs`, else the one that the block file states if a register has it,
    /// such as `EPSG:32633`.
    pub grid: Option<String>,
    /// The files with their bytes' SHA-256: `(the file's own name, hash)`, no folder in it.
    pub files: Vec<(String, String)>,
    /// Which of these hold the recount.
    pub after: Range<usize>,
}

impl Inputs {
    /// Reads every file of a request.
    ///
    /// # Errors
    /// A file that cannot be read, or every fault of every file together.
    pub fn read(request: &Request) -> Result<(Self, Findings), Error> {
        let mut reading = Reading::new(request);
        let blocks = reading.blocks()?;
        let elevation =
            reading.raster(request.dem.as_deref(), &blocks, raster_heights::elevation)?;
        let vigor = reading.raster(request.vigor.as_deref(), &blocks, raster_vigor::vigor)?;
        let counts = reading.counts(&request.counts, &blocks, true)?;
        let before = reading.files.len();
        let recount = reading.counts(&request.recount, &blocks, true)?;
        let after = before..reading.files.len();
        let stops = reading.counts(request.stops.as_slice(), &blocks, false)?;
        let grid =
            reading.grid.as_ref().filter(|grid| grid.is_projected()).map(GridTransform::code);
        let grid = grid.filter(|code| is_of_a_register(code));
        let grid = request.crs.clone().or_else(|| grid.map(str::to_owned));
        let mut findings = reading.findings;
        neighbours::compare(&blocks, &counts, reading.grid.as_ref(), &mut findings);
        let findings = telling::handed_on(findings, request.strict);
        if findings.any_fault() {
            return Err(Error::Input(findings));
        }
        let files = reading.files;
        let read = Self { blocks, counts, recount, elevation, vigor, stops, grid, files, after };
        Ok((read, findings))
    }
}

/// True for `EPSG:32633`; the name of a grid that no register has leads to nothing.
fn is_of_a_register(code: &str) -> bool {
    code.split_once(':').is_some_and(|(register, number)| {
        let letters =
            |text: &str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_alphanumeric());
        letters(register) && letters(number)
    })
}

/// The grid of `--crs`; a code that is no grid is a fault.
fn grid(code: &str, findings: &mut Findings) -> Option<GridTransform> {
    GridTransform::new(code).map_err(|error| findings.push(error.at(Place::field("--crs")))).ok()
}

/// How well a grid is tied to longitude and latitude at a place.
fn tie(grid: &GridTransform, place: Place, at: LonLat, allow_unusual: bool) -> Finding {
    let accuracy = grid.accuracy_at(at);
    let code = grid.code();
    match accuracy.metres {
        _ if accuracy.ballpark && !allow_unusual => {
            Finding::fault(place, format!("how {code} lies on the globe is only a guess here"))
                .because("PROJ knows no way between its datum and WGS84")
                .mend("convert the file with its datum grid, or pass --allow-unusual")
        }
        Some(metres) => {
            Finding::note(place, format!("{code} is tied to WGS84 within {metres} m (PROJ)"))
        }
        None => Finding::note(place, format!("PROJ does not say how well {code} is tied")),
    }
}

/// What was read so far of a request.
struct Reading<'a> {
    request: &'a Request,
    axes: Axes,
    files: Vec<(String, String)>,
    /// The grid that the numbers of the blocks were in, if they were no degrees.
    grid: Option<GridTransform>,
    findings: Findings,
}

impl<'a> Reading<'a> {
    fn new(request: &'a Request) -> Self {
        let mut findings = Findings::none();
        let grid = request.crs.as_deref().and_then(|code| grid(code, &mut findings));
        let axes = Axes { swapped: request.swap_axes, grid, stated: false };
        Self { request, axes, files: Vec::new(), grid: None, findings }
    }

    /// Tells how well the grids in use are tied to longitude and latitude at the first block, and
    /// refuses a tie that is only a guess.
    fn tie_to_the_globe(&mut self, blocks: &[Block], own: &[OwnGrid]) {
        let corner = blocks.first().and_then(|block| block.outline.0.first()?.exterior().0.first());
        let at = corner.and_then(|corner| LonLat::new(corner.x, corner.y));
        let Some(at) = at else { return };
        let unusual = self.request.allow_unusual;
        let passed = self.axes.grid.iter().map(|grid| (grid, Place::field("--crs")));
        let own = own.iter().map(|own| (&own.grid, own.place.clone()));
        let ties = passed.chain(own).map(|(grid, place)| tie(grid, place, at, unusual));
        self.findings.extend(ties.collect());
    }

    fn open(&mut self, path: &Path) -> Result<Source, Error> {
        let mut source = Source::open(path)?;
        source.tell_apart(&self.files);
        self.files.push((source.name.clone(), source.hash.clone()));
        Ok(source)
    }

    fn blocks(&mut self) -> Result<Vec<Block>, Error> {
        let source = self.open(&self.request.blocks)?;
        let mut blocks = Vec::new();
        if let Some(map) = self.map(&source) {
            let reading = BlockReading {
                overriding: &self.request.overriding,
                allow_unusual: self.request.allow_unusual,
                file: &source.name,
            };
            let passed = self.axes.grid.clone().filter(|_| map.in_passed_grid);
            self.grid = map.grids.first().map(|own| own.grid.clone()).or(passed);
            blocks = blocks_of(map.document, &reading, &mut self.findings);
            self.tie_to_the_globe(&blocks, &map.grids);
        }
        if let Some(path) = &self.request.rows {
            let source = self.open(path)?;
            if let Some(table) = self.table(&source, row_list::COLUMNS) {
                row_list::list_rows(&table, &mut blocks, &mut self.findings);
            }
        }
        if let Some(path) = &self.request.vines {
            let source = self.open(path)?;
            if let Some(map) = self.map(&source) {
                given_vines::take_vines(&map.document, &mut blocks, &mut self.findings);
            }
        }
        Ok(blocks)
    }

    /// What a raster says around the blocks; what is wrong with the file is in the findings.
    fn raster(
        &mut self,
        path: Option<&Path>,
        blocks: &[Block],
        read: fn(Source, &[Block], &mut Findings) -> Result<Grid, Finding>,
    ) -> Result<Option<Grid>, Error> {
        let Some(path) = path else { return Ok(None) };
        let mut source = Source::open_raster(path)?;
        source.tell_apart(&self.files);
        self.files.push((source.name.clone(), source.hash.clone()));
        if blocks.is_empty() {
            return Ok(None);
        }
        let grid = read(source, blocks, &mut self.findings);
        Ok(grid.map_err(|finding| self.findings.push(finding)).ok())
    }

    /// The records of tables; of lists of stops without what was `measured`. Journals of the count
    /// sheet are put together, and come after the tables.
    fn counts(
        &mut self,
        paths: &[PathBuf],
        blocks: &[Block],
        measured: bool,
    ) -> Result<Vec<Count>, Error> {
        let (mut tables, mut journals, mut plans) = (Vec::new(), Vec::new(), Vec::new());
        for path in paths {
            let source = self.open(path)?;
            if journal::is_journal(&source) {
                let journal = self.journal(&source, blocks);
                plans.extend(journal.as_ref().map(OfPlan::of_journal));
                journals.extend(journal);
            } else {
                plans.extend(OfPlan::of_name(&source.name));
                tables.extend(self.table(&source, count_columns::COLUMNS));
            }
        }
        journal::tell_several(&plans, self.request.plans, &mut self.findings);
        tables.extend(journal::tables_of(journals, &mut self.findings));
        let unusual = self.request.allow_unusual;
        let records = tables.into_iter().flat_map(|table| {
            count_columns::counts_of(table, (unusual, measured), &mut self.findings)
        });
        Ok(records.collect())
    }

    /// The journal in a file; what is wrong with it is in the findings.
    fn journal(&mut self, source: &Source, blocks: &[Block]) -> Option<Journal> {
        let names: Vec<&str> = blocks.iter().map(|block| block.name.as_str()).collect();
        let journal = Journal::read(source, &mut self.findings)
            .and_then(|journal| journal::refuse_other_block(&journal, &names).map(|()| journal));
        journal.map_err(|finding| self.findings.push(finding)).ok()
    }

    /// The map in a file; what is wrong with it is in the findings.
    fn map(&mut self, source: &Source) -> Option<MapFile> {
        let given = Given { axes: &self.axes, encoding: self.request.encoding.as_deref() };
        let map = map_of(source, &given, &mut self.findings);
        let mut map = map.map_err(|finding| self.findings.push(finding)).ok()?;
        self.files.append(&mut map.beside);
        Some(map)
    }

    /// The table of a file, CSV, XLSX or GeoJSON points.
    fn table(&mut self, source: &Source, known: &[&str]) -> Option<Table> {
        if workbook::is_workbook(source) {
            let table = workbook::table_of(source, known, &mut self.findings);
            return table.map_err(|finding| self.findings.push(finding)).ok();
        }
        let text = source.text(self.request.encoding.as_deref(), &mut self.findings);
        let table = text.and_then(|text| {
            if text.trim_start().starts_with(['{', '\u{1e}']) {
                let given = Given { axes: &self.axes, encoding: self.request.encoding.as_deref() };
                let map = map_of(source, &given, &mut self.findings)?;
                Ok(Table::of_points(&map.document, &source.place(), &mut self.findings))
            } else {
                let table = csv::table_of(&text, &source.place(), known, &mut self.findings)?;
                spreadsheets::tell_decimal_commas(&table, &source.place(), &mut self.findings);
                Ok(table)
            }
        });
        table.map_err(|finding| self.findings.push(finding)).ok()
    }
}
