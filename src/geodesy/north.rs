//! Which north a bearing counts from: the only place where norths are told apart.
//!
//! Both corrections have one sign: true = magnetic + declination, true = grid + convergence, all
//! clockwise.

use jiff::civil::Date;
use world_magnetic_model::{
    Error as ModelError, GeomagneticField, WarningZone,
    time::{Date as ModelDate, Month},
    uom::si::{
        angle::degree,
        f32::{Angle, Length},
        length::meter,
    },
};

use super::{GeodesyError, LonLat, proj_calls, transform::register_code};
use crate::units::{Degrees, Metres};

/// How far magnetic north lies from true north, and how sure that is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Declination {
    /// Clockwise from true north: positive where a compass points east of it.
    pub angle: Degrees,
    /// One standard deviation of the model's error at this place.
    pub uncertainty: Degrees,
    /// Set where a compass is unsure.
    pub caution: Option<CompassCaution>,
}

/// Why a compass is not to be trusted at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CompassCaution {
    /// Horizontal field under 6000 nT: with care.
    Caution,
    /// Horizontal field under 2000 nT: not at all.
    Blackout,
}

/// The declination at a place and height above the ellipsoid on a date.
///
/// # Errors
/// A date outside the years that the model holds, which are named; a height outside −1 … 850 km.
///
/// # Source
/// World Magnetic Model 2020 and 2025 (NOAA NCEI and BGS; WMM2025 technical report,
/// doi 10.25923/prbc-s316; its §1.8 for the zones, §3.4 for the uncertainty).
pub fn declination(at: LonLat, elevation: Metres, date: Date) -> Result<Declination, GeodesyError> {
    let field = GeomagneticField::new(
        Length::new::<meter>(single(elevation.metres())),
        Angle::new::<degree>(single(at.lat())),
        Angle::new::<degree>(single(at.lon())),
        model_date(date),
    )
    .map_err(|refusal| refused(&refusal, elevation, date))?;
    let degrees = |angle: Angle| Degrees::new(f64::from(angle.get::<degree>()));
    Ok(Declination {
        angle: degrees(field.declination()),
        uncertainty: degrees(field.declination_uncertainty()),
        caution: field.declination_warning().map(|zone| match zone {
            WarningZone::BlackoutZone => CompassCaution::Blackout,
            WarningZone::CautionZone => CompassCaution::Caution,
        }),
    })
}

/// How far grid north lies from true north at a place: true = grid + convergence.
///
/// # Errors
/// A grid that is unknown or not projected, or a place that it does not reach.
pub fn convergence(crs: &str, at: LonLat) -> Result<Degrees, GeodesyError> {
    let crs = register_code(crs)?;
    proj_calls::factors(&crs, at)
        .map(|factors| factors.convergence)
        .ok_or(GeodesyError::NotProjected(crs))
}

#[expect(clippy::cast_possible_truncation, reason = "the model is single-precision: 0.0002°")]
const fn single(value: f64) -> f32 {
    value as f32
}

/// A date that the model's calendar cannot hold is far outside its years, as this one is.
fn model_date(date: Date) -> ModelDate {
    let month = u8::try_from(date.month()).ok().and_then(|month| Month::try_from(month).ok());
    let day = u8::try_from(date.day()).ok();
    month
        .zip(day)
        .and_then(|(month, day)| {
            ModelDate::from_calendar_date(i32::from(date.year()), month, day).ok()
        })
        .unwrap_or(ModelDate::MIN)
}

const fn refused(refusal: &ModelError, elevation: Metres, date: Date) -> GeodesyError {
    match refusal {
        ModelError::DateOutsideOfValidityRange { min_date, max_date } => {
            GeodesyError::OutsideMagneticModel {
                date,
                first: min_date.year(),
                last: max_date.year(),
            }
        }
        // Latitude and longitude are sound in every `LonLat`.
        ModelError::HeightOutsideOfValidityRange { .. }
        | ModelError::InvalidLatitude
        | ModelError::InvalidLongitude => GeodesyError::OutsideMagneticHeights(elevation.metres()),
    }
}
