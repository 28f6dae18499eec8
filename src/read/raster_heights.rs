//! A raster of heights -> a [`Grid`] of metres around the blocks.

use geotiff_reader::GeoTiffFile;

use super::{
    raster::{Purpose, cut},
    raster_facts::Heights,
    source::Source,
};
use crate::{
    block::Block,
    finding::{Finding, Findings, Place},
    grid::Grid,
};

/// A slope at the edge of a block is meant over the ground beyond it, too.
const PURPOSE: Purpose = Purpose {
    values: "heights",
    margin_m: 200.0,
    larger_cells: "gdalwarp -tr 2 2 -r average in.tif out.tif",
};
/// No ground that is dry lies lower or higher than this, metres.
const LOWEST_M: f64 = -500.0;
const HIGHEST_M: f64 = 9000.0;
const PROJ_LINEAR_UNITS: u16 = 3076;

/// The heights around the blocks, in metres.
///
/// # Errors
/// What keeps the file from being a raster of heights that covers one of the blocks.
pub(super) fn elevation(
    source: Source,
    blocks: &[Block],
    findings: &mut Findings,
) -> Result<Grid, Finding> {
    let cut = cut(source, blocks, PURPOSE)?;
    let heights = Heights::of(&cut.file);
    let reading = Reading { file: &cut.file, heights, place: &cut.place };
    let values = reading.heights_m(&cut.numbers, findings);
    reading.tell_units(findings);
    cut.tell(blocks, findings);
    cut.grid(values, "m")
}

/// A raster whose numbers are being understood.
struct Reading<'a> {
    file: &'a GeoTiffFile,
    heights: Heights,
    place: &'a Place,
}

impl Reading<'_> {
    /// Heights in metres, not a number where there is none.
    fn heights_m(&self, numbers: &[f64], findings: &mut Findings) -> Vec<f64> {
        let mut absurd = 0_usize;
        let mut example = 0.0;
        let mut height_m = |number: &f64| {
            let height = self.heights.height_m(*number);
            let plausible = height.filter(|height| (LOWEST_M..=HIGHEST_M).contains(height));
            if let (Some(height), None) = (height, plausible) {
                absurd += 1;
                example = height;
            }
            plausible.unwrap_or(f64::NAN)
        };
        let heights = numbers.iter().map(&mut height_m).collect();
        if absurd > 0 {
            let what =
                format!("{absurd} cells around the blocks hold no height, such as {example}");
            findings.push(
                Finding::warning(self.place.clone(), what)
                    .because("they are taken as absent, though the file does not mark them so")
                    .mend("mark them: gdal_translate -a_nodata VALUE in.tif out.tif"),
            );
        }
        heights
    }

    fn tell_units(&self, findings: &mut Findings) {
        let unit_m = self.heights.unit_m;
        if self.heights.unit_is_doubted {
            let what = format!("heights are taken in the unit that it states, {unit_m:.7} m");
            findings.push(
                Finding::warning(self.place.clone(), what)
                    .because("the vertical system that it names counts in another")
                    .mend("compare a height with one that is known; mend the file if it differs"),
            );
        }
        let in_feet = self.file.geokeys().get_short(PROJ_LINEAR_UNITS);
        let in_feet = in_feet.is_some_and(|unit| matches!(unit, 9002 | 9003));
        if (unit_m - 1.0).abs() > 1e-9 {
            let what = format!("heights were converted: the file's unit is {unit_m:.7} m");
            findings.push(Finding::note(self.place.clone(), what));
        } else if in_feet && !self.heights.unit_is_said {
            let what = "heights are taken as metres: the file does not say their unit";
            findings.push(
                Finding::warning(self.place.clone(), what)
                    .because("its grid counts in feet, and its heights may, too")
                    .mend("say it: gdal_edit.py -a_scale 0.3048 dem.tif if they are feet"),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use geotiff_writer::GeoTiffBuilder;
    use ndarray::Array2;

    use super::{super::raster::open, *};

    /// Metres in the unit of heights, and what is told of it.
    fn unit(units: u16, system: u16) -> (f64, String) {
        let mut bytes = Cursor::new(Vec::new());
        GeoTiffBuilder::new(2, 2)
            .projected_epsg(32610)
            .origin(740_000.0, 4_876_000.0)
            .pixel_scale(10.0, 10.0)
            .vertical_epsg(system)
            .vertical_units(units)
            .write_2d_to(&mut bytes, Array2::<f32>::zeros((2, 2)).view())
            .unwrap();
        let (place, mut findings) = (Place::file("dem.tif"), Findings::none());
        let file = open(bytes.into_inner(), &place).unwrap();
        let heights = Heights::of(&file);
        Reading { file: &file, heights, place: &place }.tell_units(&mut findings);
        (heights.unit_m, findings.iter().map(|finding| finding.to_string() + "\n").collect())
    }

    #[test]
    fn a_unit_that_is_stated_comes_first_and_a_contradiction_is_told() {
        // EPSG register: 9002 is the foot; NAVD88 is 5703 in metres and 8228 in feet.
        let (unit_m, told) = unit(9002, 5703);
        assert!((unit_m - 0.3048).abs() < 1e-12, "{unit_m}");
        assert!(told.contains("0.3048000 m") && told.contains("counts in another"), "{told}");
        let (unit_m, told) = unit(9002, 8228);
        assert!((unit_m - 0.3048).abs() < 1e-12, "{unit_m}");
        assert!(!told.contains("another"), "{told}");
    }
}
