//! Places and names that all layers share.

use std::sync::Arc;

use geo::{Coord, LineString, MultiPolygon};

use crate::{
    frame::{RowPoint, Site},
    geodesy::LonLat,
    layout::{Layout, Piece, Vine},
    write::{Area, Shape, Value},
};

/// Decimals of a degree for vines and posts: 0.1 mm.
pub(super) const STAKE_DECIMALS: u8 = 9;
/// Decimals of a degree elsewhere: 1 mm.
pub(super) const MAP_DECIMALS: u8 = 8;

/// A block with its layout and the texts that its features share.
#[derive(Debug, Clone)]
pub(super) struct Ground<'a> {
    pub(super) site: &'a Site,
    pub(super) layout: &'a Layout,
    pub(super) block: Arc<str>,
    cultivars: Vec<Option<Arc<str>>>,
}

impl<'a> Ground<'a> {
    pub(super) fn new(site: &'a Site, layout: &'a Layout) -> Self {
        let plantings = site.plantings.all().iter();
        Self {
            site,
            layout,
            block: site.name.as_str().into(),
            cultivars: plantings
                .map(|planting| planting.cultivar.as_deref().map(Arc::from))
                .collect(),
        }
    }

    /// The cultivar of a planting.
    pub(super) fn cultivar(&self, planting: usize) -> Option<Arc<str>> {
        self.cultivars.get(planting).cloned().flatten()
    }

    /// The cultivar of a row.
    pub(super) fn cultivar_of_row(&self, row: u32) -> Option<Arc<str>> {
        self.cultivar(self.site.plantings.of_row(row))
    }

    pub(super) fn piece_of(&self, vine: &Vine) -> &'a Piece {
        &self.layout.pieces[vine.piece]
    }

    pub(super) fn point(&self, at: RowPoint) -> Shape {
        Shape::Point(self.site.frame.to_lon_lat(at))
    }

    pub(super) fn line(&self, path: &LineString<f64>) -> Shape {
        Shape::Line(self.places(path))
    }

    pub(super) fn areas(&self, ground: &MultiPolygon<f64>) -> Shape {
        let area = |part: &geo::Polygon<f64>| Area {
            outer: self.places(part.exterior()),
            holes: part.interiors().iter().map(|hole| self.places(hole)).collect(),
        };
        Shape::Areas(ground.iter().map(area).collect())
    }

    /// The ground of a line that is so wide, metres.
    pub(super) fn strip(&self, path: &LineString<f64>, width_m: f64) -> Shape {
        let half = width_m / 2.0;
        let mut border = beside(path, half);
        border.extend(beside(path, -half).into_iter().rev());
        let outer = border.into_iter().map(|corner| self.place(corner)).collect();
        Shape::Areas(vec![Area { outer, holes: Vec::new() }])
    }

    fn places(&self, path: &LineString<f64>) -> Vec<LonLat> {
        path.coords().map(|&corner| self.place(corner)).collect()
    }

    fn place(&self, Coord { x, y }: Coord<f64>) -> LonLat {
        self.site.frame.to_lon_lat(RowPoint { along_m: x, across_m: y })
    }
}

/// The letter of a piece, if the row is cut.
pub(super) fn letter(piece: &Piece) -> Value {
    piece.letter.map(|letter| letter.to_string()).into()
}

/// The corners of a line moved sideways, square to the line through the corners around each.
fn beside(path: &LineString<f64>, by_m: f64) -> Vec<Coord<f64>> {
    let corners = &path.0;
    let moved = |at: usize| {
        let before = corners[at.saturating_sub(1)];
        let after = corners[(at + 1).min(corners.len() - 1)];
        let way = after - before;
        let length = way.x.hypot(way.y);
        let square = if length > 0.0 { Coord { x: -way.y, y: way.x } / length } else { way };
        corners[at] + square * by_m
    };
    (0..corners.len()).map(moved).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_line_is_moved_square_to_itself() {
        let path = LineString::from(vec![(0.0, 0.0), (6.0, 8.0)]);
        let moved = beside(&path, 5.0);
        let expected = [Coord { x: -4.0, y: 3.0 }, Coord { x: 2.0, y: 11.0 }];
        for (moved, expected) in moved.iter().zip(expected) {
            assert!((moved.x - expected.x).hypot(moved.y - expected.y) < 1e-12, "{moved:?}");
        }
    }

    #[test]
    fn a_bend_is_moved_along_its_bisector_and_a_point_stays() {
        let path = LineString::from(vec![(0.0, 0.0), (1.0, 0.0), (1.0, 1.0)]);
        let corner = beside(&path, 1.0)[1];
        let half = std::f64::consts::FRAC_1_SQRT_2;
        assert!((corner.x - (1.0 - half)).hypot(corner.y - half) < 1e-12, "{corner:?}");
        let point = LineString::from(vec![(2.0, 3.0), (2.0, 3.0)]);
        assert_eq!(beside(&point, 1.0)[0], Coord { x: 2.0, y: 3.0 });
    }
}
