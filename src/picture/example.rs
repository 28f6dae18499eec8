//! Blocks made by hand, to test pictures on and to look at.

use geo::{Coord, Intersects as _, LineString, MultiPolygon, Point, Polygon, coord};

use crate::{
    block::RowsTo,
    counts::Status,
    frame::RowPoint,
    join::{VigorMeasure, VineRecord},
    picture::{
        Caption, HeatMap, MapStyle, Paper, columns, density,
        map::Compass,
        need, sheet,
        subject::{RowEnds, Spot, Subject},
        to_png, vigor,
        zone_mark::{ZoneMark, calmed},
    },
    plan::{TakeOff, VigorClass, VineTarget},
    units::{Degrees, METRES_PER_FOOT, PerMetre, ReadingUnits},
};

/// What an example block is like.
#[derive(Debug, Clone)]
pub(super) struct Example {
    pub(super) name: &'static str,
    /// Corners along and across the rows, metres.
    pub(super) outline: Vec<(f64, f64)>,
    pub(super) pond: Vec<(f64, f64)>,
    pub(super) bearing: f64,
    pub(super) rows_to: RowsTo,
    pub(super) gaps_m: [f64; 2],
    pub(super) zones: usize,
    pub(super) counts: usize,
    pub(super) units: ReadingUnits,
    pub(super) paper: Paper,
    /// Shoots per metre: lowest and how far the highest lies above.
    pub(super) shoots: [f64; 2],
    /// No estimate beyond this many metres along.
    pub(super) known_to_m: f64,
    /// Two plantings, row by row.
    pub(super) alternate: bool,
}

impl Example {
    /// A small rectangle with rows to the north.
    pub(super) fn small() -> Self {
        Self {
            name: "Riverside",
            outline: rectangle(90.0, 60.0),
            pond: vec![],
            bearing: 0.0,
            rows_to: RowsTo::Right,
            gaps_m: [2.5, 1.5],
            zones: 2,
            counts: 40,
            units: ReadingUnits::Metric,
            paper: Paper::A4,
            shoots: [9.0, 14.0],
            known_to_m: f64::INFINITY,
            alternate: false,
        }
    }

    /// Over 30 000 vines with a notch and a pond.
    pub(super) fn large() -> Self {
        Self {
            name: "Home block",
            outline: vec![
                (0.0, 0.0),
                (420.0, 0.0),
                (420.0, 150.0),
                (330.0, 150.0),
                (330.0, 230.0),
                (40.0, 250.0),
            ],
            pond: vec![(180.0, 90.0), (230.0, 85.0), (240.0, 120.0), (190.0, 125.0)],
            bearing: 23.0,
            gaps_m: [2.4, 1.2],
            zones: 5,
            counts: 118,
            ..Self::small()
        }
    }

    /// Its map of a kind.
    pub(super) fn subject(&self, kind: HeatMap) -> Subject {
        let (vines, rows) = self.vines();
        let records = self.records(&vines);
        let classes = self.classes(kind, &vines, &records);
        let step = (vines.len() / self.counts.max(1)).max(1);
        let measured = (0..self.counts)
            .map(|at| (at * step + 5 * (at % 7)) % vines.len())
            .filter(|at| !records[*at].status.is_missing())
            .map(|at| {
                if at % 5 == 0 {
                    (at..vines.len())
                        .take(4)
                        .take_while(|next| vines[*next].piece == vines[at].piece)
                        .collect()
                } else {
                    vec![at]
                }
            })
            .collect();
        Subject {
            block: super::lettering::printable(self.name),
            quantity: kind.words(),
            subtitle: format!("A quantity in words, estimated from {} counts, 14 May 2026", self.counts),
            outline: polygon(&self.outline),
            keep_outs: (!self.pond.is_empty())
                .then(|| (Some("pond".to_owned()), polygon(&self.pond)))
                .into_iter()
                .collect(),
            compass: Compass { bearing: Degrees::new(self.bearing), rows_to: self.rows_to },
            vines,
            rows,
            gaps_m: self.gaps_m,
            classes,
            little: Vec::new(),
            measured,
            zones: self.zone_marks(kind),
            zone_words: if self.alternate {
                vec!["zone of Chardonel".to_owned(), "zone of Noiret".to_owned()]
            } else {
                vec![kind.zone_words().to_owned()]
            },
            verb: kind.verb(),
            sources: kind.sources(),
            method: "Between the counts by kriging: near counts weigh more.".to_owned(),
            cautions: "An estimate: 118 of 30 123 vines were counted. Check on the vines before \
                       cutting. Local advice goes first. The map says nothing about slopes, heat or \
                       where machines can go: judge these on the day."
                .to_owned(),
            units: self.units,
            paper: self.paper,
            style: MapStyle::default(),
        }
    }

