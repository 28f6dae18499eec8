//! From metres of ground along and across the rows to millimetres of paper.
//!
//! | symbol | meaning | unit |
//! | --- | --- | --- |
//! | n | scale 1 : n | – |
//! | τ | bearing that points up the page | degrees |
//! | θ | bearing of the rows | degrees |
//! | u, v | along and across the rows | m |

use geo::{
    BoundingRect as _, Coord, MapCoords as _, MultiLineString, MultiPoint, MultiPolygon, Rect,
};

use crate::{
    block::RowsTo,
    frame::RowPoint,
    picture::PaperPoint,
    units::{Degrees, METRES_PER_FOOT, ReadingUnits},
};

/// How row coordinates lie on the compass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Compass {
    /// Bearing of the rows from true north.
    pub(super) bearing: Degrees,
    /// On which side row 2 lies.
    pub(super) rows_to: RowsTo,
}

/// A rectangle of paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Area {
    /// Its upper left corner.
    pub(super) corner: PaperPoint,
    /// Its width, millimetres.
    pub(super) width_mm: f64,
    /// Its height, millimetres.
    pub(super) height_mm: f64,
}

impl Area {
    /// Its middle.
    pub(super) fn middle(&self) -> PaperPoint {
        PaperPoint::new(
            self.corner.x_mm + self.width_mm / 2.0,
            self.corner.y_mm + self.height_mm / 2.0,
        )
    }
}

/// Where the ground lies on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Placement {
    /// n of the scale 1 : n.
    pub(super) scale: f64,
    /// The bearing that points up the page.
    pub(super) up: Degrees,
    along: [f64; 2],
    across: [f64; 2],
    origin: PaperPoint,
}

/// Paper for a map, and the scales that it may be drawn at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Room {
    /// The paper.
    pub(super) area: Area,
    /// The units it is read in.
    pub(super) units: ReadingUnits,
    /// Its scales.
    pub(super) ladder: Ladder,
}

/// Which scales are round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ladder {
    /// Any that a bar can be read at.
    Map,
    /// Those of scale rulers, so that lengths can be taken off the paper.
    Ruler,
}

/// Round scales, n / 100.
const SCALES: [f64; 11] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5, 8.0];
/// Round scales in feet to the inch.
const FEET_TO_INCH: [f64; 9] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0];

/// Scales of rulers, n / 100.
const RULER_SCALES: [f64; 8] = [1.0, 1.25, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5];
/// Feet to the inch on rulers.
const RULER_FEET_TO_INCH: [f64; 6] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];

impl Placement {
    /// The largest round scale at which some ground fits into an area, with `up` up the page.
    ///
    /// Gives `None` for ground without an extent.
    pub(super) fn fit(
        ground: &MultiPoint<f64>,
        compass: Compass,
        up: Degrees,
        room: Room,
    ) -> Option<Self> {
        let (unscaled, extent) = Self::unscaled(ground, compass, up)?;
        let scale = round_scale(least_scale(extent, room.area), room)?;
        Some(unscaled.centred(extent, scale, room.area))
    }

    /// Some ground as large as an area allows, at whatever scale that is: for a screen. Width and
    /// height of the ground come with it, millimetres.
    ///
    /// Gives `None` for ground without an extent.
    pub(super) fn filling(
        ground: &MultiPoint<f64>,
        compass: Compass,
        up: Degrees,
        area: Area,
    ) -> Option<(Self, [f64; 2])> {
        let (unscaled, extent) = Self::unscaled(ground, compass, up)?;
        let scale = least_scale(extent, area);
        let size = [extent.width(), extent.height()].map(|metres| metres * 1000.0 / scale);
        (scale > 0.0).then(|| (unscaled.centred(extent, scale, area), size))
    }

    /// Some ground at a millimetre for a metre, and its extent.
    fn unscaled(
        ground: &MultiPoint<f64>,
        compass: Compass,
        up: Degrees,
    ) -> Option<(Self, Rect<f64>)> {
        let [along, across] = axes(compass, up);
        let unscaled = Self { scale: 1000.0, up, along, across, origin: PaperPoint::new(0.0, 0.0) };
        let extent = ground.map_coords(|place| unscaled.coord(place)).bounding_rect()?;
        Some((unscaled, extent))
    }

