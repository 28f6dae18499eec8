//! Where the sun stands, and how long it stands to either side of a line on the ground.
//!
//! The sun's way over some days is kept as short arcs above the horizon. Between two moments its
//! direction is taken as the straight line between both directions: over five minutes that is off
//! by less than 0.0001 of the way, a second of time for a sun that does not graze the line.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | e, n | the sun's direction east and north, cos h · (sin A, cos A) | 1 |
//! | u | … and up, sin h | 1 |
//! | A, h | azimuth clockwise from true north; height above the horizon | |
//! | β | bearing of the line | |
//! | s | how far to the right of the line the sun stands: e cos β − n sin β | 1 |
//!
//! # Source
//! Solar Position Algorithm: Reda and Andreas (2004), Solar Energy 76:577–589, and NREL/TP-560-34302
//! (revised 2008). Sunrise and sunset as almanacs have them: the centre of the disc 50′ below a
//! level horizon (34′ of refraction and 16′ of half the disc).

use std::ops::RangeInclusive;

use jiff::{ToSpan, civil::Date};
use rayon::prelude::*;
use solar_positioning::{
    Location, RefractionCorrection, SolarPositions, delta_t, time::JulianDate,
};

use super::{GeodesyError, LonLat};
use crate::{
    maths::float,
    units::{Degrees, Metres},
};

/// Years for which the difference between the earth's turn and even time is estimated.
pub const SUN_YEARS: RangeInclusive<i16> = -499..=2999;

/// Height of the sun's centre at sunrise and sunset.
const SUNRISE: Degrees = Degrees::new(-50.0 / 60.0);
/// Moments a day at which the sun's place is computed: every five minutes.
const MOMENTS: u32 = 288;

/// The sun's way above a level horizon over some days, seen from one place.
#[derive(Debug, Clone)]
pub struct SunPath {
    days: usize,
    arcs: Vec<Arc>,
}

/// A part of the sun's way: its direction east and north at both ends, and how long it takes.
#[derive(Debug, Clone, Copy)]
struct Arc {
    hours: f64,
    from: [f64; 2],
    to: [f64; 2],
}

/// The sun's direction east, north and up; of length 1.
type Direction = [f64; 3];

impl SunPath {
    /// The sun's way from the first to the last day, each from midnight to midnight of the place's
    /// own mean solar time.
    ///
    /// # Errors
    /// Days outside [`SUN_YEARS`].
    pub fn over(
        at: LonLat,
        elevation: Metres,
        [first, last]: [Date; 2],
    ) -> Result<Self, GeodesyError> {
        let days: Vec<Date> = first.series(1.day()).take_while(|day| *day <= last).collect();
        let arcs: Result<Vec<Vec<Arc>>, GeodesyError> =
            days.par_iter().map(|day| arcs_of_day(at, elevation, *day)).collect();
        Ok(Self { days: days.len(), arcs: arcs?.into_iter().flatten().collect() })
    }

    /// The number of days.
    pub const fn days(&self) -> usize {
        self.days
    }

    /// Mean hours a day from sunrise to sunset.
    pub fn day_hours(&self) -> f64 {
        self.mean(|arc| arc.hours)
    }

    /// Mean hours a day in which the sun stands to the right of a line with this bearing, that is
    /// in which it shines on the right side of a wall along it.
    pub fn hours_right_of(&self, bearing: Degrees) -> f64 {
        let (sin, cos) = bearing.radians().sin_cos();
        self.mean(|arc| arc.hours * share_above(arc.right_of_row(sin, cos)))
    }

    /// Mean hours a day in which the sun stands within an angle of either end of a line with this
    /// bearing.
    pub fn hours_along(&self, bearing: Degrees, within: Degrees) -> f64 {
        let line = |turn: f64| Degrees::new(bearing.degrees() + turn).radians().sin_cos();
        let (low, high) = (line(-within.degrees()), line(within.degrees()));
        self.mean(|arc| {
            let one = arc.right_of_row(low.0, low.1);
            let other = arc.right_of_row(high.0, high.1);
            arc.hours * share_apart(one, other)
        })
    }

