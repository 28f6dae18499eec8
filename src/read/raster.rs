//! A raster of heights (GeoTIFF) -> a [`Grid`] of metres around the blocks.
//!
//! Only the part around the blocks is decoded. Cells are taken as the file says: where it counts
//! from the middles of cells (pixel is point), its corner lies half a cell beyond.

use geo::{CoordsIter, MultiPolygon};
use geotiff_reader::{GeoTiffFile, GeoTiffOpenOptions};

use super::{
    raster_facts::{Heights, georeference, has_mask},
    source::Source,
};
use crate::{
    block::Block,
    finding::{Finding, Findings, Place},
    geodesy::LonLat,
    grid::{Georeference, Grid, Lies},
    maths::{float, whole},
};

/// Ground around the blocks that is read with them, metres and cells.
const MARGIN_M: f64 = 200.0;
const MARGIN_CELLS: f64 = 4.0;
/// Cells that are read at most: 200 MB of heights.
const MOST_CELLS: usize = 25_000_000;
/// Bytes that the decoder may make of one image.
const MOST_DECODED_BYTES: usize = 512 * 1024 * 1024;
/// No ground that is dry lies lower or higher than this, metres.
const LOWEST_M: f64 = -500.0;
const HIGHEST_M: f64 = 9000.0;
/// A tie of a grid to the globe worse than this is told, metres.
const TIE_WORTH_TELLING_M: f64 = 5.0;
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
    let (place, name) = (source.place(), source.name.clone());
    let file = open(source.into_bytes(), &place)?;
    if file.band_count() != 1 {
        let what = format!("the raster has {} bands", file.band_count());
        return Err(Finding::fault(place, what)
            .because("one band of heights is wanted; several are a picture or several things")
            .mend("take the band of heights: gdal_translate -b 1 in.tif out.tif"));
    }
    let georeference = georeference(&file, &place)?;
    let heights = Heights::of(&file);
    let window = Window::around(&file, &georeference, blocks, &place)?;
    let numbers = numbers(&file, window, &place)?;
    let reading = Reading { file: &file, heights, place: &place };
    let values = reading.heights_m(numbers, findings);
    reading.tell_units(findings);
    reading.tell_tie(&georeference, blocks, findings);
    let affine = georeference.affine.without(float(window.column), float(window.row));
    let georeference = Georeference { affine, ..georeference };
    let size = [window.columns, window.rows];
    Grid::new(name, size, values, georeference, "m")
        .ok_or_else(|| unreadable(&place, "its size contradicts itself"))
}

fn open(bytes: Vec<u8>, place: &Place) -> Result<GeoTiffFile, Finding> {
    let magic = [&b"II*\0"[..], b"MM\0*", b"II+\0", b"MM\0+"];
    if !magic.iter().any(|magic| bytes.starts_with(magic)) {
        let ascii = bytes.to_ascii_lowercase().starts_with(b"ncols");
        let mend = if ascii {
            "this looks like an ASCII grid; gdal_translate -a_srs EPSG:n in.asc out.tif makes one"
        } else {
            "export the elevation model as GeoTIFF, or gdal_translate in.… out.tif"
        };
        return Err(Finding::fault(place.clone(), "this is no TIFF file").mend(mend));
    }
    let defaults = GeoTiffOpenOptions::default();
    let mut parse_budgets = defaults.parse_budgets;
    parse_budgets.max_ifds = 1000;
    let decode_output_bytes = MOST_DECODED_BYTES;
    let options = GeoTiffOpenOptions { parse_budgets, decode_output_bytes, ..defaults };
    GeoTiffFile::from_bytes_with_options(bytes, options).map_err(|error| {
        if matches!(error, geotiff_reader::Error::NotGeoTiff) {
            Finding::fault(place.clone(), "the file does not say where its cells lie")
                .because("it is a plain TIFF; a world file beside it is not read")
                .mend("put both into one file: gdal_translate -a_srs EPSG:n in.tif out.tif")
        } else {
            unreadable(place, &error.to_string())
        }
    })
}

