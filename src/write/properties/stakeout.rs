//! Stake-out tables and waypoints: the same stakes for a survey receiver and for finding the way.

use std::{fmt, str::FromStr};

use crate::{
    frame::{Site, StakeGrid},
    geodesy::GeodesyError,
    layout::{Stake, StakeKind},
    write::{
        Table, Value,
        gpx::{Gpx, Waypoint},
        layers::rounded,
        properties::ground::STAKE_DECIMALS,
    },
};

/// The order of a stake-out table's columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum PointOrder {
    /// Point, northing, easting, elevation, description.
    #[default]
    Pnezd,
    /// Point, easting, northing, elevation, description.
    Penzd,
    /// Point, latitude, longitude, elevation, description; degrees on WGS84.
    Llh,
}

impl PointOrder {
    const ALL: [(&'static str, Self); 3] =
        [("pnezd", Self::Pnezd), ("penzd", Self::Penzd), ("llh", Self::Llh)];

    /// The heads of the table.
    pub const fn heads(self) -> [&'static str; 5] {
        match self {
            Self::Pnezd => ["point", "northing", "easting", "elevation", "description"],
            Self::Penzd => ["point", "easting", "northing", "elevation", "description"],
            Self::Llh => ["point", "latitude", "longitude", "elevation", "description"],
        }
    }
}

impl FromStr for PointOrder {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let found = Self::ALL.into_iter().find(|(word, _)| *word == text);
        found.map(|(_, order)| order).ok_or_else(|| "write pnezd, penzd or llh".to_owned())
    }
}

impl fmt::Display for PointOrder {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let word = Self::ALL.iter().find(|(_, order)| order == self).map_or("", |(word, _)| word);
        f.write_str(word)
    }
}

/// The numbers of a stake-out table: in a grid, or degrees on WGS84.
#[derive(Debug, Clone, Copy)]
pub enum StakeNumbers<'a> {
    /// Easting and northing; true where easting comes first.
    Grid(&'a StakeGrid, bool),
    /// Latitude and longitude.
    Degrees,
}

impl<'a> StakeNumbers<'a> {
    /// The numbers that an order takes; degrees without a grid.
    pub fn new(order: PointOrder, grid: Option<&'a StakeGrid>) -> Self {
        match (order, grid) {
            (PointOrder::Pnezd, Some(grid)) => Self::Grid(grid, false),
            (PointOrder::Penzd, Some(grid)) => Self::Grid(grid, true),
            (PointOrder::Llh, _) | (_, None) => Self::Degrees,
        }
    }

    /// The name of the table's file, with code and unit in it.
    pub fn file_name(self) -> String {
        match self {
            Self::Grid(grid, _) => {
                let code = grid.transform.code().replace(':', "").to_lowercase();
                format!("stakeout-{code}-{}.csv", grid.facts.unit.short())
            }
            Self::Degrees => "stakeout-epsg4326-deg.csv".to_owned(),
        }
    }

    /// The two numbers of a stake as they are written: to 0.001 of the grid's unit, or to 9
    /// decimals of a degree.
    ///
    /// # Errors
    /// A place that the grid does not reach.
    pub fn of(self, site: &Site, stake: &Stake) -> Result<[String; 2], GeodesyError> {
        let fixed = |value: f64, decimals: u8| {
            let width = usize::from(decimals);
            format!("{:.width$}", rounded(value, decimals))
        };
        Ok(match self {
            Self::Grid(grid, east_first) => {
                let at = grid.point(site, stake.at)?;
                let (east, north) = (fixed(at.east, 3), fixed(at.north, 3));
                if east_first { [east, north] } else { [north, east] }
            }
            Self::Degrees => {
                let at = site.frame.to_lon_lat(stake.at);
                [fixed(at.lat(), STAKE_DECIMALS), fixed(at.lon(), STAKE_DECIMALS)]
            }
        })
    }
}

/// The stakes as a table for a survey receiver.
///
/// Points are numbered from 1, as many receivers ask; the description holds the short name and the
/// long one. Elevations are empty: a block has one height, and no stake its own.
///
/// # Errors
/// A place that the grid does not reach.
pub fn stakeout_table(
    site: &Site,
    stakes: &[Stake],
    order: PointOrder,
    numbers: StakeNumbers<'_>,
) -> Result<Table, GeodesyError> {
    let row = |(index, stake): (usize, &Stake)| -> Result<Vec<Value>, GeodesyError> {
        let [first, second] = numbers.of(site, stake)?;
        let description = format!("{} {}", stake.name, words(stake));
        let point = Value::from(index + 1);
        Ok(vec![point, first.into(), second.into(), Value::Null, description.into()])
    };
    Ok(Table {
        name: "stakeout",
        heads: order.heads().map(str::to_owned).into(),
        rows: stakes.iter().enumerate().map(row).collect::<Result<_, _>>()?,
    })
}

/// The long name of a stake, with what it is where the name does not say so.
fn words(stake: &Stake) -> String {
    match stake.kind {
        StakeKind::Check => format!("check point: {}", stake.id),
        StakeKind::Control => format!("control point: {}", stake.id),
        StakeKind::Vine | StakeKind::EndPost | StakeKind::LinePost | StakeKind::Anchor => {
            stake.id.clone()
        }
    }
}

/// What every waypoint file says of itself.
pub const FINDING_THE_WAY: &str = "For finding the way, not for setting posts: a receiver that \
     reads this file may be metres off. WGS 84, no shift applied. Not a legal boundary.";

/// Some stakes as waypoints.
pub fn waypoints(site: &Site, stakes: &[&Stake], title: &str) -> Gpx {
    let waypoint = |stake: &&Stake| Waypoint {
        at: site.frame.to_lon_lat(stake.at),
        name: stake.name.clone(),
        words: words(stake),
        kind: stake.kind.words(),
    };
    Gpx {
        name: title.to_owned(),
        words: FINDING_THE_WAY.to_owned(),
        waypoints: stakes.iter().map(waypoint).collect(),
        decimals: STAKE_DECIMALS,
    }
}