    fn mean(&self, hours: impl Fn(&Arc) -> f64) -> f64 {
        if self.days == 0 {
            0.0
        } else {
            // From 0: the sum of no arc, in polar night, is −0.
            self.arcs.iter().fold(0.0, |sum, arc| sum + hours(arc)) / float(self.days)
        }
    }
}

impl Arc {
    /// s at both ends.
    fn right_of_row(self, sin: f64, cos: f64) -> [f64; 2] {
        [self.from, self.to].map(|[e, n]| e * cos - n * sin)
    }
}

/// The share of a straight way from one value to another that lies above 0.
fn share_above([from, to]: [f64; 2]) -> f64 {
    match (from > 0.0, to > 0.0) {
        (true, true) => 1.0,
        (false, false) => 0.0,
        (true, false) => from / (from - to),
        (false, true) => to / (to - from),
    }
}

/// The share of a way on which two straight values have different signs.
fn share_apart(one: [f64; 2], other: [f64; 2]) -> f64 {
    let cross = |[from, to]: [f64; 2]| {
        ((from > 0.0) != (to > 0.0)).then(|| from / (from - to)).map_or([0.0, 1.0], |at| [at, at])
    };
    let mut cuts = [0.0, cross(one)[0], cross(other)[0], 1.0];
    cuts.sort_by(f64::total_cmp);
    let at = |[from, to]: [f64; 2], share: f64| from + share * (to - from);
    let parts = cuts.windows(2).filter(|cut| {
        let middle = f64::midpoint(cut[0], cut[1]);
        (at(one, middle) > 0.0) != (at(other, middle) > 0.0)
    });
    parts.map(|cut| cut[1] - cut[0]).sum()
}

fn arcs_of_day(at: LonLat, elevation: Metres, day: Date) -> Result<Vec<Arc>, GeodesyError> {
    // Midnight of mean solar time is so long before that of Greenwich.
    let early_hours = at.lon() / 15.0;
    let step_hours = 24.0 / f64::from(MOMENTS);
    let moments = (0..=MOMENTS).map(|moment| {
        let hours = f64::from(moment) * step_hours - early_hours;
        direction(at, elevation, moment_of(day, hours)?)
    });
    let directions: Result<Vec<Direction>, GeodesyError> = moments.collect();
    let above = |pair: &[Direction]| arc_above_horizon([pair[0], pair[1]], step_hours);
    Ok(directions?.windows(2).filter_map(above).collect())
}

/// The part of a way that lies above the horizon.
fn arc_above_horizon([from, to]: [Direction; 2], hours: f64) -> Option<Arc> {
    let sunrise = SUNRISE.radians().sin();
    let [low, high] = [from[2] - sunrise, to[2] - sunrise];
    let between = |share: f64| [0, 1].map(|axis| from[axis] + share * (to[axis] - from[axis]));
    let [starts, ends] = match (low > 0.0, high > 0.0) {
        (true, true) => [0.0, 1.0],
        (false, false) => return None,
        (true, false) => [0.0, low / (low - high)],
        (false, true) => [low / (low - high), 1.0],
    };
    Some(Arc { hours: hours * (ends - starts), from: between(starts), to: between(ends) })
}

/// A moment so many hours after midnight of Greenwich.
fn moment_of(day: Date, hours: f64) -> Result<JulianDate, GeodesyError> {
    let outside = || GeodesyError::OutsideSunYears {
        date: day,
        first: *SUN_YEARS.start(),
        last: *SUN_YEARS.end(),
    };
    let [year, month, date] = [i32::from(day.year()), i32::from(day.month()), i32::from(day.day())];
    let [month, date] = [month, date].map(|part| u32::try_from(part).unwrap_or(0));
    if !SUN_YEARS.contains(&day.year()) {
        return Err(outside());
    }
    let late = delta_t::estimate_from_date(year, month).map_err(|_out_of_range| outside())?;
    JulianDate::from_utc(year, month, date, 0, 0, 0.0, late)
        .and_then(|midnight| JulianDate::new(midnight.julian_date() + hours / 24.0, late))
        .map_err(|_out_of_range| outside())
}