    fn centred(self, extent: Rect<f64>, scale: f64, area: Area) -> Self {
        let middle = extent.center() * (1000.0 / scale);
        let centre = area.middle();
        let origin = PaperPoint::new(centre.x_mm - middle.x, centre.y_mm - middle.y);
        Self { scale, origin, ..self }
    }

    /// The place on paper.
    pub(super) fn point(&self, at: RowPoint) -> PaperPoint {
        let place = self.coord(Coord { x: at.along_m, y: at.across_m });
        PaperPoint::new(place.x, place.y)
    }

    /// Millimetres of paper for metres of ground.
    pub(super) fn mm(&self, metres: f64) -> f64 {
        metres * 1000.0 / self.scale
    }

    /// The way across the rows on paper, of length 1: right, down.
    pub(super) const fn across(&self) -> [f64; 2] {
        self.across
    }

    /// An area in row coordinates, on paper.
    pub(super) fn polygon(&self, ground: &MultiPolygon<f64>) -> MultiPolygon<f64> {
        ground.map_coords(|place| self.coord(place))
    }

    /// Lines in row coordinates, on paper.
    pub(super) fn lines(&self, ground: &MultiLineString<f64>) -> MultiLineString<f64> {
        ground.map_coords(|place| self.coord(place))
    }

    fn coord(&self, place: Coord<f64>) -> Coord<f64> {
        let part = |axis: usize| self.mm(place.x * self.along[axis] + place.y * self.across[axis]);
        Coord { x: self.origin.x_mm + part(0), y: self.origin.y_mm + part(1) }
    }

    /// Turns that let rows stand upright or lie level, north in the upper half of the page.
    pub(super) fn turns(compass: Compass) -> [Degrees; 2] {
        let upper_half = |degrees: f64| {
            let turned = Degrees::new(degrees).normalised().degrees();
            let turned = if (90.0..270.0).contains(&turned) { turned - 180.0 } else { turned };
            Degrees::new(turned).normalised()
        };
        let rows = compass.bearing.degrees();
        [upper_half(rows), upper_half(rows + 90.0)]
    }
}

/// One metre along and one across the rows, right and down the page.
fn axes(compass: Compass, up: Degrees) -> [[f64; 2]; 2] {
    let turned = Degrees::new(compass.bearing.degrees() - up.degrees()).radians();
    let side = match compass.rows_to {
        RowsTo::Right => 1.0,
        RowsTo::Left => -1.0,
    };
    let (sine, cosine) = turned.sin_cos();
    [[sine, -cosine], [side * cosine, side * sine]]
}

/// The scale at which an extent in metres just fits into an area.
fn least_scale(extent: Rect<f64>, area: Area) -> f64 {
    1000.0 * (extent.width() / area.width_mm).max(extent.height() / area.height_mm)
}

fn round_scale(least: f64, Room { units, ladder, .. }: Room) -> Option<f64> {
    let round: &[f64] = match (units, ladder) {
        (ReadingUnits::Metric, Ladder::Map) => &SCALES,
        (ReadingUnits::Metric, Ladder::Ruler) => &RULER_SCALES,
        (ReadingUnits::Us, Ladder::Map) => &FEET_TO_INCH,
        (ReadingUnits::Us, Ladder::Ruler) => &RULER_FEET_TO_INCH,
    };
    // An inch of paper is 1/12 of a foot.
    let unit = match units {
        ReadingUnits::Metric => 10.0,
        ReadingUnits::Us => 12.0,
    };
    let tens = (0..7).map(|power| unit * 10_f64.powi(power));
    tens.flat_map(|ten| round.iter().map(move |one| ten * one)).find(|scale| *scale >= least)
}

/// The scale in words: `Scale 1 : 750`, `1 inch = 50 feet`.
pub(super) fn scale_words(scale: f64, units: ReadingUnits) -> String {
    let ratio = format!("1 : {scale:.0}");
    match units {
        ReadingUnits::Metric => format!("Scale {ratio}"),
        ReadingUnits::Us => {
            let feet = super::words::number(scale / 12.0, 2);
            format!("1 inch = {feet} ft ({ratio})")
        }
    }
}

