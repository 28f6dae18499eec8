//! A raster (GeoTIFF) -> the part of its one band around the blocks.
//!
//! Only the part around the blocks is decoded. Cells are taken as the file says: where it counts
//! from the middles of cells (pixel is point), its corner lies half a cell beyond. What its numbers
//! are is settled by [`super::raster_heights`] and [`super::raster_vigor`].

use geo::{CoordsIter, MultiPolygon};
use geotiff_reader::{GeoTiffFile, GeoTiffOpenOptions};

use super::{
    raster_facts::{georeference, has_mask},
    source::Source,
};
use crate::{
    block::Block,
    finding::{Finding, Findings, Place},
    geodesy::LonLat,
    grid::{Georeference, Grid, Lies},
    maths::{float, whole},
};

/// Cells around the blocks that are read with them.
const MARGIN_CELLS: f64 = 4.0;
/// Cells that are read at most: 200 MB of numbers.
const MOST_CELLS: usize = 25_000_000;
/// Bytes that the decoder may make of one image.
const MOST_DECODED_BYTES: usize = 512 * 1024 * 1024;
/// A tie of a grid to the globe worse than this is told, metres.
const TIE_WORTH_TELLING_M: f64 = 5.0;

/// What a raster is read for.
#[derive(Debug, Clone, Copy)]
pub(super) struct Purpose {
    /// What its numbers are: `heights`.
    pub(super) values: &'static str,
    /// Ground around the blocks that is read with them, metres.
    pub(super) margin_m: f64,
    /// How to make its cells larger.
    pub(super) larger_cells: &'static str,
}

/// The part of a raster around the blocks, its numbers as they stand in the file.
pub(super) struct Cut {
    pub(super) file: GeoTiffFile,
    pub(super) place: Place,
    /// Row by row.
    pub(super) numbers: Vec<f64>,
    purpose: Purpose,
    georeference: Georeference,
    window: Window,
    name: String,
}

/// The part of a raster around the blocks.
///
/// # Errors
/// What keeps the file from being a raster of one band that covers one of the blocks.
pub(super) fn cut(source: Source, blocks: &[Block], purpose: Purpose) -> Result<Cut, Finding> {
    let (place, name) = (source.place(), source.name.clone());
    let file = open(source.into_bytes(), &place)?;
    if file.band_count() != 1 {
        let what = format!("the raster has {} bands", file.band_count());
        let values = purpose.values;
        return Err(Finding::fault(place, what)
            .because(format!(
                "one band of {values} is wanted; several are a picture or several things"
            ))
            .mend(format!("take the band of {values}: gdal_translate -b 1 in.tif out.tif")));
    }
    let georeference = georeference(&file, &place)?;
    let window = Window::around(&file, &georeference, blocks, (&place, purpose))?;
    let numbers = numbers(&file, window, &place)?;
    Ok(Cut { file, place, numbers, purpose, georeference, window, name })
}

impl Cut {
    /// The part as values of this unit, row by row, not a number where there is none.
    ///
    /// # Errors
    /// When it has no extent.
    pub(super) fn grid(self, values: Vec<f64>, unit: &str) -> Result<Grid, Finding> {
        let first = [self.window.column, self.window.row].map(float);
        let affine = self.georeference.affine.without(first[0], first[1]);
        let georeference = Georeference { affine, ..self.georeference };
        let size = [self.window.columns, self.window.rows];
        Grid::new(self.name, size, values, georeference, unit)
            .ok_or_else(|| unreadable(&self.place, "its size contradicts itself"))
    }

    /// Tells a mask that hides cells, and a loose tie of the raster's grid to the globe.
    pub(super) fn tell(&self, blocks: &[Block], findings: &mut Findings) {
        let values = self.purpose.values;
        if has_mask(&self.file) {
            let mend = format!(
                "write absent {values} as a value: gdalwarp -dstnodata -9999 in.tif out.tif"
            );
            let warning =
                Finding::warning(self.place.clone(), "the mask inside the file is not read")
                    .because(format!("masked cells may hold {values} that mean nothing"))
                    .mend(mend);
            findings.push(warning);
        }
        findings.extend(self.loose_tie(blocks).into_iter().collect());
    }

