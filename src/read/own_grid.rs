//! The coordinate system that a file states for itself, beside the one of `--crs`.

use super::{features::Document, positions::Axes};
use crate::{
    finding::{Finding, Findings, Place},
    geodesy::{GridTransform, distance},
};

/// Two grids are the same when they put the same numbers this near to each other.
const SAME_PLACE_M: f64 = 0.01;

/// What was passed for all files together.
#[derive(Debug)]
pub(super) struct Given<'a> {
    /// Order of the axes and grid of `--crs`.
    pub(super) axes: &'a Axes,
    /// The character set of `--encoding`, for tables that do not say theirs.
    pub(super) encoding: Option<&'a str>,
}

/// A coordinate system that a file states, and where.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OwnGrid {
    /// The system.
    pub(super) grid: GridTransform,
    /// The `.prj`, or the layer.
    pub(super) place: Place,
}

/// A map as it was read.
#[derive(Debug, Default)]
pub(super) struct MapFile {
    /// Its features, in longitude and latitude.
    pub(super) document: Document,
    /// The grids that the file says its numbers are in.
    pub(super) grids: Vec<OwnGrid>,
    /// Its numbers are in the grid of `--crs`.
    pub(super) in_passed_grid: bool,
    /// Files beside it that belong to it: name and hash.
    pub(super) beside: Vec<(String, String)>,
}

impl MapFile {
    /// A map that states no system of its own.
    pub(super) fn by_what_was_passed(
        document: Document,
        given: &Given<'_>,
        findings: &mut Findings,
    ) -> Self {
        let in_passed_grid = given.axes.grid.is_some() && !document.may_be_degrees();
        let document = document.in_degrees(given.axes, findings);
        Self { document, in_passed_grid, ..Self::default() }
    }

    /// Adds a layer, in the system that it states if it does; `place` is where it says so.
    ///
    /// # Errors
    /// A system that is not understood, while `--crs` names none; one that differs from `--crs`,
    /// or from the numbers.
    pub(super) fn add_layer(
        &mut self,
        layer: Document,
        stated: Option<&str>,
        (place, given): (&Place, &Given<'_>),
        findings: &mut Findings,
    ) -> Result<(), Finding> {
        let stated = stated_grid(stated, place, given, findings)?;
        if stated.as_ref().is_some_and(GridTransform::is_lon_lat) {
            refuse_no_degrees(&layer, place, given)?;
        }
        let Some(grid) = stated.filter(|grid| !grid.is_lon_lat()) else {
            let map = Self::by_what_was_passed(layer, given, findings);
            self.in_passed_grid |= map.in_passed_grid;
            self.document.features.extend(map.document.features);
            return Ok(());
        };
        refuse_another(&layer, &grid, place, given)?;
        let axes = Axes { swapped: given.axes.swapped, grid: Some(grid.clone()), stated: true };
        self.document.features.extend(layer.in_degrees(&axes, findings).features);
        self.grids.push(OwnGrid { grid, place: place.clone() });
        Ok(())
    }
}

/// The system that a layer states, if it is understood.
fn stated_grid(
    stated: Option<&str>,
    place: &Place,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<Option<GridTransform>, Finding> {
    match stated.map(GridTransform::stated) {
        None => Ok(None),
        Some(Ok(grid)) => Ok(Some(grid)),
        Some(Err(error)) if given.axes.grid.is_some() => {
            findings.push(
                Finding::warning(place.clone(), error.to_string())
                    .because("the grid of --crs is used instead")
                    .mend("mend what the file says of itself: ogr2ogr -a_srs EPSG:n"),
            );
            Ok(None)
        }
        Some(Err(error)) => Err(error.at(place.clone())),
    }
}

/// Refuses to take numbers that are no degrees in the grid of `--crs`, where a file says that they
/// are degrees.
fn refuse_no_degrees(layer: &Document, place: &Place, given: &Given<'_>) -> Result<(), Finding> {
    let Some(passed) = given.axes.grid.as_ref().filter(|_| !layer.may_be_degrees()) else {
        return Ok(());
    };
    let code = passed.code();
    let what = format!("the file is in longitude and latitude, but --crs says {code}");
    Err(Finding::fault(place.clone(), what)
        .because("its numbers are no degrees: what it says of itself is wrong")
        .mend(format!("mend that first, if they are in this grid: ogr2ogr -a_srs {code}")))
}

/// Looks whether `--crs` puts the numbers where the file's own grid does.
///
/// # Errors
/// A grid of `--crs` that puts them elsewhere.
pub(super) fn refuse_another(
    document: &Document,
    own: &GridTransform,
    place: &Place,
    given: &Given<'_>,
) -> Result<(), Finding> {
    let first = document.first_position();
    let (Some(passed), Some([first, second, ..])) = (&given.axes.grid, first) else {
        return Ok(());
    };
    if !own.is_projected() {
        // Degrees on another datum: `--crs` serves bearings and stake-out files then.
        return Ok(());
    }
    let (x, y) = if given.axes.swapped { (second, first) } else { (first, second) };
    let same = match (own.to_lon_lat(*x, *y), passed.to_lon_lat(*x, *y)) {
        (Ok(own), Ok(passed)) => distance(own, passed).metres() <= SAME_PLACE_M,
        // Numbers that neither reaches are told by their own door.
        (Err(_), _) => true,
        (Ok(_), Err(_)) => false,
    };
    if same {
        return Ok(());
    }
    let what = format!("the file is in {}, but --crs says {}", own.code(), passed.code());
    Err(Finding::fault(place.clone(), what)
        .because("the two put the same numbers in different places")
        .mend("leave out --crs, or mend what the file says of itself"))
}
