//! A flight over the block by the tarn: how green its canopy is, as a raster of vigor.
//!
//! The index of a cell rises with last winter's wood on the vines in and around it, and errs by itself;
//! where no vine stands it is that of grass.

use super::truth::VineTruth;
use crate::{
    error::Error,
    frame::Site,
    geodesy::GridTransform,
    grid::{Affine, Georeference, Grid, Lies},
    layout::Layout,
    maths::{random::Random, whole},
    write::geotiff::geotiff,
};

/// The grid of the raster: UTM, in whose zone 30 the invented isle lies.
const GRID: &str = "EPSG:32630";
/// The side of a cell, metres: just under a row, as from a light aircraft.
const CELL_M: f64 = 2.0;
/// Cells flown beyond the outermost vines.
const MARGIN: f64 = 3.0;
/// Index of bare wood, and what a kilogram of wood a metre adds.
const BARE: f64 = 0.4;
const A_KG_PER_M: f64 = 0.5;
/// Index of the grass where no vine stands.
const GRASS: f64 = 0.33;
/// Standard deviation of the index of a cell around what stands there.
const SPREAD: f64 = 0.02;
const SEED: u64 = 4_901;

/// The index over a block, to a hundredth, as the bytes of a GeoTIFF.
///
/// # Errors
/// A fault of the program: a grid that PROJ does not know, a block off it.
pub(super) fn vigor_raster(
    name: &str,
    (site, layout): (&Site, &Layout),
    truth: &[VineTruth],
) -> Result<Vec<u8>, Error> {
    let unknown = |error: crate::geodesy::GeodesyError| Error::Unexpected(error.to_string());
    let grid = GridTransform::new(GRID).map_err(unknown)?;
    let mut at = Vec::with_capacity(layout.vines.len());
    for vine in &layout.vines {
        let place = grid.from_lon_lat(site.frame.to_lon_lat(vine.at)).map_err(unknown)?;
        at.push([place.east, place.north]);
    }
    let flown = Flown::over(&at);
    let values = flown.indices(&at, truth);
    let georeference = Georeference { affine: flown.affine(), lies: Lies::Projected(grid) };
    let grid = Grid::new(name, flown.cells, values, georeference, "")
        .ok_or_else(|| Error::Unexpected("the flight saw no ground".to_owned()))?;
    geotiff(&grid)
}

/// The cells of a flight.
struct Flown {
    /// West and north ends, metres.
    corner_m: [f64; 2],
    /// Columns and rows.
    cells: [usize; 2],
}

impl Flown {
    fn over(at: &[[f64; 2]]) -> Self {
        let end = |axis: usize, pick: fn(f64, f64) -> f64, none: f64| {
            at.iter().map(|place| place[axis] / CELL_M).fold(none, pick)
        };
        let west = end(0, f64::min, f64::INFINITY).floor() - MARGIN;
        let east = end(0, f64::max, f64::NEG_INFINITY).ceil() + MARGIN;
        let south = end(1, f64::min, f64::INFINITY).floor() - MARGIN;
        let north = end(1, f64::max, f64::NEG_INFINITY).ceil() + MARGIN;
        Self {
            corner_m: [west * CELL_M, north * CELL_M],
            cells: [whole(east - west), whole(north - south)],
        }
    }

    const fn affine(&self) -> Affine {
        Affine {
            origin_x: self.corner_m[0],
            column_x: CELL_M,
            row_x: 0.0,
            origin_y: self.corner_m[1],
            column_y: 0.0,
            row_y: -CELL_M,
        }
    }

    /// Column and row of a place.
    fn cell(&self, [east, north]: [f64; 2]) -> [usize; 2] {
        [whole((east - self.corner_m[0]) / CELL_M), whole((self.corner_m[1] - north) / CELL_M)]
    }

    /// The index of every cell, row by row from the north.
    fn indices(&self, at: &[[f64; 2]], truth: &[VineTruth]) -> Vec<f64> {
        let mut wood = vec![[0.0; 2]; self.cells[0] * self.cells[1]];
        for (place, vine) in at.iter().zip(truth) {
            let [column, row] = self.cell(*place);
            for near in
                (row - 1..=row + 1).flat_map(|row| (column - 1..=column + 1).map(move |c| (c, row)))
            {
                let [sum, vines] = &mut wood[near.1 * self.cells[0] + near.0];
                *sum += vine.prunings_kg_per_m;
                *vines += 1.0;
            }
        }
        let mut random = Random::new(SEED);
        let index = |[sum, vines]: [f64; 2]| {
            let stands = if vines > 0.0 { BARE + A_KG_PER_M * sum / vines } else { GRASS };
            ((stands + SPREAD * random.normal()) * 100.0).round() / 100.0
        };
        wood.into_iter().map(index).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vine(prunings_kg_per_m: f64) -> VineTruth {
        VineTruth { shoots: 20, surface_per_m: 17.0, prunings_kg_per_m, shoot_length_cm: 14.0 }
    }

    #[test]
    fn the_index_is_high_over_strong_vines_and_low_over_grass() {
        let at: Vec<[f64; 2]> =
            (0..400).map(|k| [f64::from(k % 20) * 2.0, f64::from(k / 20) * 2.0]).collect();
        let truth: Vec<VineTruth> =
            at.iter().map(|place| vine(if place[0] < 20.0 { 0.8 } else { 0.3 })).collect();
        let flown = Flown::over(&at);
        let indices = flown.indices(&at, &truth);
        let index = |place: [f64; 2]| {
            let [column, row] = flown.cell(place);
            indices[row * flown.cells[0] + column]
        };
        assert!((index([6.0, 20.0]) - 0.8).abs() < 0.1, "{}", index([6.0, 20.0]));
        assert!((index([34.0, 20.0]) - 0.55).abs() < 0.1, "{}", index([34.0, 20.0]));
        assert!((index([-5.0, 20.0]) - GRASS).abs() < 0.1, "{}", index([-5.0, 20.0]));
        assert_eq!(indices, flown.indices(&at, &truth), "the same each time");
    }
}
