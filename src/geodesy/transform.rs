//! PROJ behind types that any thread may use.
//!
//! A `Proj` belongs to the thread that made it, and making one takes milliseconds. So our types
//! keep the definition, and each thread keeps the few it used last.

use std::{cell::RefCell, collections::VecDeque};

use proj::Proj;

use super::{
    Accuracy, GeodesyError, LonLat,
    proj_calls::{self, be_quiet},
};
use crate::units::Degrees;

/// A place on a plane: metres or feet east and north of its origin, as the plane has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanePoint {
    /// East of the origin.
    pub east: f64,
    /// North of the origin.
    pub north: f64,
}

/// A transverse Mercator plane on WGS84 with scale 1 on its own meridian, in metres.
#[derive(Debug, Clone, PartialEq)]
pub struct LocalPlane {
    definition: String,
}

impl LocalPlane {
    /// The plane that touches the ellipsoid at `origin`.
    ///
    /// # Errors
    /// When PROJ refuses it, which no sound origin brings about.
    pub fn centred_on(origin: LonLat) -> Result<Self, GeodesyError> {
        let plane = Self {
            definition: format!(
                "+proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +ellps=WGS84 +units=m +no_defs",
                origin.lat(),
                origin.lon()
            ),
        };
        plane.to_plane(origin).ok_or_else(|| GeodesyError::Plane(plane.definition.clone()))?;
        Ok(plane)
    }

    /// The plane in PROJ's words.
    pub fn definition(&self) -> &str {
        &self.definition
    }

    /// A place on the plane, or `None` too far from its meridian.
    pub fn to_plane(&self, at: LonLat) -> Option<PlanePoint> {
        let radians = (Degrees::new(at.lon()).radians(), Degrees::new(at.lat()).radians());
        let (east, north) =
            with_proj(&Recipe::Plane(&self.definition), |proj| proj.project(radians, false).ok())??;
        finite(east, north)
    }

    /// The place that lies there, or `None` too far from the plane's meridian.
    pub fn to_lon_lat(&self, at: PlanePoint) -> Option<LonLat> {
        let (lon, lat) = with_proj(&Recipe::Plane(&self.definition), |proj| {
            proj.project((at.east, at.north), true).ok()
        })??;
        LonLat::new(Degrees::from_radians(lon).degrees(), Degrees::from_radians(lat).degrees())
    }

    /// Length on the plane over length on the ellipsoid at a place.
    pub fn scale_at(&self, at: LonLat) -> Option<f64> {
        proj_calls::factors(&self.definition, at).map(|factors| factors.scale)
    }
}

/// A projected grid, or a coordinate system that a file states, easting before northing whatever
/// its register says.
#[derive(Debug, Clone, PartialEq)]
pub struct GridTransform {
    /// What PROJ is given: a code of the register, or a whole description.
    definition: String,
    /// Its code, or its name when it has none.
    code: String,
    area: Option<AreaOfUse>,
}

/// The degrees of longitude and latitude for which a grid is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AreaOfUse {
    /// Its western edge.
    pub west: f64,
    /// Its southern edge.
    pub south: f64,
    /// Its eastern edge.
    pub east: f64,
    /// Its northern edge.
    pub north: f64,
}

impl GridTransform {
    /// The grid with this code, such as `EPSG:32633`.
    ///
    /// # Errors
    /// A text that is no such code, a code that PROJ does not know, or one that is no projected
    /// grid.
    pub fn new(code: &str) -> Result<Self, GeodesyError> {
        let code = register_code(code)?;
        let area = area_of_use(&code)?;
        let grid = Self { definition: code.clone(), code, area };
        match proj_calls::factors(&grid.definition, grid.middle()) {
            Some(_) => Ok(grid),
            None => Err(GeodesyError::NotProjected(grid.code)),
        }
    }

    /// The grid in well-known text, as programs for maps read it; `None` when PROJ has no words.
    pub fn wkt(&self) -> Option<String> {
        proj_calls::wkt(&self.definition)
    }

    /// The coordinate system that a file states: a code of the register, or a description in
    /// well-known text of either kind; degrees on another datum are one too.
    ///
    /// # Errors
    /// A text that describes none, or that names files of its own.
    pub fn stated(text: &str) -> Result<Self, GeodesyError> {
        let definition = register_code(text).or_else(|_| well_known(text))?;
        let identity = proj_calls::identity(&definition)
            .ok_or_else(|| GeodesyError::UnknownSystem(beginning(text)))?;
        // The register knows more of a system than a file tells: where it is used, how it is tied.
        let definition = identity.code.clone().unwrap_or(definition);
        let area = area_of_use(&definition)?;
        Ok(Self { code: identity.code.unwrap_or(identity.name), definition, area })
    }