    fn loose_tie(&self, blocks: &[Block]) -> Option<Finding> {
        let Lies::Projected(grid) = &self.georeference.lies else { return None };
        let corner = blocks.iter().find_map(|block| block.outline.coords_iter().next())?;
        let tie = grid.accuracy_at(LonLat::new(corner.x, corner.y)?);
        let loose = tie.metres.is_some_and(|metres| metres >= TIE_WORTH_TELLING_M);
        if !tie.ballpark && !loose {
            return None;
        }
        let how = tie.metres.filter(|_| !tie.ballpark);
        let how = how.map_or("only by a guess".to_owned(), |m| format!("only within {m} m"));
        let what = format!("{} is tied to longitude and latitude {how}", grid.code());
        let why = format!("the {} may lie so far beside the block", self.purpose.values);
        Some(Finding::note(self.place.clone(), what).because(why))
    }
}

pub(super) fn open(bytes: Vec<u8>, place: &Place) -> Result<GeoTiffFile, Finding> {
    let magic = [&b"II*\0"[..], b"MM\0*", b"II+\0", b"MM\0+"];
    if !magic.iter().any(|magic| bytes.starts_with(magic)) {
        let ascii = bytes.to_ascii_lowercase().starts_with(b"ncols");
        let mend = if ascii {
            "this looks like an ASCII grid; gdal_translate -a_srs EPSG:n in.asc out.tif makes one"
        } else {
            "export it as GeoTIFF, or gdal_translate in.… out.tif"
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
        (place, purpose): (&Place, Purpose),
    ) -> Result<Self, Finding> {
        let size = [f64::from(file.width()), f64::from(file.height())];
        let margin_m = purpose.margin_m;
        let met = |block: &Block| {
            span(&block.outline, georeference, margin_m).filter(|span| span.meets(size))
        };
        let Some(span) = blocks.iter().filter_map(met).reduce(Span::with) else {
            return Err(beside(georeference, size, blocks, place));
        };
        let [(column, columns), (row, rows)] = span.cells(size);
        if columns.saturating_mul(rows) > MOST_CELLS {
            let what = format!("{columns} × {rows} cells lie around the blocks");
            return Err(Finding::fault(place.clone(), what)
                .because(format!("at most {} million are read", MOST_CELLS / 1_000_000))
                .mend(format!("make its cells larger: {}", purpose.larger_cells)));
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
fn span(outline: &MultiPolygon<f64>, georeference: &Georeference, margin_m: f64) -> Option<Span> {
    let cell = |corner: geo::Coord<f64>| georeference.cell_of(LonLat::new(corner.x, corner.y)?);
    let point = |cell: [f64; 2]| Span { low: cell, high: cell };
    let span = outline.coords_iter().filter_map(cell).map(point).reduce(Span::with)?;
    let middle = [0, 1].map(|axis| span.low[axis].midpoint(span.high[axis]));
    let cell_m = georeference.cell_m(middle)?;
    let margin = margin_m / cell_m[0].min(cell_m[1]).max(1e-3) + MARGIN_CELLS;
    Some(Span {
        low: span.low.map(|cell| cell - margin),
        high: span.high.map(|cell| cell + margin),
    })
}

fn beside(georeference: &Georeference, size: [f64; 2], blocks: &[Block], place: &Place) -> Finding {
    let finding = Finding::fault(place.clone(), "the raster covers nothing of the blocks");
    let corners = [[0.0, 0.0], size].map(|corner| georeference.place(corner));
    let raster = match corners {
        [Some(one), Some(other)] => format!(
            "it reaches from {:.4}, {:.4} to {:.4}, {:.4} (longitude, latitude)",
            one.lon(),
            one.lat(),
            other.lon(),
            other.lat()
        ),
        _ => "its corners lie beyond the reach of its grid".to_owned(),
    };
    let corners = || blocks.iter().flat_map(|block| block.outline.coords_iter());
    let extreme = |of: fn(geo::Coord<f64>) -> f64, pick: fn(f64, f64) -> f64| {
        corners().map(of).reduce(pick).unwrap_or(f64::NAN)
    };
    let why = format!(
        "{raster}, the blocks from {:.4}, {:.4} to {:.4}, {:.4}",
        extreme(|c| c.x, f64::min),
        extreme(|c| c.y, f64::min),
        extreme(|c| c.x, f64::max),
        extreme(|c| c.y, f64::max)
    );
    finding
        .because(why)
        .mend("compare with gdalinfo: the tile may be another one, or its EPSG code be wrong")
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
