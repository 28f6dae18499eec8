//! The stake-out files of a block, and the grid they are in.

use std::fmt;

use super::{deliver::Made, layout::PLANS};
use crate::{
    error::Error,
    finding::{Finding, Findings, Place},
    frame::{StakeGrid, stake_grid},
    geodesy::GeodesyError,
    jobs::{Call, Ground},
    layout::{StakeChoice, Stakes, stakes},
    units::ReadingUnits,
    write::{
        Wanted,
        csv::csv,
        geojson::geojson,
        gpx::gpx,
        properties::{
            self, PointOrder, StakeNumbers, StakeSheet, WaypointFile, stakeout_readme,
            stakeout_table, waypoint_files, waypoints,
        },
    },
};

const TABLE: &str = "stakeout-*.csv";
const WAYPOINTS: &str = "stakeout-*.gpx";
const README: &str = "stakeout-readme.txt";
const LINES: &str = "guidance-ab.geojson";
const LINES_KML: &str = "guidance-ab.kml";

/// The files, those without a fixed name by their pattern.
pub(super) const FILES: [&str; 5] = [TABLE, WAYPOINTS, README, LINES, LINES_KML];

/// How a block is staked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StakeOptions {
    /// The order of the table's columns.
    pub order: PointOrder,
    /// Which places are staked out.
    pub choice: StakeChoice,
    /// Most points in a file of waypoints, check points included.
    pub points_per_file: usize,
}

impl Default for StakeOptions {
    fn default() -> Self {
        let (order, choice) = (PointOrder::default(), StakeChoice::default());
        Self { order, choice, points_per_file: 500 }
    }
}

impl fmt::Display for StakeOptions {
    /// What is staked out, in words.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.choice {
            StakeChoice::RowEnds => "the end posts of every row",
            StakeChoice::Vines => "every vine",
            StakeChoice::Posts => "end posts, line posts and anchors",
        })
    }
}

/// The grid of every block, where a wanted file needs one; what is to be told of it.
///
/// # Errors
/// What is wrong with the grid, for all blocks together.
pub(super) fn grids(
    call: &Call,
    grounds: &[Ground],
    wanted: &Wanted,
) -> Result<(Vec<Option<StakeGrid>>, Findings), Error> {
    let needed = wanted.wants_like(TABLE) || wanted.wants(README) || wanted.wants_any(&PLANS);
    if !needed || call.stakes.order == PointOrder::Llh {
        return Ok((vec![None; grounds.len()], Findings::none()));
    }
    let (mut grids, mut notes, mut faults) = (Vec::new(), Findings::none(), Findings::none());
    for ground in grounds {
        let crs = call.request.crs.as_deref();
        match stake_grid(&ground.site, crs, call.request.allow_unusual) {
            Ok(grid) => {
                notes.push(told(ground, &grid));
                grids.push(Some(grid));
            }
            // What is wrong with the grid itself is wrong with it for every block.
            Err(fault) if faults.iter().all(|known| *known != fault) => faults.push(fault),
            Err(_) => {}
        }
    }
    if faults.is_empty() { Ok((grids, notes)) } else { Err(Error::Input(faults)) }
}

fn told(ground: &Ground, grid: &StakeGrid) -> Finding {
    let (code, unit) = (grid.transform.code(), grid.facts.unit.words());
    let name = &ground.site.name;
    let what = format!("stakes of {name} are in {code} ({}), unit {unit}", grid.facts.name);
    let why = if grid.asked { "" } else { "the UTM zone of its middle; --crs names another grid" };
    Finding::note(Place::default(), what).because(why)
}

/// The wanted stake-out files of a block.
pub(super) fn files(
    call: &Call,
    ground: &Ground,
    grid: Option<&StakeGrid>,
    wanted: &Wanted,
) -> Result<Made, Error> {
    let mut made = Made::new();
    let units = super::prepare::units(call, &ground.block);
    let staked = [TABLE, WAYPOINTS].iter().any(|pattern| wanted.wants_like(pattern));
    if staked || wanted.wants(README) {
        let stakes = stakes(&ground.site, &ground.layout, call.stakes.choice);
        let staking = Staking { call, ground, grid, stakes: &stakes };
        staking.files(wanted, units, &mut made)?;
    }
    let (site, layout) = (&ground.site, &ground.layout);
    if wanted.wants(LINES) {
        made.push((LINES.to_owned(), geojson(&properties::guidance(site, layout))));
    }
    if wanted.wants(LINES_KML) {
        let bytes = properties::guidance_kml(site, layout, units)?;
        made.push((LINES_KML.to_owned(), bytes));
    }
    Ok(made)
}

/// A block's stakes on their way into files.
struct Staking<'a> {
    call: &'a Call,
    ground: &'a Ground,
    grid: Option<&'a StakeGrid>,
    stakes: &'a Stakes,
}

impl Staking<'_> {
    fn files(&self, wanted: &Wanted, units: ReadingUnits, made: &mut Made) -> Result<(), Error> {
        let site = &self.ground.site;
        let options = self.call.stakes;
        let stakes = &self.stakes.stakes;
        let numbers = StakeNumbers::new(options.order, self.grid);
        let mut told = Vec::new();
        let table = numbers.file_name();
        if wanted.wants(&table) {
            let rows = stakeout_table(site, stakes, options.order, numbers)
                .map_err(|error| off(&error))?;
            told.push((table.clone(), self.words_of_table()));
            made.push((table, csv(&rows)));
        }
        for file in waypoint_files(stakes, options.points_per_file) {
            if wanted.wants(&file.name) {
                let bytes = gpx(&waypoints(site, &file.stakes, &self.title(&file)))?;
                told.push((file.name.clone(), words_of(&file)));
                made.push((file.name, bytes));
            }
        }
        if wanted.wants(README) {
            told.extend(words_of_lines(wanted));
            let sheet = StakeSheet {
                site,
                layout: &self.ground.layout,
                stakes: self.stakes,
                order: options.order,
                grid: self.grid,
                files: &told,
                units,
            };
            made.push((README.to_owned(), stakeout_readme(&sheet).map_err(|error| off(&error))?));
        }
        Ok(())
    }

    fn words_of_table(&self) -> String {
        let options = self.call.stakes;
        let heads = options.order.heads().join(",");
        format!("{heads}: {} points, {options}", self.stakes.stakes.len())
    }

    fn title(&self, file: &WaypointFile<'_>) -> String {
        let rows = file.rows().map(|[a, b]| format!(", rows {a}-{b}")).unwrap_or_default();
        format!("{}{rows}", self.ground.site.name)
    }
}

/// What is said of the guidance lines.
fn words_of_lines(wanted: &Wanted) -> impl Iterator<Item = (String, String)> + '_ {
    let words = "straight A-B lines on the rows themselves, A at vine 1's end; a machine that runs \
                 between rows is set half a row aside";
    let lines = [LINES, LINES_KML].into_iter().filter(|name| wanted.wants(name));
    lines.map(|name| (name.to_owned(), words.to_owned()))
}

fn words_of(file: &WaypointFile<'_>) -> String {
    let named = |[a, b]: [u32; 2]| {
        if a == b { format!("row {a}, ") } else { format!("rows {a} to {b}, ") }
    };
    let rows = file.rows().map(named).unwrap_or_default();
    let number = file.stakes.len();
    format!("{rows}{number} waypoints for finding the way, not for setting posts")
}

pub(super) fn off(error: &GeodesyError) -> Error {
    error.at(Place::field("--crs")).into()
}
