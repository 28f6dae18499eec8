//! The one module that calls C by itself: what the `proj` crate does not offer.
//!
//! Every object lives and dies inside one call, with a context of its own, so no pointer leaves
//! this file or its thread.
#![expect(unsafe_code, reason = "quiet, factors and accuracy are missing from the proj crate")]

use std::{
    ffi::{CStr, CString, c_char},
    ptr,
    sync::Once,
};

use proj_sys::{
    PJ, PJ_CONTEXT, PJ_COORD, PJ_DIRECTION_PJ_FWD, PJ_LOG_LEVEL_PJ_LOG_NONE, PJ_LPZT,
    PJ_TYPE_PJ_TYPE_BOUND_CRS, PJ_TYPE_PJ_TYPE_COMPOUND_CRS, PJ_TYPE_PJ_TYPE_GEOGRAPHIC_2D_CRS,
    PJ_TYPE_PJ_TYPE_GEOGRAPHIC_3D_CRS, PJ_TYPE_PJ_TYPE_PROJECTED_CRS, PJ_WKT_TYPE_PJ_WKT1_GDAL,
    proj_as_wkt, proj_context_create, proj_context_destroy, proj_coordoperation_get_accuracy,
    proj_coordoperation_has_ballpark_transformation, proj_create, proj_create_crs_to_crs,
    proj_crs_get_coordinate_system, proj_crs_get_datum, proj_crs_get_datum_ensemble,
    proj_crs_info_list_destroy, proj_cs_get_axis_info, proj_datum_ensemble_get_accuracy,
    proj_destroy, proj_dynamic_datum_get_frame_reference_epoch, proj_errno, proj_factors,
    proj_get_crs_info_list_from_database, proj_get_crs_list_parameters_create,
    proj_get_crs_list_parameters_destroy, proj_get_id_auth_name, proj_get_id_code, proj_get_name,
    proj_get_type, proj_identify, proj_int_list_destroy, proj_list_destroy, proj_list_get,
    proj_log_level, proj_normalize_for_visualization, proj_trans,
    proj_trans_get_last_used_operation,
};

use super::LonLat;
use crate::units::Degrees;

/// How a plane lies at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Factors {
    /// Grid north, clockwise from true north.
    pub(super) convergence: Degrees,
    /// Length on the plane over length on the ellipsoid, along the meridian.
    pub(super) scale: f64,
    /// The same along the parallel: differs only on a plane that is not conformal.
    pub(super) scale_along_parallel: f64,
}

/// What the register says of a projected grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Registered {
    /// Its name, such as `WGS 84 / UTM zone 33N`.
    pub(super) name: String,
    /// The name of its datum.
    pub(super) datum: String,
    /// The year that the datum's coordinates hold for, of a datum that moves with the ground.
    pub(super) epoch: Option<f64>,
    /// Metres by which the frames of a datum that is a family of frames differ.
    pub(super) family_m: Option<f64>,
    /// Its two axes.
    pub(super) axes: [Axis; 2],
}

/// An axis of a grid.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    /// Which way it counts: `east`, `north`, `west`, `south`.
    pub(super) direction: String,
    /// The name of its unit.
    pub(super) unit: String,
    /// Metres in its unit.
    pub(super) metres: f64,
}

/// How well two coordinate systems are tied to each other at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Metres, as PROJ's register states them; `None` when it states none.
    pub metres: Option<f64>,
    /// True when the tie is a guess that the datums are the same.
    pub ballpark: bool,
}

/// Keeps PROJ from writing to standard error, in every context made later.
pub(super) fn be_quiet() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        // SAFETY: a null context is PROJ's name for the default one, which others inherit from;
        // `Once` keeps two threads from setting it together.
        unsafe { proj_log_level(ptr::null_mut(), PJ_LOG_LEVEL_PJ_LOG_NONE) };
    });
}

