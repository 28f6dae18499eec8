//! A raster of vigor -> a [`Grid`] around the blocks, in whatever unit it has.
//!
//! Any one measure that is larger where vines grow more: a vegetation index, the height of the
//! canopy. Only how its values compare within a planting is used, so that neither unit nor zero
//! matters.

use super::{
    raster::{Purpose, cut},
    raster_facts::Heights,
    source::Source,
};
use crate::{
    block::Block,
    finding::{Finding, Findings},
    grid::Grid,
};

const PURPOSE: Purpose = Purpose {
    values: "vigor",
    margin_m: 10.0,
    larger_cells: "gdalwarp -tr 0.25 0.25 -r average in.tif out.tif (in metres of its grid)",
};
/// Numbers that programs put where there is nothing, and often forget to mark.
const FILLINGS: [f64; 3] = [-9999.0, -32768.0, -99999.0];
/// No measure is larger: what is, fills a gap.
const LARGEST: f64 = 1e30;

/// The values around the blocks.
///
/// # Errors
/// What keeps the file from being a raster of one band that covers one of the blocks.
pub(super) fn vigor(
    source: Source,
    blocks: &[Block],
    findings: &mut Findings,
) -> Result<Grid, Finding> {
    let cut = cut(source, blocks, PURPOSE)?;
    let facts = Heights::of(&cut.file);
    let mut fillings = 0_usize;
    let mut value = |number: &f64| {
        let value = facts.value(*number).filter(|_| {
            let fills = FILLINGS.iter().any(|filling| (number - filling).abs() < 0.5)
                || number.abs() > LARGEST;
            fillings += usize::from(fills);
            !fills
        });
        value.unwrap_or(f64::NAN)
    };
    let values: Vec<f64> = cut.numbers.iter().map(&mut value).collect();
    if fillings > 0 {
        let what = format!("{fillings} cells around the blocks hold a number such as -9999");
        let warning = Finding::warning(cut.place.clone(), what)
            .because("they are taken as absent, though the file does not mark them so")
            .mend("mark them: gdal_translate -a_nodata VALUE in.tif out.tif");
        findings.push(warning);
    }
    cut.tell(blocks, findings);
    cut.grid(values, "")
}
