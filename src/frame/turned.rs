//! The same site with its rows turned: what a candidate bearing is compared on.

use geo::{Coord, LineString, MapCoords};

use super::{Frame, RowPoint, Site, SiteKeepOut, StandingRow};
use crate::{block::North, settings::RowRules, units::Degrees};

impl Site {
    /// The same ground with rows of another bearing from true north, without asking the globe again.
    ///
    /// Every shape is turned about the origin of the frame; places agree with those of a site placed
    /// at that bearing to rounding.
    #[must_use]
    pub fn turned(&self, bearing: Degrees) -> Self {
        let frame = self.frame.turned(bearing);
        let turn = Turn { from: &self.frame, to: &frame };
        let keep_outs = self
            .keep_outs
            .iter()
            .map(|keep_out| SiteKeepOut { shape: turn.shape(&keep_out.shape), ..keep_out.clone() });
        let standing = self
            .standing_rows
            .iter()
            .map(|row| StandingRow { path: along(turn.shape(&row.path)), ..row.clone() });
        let listed = self.row_list.iter();
        let given = self.given_vines.iter();
        let bearing = Some(bearing);
        let rules = RowRules { bearing, north: North::True, date: None, ..self.rules.clone() };
        Self {
            outline: turn.shape(&self.outline),
            keep_outs: keep_outs.collect(),
            standing_rows: standing.collect(),
            row_line: self.row_line.as_ref().map(|line| along(turn.shape(line))),
            zones: self.zones.iter().map(|(n, shape)| (n.clone(), turn.shape(shape))).collect(),
            row_list: listed
                .map(|(row, start)| (row.clone(), start.map(|at| turn.place(at))))
                .collect(),
            given_vines: given.map(|(row, vine, at)| (*row, *vine, turn.place(*at))).collect(),
            rules,
            frame: frame.clone(),
            ..self.clone()
        }
    }
}

/// From the axes of one bearing to those of another.
struct Turn<'a> {
    from: &'a Frame,
    to: &'a Frame,
}

impl Turn<'_> {
    fn place(&self, at: RowPoint) -> RowPoint {
        self.to.from_ground(self.from.to_ground(at))
    }

    fn shape<G: MapCoords<f64, f64>>(&self, shape: &G) -> G::Output {
        shape.map_coords(|Coord { x, y }| {
            let at = self.place(RowPoint { along_m: x, across_m: y });
            Coord { x: at.along_m, y: at.across_m }
        })
    }
}

/// The line, running along the bearing.
fn along(mut line: LineString<f64>) -> LineString<f64> {
    let backwards = match (line.0.first(), line.0.last()) {
        (Some(first), Some(last)) => last.x < first.x,
        _ => false,
    };
    if backwards {
        line.0.reverse();
    }
    line
}