/// Convergence and scale of a projection or projected grid at a place.
pub(super) fn factors(definition: &str, at: LonLat) -> Option<Factors> {
    let context = Context::new()?;
    let definition = CString::new(definition).ok()?;
    // SAFETY: both pointers are alive; a failure is a null, which `Object::new` refuses.
    let plane = Object::new(unsafe { proj_create(context.0, definition.as_ptr()) })?;
    let place = coordinate(Degrees::new(at.lon()).radians(), Degrees::new(at.lat()).radians());
    // SAFETY: the object is alive; PROJ only reads the coordinate.
    let (factors, fault) = unsafe { (proj_factors(plane.0, place), proj_errno(plane.0)) };
    let scale = factors.meridional_scale;
    let sound = fault == 0 && scale.is_finite() && factors.meridian_convergence.is_finite();
    (sound && scale > 0.0).then(|| Factors {
        convergence: Degrees::from_radians(factors.meridian_convergence),
        scale,
        scale_along_parallel: factors.parallel_scale,
    })
}

/// What the register says of a grid: names, datum and axes.
pub(super) fn registered(code: &str) -> Option<Registered> {
    let context = Context::new()?;
    let code = CString::new(code).ok()?;
    // SAFETY: both pointers are alive; a failure is a null, which `Object::new` refuses.
    let grid = Object::new(unsafe { proj_create(context.0, code.as_ptr()) })?;
    // SAFETY: context and object are alive; an object of another kind gives a null.
    let system = Object::new(unsafe { proj_crs_get_coordinate_system(context.0, grid.0) })?;
    let axes = [axis(&context, &system, 0)?, axis(&context, &system, 1)?];
    // SAFETY: as above; a grid has one of the two, for the other comes a null.
    let (datum, family) = unsafe {
        (
            Object::new(proj_crs_get_datum(context.0, grid.0)),
            Object::new(proj_crs_get_datum_ensemble(context.0, grid.0)),
        )
    };
    // SAFETY: the objects are alive and of the right kind; a datum that does not move gives −1.
    let (epoch, family_m) = unsafe {
        (
            datum.as_ref().map(|d| proj_dynamic_datum_get_frame_reference_epoch(context.0, d.0)),
            family.as_ref().map(|f| proj_datum_ensemble_get_accuracy(context.0, f.0)),
        )
    };
    Some(Registered {
        name: name(&grid)?,
        datum: datum.as_ref().or(family.as_ref()).and_then(name)?,
        epoch: epoch.filter(|year| *year > 0.0),
        family_m: family_m.filter(|metres| *metres > 0.0),
        axes,
    })
}

/// A grid in well-known text of the first kind, which the oldest readers know too.
pub(super) fn wkt(definition: &str) -> Option<String> {
    let context = Context::new()?;
    let definition = CString::new(definition).ok()?;
    // SAFETY: both pointers are alive; a failure is a null, which `Object::new` refuses.
    let grid = Object::new(unsafe { proj_create(context.0, definition.as_ptr()) })?;
    // SAFETY: context and object are alive, no options are given; the text lives as long as the
    // object and is copied before that ends.
    unsafe { text(proj_as_wkt(context.0, grid.0, PJ_WKT_TYPE_PJ_WKT1_GDAL, ptr::null())) }
}

fn axis(context: &Context, system: &Object, index: i32) -> Option<Axis> {
    let (mut direction, mut unit) = (ptr::null(), ptr::null());
    let mut metres = 0.0;
    let unasked = ptr::null_mut::<*const c_char>();
    // SAFETY: context and object are alive; what is not asked for is null; texts belong to the
    // object and are copied before it goes.
    let found = unsafe {
        proj_cs_get_axis_info(
            context.0,
            system.0,
            index,
            unasked,
            unasked,
            &raw mut direction,
            &raw mut metres,
            &raw mut unit,
            unasked,
            unasked,
        )
    };
    if found == 0 {
        return None;
    }
    // SAFETY: PROJ found the axis, so both texts are its own and alive while the object is.
    let (direction, unit) = unsafe { (text(direction)?, text(unit)?) };
    Some(Axis { direction, unit, metres })
}

fn name(object: &Object) -> Option<String> {
    // SAFETY: the object is alive; the text belongs to it and is copied at once.
    unsafe { text(proj_get_name(object.0)) }
}