/// A round length for a scale bar, at most `longest_mm` on paper: metres, words for its whole and
/// its half.
pub(super) fn bar_length(scale: f64, longest_mm: f64, units: ReadingUnits) -> (f64, [String; 2]) {
    let (unit_m, short) = match units {
        ReadingUnits::Metric => (1.0, "m"),
        ReadingUnits::Us => (METRES_PER_FOOT, "ft"),
    };
    let longest = longest_mm * scale / 1000.0 / unit_m;
    let round = (0..6)
        .rev()
        .flat_map(|power| [8.0, 6.0, 4.0, 2.0, 1.0].map(|one| one * 10_f64.powi(power)));
    let length = round.into_iter().find(|length| *length <= longest).unwrap_or(1.0);
    let number = |value| super::words::number(value, 1);
    (length * unit_m, [format!("{} {short}", number(length)), number(length / 2.0)])
}

/// The extent of a shape on paper.
pub(super) fn extent(shape: &MultiPolygon<f64>) -> Option<Rect<f64>> {
    shape.bounding_rect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn compass(bearing: f64, rows_to: RowsTo) -> Compass {
        Compass { bearing: Degrees::new(bearing), rows_to }
    }

    #[test]
    fn rows_run_along_their_bearing_on_paper() {
        // East: along points right; rows grow to the right of that, which is south, down the page.
        let [along, across] = axes(compass(90.0, RowsTo::Right), Degrees::new(0.0));
        let near = |found: [f64; 2], wanted: [f64; 2]| {
            assert!((found[0] - wanted[0]).hypot(found[1] - wanted[1]) < 1e-12, "{found:?}");
        };
        near(along, [1.0, 0.0]);
        near(across, [0.0, 1.0]);
        let [along, across] = axes(compass(90.0, RowsTo::Left), Degrees::new(0.0));
        near(along, [1.0, 0.0]);
        near(across, [0.0, -1.0]);
        let [along, _] = axes(compass(30.0, RowsTo::Right), Degrees::new(30.0));
        near(along, [0.0, -1.0]);
    }

    #[test]
    fn a_block_is_drawn_true_to_a_round_scale() {
        let ground: MultiPoint<f64> =
            vec![(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (0.0, 40.0)].into();
        let area = Area { corner: PaperPoint::new(10.0, 20.0), width_mm: 200.0, height_mm: 150.0 };
        let east = compass(90.0, RowsTo::Right);
        let north_up = Degrees::new(0.0);
        let fit = |units, ladder| {
            Placement::fit(&ground, east, north_up, Room { area, units, ladder }).unwrap()
        };
        let placement = fit(ReadingUnits::Metric, Ladder::Map);
        assert!((placement.scale - 500.0).abs() < 1e-9);
        let on_paper = ground.map_coords(|place| placement.coord(place)).bounding_rect().unwrap();
        assert!((on_paper.width() - 200.0).abs() < 1e-9 && (on_paper.height() - 80.0).abs() < 1e-9);
        assert!((on_paper.center().x - 110.0).abs() < 1e-9);
        assert!((on_paper.center().y - 95.0).abs() < 1e-9);
        // 50 feet to the inch.
        assert!((fit(ReadingUnits::Us, Ladder::Map).scale - 600.0).abs() < 1e-9);
        let narrow = Area { width_mm: 195.0, ..area };
        let fit = |area, ladder| {
            let room = Room { area, units: ReadingUnits::Metric, ladder };
            Placement::fit(&ground, east, north_up, room).unwrap().scale
        };
        assert!((fit(narrow, Ladder::Map) - 600.0).abs() < 1e-9);
        assert!((fit(narrow, Ladder::Ruler) - 750.0).abs() < 1e-9, "rulers have no 1 : 600");
        assert_eq!(scale_words(600.0, ReadingUnits::Us), "1 inch = 50 ft (1 : 600)");
    }

    #[test]
    fn a_turned_page_keeps_north_in_its_upper_half() {
        for bearing in [0.0, 45.0, 90.0, 135.0, 200.0, 269.0, 300.0] {
            for up in Placement::turns(compass(bearing, RowsTo::Right)) {
                let north = up.degrees();
                assert!(north <= 90.0 || north >= 270.0, "{bearing}: {north}");
            }
        }
    }

    #[test]
    fn the_bar_is_round_in_the_readers_units() {
        let (length, words) = bar_length(500.0, 60.0, ReadingUnits::Metric);
        assert!((length - 20.0).abs() < 1e-12);
        assert_eq!(words, ["20 m", "10"]);
        let (length, words) = bar_length(600.0, 60.0, ReadingUnits::Us);
        assert!((length - 100.0 * METRES_PER_FOOT).abs() < 1e-9);
        assert_eq!(words, ["100 ft", "50"]);
    }
}