    fn vines(&self) -> (Vec<Spot>, Vec<RowEnds>) {
        let (outline, pond) = (polygon(&self.outline), polygon(&self.pond));
        let free = |place: Point| outline.intersects(&place) && !pond.intersects(&place);
        let (mut vines, mut rows) = (Vec::new(), Vec::new());
        let (mut piece, mut number) = (0, 1);
        let centres = |gap: f64, far: f64| {
            (0..).map(move |at| (f64::from(at) + 0.5) * gap).take_while(move |at| *at < far)
        };
        for across_m in centres(self.gaps_m[0], 600.0) {
            let start = vines.len();
            let mut last_m = f64::NEG_INFINITY;
            let along = centres(self.gaps_m[1], 2000.0);
            for along_m in along.filter(|along| free(Point::new(*along, across_m))) {
                piece += usize::from(along_m - last_m > 1.5 * self.gaps_m[1]);
                vines.push(Spot { at: RowPoint { along_m, across_m }, piece });
                last_m = along_m;
            }
            if let [first, .., last] = &vines[start..] {
                rows.push(RowEnds { number, first: first.at, last: last.at });
                number += 1;
            }
        }
        (vines, rows)
    }

    fn records(&self, vines: &[Spot]) -> Vec<VineRecord> {
        let status = |at: usize| match at * 7919 % 97 {
            0 | 1 => Status::Missing,
            2 => Status::Young,
            _ => Status::Present,
        };
        (0..vines.len())
            .map(|at| VineRecord {
                status: status(at),
                planting: 0,
                canopy_m: self.gaps_m[1],
                counted: false,
            })
            .collect()
    }

    /// A wave over the block, 0 … 1.
    fn wave(at: RowPoint) -> f64 {
        let (u, v) = (at.along_m / 60.0, at.across_m / 45.0);
        (0.5 + 0.3 * (u + 0.4 * v).sin() + 0.2 * (1.3 * v - 0.5 * u).cos()).clamp(0.0, 1.0)
    }

    fn classes(
        &self,
        kind: HeatMap,
        vines: &[Spot],
        records: &[VineRecord],
    ) -> super::classes::Classes {
        let surface: Vec<Option<f64>> = vines
            .iter()
            .map(|vine| {
                let value = self.shoots[0] + self.shoots[1] * Self::wave(vine.at);
                (vine.at.along_m < self.known_to_m).then_some(value)
            })
            .collect();
        let per_foot = |value: f64| value / METRES_PER_FOOT;
        let target = VineTarget {
            low_per_m: per_foot(3.0),
            high_per_m: per_foot(5.0),
            aim_per_m: per_foot(4.0),
        };
        let classes = match kind {
            HeatMap::ShootDensity => {
                density::classes(&surface, &[("Chardonel".to_owned(), target)], records, self.units)
            }
            HeatMap::Vigor => {
                let order = [
                    VigorClass::Weak,
                    VigorClass::Moderate,
                    VigorClass::Strong,
                    VigorClass::Excess,
                ];
                let class = |vine: &Spot| {
                    order.into_iter().nth(super::classes::whole(3.99 * Self::wave(vine.at)))
                };
                let known: Vec<Option<VigorClass>> = vines.iter().map(class).collect();
                vigor::classes(VigorMeasure::PruningWeight, &known, records, &self.caption())
            }
            HeatMap::ThinningNeed => {
                let needs: Vec<Option<f64>> = (surface.iter().zip(records))
                    .map(|(value, record)| {
                        let young = record.status.is_young();
                        let above = (value.as_ref()? - target.aim_per_m) * record.canopy_m - 1.0;
                        (!young).then_some(above)
                    })
                    .collect();
                need::classes(&needs, records, (TakeOff::default(), None))
            }
        };
        classes.unwrap()
    }

