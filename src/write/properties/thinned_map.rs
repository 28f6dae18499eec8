//! A thinned block in one file for desktop programs: `block.gpkg`.

use super::{outlines, panels::panels, rows::rows, thinned::Thinned, vines::vines, zones::zones};
use crate::{error::Error, write::geopackage::geopackage};

/// Block, keep-outs, rows, vines, panels and zones as the bytes of a GeoPackage.
///
/// # Errors
/// A fault of the program: the database cannot be written.
pub fn thinned_gpkg(thinned: &Thinned<'_>) -> Result<Vec<u8>, Error> {
    let (site, layout) = (thinned.evidence.site, thinned.evidence.layout);
    geopackage(&[
        &outlines::block(site, layout),
        &outlines::keep_outs(site, layout),
        &rows(site, layout),
        &vines(thinned),
        &panels(thinned),
        &zones(thinned),
    ])
}
