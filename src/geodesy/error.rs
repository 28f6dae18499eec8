//! What the earth cannot be asked.

use jiff::civil::Date;

use crate::finding::{Finding, Place};

/// Why a question about the earth has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum GeodesyError {
    /// A grid that no register knows.
    #[error("`{0}` is no grid that is known")]
    UnknownGrid(String),
    /// A description that is no coordinate system on the earth.
    #[error("`{0}` is no coordinate system that is known")]
    UnknownSystem(String),
    /// Degrees of longitude and latitude, where metres or feet are wanted.
    #[error("{0} is no projected grid")]
    NotProjected(String),
    /// A place that the grid does not reach.
    #[error("{x}, {y} cannot be carried between {crs} and longitude and latitude")]
    OffGrid {
        /// The grid.
        crs: String,
        /// Easting, or longitude.
        x: f64,
        /// Northing, or latitude.
        y: f64,
    },
    /// A grid whose numbers grow neither eastward nor northward.
    #[error("{crs} counts {ways}, not east and north")]
    OtherAxes {
        /// The grid.
        crs: String,
        /// Which ways it counts.
        ways: String,
    },
    /// A grid in a unit that no receiver's list of units has.
    #[error("{crs} counts in a unit called `{unit}`")]
    OtherUnit {
        /// The grid.
        crs: String,
        /// Its unit.
        unit: String,
    },
    /// A date outside the years of the magnetic model.
    #[error(
        "the magnetic declination on {date} is not known: the model holds from {first} to {last}"
    )]
    OutsideMagneticModel {
        /// The date asked for.
        date: Date,
        /// The first year of the model.
        first: i32,
        /// The last year of the model.
        last: i32,
    },
    /// A place outside the heights of the magnetic model.
    #[error("the magnetic declination at a height of {0:.0} m is not known")]
    OutsideMagneticHeights(f64),
    /// A day outside the years in which the sun's place is known.
    #[error("where the sun stands on {date} is not known: the years run from {first} to {last}")]
    OutsideSunYears {
        /// The day asked for.
        date: Date,
        /// The first year.
        first: i16,
        /// The last year.
        last: i16,
    },
    /// The sun's place could not be computed.
    #[error("where the sun stands could not be computed")]
    Sun,
    /// PROJ refused a plane of our own making.
    #[error("PROJ refused `{0}`")]
    Plane(String),
}

impl GeodesyError {
    /// How to mend it.
    pub const fn mend(&self) -> &'static str {
        match self {
            Self::UnknownGrid(_) => "write it as EPSG:n, such as EPSG:32633",
            Self::UnknownSystem(_) => "pass the grid of its numbers with --crs EPSG:n",
            Self::NotProjected(_) => "name the projected grid that the numbers are in",
            Self::OffGrid { .. } => "check the zone, and that easting comes before northing",
            Self::OtherAxes { .. } => {
                "name a grid that counts east and north, or leave --crs out: UTM is used then"
            }
            Self::OtherUnit { .. } => {
                "name a grid in metres or feet, or leave --crs out: UTM is used then"
            }
            Self::OutsideMagneticModel { .. } => {
                "give the bearing from true north, with \"north\": \"true\""
            }
            Self::OutsideMagneticHeights(_) => "check `elevation`, in metres",
            Self::OutsideSunYears { .. } => "give days of a season to come",
            Self::Plane(_) | Self::Sun => "this is a fault of the program, please report it",
        }
    }

    /// The fault to report, at its place in the inputs.
    pub fn at(&self, place: Place) -> Finding {
        Finding::fault(place, self.to_string()).mend(self.mend())
    }
}
