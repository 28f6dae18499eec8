//! `block-standing.geojson`: the block as a block file in which its rows stand, so that ids never
//! move again.
//!
//! A row ends there so far beyond its first and last vine as the block's `end_gap` says: read back,
//! its vines stand where they were laid out, while an end post may stand less than a vine spacing
//! nearer.

use geo::{Euclidean, Length, LineLocatePoint, LineString, MultiPolygon, Point, Polygon};
use serde_json::json;

use super::ground::{Ground, MAP_DECIMALS};
use crate::{
    block::{Control, RowsTo, ShortestRow, VineOne, VineType},
    frame::{RowPoint, Site, SiteKeepOut},
    layout::{Layout, Piece, Vine},
    maths::whole,
    names::row_text,
    settings::Planting,
    units::{Metres, ReadingUnits, TargetRange},
    write::{Column, Feature, Kind, Layer, Shape, Value, layers::rounded},
};

/// A property of a feature.
type Property = (&'static str, Value);

const fn column(name: &'static str, kind: Kind, meaning: &'static str) -> Column {
    Column::new(name, kind, "", meaning)
}

/// The properties of the file: keys of a block file.
pub(super) const COLUMNS: &[Column] = &[
    column("role", Kind::Text, "block, keep-out, row-line, zone or control"),
    column("name", Kind::Text, "name of the block, keep-out, zone or control point"),
    column("standing", Kind::Flag, "true: the rows are the row-lines of this file"),
    column("row_bearing", Kind::Number(9), "degrees clockwise from true north"),
    column("row_spacing", Kind::Structure, "across the rows, metres or a text with its unit"),
    column("vine_spacing", Kind::Structure, "along the rows, metres or a text with its unit"),
    column("end_gap", Kind::Structure, "end of a row-line to its first vine"),
    column("headland", Kind::Structure, "clear length ahead of a row's end, as it was laid out"),
    column("anchor_gap", Kind::Structure, "end post to tie-back anchor"),
    column("side_margin", Kind::Structure, "clear width beside the outer rows, as laid out"),
    column("shortest_row", Kind::Structure, "a shorter piece was not planted"),
    column("shortest_gap", Kind::Structure, "a shorter gap did not end a row"),
    column("vines_per_panel", Kind::Integer, "vines between two line posts"),
    column("first_panel_vines", Kind::Integer, "vines in a row's first panel"),
    column("elevation", Kind::Structure, "metres above the ellipsoid"),
    column("ground_spacing", Kind::Flag, "true where vines were set by tape along the ground"),
    column("rows_to", Kind::Text, "left where row numbers grow to the left of the bearing"),
    column("first_row", Kind::Integer, "number of the first row"),
    column("vine_1", Kind::Text, "from which end the grower counts, unless from the start"),
    column("outline_source", Kind::Text, "where the outline comes from"),
    column("outline_accuracy", Kind::Structure, "how far corners of the outline may be off"),
    column("cultivar", Kind::Text, "the cultivar"),
    column("type", Kind::Text, "vinifera, hybrid or native"),
    column("training", Kind::Text, "the training, in the grower's words"),
    column("curtains", Kind::Integer, "curtains of canopy"),
    column("planted", Kind::Integer, "year of planting"),
    column("target", Kind::Text, "shoots to leave per length of curtain"),
    column("plantings", Kind::Structure, "rows that differ, and how"),
    column("missing", Kind::Structure, "ids of places with no vine"),
    column("row", Kind::Integer, "number of the row that stands on the line"),
    column("vines", Kind::Integer, "places on the line, set evenly"),
    column("skipped", Kind::Text, "places of the even spacing where nothing stands, such as 41-49"),
    column("clearance", Kind::Structure, "clear ground around the keep-out"),
    column("turning", Kind::Flag, "true where machines turn on the keep-out"),
    column("order", Kind::Integer, "a control point's place in the order of control points"),
];

/// Vines this near to their places of an even spacing stand in them, metres.
const EVEN_M: f64 = 0.001;

/// The block as one that stands, with a row-line for every piece of row.
pub fn block_standing(site: &Site, layout: &Layout, units: ReadingUnits) -> Layer {
    let writer = Standing { ground: Ground::new(site, layout), units };
    let mut features = vec![writer.block()];
    features.extend(site.keep_outs.iter().map(|keep_out| writer.keep_out(keep_out)));
    features.extend(layout.pieces.iter().map(|piece| writer.row_line(piece)));
    features.extend(site.zones.iter().map(|zone| writer.zone(zone)));
    features.extend(site.controls.iter().map(control));
    Layer {
        name: "block-standing",
        columns: COLUMNS.to_vec(),
        features,
        decimals: MAP_DECIMALS,
        without_nulls: true,
    }
}

struct Standing<'a> {
    ground: Ground<'a>,
    units: ReadingUnits,
}