fn unreadable(place: &Place, why: &str) -> Finding {
    Finding::fault(place.clone(), "the raster cannot be read")
        .because(why.to_owned())
        .mend("copy it again, or write it anew: gdal_translate -co COMPRESS=DEFLATE in.tif out.tif")
}

/// The part of a raster that is read, in cells.
#[derive(Debug, Clone, Copy)]
struct Window {
    column: usize,
    row: usize,
    columns: usize,
    rows: usize,
}

impl Window {
    /// The part around the blocks that it reaches.
    fn around(
        file: &GeoTiffFile,
        georeference: &Georeference,
        blocks: &[Block],
        place: &Place,
    ) -> Result<Self, Finding> {
        let size = [f64::from(file.width()), f64::from(file.height())];
        let met = |block: &Block| span(&block.outline, georeference).filter(|s| s.meets(size));
        let Some(span) = blocks.iter().filter_map(met).reduce(Span::with) else {
            return Err(beside(georeference, size, place));
        };
        let [(column, columns), (row, rows)] = span.cells(size);
        if columns.saturating_mul(rows) > MOST_CELLS {
            let what = format!("{columns} × {rows} cells lie around the blocks");
            return Err(Finding::fault(place.clone(), what)
                .because(format!("at most {} million are read", MOST_CELLS / 1_000_000))
                .mend("make its cells larger: gdalwarp -tr 2 2 -r average in.tif out.tif"));
        }
        Ok(Self { column, row, columns, rows })
    }
}

/// From the least to the greatest column and row.
#[derive(Debug, Clone, Copy)]
struct Span {
    low: [f64; 2],
    high: [f64; 2],
}

impl Span {
    fn with(self, other: Self) -> Self {
        Self {
            low: [0, 1].map(|axis| self.low[axis].min(other.low[axis])),
            high: [0, 1].map(|axis| self.high[axis].max(other.high[axis])),
        }
    }

    fn meets(&self, size: [f64; 2]) -> bool {
        let meets = |axis: usize| self.high[axis] > 0.0 && self.low[axis] < size[axis];
        meets(0) && meets(1) && size[0] >= 1.0 && size[1] >= 1.0
    }

    /// First and number of columns, and of rows, inside the raster.
    fn cells(&self, size: [f64; 2]) -> [(usize, usize); 2] {
        [0, 1].map(|axis| {
            let first = self.low[axis].floor().clamp(0.0, size[axis] - 1.0);
            let last = self.high[axis].ceil().clamp(first + 1.0, size[axis]);
            (whole(first), whole(last - first))
        })
    }
}

/// The cells of an outline and the margin around it; `None` where the grid does not reach.
fn span(outline: &MultiPolygon<f64>, georeference: &Georeference) -> Option<Span> {
    let cell = |corner: geo::Coord<f64>| georeference.cell_of(LonLat::new(corner.x, corner.y)?);
    let point = |cell: [f64; 2]| Span { low: cell, high: cell };
    let span = outline.coords_iter().filter_map(cell).map(point).reduce(Span::with)?;
    let middle = [0, 1].map(|axis| span.low[axis].midpoint(span.high[axis]));
    let cell_m = georeference.cell_m(middle)?;
    let margin = MARGIN_M / cell_m[0].min(cell_m[1]).max(1e-3) + MARGIN_CELLS;
    Some(Span {
        low: span.low.map(|cell| cell - margin),
        high: span.high.map(|cell| cell + margin),
    })
}

fn beside(georeference: &Georeference, size: [f64; 2], place: &Place) -> Finding {
    let corners = [[0.0, 0.0], size].map(|corner| georeference.place(corner));
    let finding = Finding::fault(place.clone(), "the raster covers nothing of the blocks");
    let finding = match corners {
        [Some(one), Some(other)] => finding.because(format!(
            "it reaches from {:.4}, {:.4} to {:.4}, {:.4} (longitude, latitude)",
            one.lon(),
            one.lat(),
            other.lon(),
            other.lat()
        )),
        _ => finding.because("its corners lie beyond the reach of its grid"),
    };
    finding.mend("compare with gdalinfo: the tile may be another one, or its EPSG code be wrong")
}