    /// Every projected grid of the register that is made for a place.
    pub fn around(at: LonLat) -> Vec<Self> {
        proj_calls::grids_around(at).iter().filter_map(|code| Self::new(code).ok()).collect()
    }

    /// True for longitude and latitude on WGS84, which need no transformation.
    pub fn is_lon_lat(&self) -> bool {
        ["EPSG:4326", "EPSG:4979"].contains(&self.code.as_str())
    }

    /// True when its numbers are eastings and northings.
    pub fn is_projected(&self) -> bool {
        proj_calls::factors(&self.definition, self.middle()).is_some()
    }

    /// Its code, such as `EPSG:32633`, or its name when the register does not have it.
    pub fn code(&self) -> &str {
        &self.code
    }

    /// For which part of the earth it is made, when the register says so.
    pub const fn area(&self) -> Option<AreaOfUse> {
        self.area
    }

    /// True when the grid is made for this place, or the register does not say.
    pub fn covers(&self, at: LonLat) -> bool {
        self.area.is_none_or(|area| {
            let lon = if area.west <= area.east {
                (area.west..=area.east).contains(&at.lon())
            } else {
                at.lon() >= area.west || at.lon() <= area.east
            };
            lon && (area.south..=area.north).contains(&at.lat())
        })
    }

    /// The place with this easting and northing, in the grid's own unit.
    ///
    /// # Errors
    /// Numbers that the grid does not reach.
    pub fn to_lon_lat(&self, east: f64, north: f64) -> Result<LonLat, GeodesyError> {
        let refuse = || GeodesyError::OffGrid { crs: self.code.clone(), x: east, y: north };
        let recipe = Recipe::Between(&self.definition, WGS84);
        let (lon, lat) = with_proj(&recipe, |proj| proj.convert((east, north)).ok())
            .flatten()
            .ok_or_else(refuse)?;
        let place = LonLat::new(lon, lat).ok_or_else(refuse)?;
        // Far from its zone a projection answers with wild numbers that do not lead back.
        let back = self.from_lon_lat(place)?;
        let off = (back.east - east).hypot(back.north - north);
        if off < LARGEST_MISCLOSURE { Ok(place) } else { Err(refuse()) }
    }

    /// Easting and northing of a place, in the grid's own unit.
    ///
    /// # Errors
    /// A place that the grid does not reach.
    pub fn from_lon_lat(&self, at: LonLat) -> Result<PlanePoint, GeodesyError> {
        let recipe = Recipe::Between(WGS84, &self.definition);
        with_proj(&recipe, |proj| proj.convert((at.lon(), at.lat())).ok())
            .flatten()
            .and_then(|(east, north)| finite(east, north))
            .ok_or_else(|| GeodesyError::OffGrid {
                crs: self.code.clone(),
                x: at.lon(),
                y: at.lat(),
            })
    }

    /// How well the grid is tied to WGS84 at a place.
    pub fn accuracy_at(&self, at: LonLat) -> Accuracy {
        self.tie_at(at).0
    }

    /// How well the grid is tied to WGS84 at a place, and the name of the way that PROJ takes.
    pub fn tie_at(&self, at: LonLat) -> (Accuracy, String) {
        proj_calls::tie(WGS84, &self.definition, (at.lon(), at.lat()))
            .unwrap_or((Accuracy { metres: None, ballpark: true }, String::new()))
    }

    fn middle(&self) -> LonLat {
        self.area.map_or(LonLat::clamped(0.0, 0.0), |area| {
            let east = if area.east < area.west { area.east + 360.0 } else { area.east };
            let lon = f64::midpoint(area.west, east);
            let lon = if lon > 180.0 { lon - 360.0 } else { lon };
            LonLat::clamped(lon, f64::midpoint(area.south, area.north))
        })
    }
}

const WGS84: &str = "EPSG:4326";

/// There and back through a grid may be off by so much, in its unit: a datum shift of seven
/// parameters drops a height on the way, which costs up to centimetres; wild numbers cost
/// kilometres.
const LARGEST_MISCLOSURE: f64 = 1.0;

