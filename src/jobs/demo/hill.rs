//! The ground under the block to be planted: an invented brae with a knoll, as an elevation model.
//!
//! Only sums, products and quotients, so that every machine makes the same heights.

use crate::{
    error::Error,
    geodesy::GridTransform,
    grid::{Affine, Georeference, Grid, Lies},
    maths::float,
    write::geotiff::geotiff,
};

/// The grid of the model: UTM, in whose zone 30 the invented isle lies.
const GRID: &str = "EPSG:32630";
/// Easting and northing of the middle of the model.
const MIDDLE_M: [f64; 2] = [327_455.0, 6_217_930.0];
/// The side of a cell, metres, and cells to a side.
const CELL_M: f64 = 5.0;
const CELLS: usize = 60;

/// The elevation model of [`super::estate::NEW_GROUND`], heights in metres to a centimetre.
///
/// # Errors
/// A fault of the program: a grid that PROJ does not know.
pub(super) fn elevation_model(name: &str) -> Result<Vec<u8>, Error> {
    let unknown = |error: crate::geodesy::GeodesyError| Error::Unexpected(error.to_string());
    let half_m = float(CELLS) / 2.0 * CELL_M;
    let affine = Affine {
        origin_x: MIDDLE_M[0] - half_m,
        column_x: CELL_M,
        row_x: 0.0,
        origin_y: MIDDLE_M[1] + half_m,
        column_y: 0.0,
        row_y: -CELL_M,
    };
    let georeference =
        Georeference { affine, lies: Lies::Projected(GridTransform::new(GRID).map_err(unknown)?) };
    let offset = |cell: usize| (float(cell) + 0.5) * CELL_M - half_m;
    let height = |at: usize| height_m(offset(at % CELLS), -offset(at / CELLS));
    let values = (0..CELLS * CELLS).map(height).collect();
    let grid = Grid::new(name, [CELLS, CELLS], values, georeference, "m")
        .ok_or_else(|| Error::Unexpected("the model of the estate holds no ground".to_owned()))?;
    geotiff(&grid)
}

/// The height so far east and north of the middle.
fn height_m(east_m: f64, north_m: f64) -> f64 {
    let brae = 185.0 + 0.045 * east_m - 0.06 * north_m;
    let (from_east, from_north) = (east_m + 45.0, north_m - 30.0);
    let knoll = 5.0 / (1.0 + (from_east * from_east + from_north * from_north) / 3000.0);
    ((brae + knoll) * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_brae_has_its_knoll_and_the_same_bytes() {
        assert!(height_m(-45.0, 30.0) > height_m(-45.0, 90.0) + 5.0);
        assert!((height_m(0.0, 0.0) - 187.53).abs() < 0.1, "{}", height_m(0.0, 0.0));
        assert_eq!(elevation_model("a.tif").unwrap(), elevation_model("a.tif").unwrap());
    }
}