/// How `from` and `to` are tied at the place that is `(x, y)` in `from`, easting or longitude first:
/// how well, and the name of the way that PROJ takes there.
pub(super) fn tie(from: &str, to: &str, (x, y): (f64, f64)) -> Option<(Accuracy, String)> {
    let context = Context::new()?;
    let (from, to) = (CString::new(from).ok()?, CString::new(to).ok()?);
    // SAFETY: all pointers are alive, a null area means the whole earth, and the results are
    // checked for null. `plain` outlives `tie`, which PROJ makes from it.
    let plain = Object::new(unsafe {
        proj_create_crs_to_crs(context.0, from.as_ptr(), to.as_ptr(), ptr::null_mut())
    })?;
    // SAFETY: as above.
    let tie = Object::new(unsafe { proj_normalize_for_visualization(context.0, plain.0) })?;
    // SAFETY: the object is alive; which operation is used is only known after a first place.
    let last = Object::new(unsafe {
        proj_trans(tie.0, PJ_DIRECTION_PJ_FWD, coordinate(x, y));
        proj_trans_get_last_used_operation(tie.0)
    })?;
    // SAFETY: the object is alive and of the right kind; a negative number means unknown.
    let (metres, ballpark) = unsafe {
        (
            proj_coordoperation_get_accuracy(context.0, last.0),
            proj_coordoperation_has_ballpark_transformation(context.0, last.0),
        )
    };
    let accuracy = Accuracy { metres: (metres >= 0.0).then_some(metres), ballpark: ballpark != 0 };
    Some((accuracy, name(&last).unwrap_or_default()))
}

/// What a coordinate system is called.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Identity {
    /// Its name.
    pub(super) name: String,
    /// Its code in the EPSG register, such as `EPSG:26910`, when it is surely one of them.
    pub(super) code: Option<String>,
}

/// Likelier than this, in per cent, a system is the one of the register that it resembles.
const SURE_PER_CENT: i32 = 90;

/// The coordinate system that a text describes, when it is one that lies on the earth.
pub(super) fn identity(definition: &str) -> Option<Identity> {
    let context = Context::new()?;
    let definition = CString::new(definition).ok()?;
    // SAFETY: both pointers are alive; a failure is a null, which `Object::new` refuses.
    let system = Object::new(unsafe { proj_create(context.0, definition.as_ptr()) })?;
    // SAFETY: the object is alive; PROJ only reads it, and owns the text of the name.
    let (kind, name) = unsafe { (proj_get_type(system.0), text(proj_get_name(system.0))) };
    let on_earth = [
        PJ_TYPE_PJ_TYPE_PROJECTED_CRS,
        PJ_TYPE_PJ_TYPE_GEOGRAPHIC_2D_CRS,
        PJ_TYPE_PJ_TYPE_GEOGRAPHIC_3D_CRS,
        PJ_TYPE_PJ_TYPE_COMPOUND_CRS,
        PJ_TYPE_PJ_TYPE_BOUND_CRS,
    ];
    let code = register_code_of(&system).or_else(|| identified(&context, &system));
    on_earth.contains(&kind).then_some(Identity { name: name.unwrap_or_default(), code })
}

/// The code that a system carries in itself.
fn register_code_of(system: &Object) -> Option<String> {
    // SAFETY: the object is alive and owns both texts; an absent one is a null.
    let (authority, code) =
        unsafe { (text(proj_get_id_auth_name(system.0, 0)), text(proj_get_id_code(system.0, 0))) };
    authority
        .filter(|authority| authority == "EPSG")
        .zip(code)
        .map(|(_, code)| format!("EPSG:{code}"))
}

/// The code of the system in the register that this one resembles most, when that is sure.
fn identified(context: &Context, system: &Object) -> Option<String> {
    let mut confidence = ptr::null_mut();
    // SAFETY: all pointers are alive; list and numbers are ours and are freed below, once, and the
    // first number is read only when there is a first system.
    unsafe {
        let list =
            proj_identify(context.0, system.0, c"EPSG".as_ptr(), ptr::null(), &raw mut confidence);
        if list.is_null() {
            return None;
        }
        let first = Object::new(proj_list_get(context.0, list, 0));
        let sure = first.is_some() && !confidence.is_null() && *confidence >= SURE_PER_CENT;
        if !confidence.is_null() {
            proj_int_list_destroy(confidence);
        }
        proj_list_destroy(list);
        first.filter(|_| sure).and_then(|first| register_code_of(&first))
    }
}

