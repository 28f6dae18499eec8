//! The files of several years of a block.

use super::{
    deliver::{self, Made},
    prepare,
    record::{self, Told},
    season::{Year, Years},
    season_told::findings_of,
};
use crate::{
    error::Error,
    finding::Findings,
    jobs::Call,
    names::number_of,
    picture::{Caption, SeasonYearMap, season_scene, to_png},
    read::Inputs,
    units::ReadingUnits,
    write::{
        Wanted,
        csv::csv,
        geojson::geojson,
        properties::{self, SeasonSummary, SeasonView, Thinned},
        run_record::CountsRecord,
    },
};

/// The files that `season` writes for a block.
pub(super) const FILES: &[&str] = &[
    "season.csv",
    "season.json",
    "season.geojson",
    "season.png",
    "counts-joined.csv",
    "unjoined.csv",
    record::NAME,
];

/// The wanted files of one block, the run record among them.
pub(super) fn files(
    call: &Call,
    inputs: &Inputs,
    years: &Years,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let Some(ground) = years.ground() else { return Ok(Made::new()) };
    let view = years.view();
    let maker = Maker {
        years,
        view: &view,
        summary: properties::season_summary(&view),
        findings: findings_of(years),
        units: prepare::units(call, &ground.block),
    };
    let mut made = deliver::made(FILES, wanted, |name| maker.make(call, name))?;
    let told = Told {
        command: "season",
        site: &ground.site,
        counts: Some(counts(years)),
        totals: view.years.last().map(|(_, latest)| latest.totals()).unwrap_or_default(),
        method: method(years),
        findings: &maker.findings,
    };
    let record = record::bytes(call, inputs, &told, &made)?;
    made.push((record::NAME.to_owned(), record));
    Ok(made)
}

struct Maker<'a> {
    years: &'a Years,
    view: &'a SeasonView<'a>,
    summary: SeasonSummary,
    findings: Findings,
    units: ReadingUnits,
}

impl Maker<'_> {
    fn make(&self, call: &Call, name: &str) -> Result<Option<Vec<u8>>, Error> {
        let block = self.years.ground().map_or("", |ground| ground.site.name.as_str());
        Ok(Some(match name {
            "season.csv" => csv(&properties::season_table(block, &self.summary, self.units)),
            "season.json" => properties::season_json(block, &self.summary, &self.findings)?,
            "season.geojson" => geojson(&properties::season_zones(self.view, &self.summary)),
            "season.png" => return self.picture(call),
            "counts-joined.csv" => {
                let years: Vec<&Thinned<'_>> = self.view.years.iter().map(|(_, one)| one).collect();
                csv(&properties::counts_joined_of(&years))
            }
            "unjoined.csv" => csv(&properties::unjoined(&self.years.unjoined)),
            other => return Err(Error::Unexpected(format!("nothing makes `{other}`"))),
        }))
    }

    /// The maps beside each other; none without an estimate.
    fn picture(&self, call: &Call) -> Result<Option<Vec<u8>>, Error> {
        let drawn = (prepare::paper(call, self.units), call.output.style);
        let caption = Caption::new(self.units, drawn, call.thinning.date, &call.settings.plan());
        let maps: Vec<SeasonYearMap<'_>> = self.years.years.iter().map(Year::map).collect();
        let scene = season_scene(&maps, &self.years.comparison, &caption)?;
        scene.map(|scene| to_png(&scene)).transpose()
    }
}

/// What became of the records of the field.
fn counts(years: &Years) -> CountsRecord {
    let all = || years.years.iter().map(|year| &year.thinning.joined);
    let joined = all().map(|joined| joined.records.len()).sum();
    let left_out = years.unjoined.len();
    let used = all().map(|joined| joined.shoots.len()).sum();
    CountsRecord { read: joined + left_out, joined, left_out, used }
}

fn method(years: &Years) -> Vec<String> {
    let each = years.years.iter().map(|year| {
        let Year { thinning, .. } = year;
        format!(
            "{}, {}: {}",
            year.year,
            number_of(thinning.joined.shoots.len(), "place"),
            thinning.estimate.shoots.why
        )
    });
    each.collect()
}