impl Standing<'_> {
    fn block(&self) -> Feature {
        let site = self.ground.site;
        let rules = &site.rules;
        let mut properties: Vec<Property> = vec![
            ("role", "block".into()),
            ("name", self.ground.block.clone().into()),
            ("standing", true.into()),
            ("row_bearing", Value::number(site.frame.bearing().true_north.degrees(), 9)),
            ("row_spacing", self.length(rules.row_spacing)),
            ("vine_spacing", self.length(rules.vine_spacing)),
            ("end_gap", self.length(rules.end_gap)),
            ("vines_per_panel", rules.vines_per_panel.into()),
            ("first_panel_vines", rules.first_panel_vines.into()),
            ("first_row", rules.first_row.into()),
            ("rows_to", (rules.rows_to == RowsTo::Left).then_some("left").into()),
            ("vine_1", vine_1(rules.vine_1).into()),
        ];
        properties.extend(self.clearances());
        let origin = &site.outline_origin;
        properties.push(("outline_source", origin.source.as_deref().into()));
        properties.push(("outline_accuracy", origin.accuracy.map(|off| self.length(off)).into()));
        if let Some(planting) = site.plantings.all().first() {
            properties.extend(planting_keys(planting));
        }
        properties.push(("plantings", self.plantings()));
        if !site.missing.is_empty() {
            properties.push(("missing", Value::Structure(json!(site.missing))));
        }
        feature(self.ground.areas(&site.outline), properties)
    }

    /// The rules by which the rows were laid out: under them there is room for no other row.
    fn clearances(&self) -> Vec<Property> {
        let rules = &self.ground.site.rules;
        let shortest_row = match rules.shortest_row {
            ShortestRow::Vines(vines) => Value::Structure(json!(format!("{vines} vines"))),
            ShortestRow::Length(length) => self.length(length),
        };
        let unless_zero = |length: Metres| {
            if length.metres() == 0.0 { Value::Null } else { self.length(length) }
        };
        vec![
            ("headland", self.length(rules.headland)),
            ("anchor_gap", unless_zero(rules.anchor_gap)),
            ("side_margin", self.length(rules.side_margin)),
            ("shortest_row", shortest_row),
            ("shortest_gap", unless_zero(rules.shortest_gap)),
            ("elevation", unless_zero(rules.elevation)),
            (
                "ground_spacing",
                rules.ground_spacing.then_some(true).map_or(Value::Null, Value::Flag),
            ),
        ]
    }

    fn keep_out(&self, keep_out: &SiteKeepOut) -> Feature {
        let properties = vec![
            ("role", "keep-out".into()),
            ("name", keep_out.name.as_deref().into()),
            ("clearance", self.length(keep_out.clearance)),
            ("turning", keep_out.turning.into()),
        ];
        feature(self.ground.areas(&keep_out.shape), properties)
    }

    fn zone(&self, (name, shape): &(String, Polygon<f64>)) -> Feature {
        let properties = vec![("role", "zone".into()), ("name", name.as_str().into())];
        feature(self.ground.areas(&MultiPolygon(vec![shape.clone()])), properties)
    }

    fn row_line(&self, piece: &Piece) -> Feature {
        let (line, gap) = self.line_through_vines(piece);
        let properties = vec![
            ("role", "row-line".into()),
            ("row", piece.row.into()),
            ("vines", piece.vines.len().into()),
            ("skipped", self.skipped(piece).into()),
            ("end_gap", gap.map_or(Value::Null, |gap| self.length(gap))),
        ];
        feature(self.ground.line(&line), properties)
    }

    /// The piece's line from so far before its first vine to so far behind its last as `end_gap`
    /// says, and the gap where the block's would leave no line.
    fn line_through_vines(&self, piece: &Piece) -> (LineString<f64>, Option<Metres>) {
        let rules = &self.ground.site.rules;
        let along = |vine: &Vine| {
            let at = Point::new(vine.at.along_m, vine.at.across_m);
            piece.path.line_locate_point(&at).unwrap_or(0.0) * Euclidean.length(&piece.path)
        };
        let vines = self.ground.layout.vines[piece.vines.clone()].iter().map(along);
        let low = vines.clone().fold(f64::INFINITY, f64::min);
        let high = vines.fold(0.0, f64::max);
        let own = (high <= low && rules.end_gap.metres() <= 0.0)
            .then(|| Metres::new(rules.vine_spacing.metres() / 2.0));
        let gap = own.unwrap_or(rules.end_gap).metres();
        let beside = [low - gap / 2.0, high + gap / 2.0];
        let ends = beside.map(|at| self.level_m(gap, point_at(&piece.path, at), piece));
        (stretch(&piece.path, low - ends[0], high + ends[1]), own)
    }

    /// The places of the even spacing that a short gap leaves empty; none in a row whose vines stand
    /// in no even spacing.
    fn skipped(&self, piece: &Piece) -> Option<String> {
        let vines = &self.ground.layout.vines[piece.vines.clone()];
        let mut chainages: Vec<f64> = vines.iter().map(|vine| vine.chainage_m).collect();
        chainages.sort_by(f64::total_cmp);
        let ways: Vec<f64> = chainages.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let spacing = ways.iter().copied().min_by(f64::total_cmp).filter(|least| *least > 0.0)?;
        let (mut place, mut empty) = (1_u32, Vec::new());
        for way in ways {
            let steps = (way / spacing).round();
            if (way - steps * spacing).abs() > EVEN_M {
                return None;
            }
            let next = place + u32::try_from(whole(steps)).ok()?;
            empty.extend(place + 1..next);
            place = next;
        }
        (!empty.is_empty()).then(|| row_text(&empty))
    }

    /// The level length of a gap beside a place of a piece, which is tape on the ground where the
    /// block's spacing is.
    fn level_m(&self, gap_m: f64, at: RowPoint, piece: &Piece) -> f64 {
        let site = self.ground.site;
        let terrain = site.row_terrain().filter(|_| site.rules.ground_spacing);
        let Some([along, across]) = terrain.and_then(|terrain| terrain.gradient(at)) else {
            return gap_m;
        };
        let (Some(first), Some(last)) = (piece.path.0.first(), piece.path.0.last()) else {
            return gap_m;
        };
        let way = *last - *first;
        let rise = (along * way.x + across * way.y) / way.x.hypot(way.y);
        gap_m / rise.hypot(1.0)
    }

    /// Rows whose planting is not the block's own, each planting once.
    fn plantings(&self) -> Value {
        let site = self.ground.site;
        let others = site.plantings.all().iter().enumerate().skip(1);
        let list: Vec<serde_json::Value> = others
            .filter_map(|(index, planting)| {
                let rows = self.ground.layout.rows.iter().map(|row| row.number);
                let rows: Vec<u32> =
                    rows.filter(|&row| site.plantings.of_row(row) == index).collect();
                let mut keys = serde_json::Map::new();
                keys.insert("rows".to_owned(), rows.first().map(|_| row_text(&rows))?.into());
                let own = planting_keys(planting).into_iter().filter_map(as_json);
                keys.extend(own);
                Some(serde_json::Value::Object(keys))
            })
            .collect();
        if list.is_empty() { Value::Null } else { Value::Structure(list.into()) }
    }

    /// Feet where people read feet and the length is a round number of them, else metres.
    fn length(&self, length: Metres) -> Value {
        let feet = rounded(length.feet(), 4);
        let exact = (Metres::from_feet(feet).metres() - length.metres()).abs() < 1e-9;
        let structure = match self.units {
            ReadingUnits::Us if exact => json!(format!("{feet} ft")),
            ReadingUnits::Us | ReadingUnits::Metric => json!(length.metres()),
        };
        Value::Structure(structure)
    }
}