/// Where the sun's centre stands, without refraction.
fn direction(at: LonLat, elevation: Metres, moment: JulianDate) -> Result<Direction, GeodesyError> {
    let (azimuth, zenith) = azimuth_and_zenith(at, elevation, moment, None)?;
    let (sin_a, cos_a) = azimuth.radians().sin_cos();
    let (sin_z, cos_z) = zenith.radians().sin_cos();
    Ok([sin_z * sin_a, sin_z * cos_a, cos_z])
}

fn azimuth_and_zenith(
    at: LonLat,
    elevation: Metres,
    moment: JulianDate,
    air: Option<RefractionCorrection>,
) -> Result<(Degrees, Degrees), GeodesyError> {
    let location = Location { latitude: at.lat(), longitude: at.lon() };
    SolarPositions::new()
        .at_from_julian(moment, location, elevation.metres(), air)
        .map(|sun| (Degrees::new(sun.azimuth()), Degrees::new(sun.zenith_angle())))
        .map_err(|_no_place| GeodesyError::Sun)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn place(lon: f64, lat: f64) -> LonLat {
        LonLat::new(lon, lat).unwrap()
    }

    fn path(lon: f64, lat: f64, days: [Date; 2]) -> SunPath {
        SunPath::over(place(lon, lat), Metres::new(0.0), days).unwrap()
    }

    #[test]
    fn the_sun_stands_where_the_reference_case_has_it() {
        // NREL/TP-560-34302, appendix A.5: 2003-10-17, 12:30:30 at UTC − 7 h, ΔT 67 s, 820 mbar,
        // 11 °C: topocentric zenith 50.11162°, azimuth 194.34024°.
        let moment = JulianDate::from_utc(2003, 10, 17, 19, 30, 30.0, 67.0).unwrap();
        let air = RefractionCorrection::new(820.0, 11.0).unwrap();
        let at = place(-105.1786, 39.742_476);
        let (azimuth, zenith) =
            azimuth_and_zenith(at, Metres::new(1830.14), moment, Some(air)).unwrap();
        assert!((zenith.degrees() - 50.11162).abs() < 1e-5, "{zenith:?}");
        assert!((azimuth.degrees() - 194.34024).abs() < 1e-5, "{azimuth:?}");
        // The same moment through our own clock, whose ΔT is estimated.
        let ours = moment_of(date(2003, 10, 17), 19.0 + 30.5 / 60.0).unwrap();
        assert!((ours.julian_date() - moment.julian_date()).abs() < 1e-9);
        assert!((ours.delta_t() - 64.5).abs() < 1.0, "{} s", ours.delta_t());
    }

    #[track_caller]
    fn check_day(at: (f64, f64), day: Date, hours: f64, minutes: f64) {
        let found = path(at.0, at.1, [day, day]).day_hours();
        assert!((found - hours).abs() < minutes / 60.0, "{found} h, not {hours} h");
    }

    #[test]
    fn days_are_as_long_as_almanacs_have_them() {
        // Sunrise and sunset to the minute, US Naval Observatory, tables for 2020 in UTC: Anchorage
        // 12:21 and 07:40, 19:10 and 00:40; Auckland 19:32 and 05:11, 16:56 and 07:36; Singapore
        // 23:00 and 11:11.
        let anchorage = (-149.866_667, 61.216_667);
        check_day(anchorage, date(2020, 6, 15), 19.0 + 19.5 / 60.0, 1.5);
        check_day(anchorage, date(2020, 12, 15), 5.0 + 30.0 / 60.0, 1.5);
        let auckland = (174.8, -36.833_333);
        check_day(auckland, date(2020, 6, 15), 9.0 + 39.0 / 60.0, 1.5);
        check_day(auckland, date(2020, 12, 15), 14.0 + 40.0 / 60.0, 1.5);
        check_day((103.833_333, 1.283_333), date(2020, 6, 15), 12.0 + 11.0 / 60.0, 1.5);
        // London: 16 h 38 min on 21 June 2023, 7 h 50 min on 22 December 2023 (almanac, from memory).
        check_day((-0.128, 51.507), date(2023, 6, 21), 16.0 + 38.4 / 60.0, 1.0);
        check_day((-0.128, 51.507), date(2023, 12, 22), 7.0 + 49.8 / 60.0, 1.0);
        // Where the sun never sets or never rises.
        check_day((18.955, 69.649), date(2026, 6, 21), 24.0, 0.01);
        check_day((18.955, 69.649), date(2026, 12, 21), 0.0, 0.01);
        // The other hemisphere has its longest day then.
        assert!(path(147.3, -42.9, [date(2026, 12, 21); 2]).day_hours() > 15.0);
    }

    #[test]
    fn both_sides_of_a_wall_share_the_day() {
        let season = path(-73.2, 44.45, [date(2026, 4, 1), date(2026, 10, 31)]);
        for bearing in 0..36 {
            let bearing = f64::from(bearing) * 5.0;
            let right = season.hours_right_of(Degrees::new(bearing));
            let left = season.hours_right_of(Degrees::new(bearing + 180.0));
            assert!((right + left - season.day_hours()).abs() < 1e-9, "{bearing}: {right} {left}");
        }
    }

    #[test]
    fn an_hour_angle_is_half_a_share_of_a_circle() {
        // A turn of s from +1 to −1 and another shifted by half: they differ in sign over a quarter
        // each way, by hand.
        assert!((share_above([1.0, -1.0]) - 0.5).abs() < 1e-12);
        assert!((share_apart([1.0, -1.0], [1.5, -0.5]) - 0.25).abs() < 1e-12);
        assert!(share_apart([1.0, 2.0], [3.0, 0.5]).abs() < 1e-12);
        assert!((share_apart([1.0, 2.0], [-3.0, -0.5]) - 1.0).abs() < 1e-12);
        assert!((share_apart([1.0, -1.0], [-1.0, 1.0]) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn rows_along_the_equinox_sun() {
        // At the equinox the sun rises due east: rows running east and west get none on their north
        // side beyond what refraction lifts, rows running north and south get half on each side.
        let day = path(10.0, 45.0, [date(2026, 3, 20); 2]);
        let east = day.hours_right_of(Degrees::new(0.0));
        let west = day.hours_right_of(Degrees::new(180.0));
        assert!((east - west).abs() < 1.0 / 60.0, "{east} {west}");
        let north = day.hours_right_of(Degrees::new(270.0));
        assert!(north < 0.2, "{north}");
        assert!(day.hours_right_of(Degrees::new(90.0)) > 11.8);
        // At midsummer the sun is due east at the hour angle arccos(tan 23.44° / tan 45°) = 64.3° and
        // rises at arccos(−tan 45° tan 23.44°) = 115.7°: 3.43 h on the north side, morning and
        // evening, and some 5 minutes more each that refraction gives.
        let summer = path(10.0, 45.0, [date(2026, 6, 21); 2]);
        let north = summer.hours_right_of(Degrees::new(270.0));
        assert!((north - 2.0 * (3.43 + 0.09)).abs() < 0.06, "{north} h");
    }

    #[test]
    fn years_that_the_estimate_does_not_hold_are_refused() {
        for day in [date(3000, 1, 1), date(-600, 1, 1)] {
            let refused = SunPath::over(place(10.0, 45.0), Metres::new(0.0), [day; 2]);
            assert!(refused.unwrap_err().to_string().contains("2999"));
        }
    }
}