/// The numbers of a part of the first band, row by row.
fn numbers(file: &GeoTiffFile, window: Window, place: &Place) -> Result<Vec<f64>, Finding> {
    let layout = match file.tiff().ifd(file.base_ifd_index()) {
        Ok(ifd) => ifd.raster_layout(),
        Err(error) => Err(error),
    };
    let layout = layout.map_err(|error| unreadable(place, &error.to_string()))?;
    let Window { column, row, columns, rows } = window;
    macro_rules! read_as {
        ($number:ty) => {
            file.read_band_window::<$number>(0, row, column, rows, columns)
                .map(|band| band.iter().map(|number| f64::from(*number)).collect())
        };
    }
    let numbers: Result<Vec<f64>, _> = match (layout.sample_format, layout.bits_per_sample) {
        (1, 0..=8) => read_as!(u8),
        (1, 9..=16) => read_as!(u16),
        (1, 32) => read_as!(u32),
        (2, 8) => read_as!(i8),
        (2, 16) => read_as!(i16),
        (2, 32) => read_as!(i32),
        (3, 32) => read_as!(f32),
        (3, 64) => read_as!(f64),
        (format, bits) => {
            let why = format!("its numbers are of {bits} bits in sample format {format}");
            return Err(unreadable(place, &why)
                .mend("write it with other numbers: gdal_translate -ot Float32 in.tif out.tif"));
        }
    };
    let numbers = numbers.map_err(|error| unreadable(place, &error.to_string()))?;
    if numbers.len() == columns * rows {
        Ok(numbers)
    } else {
        Err(unreadable(place, "it holds fewer numbers than cells"))
    }
}

/// A raster whose numbers are being understood.
struct Reading<'a> {
    file: &'a GeoTiffFile,
    heights: Heights,
    place: &'a Place,
}

impl Reading<'_> {
    /// Heights in metres, not a number where there is none.
    fn heights_m(&self, mut numbers: Vec<f64>, findings: &mut Findings) -> Vec<f64> {
        let mut absurd = 0_usize;
        let mut example = 0.0;
        for number in &mut numbers {
            let height = self.heights.height_m(*number);
            let plausible = height.filter(|height| (LOWEST_M..=HIGHEST_M).contains(height));
            if let (Some(height), None) = (height, plausible) {
                absurd += 1;
                example = height;
            }
            *number = plausible.unwrap_or(f64::NAN);
        }
        if absurd > 0 {
            let what =
                format!("{absurd} cells around the blocks hold no height, such as {example}");
            findings.push(
                Finding::warning(self.place.clone(), what)
                    .because("they are taken as absent, though the file does not mark them so")
                    .mend("mark them: gdal_translate -a_nodata VALUE in.tif out.tif"),
            );
        }
        if has_mask(self.file) {
            let what = "the mask inside the file is not read";
            findings.push(
                Finding::warning(self.place.clone(), what)
                    .because("masked cells may hold heights that mean nothing")
                    .mend(
                        "write absent heights as a value: gdalwarp -dstnodata -9999 in.tif out.tif",
                    ),
            );
        }
        numbers
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

    /// Tells a loose tie of the raster's grid to the globe.
    fn tell_tie(&self, georeference: &Georeference, blocks: &[Block], findings: &mut Findings) {
        let Lies::Projected(grid) = &georeference.lies else { return };
        let corner = blocks.iter().find_map(|block| block.outline.coords_iter().next());
        let Some(at) = corner.and_then(|corner| LonLat::new(corner.x, corner.y)) else { return };
        let tie = grid.accuracy_at(at);
        let loose = tie.metres.is_some_and(|metres| metres >= TIE_WORTH_TELLING_M);
        if tie.ballpark || loose {
            let how = tie.metres.filter(|_| !tie.ballpark);
            let how = how.map_or("only by a guess".to_owned(), |m| format!("only within {m} m"));
            let what = format!("{} is tied to longitude and latitude {how}", grid.code());
            findings.push(
                Finding::note(self.place.clone(), what)
                    .because("the heights may lie so far beside the block"),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use std::io::Cursor;

    use geotiff_writer::GeoTiffBuilder;
    use ndarray::Array2;

    use super::*;

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
