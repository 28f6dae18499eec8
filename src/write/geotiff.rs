//! A raster as GeoTIFF, the same bytes every time.
//!
//! One band of 32-bit floating-point numbers, cells counted from their corners (pixel is area), in
//! the grid of the raster by its EPSG code. Compressed without loss.

use std::io::Cursor;

use geotiff_writer::{Compression, GeoTiffBuilder, GeoTransform, Predictor};
use ndarray::Array2;

use crate::{
    error::Error,
    grid::{Affine, Grid, Lies},
};

/// What stands for a cell without a value.
const NONE: f32 = -9999.0;

/// A raster as the bytes of a GeoTIFF.
///
/// # Errors
/// A fault of the program: a raster or a grid that the format cannot hold.
pub fn geotiff(grid: &Grid) -> Result<Vec<u8>, Error> {
    let cells = cells(grid)?;
    let mut bytes = Cursor::new(Vec::new());
    builder(grid)?
        .write_2d_to(&mut bytes, cells.view())
        .map_err(|error| refused(grid, &error.to_string()))?;
    Ok(bytes.into_inner())
}

/// A fault of the program.
pub(super) fn refused(grid: &Grid, why: &str) -> Error {
    Error::Unexpected(format!("no GeoTIFF of {}: {why}", grid.name()))
}

/// The values row by row, one that stands for nothing where there is none.
pub(super) fn cells(grid: &Grid) -> Result<Array2<f32>, Error> {
    let [columns, rows] = grid.size();
    let values = grid.values().map(|value| value.map_or(NONE, single)).collect();
    Array2::from_shape_vec((rows, columns), values)
        .map_err(|error| refused(grid, &error.to_string()))
}

/// How the file is laid out: where its cells lie, how they are packed.
pub(super) fn builder(grid: &Grid) -> Result<GeoTiffBuilder, Error> {
    let [columns, rows] = grid.size();
    let side =
        |cells: usize| u32::try_from(cells).map_err(|error| refused(grid, &error.to_string()));
    let builder = GeoTiffBuilder::new(side(columns)?, side(rows)?)
        .transform(transform(&grid.georeference().affine))
        .nodata(&NONE.to_string())
        .compression(Compression::Lzw)
        .predictor(Predictor::FloatingPoint);
    let too_large = |code: &str| refused(grid, &format!("{code} is too large"));
    let builder = match &grid.georeference().lies {
        Lies::Degrees => builder.geographic_epsg(4326),
        Lies::Projected(grid) => {
            let code = grid.code().trim_start_matches("EPSG:").parse().ok();
            let code = code.ok_or_else(|| too_large(grid.code()))?;
            builder.projected_epsg(code)
        }
    };
    Ok(builder)
}

const fn transform(affine: &Affine) -> GeoTransform {
    GeoTransform {
        origin_x: affine.origin_x,
        pixel_width: affine.column_x,
        skew_x: affine.row_x,
        origin_y: affine.origin_y,
        skew_y: affine.column_y,
        pixel_height: affine.row_y,
    }
}

#[expect(clippy::cast_possible_truncation, reason = "seven digits hold a height to a millimetre")]
pub(super) const fn single(value: f64) -> f32 {
    value as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{geodesy::GridTransform, grid::Georeference};

    fn grid(lies: Lies, affine: Affine) -> Grid {
        let values = vec![1.5, f64::NAN, 3.25, 4.0, 5.0, -6.125];
        Grid::new("dem.tif", [3, 2], values, Georeference { affine, lies }, "m").unwrap()
    }

    fn affine() -> Affine {
        Affine {
            origin_x: 452_130.0,
            column_x: 5.0,
            row_x: 0.0,
            origin_y: 6_214_500.0,
            column_y: 0.0,
            row_y: -5.0,
        }
    }

    #[test]
    fn what_is_written_is_read_back_with_its_place_and_its_gaps() {
        let utm = GridTransform::new("EPSG:32630").unwrap();
        let turned = Affine { row_x: 1.0, column_y: -0.5, ..affine() };
        for affine in [affine(), turned] {
            let bytes = geotiff(&grid(Lies::Projected(utm.clone()), affine)).unwrap();
            let file = geotiff_reader::GeoTiffFile::from_bytes(bytes).unwrap();
            let there = file.transform().unwrap();
            assert!((there.origin_x - 452_130.0).abs() < 1e-9, "{there:?}");
            assert!((there.skew_x - affine.row_x).abs() < 1e-12, "{there:?}");
            assert_eq!((file.epsg(), file.nodata()), (Some(32630), Some("-9999")));
            let band: Vec<f32> = file.read_band(0).unwrap().iter().copied().collect();
            let expected = [1.5, NONE, 3.25, 4.0, 5.0, -6.125];
            assert!(band.iter().zip(expected).all(|(one, other)| (one - other).abs() < 1e-9));
        }
    }

    #[test]
    fn the_same_raster_gives_the_same_bytes() {
        let in_degrees =
            Affine { origin_x: -5.8, column_x: 1e-4, origin_y: 56.1, row_y: -1e-4, ..affine() };
        let bytes = || geotiff(&grid(Lies::Degrees, in_degrees)).unwrap();
        assert_eq!(bytes(), bytes());
    }
}