/// `EPSG:32633` from what someone wrote; nothing else reaches PROJ, which would open files.
pub(super) fn register_code(text: &str) -> Result<String, GeodesyError> {
    let upper = text.trim().to_uppercase();
    let number = upper.strip_prefix("EPSG:").map(str::trim).filter(|digits| {
        (1..=6).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit())
    });
    number
        .map(|digits| format!("EPSG:{digits}"))
        .ok_or_else(|| GeodesyError::UnknownGrid(text.trim().to_owned()))
}

/// More text describes no coordinate system.
const LONGEST_DESCRIPTION: usize = 64 * 1024;

/// A description in well-known text; one that names files is refused, because PROJ would open them.
fn well_known(text: &str) -> Result<String, GeodesyError> {
    const STARTS: &[&str] = &[
        "PROJCS",
        "GEOGCS",
        "COMPD_CS",
        "PROJCRS",
        "PROJECTEDCRS",
        "GEOGCRS",
        "GEOGRAPHICCRS",
        "GEODCRS",
        "GEODETICCRS",
        "COMPOUNDCRS",
        "BOUNDCRS",
    ];
    let text = text.trim().trim_start_matches('\u{feff}');
    let (upper, lower) = (text.to_uppercase(), text.to_lowercase());
    let keyword = upper.split(['[', '(']).next().unwrap_or_default().trim_end();
    let names_files =
        upper.contains("PARAMETERFILE") || lower.replace("nadgrids=@null", "").contains("grids=");
    let sound = STARTS.contains(&keyword)
        && text.len() <= LONGEST_DESCRIPTION
        && !names_files
        && !text.contains('\0');
    sound.then(|| text.to_owned()).ok_or_else(|| GeodesyError::UnknownSystem(beginning(text)))
}

fn beginning(text: &str) -> String {
    text.trim().chars().filter(|c| !c.is_control()).take(60).collect()
}

fn area_of_use(definition: &str) -> Result<Option<AreaOfUse>, GeodesyError> {
    be_quiet();
    let unknown = |_| GeodesyError::UnknownGrid(beginning(definition));
    let area = Proj::new(definition).map_err(unknown)?.area_of_use().ok();
    Ok(area.and_then(|(area, _)| area).map(|area| AreaOfUse {
        west: area.west,
        south: area.south,
        east: area.east,
        north: area.north,
    }))
}

fn finite(east: f64, north: f64) -> Option<PlanePoint> {
    (east.is_finite() && north.is_finite()).then_some(PlanePoint { east, north })
}

/// How to make a `Proj`.
#[derive(Clone, Copy, PartialEq)]
enum Recipe<'a> {
    Plane(&'a str),
    Between(&'a str, &'a str),
}

impl Recipe<'_> {
    fn matches(&self, kept: &Kept) -> bool {
        match *self {
            Self::Plane(definition) => kept.to.is_none() && kept.from == definition,
            Self::Between(from, to) => kept.to.as_deref() == Some(to) && kept.from == from,
        }
    }

    fn make(&self) -> Option<Kept> {
        be_quiet();
        let (proj, from, to) = match *self {
            Self::Plane(definition) => (Proj::new(definition), definition, None),
            Self::Between(from, to) => (Proj::new_known_crs(from, to, None), from, Some(to)),
        };
        Some(Kept { from: from.to_owned(), to: to.map(str::to_owned), proj: proj.ok()? })
    }
}

struct Kept {
    from: String,
    to: Option<String>,
    proj: Proj,
}

/// More than a block needs at a time; a run of many blocks drops the oldest.
const MOST_KEPT: usize = 8;

thread_local! {
    static KEPT: RefCell<VecDeque<Kept>> = const { RefCell::new(VecDeque::new()) };
}

/// Asks this thread's `Proj`, made when it is not there yet; `None` when PROJ cannot make it.
fn with_proj<T>(recipe: &Recipe<'_>, ask: impl FnOnce(&Proj) -> T) -> Option<T> {
    KEPT.with_borrow_mut(|kept| {
        if let Some(at) = kept.iter().position(|one| recipe.matches(one)) {
            kept.swap(0, at);
        } else {
            kept.push_front(recipe.make()?);
            kept.truncate(MOST_KEPT);
        }
        kept.front().map(|one| ask(&one.proj))
    })
}
