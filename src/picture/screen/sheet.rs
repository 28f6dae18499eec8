//! The sheet that a block is drawn on for a screen: no wider than a phone can show with its words
//! readable, the ground as large as it goes.

use geo::MultiPoint;

use crate::{
    picture::{
        PaperPoint,
        map::{Area, Compass, Placement},
    },
    units::Degrees,
};

/// Least and greatest width of the sheet, millimetres: lettering of 3.4 mm is some 10 pixels high on
/// a phone.
const WIDTHS_MM: [f64; 2] = [84.0, 118.0];
/// Greatest height of the ground with its collar.
const TALLEST_MM: f64 = 140.0;
/// Paper kept free around the block for row numbers and labels that are led out.
const COLLAR_MM: f64 = 9.0;

/// A sheet with the ground on it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sheet {
    /// Where the ground lies.
    pub(super) placement: Placement,
    /// Its width, millimetres.
    pub(super) width_mm: f64,
    /// Its height without the foot, millimetres.
    pub(super) height_mm: f64,
}

impl Sheet {
    /// The sheet for some ground, north up: on one that is about as high as wide a turn gains nothing,
    /// for even a long block is largest from corner to corner. `None` for ground without an extent.
    pub(super) fn for_ground(ground: &MultiPoint<f64>, compass: Compass) -> Option<Self> {
        let [least, most] = WIDTHS_MM;
        let (north, collar) = (Degrees::new(0.0), 2.0 * COLLAR_MM);
        let fill = |width, height| Placement::filling(ground, compass, north, room(width, height));
        let (_, [width, height]) = fill(most, TALLEST_MM)?;
        // What the ground does not need is not left white.
        let (width_mm, height_mm) = ((width + collar).max(least), height + collar);
        let (placement, _) = fill(width_mm, height_mm)?;
        Some(Self { placement, width_mm, height_mm })
    }

    /// All of it but the foot.
    pub(super) const fn area(&self) -> Area {
        Area {
            corner: PaperPoint::new(0.0, 0.0),
            width_mm: self.width_mm,
            height_mm: self.height_mm,
        }
    }
}

const fn room(width_mm: f64, height_mm: f64) -> Area {
    Area {
        corner: PaperPoint::new(COLLAR_MM, COLLAR_MM),
        width_mm: width_mm - 2.0 * COLLAR_MM,
        height_mm: height_mm - 2.0 * COLLAR_MM,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::block::RowsTo;

    fn sheet(along: f64, across: f64, bearing: f64) -> Sheet {
        let ground = vec![(0.0, 0.0), (along, 0.0), (along, across), (0.0, across)].into();
        let compass = Compass { bearing: Degrees::new(bearing), rows_to: RowsTo::Right };
        Sheet::for_ground(&ground, compass).unwrap()
    }

    #[test]
    fn the_ground_fills_the_sheet_but_for_its_collar() {
        // Rows to the east: 100 m fill 100 mm, and 50 m across are 50 mm high.
        let level = sheet(100.0, 50.0, 90.0);
        assert!((level.placement.mm(1.0) - 1.0).abs() < 1e-9);
        assert!((level.width_mm - 118.0).abs() < 1e-9 && (level.height_mm - 68.0).abs() < 1e-9);
        // Rows to the north: the height decides, and width is not given away.
        let upright = sheet(122.0, 30.0, 0.0);
        assert!((upright.height_mm - 140.0).abs() < 1e-9, "{}", upright.height_mm);
        assert!((upright.width_mm - 84.0).abs() < 1e-9, "{}", upright.width_mm);
    }

    #[test]
    fn a_long_block_is_as_large_from_corner_to_corner_as_any_turn_would_make_it() {
        // Turned upright, 400 m on 122 mm.
        let scale = sheet(400.0, 10.0, 45.0).placement.scale;
        assert!(scale < 1000.0 * 400.0 / 122.0, "{scale}");
    }
}
