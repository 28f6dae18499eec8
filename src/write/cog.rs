//! The numbers behind a map as a Cloud-Optimized GeoTIFF: tiled, with overviews, read in part.

use std::io::Cursor;

use geotiff_writer::{CogBuilder, Resampling};
use quick_xml::escape::escape;

use super::{
    geotiff::{builder, cells, refused, single},
    tiff_tag::with_text,
};
use crate::{error::Error, grid::Grid, maths::float};

/// Sides of tiles, cells.
const TILE: u32 = 256;
/// The tag in which the GDAL library keeps what TIFF has no word for.
const METADATA: u16 = 42_112;

/// A raster as the bytes of a Cloud-Optimized GeoTIFF with its unit, what it is and its statistics.
///
/// # Errors
/// A fault of the program: a raster or a grid that the format cannot hold.
///
/// # Source
/// OGC 21-026, OGC Cloud Optimized GeoTIFF Standard 1.0. Unit, words and statistics stand in the
/// tag of the GDAL library, whose documentation of the driver for GeoTIFF describes it.
pub fn cloud_optimised(grid: &Grid, meaning: &str) -> Result<Vec<u8>, Error> {
    let cells = cells(grid)?;
    let builder = builder(grid)?.tile_size(TILE, TILE);
    let mut bytes = Cursor::new(Vec::new());
    CogBuilder::new(builder)
        .overview_levels(levels(grid.size()))
        .resampling(Resampling::NearestNeighbor)
        .write_2d_to(&mut bytes, cells.view())
        .map_err(|error| refused(grid, &error.to_string()))?;
    with_text(&bytes.into_inner(), METADATA, &metadata(grid, meaning))
        .ok_or_else(|| refused(grid, "the words of its band found no place"))
}

/// Halvings until a raster fits into one tile.
fn levels([columns, rows]: [usize; 2]) -> Vec<u32> {
    let longest = columns.max(rows);
    let fits = |level: &u32| longest.div_ceil(usize::try_from(*level / 2).unwrap_or(1)) > 256;
    std::iter::successors(Some(2_u32), |level| level.checked_mul(2)).take_while(fits).collect()
}

fn metadata(grid: &Grid, meaning: &str) -> String {
    let item = |name: &str, more: &str, text: &str| {
        format!("<Item name=\"{name}\" sample=\"0\"{more}>{}</Item>", escape(text))
    };
    let mut items = vec![item("DESCRIPTION", " role=\"description\"", meaning)];
    if !grid.unit().is_empty() {
        items.push(item("UNITTYPE", " role=\"unittype\"", grid.unit()));
    }
    if let Some(statistics) = Statistics::of(grid) {
        for (name, value) in statistics.named() {
            items.push(item(&format!("STATISTICS_{name}"), "", &value.to_string()));
        }
    }
    // The tag holds letters of ASCII only.
    let text = format!("<GDALMetadata>{}</GDALMetadata>", items.concat());
    text.chars().map(|letter| if letter.is_ascii() { letter } else { '?' }).collect()
}

/// What the cells with a value say together.
struct Statistics {
    least: f64,
    most: f64,
    mean: f64,
    deviation: f64,
    valid_percent: f64,
}

impl Statistics {
    fn of(grid: &Grid) -> Option<Self> {
        // As written: single precision.
        let values: Vec<f64> =
            grid.values().flatten().map(|value| f64::from(single(value))).collect();
        let number = float(values.len());
        let mean = values.iter().sum::<f64>() / number;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        let [columns, rows] = grid.size();
        (!values.is_empty()).then(|| Self {
            least: values.iter().copied().fold(f64::INFINITY, f64::min),
            most: values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            mean,
            deviation: (squares / number).sqrt(),
            valid_percent: 100.0 * number / float(columns * rows),
        })
    }

    const fn named(&self) -> [(&'static str, f64); 5] {
        [
            ("MINIMUM", self.least),
            ("MAXIMUM", self.most),
            ("MEAN", self.mean),
            ("STDDEV", self.deviation),
            ("VALID_PERCENT", self.valid_percent),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        geodesy::GridTransform,
        grid::{Affine, Georeference, Lies},
        maths::random::Random,
    };

    /// More than a tile each way, with gaps.
    fn grid() -> Grid {
        let mut random = Random::new(3);
        let mut value = || Some(random.uniform()).filter(|v| *v > 0.2).unwrap_or(f64::NAN);
        let affine = Affine {
            origin_x: 327_573.5,
            column_x: 0.25,
            row_x: 0.0,
            origin_y: 6_217_817.75,
            column_y: 0.0,
            row_y: -0.25,
        };
        let lies = Lies::Projected(GridTransform::new("EPSG:32630").unwrap());
        let values = (0..700 * 520).map(|_| value()).collect();
        Grid::new("a", [700, 520], values, Georeference { affine, lies }, "shoots/m").unwrap()
    }

    #[test]
    fn numbers_come_back_with_the_words_before_them() {
        let grid = grid();
        let bytes = cloud_optimised(&grid, "what it is & more").unwrap();
        let holds = |words: &str| bytes.windows(words.len()).any(|part| part == words.as_bytes());
        assert!(holds("what it is &amp; more") && holds("role=\"unittype\">shoots/m<"));
        assert!(holds("STATISTICS_VALID_PERCENT"));
        let file = geotiff_reader::GeoTiffFile::from_bytes(bytes).unwrap();
        let band: Vec<f32> = file.read_band(0).unwrap().iter().copied().collect();
        assert_eq!(band.len(), 700 * 520);
        for (read, written) in band.iter().zip(grid.values()) {
            let written = written.map_or(-9999.0, single);
            assert!((read - written).abs() < f32::EPSILON, "{read} {written}");
        }
        assert_eq!((file.epsg(), file.nodata()), (Some(32630), Some("-9999")));
    }

    #[test]
    fn statistics_are_of_the_cells_with_a_value() {
        let found = Statistics::of(&grid()).unwrap();
        // Uniform from 0.2 to 1: mean 0.6, deviation 0.8/√12.
        assert!((found.mean - 0.6).abs() < 5e-3 && (found.deviation - 0.2309).abs() < 5e-3);
        assert!((found.valid_percent - 80.0).abs() < 0.5, "{}", found.valid_percent);
        assert!(found.least >= 0.2 && found.most <= 1.0);
    }

    #[test]
    fn overviews_end_with_one_tile() {
        assert_eq!(levels([256, 200]), Vec::<u32>::new());
        assert_eq!(levels([700, 520]), [2, 4]);
        assert_eq!(levels([2000, 30]), [2, 4, 8]);
    }

    #[test]
    fn a_text_goes_in_once_and_only_into_such_a_file() {
        let bytes = cloud_optimised(&grid(), "").unwrap();
        assert!(with_text(&bytes, METADATA, "another text").is_none());
        assert!(with_text(b"no such file at all", METADATA, "a text").is_none());
        assert!(with_text(&bytes, 60_000, "grün").is_none());
    }
}
