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
}

/// A coordinate system that a file states, and where.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OwnGrid {
    /// The system.
    pub(super) grid: GridTransform,
    /// The `.prj`, or the layer.
    pub(super) place: Place,
}

/// The features of a layer in longitude and latitude, by the system that it states if it does.
///
/// # Errors
/// A system that is not understood, while `--crs` names none; one that differs from `--crs`.
pub(super) fn settled(
    document: Document,
    stated: Option<&str>,
    place: &Place,
    given: &Given<'_>,
    findings: &mut Findings,
) -> Result<(Document, Option<OwnGrid>), Finding> {
    let own = match stated.map(GridTransform::stated) {
        None => None,
        Some(Ok(grid)) if grid.is_lon_lat() => None,
        Some(Ok(grid)) => Some(grid),
        Some(Err(error)) if given.axes.grid.is_some() => {
            let told = Finding::warning(place.clone(), error.to_string());
            findings.push(told.because("the grid of --crs is used instead"));
            None
        }
        Some(Err(error)) => return Err(error.at(place.clone())),
    };
    let Some(grid) = own else { return Ok((document.in_degrees(given.axes, findings), None)) };
    refuse_another(&document, &grid, place, given)?;
    let axes = Axes { swapped: given.axes.swapped, grid: Some(grid.clone()), stated: true };
    let own = OwnGrid { grid, place: place.clone() };
    Ok((document.in_degrees(&axes, findings), Some(own)))
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
