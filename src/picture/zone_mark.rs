//! Zones as they are drawn: their ground, their words, and the lines between them.
//!
//! Where plantings alternate row by row, their zones interlock like the fingers of two hands. Lines
//! around all of them would run side by side along every end of a row and say nothing, so there a
//! line is drawn only where zones of one planting part, and the label tells the planting.

use std::collections::BTreeSet;

use geo::{Coord, LineString, MultiLineString, MultiPolygon};

/// A zone and what is said of it.
#[derive(Debug, Clone)]
pub(super) struct ZoneMark {
    /// Its ground, metres along and across the rows; of one that interlocks, what its rows span.
    pub(super) shape: MultiPolygon<f64>,
    /// The lines drawn for it, metres along and across the rows.
    pub(super) borders: MultiLineString<f64>,
    /// Rows of other plantings lie between its own.
    pub(super) interlocks: bool,
    /// Its id, and its name if it has one.
    pub(super) name: String,
    /// Its value or verdict.
    pub(super) words: String,
    /// Its planting.
    pub(super) planting: usize,
}

/// More parts than this are strips of alternate rows.
const FEW_PARTS: usize = 3;

impl ZoneMark {
    /// A zone on the map, with its ground and what its rows span.
    pub(super) fn new(
        [shape, span]: [&MultiPolygon<f64>; 2],
        (name, words): (String, String),
        planting: usize,
    ) -> Self {
        let interlocks = shape.0.len() > FEW_PARTS && 2 * span.0.len() <= shape.0.len();
        let shape = if interlocks { span } else { shape }.clone();
        let borders = MultiLineString::new(rings(&shape).cloned().collect());
        Self { shape, borders, interlocks, name, words, planting }
    }
}

/// Leaves zones that interlock only the lines where they meet zones of their planting, each once.
pub(super) fn calmed(mut zones: Vec<ZoneMark>) -> Vec<ZoneMark> {
    let sides: Vec<(usize, BTreeSet<Side>)> = zones
        .iter()
        .map(|zone| {
            (
                zone.planting,
                rings(&zone.shape)
                    .flat_map(LineString::lines)
                    .map(|line| side(line.start, line.end))
                    .collect(),
            )
        })
        .collect();
    for (at, zone) in zones.iter_mut().enumerate().filter(|(_, zone)| zone.interlocks) {
        let after = sides[at + 1..].iter().filter(|(planting, _)| *planting == zone.planting);
        let beyond: BTreeSet<Side> = after.flat_map(|(_, sides)| sides).copied().collect();
        let shared = rings(&zone.shape).flat_map(|ring| stretches(ring, &beyond));
        zone.borders = MultiLineString::new(shared.collect());
    }
    zones
}

/// One side of a ring, from corner to corner, in tenths of a millimetre.
type Side = [i64; 4];

#[expect(clippy::cast_possible_truncation, reason = "a block is under 10 km: 1e8 tenths")]
fn side(from: Coord<f64>, to: Coord<f64>) -> Side {
    [from.x, from.y, to.x, to.y].map(|metres| (1e4 * metres).round() as i64)
}

/// The stretches of a ring whose sides, seen from beyond, are sides of another.
fn stretches(ring: &LineString<f64>, beyond: &BTreeSet<Side>) -> Vec<LineString<f64>> {
    let lines: Vec<_> = ring.lines().collect();
    let shared = |line: &geo::Line<f64>| beyond.contains(&side(line.end, line.start));
    // A stretch may pass the ring's first corner: begin behind a side that is not shared.
    let first = lines.iter().position(|line| !shared(line)).map_or(0, |at| at + 1);
    let turned: Vec<geo::Line<f64>> =
        lines[first..].iter().chain(&lines[..first]).copied().collect();
    let runs = turned.chunk_by(|one, next| shared(one) == shared(next));
    let runs = runs.filter(|run| run.first().is_some_and(shared));
    runs.map(|run| {
        run.iter().map(|line| line.start).chain(run.last().map(|line| line.end)).collect()
    })
    .collect()
}

fn rings(shape: &MultiPolygon<f64>) -> impl Iterator<Item = &LineString<f64>> {
    shape.iter().flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()))
}

#[cfg(test)]
mod tests {
    use geo::{Euclidean, Length as _, polygon, unary_union};

    use super::*;

    /// Four strips of rows 2 m apart, and the ground they span, from one place along to another.
    fn zone(from: f64, to: f64, planting: usize) -> ZoneMark {
        let ground = |low: f64, high: f64| polygon![(x: from, y: low), (x: to, y: low), (x: to, y: high), (x: from, y: high)];
        let low = if planting == 0 { 0.0 } else { 2.0 };
        let strips =
            (0..4).map(|row| ground(low + 4.0 * f64::from(row), low + 4.0 * f64::from(row) + 2.0));
        let span = unary_union(&[ground(low, low + 16.0)]);
        ZoneMark::new([&strips.collect(), &span], ("Z".to_owned(), String::new()), planting)
    }

    #[test]
    fn interlocking_zones_are_parted_by_one_line_where_they_meet_their_own() {
        let zones = calmed(vec![zone(0.0, 30.0, 0), zone(30.0, 50.0, 0), zone(0.0, 50.0, 1)]);
        assert!(zones.iter().all(|zone| zone.interlocks));
        let drawn: Vec<f64> = zones.iter().map(|zone| Euclidean.length(&zone.borders)).collect();
        assert_eq!(drawn, [16.0, 0.0, 0.0]);
        assert!(
            zones[0].borders.iter().flat_map(|line| &line.0).all(|at| (at.x - 30.0).abs() < 1e-9)
        );
    }

    #[test]
    fn a_stretch_over_the_first_corner_of_a_ring_is_one_line() {
        let ring: LineString<f64> =
            vec![(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 0.0)].into();
        let corner = |x, y| Coord { x, y };
        let beyond =
            [side(corner(4.0, 0.0), corner(0.0, 0.0)), side(corner(0.0, 0.0), corner(0.0, 4.0))];
        let found = stretches(&ring, &beyond.into_iter().collect());
        assert_eq!(found, [LineString::from(vec![(0.0, 4.0), (0.0, 0.0), (4.0, 0.0)])]);
    }
}