/// The projected grids of the EPSG register that are made for a place, oldest number first.
pub(super) fn grids_around(at: LonLat) -> Vec<String> {
    let Some(context) = Context::new() else { return Vec::new() };
    let kinds = [PJ_TYPE_PJ_TYPE_PROJECTED_CRS];
    let mut count = 0;
    let mut codes = Vec::new();
    // SAFETY: the parameters are PROJ's own with `kinds` alive beside them; the list has `count`
    // entries, each alive until the list is freed, once.
    unsafe {
        let wanted = proj_get_crs_list_parameters_create();
        if wanted.is_null() {
            return Vec::new();
        }
        (*wanted).types = kinds.as_ptr();
        (*wanted).typesCount = kinds.len();
        (*wanted).crs_area_of_use_contains_bbox = 1;
        (*wanted).bbox_valid = 1;
        ((*wanted).west_lon_degree, (*wanted).east_lon_degree) = (at.lon(), at.lon());
        ((*wanted).south_lat_degree, (*wanted).north_lat_degree) = (at.lat(), at.lat());
        let list = proj_get_crs_info_list_from_database(
            context.0,
            c"EPSG".as_ptr(),
            wanted,
            &raw mut count,
        );
        proj_get_crs_list_parameters_destroy(wanted);
        if !list.is_null() {
            for index in 0..usize::try_from(count).unwrap_or_default() {
                codes.extend(text((**list.add(index)).code));
            }
            proj_crs_info_list_destroy(list);
        }
    }
    codes.sort_by_key(|code| (code.len(), code.clone()));
    codes.into_iter().map(|code| format!("EPSG:{code}")).collect()
}

/// A text that PROJ owns, copied.
///
/// # Safety
/// The pointer is null or leads to a text that ends with a zero and is alive.
unsafe fn text(owned: *const c_char) -> Option<String> {
    // SAFETY: as promised by the caller.
    (!owned.is_null()).then(|| unsafe { CStr::from_ptr(owned) }.to_string_lossy().into_owned())
}

const fn coordinate(x: f64, y: f64) -> PJ_COORD {
    PJ_COORD { lpzt: PJ_LPZT { lam: x, phi: y, z: 0.0, t: f64::INFINITY } }
}

/// A context of PROJ, destroyed when dropped.
struct Context(*mut PJ_CONTEXT);

impl Context {
    fn new() -> Option<Self> {
        be_quiet();
        // SAFETY: no precondition; a failure is a null.
        let context = unsafe { proj_context_create() };
        (!context.is_null()).then_some(Self(context))
    }
}

impl Drop for Context {
    fn drop(&mut self) {
        // SAFETY: made by `proj_context_create`, destroyed once, after all objects made in it:
        // locals are dropped in the reverse order of their making.
        unsafe { proj_context_destroy(self.0) };
    }
}

/// An object of PROJ, destroyed when dropped.
struct Object(*mut PJ);

impl Object {
    fn new(object: *mut PJ) -> Option<Self> {
        (!object.is_null()).then_some(Self(object))
    }
}

impl Drop for Object {
    fn drop(&mut self) {
        // SAFETY: not null, made by PROJ for us, destroyed once.
        unsafe { proj_destroy(self.0) };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_proj_does_not_know_is_none_and_no_crash() {
        let at = LonLat::new(-73.2, 44.45).unwrap();
        assert_eq!(factors("EPSG:999999", at), None);
        assert_eq!(factors("no\0name", at), None);
        assert_eq!(factors("EPSG:4326", at), None);
        assert_eq!(tie("EPSG:999999", "EPSG:4326", (0.0, 0.0)), None);
        assert_eq!(registered("EPSG:999999"), None);
        // A vertical system has one axis.
        assert_eq!(registered("EPSG:5773"), None);
    }
}