fn feature(shape: Shape, properties: Vec<Property>) -> Feature {
    let mut values = vec![Value::Null; COLUMNS.len()];
    for (name, value) in properties {
        if let Some(at) = COLUMNS.iter().position(|column| column.name == name) {
            values[at] = value;
        }
    }
    Feature { shape, values }
}

fn control(control: &Control) -> Feature {
    let properties = vec![
        ("role", "control".into()),
        ("name", control.name.as_str().into()),
        ("order", control.order.into()),
    ];
    feature(Shape::Point(control.at), properties)
}

fn planting_keys(planting: &Planting) -> Vec<Property> {
    vec![
        ("cultivar", planting.cultivar.as_deref().into()),
        ("type", planting.vine_type.map(type_word).into()),
        ("training", planting.training.as_deref().into()),
        ("curtains", planting.curtains.into()),
        ("planted", planting.planted.map_or(Value::Null, |year| Value::Integer(year.into()))),
        ("target", planting.target.map(target_text).into()),
    ]
}

fn as_json((name, value): Property) -> Option<(String, serde_json::Value)> {
    let value = match value {
        Value::Null => return None,
        Value::Text(text) => json!(&*text),
        Value::Integer(number) => json!(number),
        Value::Number(number) => json!(number),
        Value::Flag(flag) => json!(flag),
        Value::Structure(structure) => structure,
    };
    Some((name.to_owned(), value))
}