    pub(super) fn caption(&self) -> Caption {
        Caption {
            units: self.units,
            date: None,
            paper: self.paper,
            style: MapStyle::default(),
            renewal_shoots: 1.0,
            weak: PerMetre::new(0.3),
            excess: PerMetre::new(0.6),
            band_share: 0.15,
        }
    }

    /// Bands across the rows, cut by the outline.
    fn zone_marks(&self, kind: HeatMap) -> Vec<ZoneMark> {
        use geo::BooleanOps as _;
        let outline = polygon(&self.outline);
        let far = self.outline.iter().map(|(along, _)| *along).fold(0.0, f64::max);
        let width = far / crate::maths::float(self.zones.max(1));
        let verdicts = ["overcrowded", "on target", "undecided", "under target"];
        let zones = (0..self.zones)
            .map(|at| {
                let from = width * crate::maths::float(at);
                let (along, wide) = (from, width);
                let jog = 0.25 * wide;
                let band = polygon(&[
                    (along, -10.0),
                    (along + wide, -10.0),
                    (along + wide, 40.0),
                    (along + wide + jog, 40.0),
                    (along + wide + jog, 400.0),
                    (along + jog, 400.0),
                    (along + jog, 40.0),
                    (along, 40.0),
                ]);
                let words = match kind {
                    HeatMap::ThinningNeed => verdicts[at % verdicts.len()].to_owned(),
                    HeatMap::ShootDensity => format!("{:.1}/m", 10.0 + 3.0 * width.sin()),
                    HeatMap::Vigor => "0.42 kg/m".to_owned(),
                };
                let shape = outline.intersection(&band);
                let planting = usize::from(self.alternate && at + 1 == self.zones);
                let [shape, span] =
                    if self.alternate { self.strips(at, planting) } else { [shape.clone(), shape] };
                ZoneMark::new([&shape, &span], (format!("Z{}", at + 1), words), planting)
            })
            .collect();
        calmed(zones)
    }

    /// Every other row: of the first planting one stretch, of the second its whole length; and what
    /// they span.
    fn strips(&self, at: usize, planting: usize) -> [MultiPolygon<f64>; 2] {
        let far = self.outline.iter().map(|(along, _)| *along).fold(0.0, f64::max);
        let wide = far / crate::maths::float(self.zones - 1);
        let from = crate::maths::float(at) * wide;
        let [from, to] = if planting == 1 { [0.0, far] } else { [from, from + wide] };
        let gap = self.gaps_m[0];
        let ground = |rows: [usize; 2]| {
            let [low, high] = rows.map(|row| crate::maths::float(row) * gap);
            polygon(&[(from, low), (to, low), (to, high), (from, high)])
        };
        let rows = (0..24).filter(|row| row % 2 == planting);
        let strips = rows.flat_map(|row| ground([row, row + 1])).collect();
        [strips, ground([planting, 23 + planting])]
    }

    /// Its picture.
    pub(super) fn png(&self, kind: HeatMap) -> Vec<u8> {
        let subjects = HeatMap::ALL.map(|kind| self.subject(kind));
        let (page, placement) = columns::choose_for(&subjects).unwrap();
        to_png(&sheet::compose(&self.subject(kind), (&page, &placement)).unwrap()).unwrap()
    }
}

pub(super) fn rectangle(along: f64, across: f64) -> Vec<(f64, f64)> {
    vec![(0.0, 0.0), (along, 0.0), (along, across), (0.0, across)]
}

fn polygon(corners: &[(f64, f64)]) -> MultiPolygon<f64> {
    if corners.is_empty() {
        return MultiPolygon::new(vec![]);
    }
    let ring: Vec<Coord<f64>> = corners.iter().map(|&(x, y)| coord! { x: x, y: y }).collect();
    MultiPolygon::new(vec![Polygon::new(LineString::new(ring), vec![])])
}
