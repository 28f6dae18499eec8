//! The files of a sampled block.

use super::{
    deliver::Made,
    prepare,
    record::{self, Told},
    sample::{Drawn, Field, recount_words},
    sample_told::sizes,
};
use crate::{
    error::Error,
    jobs::Call,
    picture::{CountPaper, Paper, count_paper, to_pdf, walk_map},
    read::Inputs,
    sample::{Sample, SheetLine, sheet_lines},
    units::ReadingUnits,
    write::{
        Layer, Shape, Table, Wanted,
        count_sheet::{CountSheet, PLAN_DIGITS, count_sheet_html},
        csv::csv,
        geojson::geojson,
        gpx::gpx,
        properties,
        run_record::{CountsRecord, Totals, sha256},
    },
};

/// The files that `sample` writes for a block.
pub(super) const FILES: &[&str] =
    &["sample.geojson", "sample.csv", "sample.gpx", COUNT_SHEET, COUNT_PAPER, SIZES, "run.json"];

/// The page to count with.
const COUNT_SHEET: &str = "count-sheet.html";
/// The paper to count on.
const COUNT_PAPER: &str = "count-sheet.pdf";

/// The table of errors by number, where stops were drawn.
const SIZES: &str = "sample-sizes.csv";

/// The wanted files of one block, the run record among them.
pub(super) fn files(
    call: &Call,
    inputs: &Inputs,
    (field, (sample, noticed)): (&Field, &Drawn),
    wanted: &Wanted,
) -> Result<Made, Error> {
    let (site, layout) = (&field.ground.site, &field.ground.layout);
    let units = prepare::units(call, &field.ground.block);
    let layer = properties::sample(site, layout, (&sample.stops, call.sampling.window));
    let table = properties::sample_sheet(&layer, units);
    let sheet = csv(&table);
    let counting = Counting {
        field,
        sample,
        units,
        plan: sha256(&sheet),
        lines: sheet_lines(&sample.stops, layout, call.sampling.window, units),
    };
    let mut made = Made::new();
    let has = |name: &str| name != record::NAME && (name != SIZES || sample.drawn() > 0);
    for name in FILES.iter().filter(|name| has(name) && wanted.wants(name)) {
        let bytes = match *name {
            "sample.geojson" => geojson(&layer),
            "sample.gpx" => gpx(&properties::sample_waypoints(&layer, site.name.as_str()))?,
            "sample.csv" => sheet.clone(),
            COUNT_SHEET => counting.page(&layer, &table)?,
            COUNT_PAPER => counting.paper(prepare::paper(call, units))?,
            SIZES => csv(&sizes(call, field, sample)),
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        };
        made.push(((*name).to_owned(), bytes));
    }
    let mut findings = field.ground.findings.clone();
    findings.extend(field.findings.clone());
    findings.extend(noticed.clone());
    let told = Told {
        command: "sample",
        site,
        counts: (!call.request.counts.is_empty()).then(|| CountsRecord {
            read: field.joined.records.len() + field.joined.unjoined.len(),
            joined: field.joined.records.len(),
            left_out: field.joined.unjoined.len(),
            used: field.joined.shoots.len(),
        }),
        totals: Totals {
            rows: layout.rows.len(),
            panels: layout.panels.len(),
            places: layout.vines.len(),
            vines: layout.vines.len(),
            ..Totals::default()
        },
        method: (call.sampling.for_audit.then(|| recount_words(field, sample)).into_iter())
            .chain([if sample.strata.is_empty() { "stops of a list" } else { METHOD }.to_owned()])
            .collect(),
        findings: &findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

/// What the sheets to count on are made from.
struct Counting<'a> {
    field: &'a Field,
    sample: &'a Sample,
    units: ReadingUnits,
    /// SHA-256 of `sample.csv`.
    plan: String,
    lines: Vec<SheetLine>,
}

impl Counting<'_> {
    /// The page to count with.
    fn page(&self, layer: &Layer, table: &Table) -> Result<Vec<u8>, Error> {
        let (site, layout) = (&self.field.ground.site, &self.field.ground.layout);
        let places = layer.features.iter().map(|feature| match &feature.shape {
            Shape::Point(at) => Some([at.lon(), at.lat()]),
            Shape::Line(_) | Shape::Areas(_) => None,
        });
        count_sheet_html(&CountSheet {
            block: site.name.as_str(),
            folder: &self.field.ground.block.name.folder(),
            plan: &self.plan,
            layout,
            stops: &self.sample.stops,
            table,
            lines: &self.lines,
            places: &places.collect::<Vec<_>>(),
            map: &walk_map(site, layout, &self.sample.stops, self.units)?,
            units: self.units,
        })
    }

    /// The paper to count on.
    fn paper(&self, paper: Paper) -> Result<Vec<u8>, Error> {
        let (site, layout) = (&self.field.ground.site, &self.field.ground.layout);
        let plan = self.plan.get(..PLAN_DIGITS).unwrap_or(&self.plan);
        let told = CountPaper { plan, units: self.units, paper };
        let pages = count_paper((site, layout), (&self.sample.stops, &self.lines), &told)?;
        to_pdf(&pages, &format!("{}: count sheet", site.name))
    }
}

const METHOD: &str = "local pivotal method (Grafström, Lundström & Schelin 2012) within plantings, equal \
                      chances; size by Cochran 1977";