fn target_text(target: TargetRange) -> String {
    format!("{}-{} per m", target.low().per_metre(), target.high().per_metre())
}

const fn type_word(vine_type: VineType) -> &'static str {
    match vine_type {
        VineType::Vinifera => "vinifera",
        VineType::Hybrid => "hybrid",
        VineType::Native => "native",
    }
}

const fn vine_1(from: VineOne) -> Option<&'static str> {
    match from {
        VineOne::Start => None,
        VineOne::End => Some("end"),
        VineOne::Serpentine => Some("serpentine"),
    }
}

/// The place so many metres along a line.
fn point_at(path: &LineString<f64>, at_m: f64) -> RowPoint {
    let end = stretch(path, at_m, at_m).0.first().copied().unwrap_or_default();
    RowPoint { along_m: end.x, across_m: end.y }
}

/// The part of a line between two distances from its start, straight on beyond its ends.
fn stretch(path: &LineString<f64>, from_m: f64, to_m: f64) -> LineString<f64> {
    let mut corners = Vec::new();
    let last = path.lines().len().saturating_sub(1);
    let mut start_m = 0.0;
    for (index, line) in path.lines().enumerate() {
        let length = Euclidean.length(&line);
        let end_m = start_m + length;
        let at = |m: f64| line.start + line.delta() * ((m - start_m) / length);
        if length > 0.0 && (from_m < end_m || index == last) {
            if corners.is_empty() {
                corners.push(at(from_m));
            }
            if to_m <= end_m || index == last {
                corners.push(at(to_m));
                break;
            }
            corners.push(line.end);
        }
        start_m = end_m;
    }
    LineString(corners)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bent_line_is_cut_and_goes_straight_on_beyond_its_ends() {
        let path = LineString::from(vec![(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]);
        let cut = |from, to| stretch(&path, from, to);
        assert_eq!(cut(1.0, 6.0), LineString::from(vec![(1.0, 0.0), (4.0, 0.0), (4.0, 2.0)]));
        assert_eq!(cut(-1.0, 8.0), LineString::from(vec![(-1.0, 0.0), (4.0, 0.0), (4.0, 4.0)]));
        assert_eq!(cut(5.0, 6.0), LineString::from(vec![(4.0, 1.0), (4.0, 2.0)]));
        assert_eq!(cut(1.0, 2.0), LineString::from(vec![(1.0, 0.0), (2.0, 0.0)]));
    }

    #[test]
    fn a_target_is_read_back_as_it_was() {
        let target: TargetRange = "3-5 per ft".parse().unwrap();
        assert_eq!(target_text(target).parse(), Ok(target));
    }

    #[test]
    fn every_key_of_a_planting_is_a_column() {
        let planting = Planting {
            cultivar: Some("Rondo".into()),
            vine_type: Some(VineType::Hybrid),
            training: Some("high cordon".into()),
            curtains: 2,
            planted: Some(2019),
            target: "10-16 per m".parse().ok(),
        };
        let written = feature(Shape::Areas(Vec::new()), planting_keys(&planting));
        assert_eq!(written.values.iter().filter(|value| **value != Value::Null).count(), 6);
    }
}
