//! A small field for tests: three rows of eight vines, four to a panel, 2.5 m by 1.2 m.

use geo::{LineString, MultiPolygon, polygon};
use jiff::civil::date;

use super::{JoinSettings, Joined, join};
use crate::{
    block::{North, RowAnchor, RowsTo, ShortestRow, VineOne, VinePattern},
    counts::{Count, Position, Shoots, Spot},
    finding::Findings,
    frame::{AppliedBearing, Frame, RowPoint, Site},
    geodesy::LonLat,
    layout::{Layout, Panel, Piece, Quantities, Row, Vine},
    names::IdDigits,
    settings::{Planting, PlantingRules, RowRules, Settings},
    units::{Degrees, Metres},
};

pub(super) const ROW_M: f64 = 2.5;
pub(super) const VINE_M: f64 = 1.2;

pub(super) struct Field {
    pub(super) site: Site,
    pub(super) layout: Layout,
    pub(super) settings: JoinSettings,
}

impl Field {
    pub(super) fn new() -> Self {
        Self { site: site(), layout: layout(), settings: Settings::default().join() }
    }

    pub(super) fn join(&self, counts: &[Count]) -> (Joined, Findings) {
        let (joined, findings) = join(&self.site, &self.layout, counts, &self.settings);
        assert_eq!(joined.records.len() + joined.unjoined.len(), counts.len(), "a record is lost");
        (joined, findings)
    }

    /// A record at a place of the plane, metres along and across.
    pub(super) fn at(&self, along_m: f64, across_m: f64, accuracy_m: f64) -> Count {
        let at = self.site.frame.to_lon_lat(RowPoint { along_m, across_m });
        let position = Some(Position { at, accuracy: Metres::new(accuracy_m) });
        Count { spot: Spot { position, ..Spot::default() }, ..shoots(20) }
    }
}

/// A record of so many shoots, nowhere yet.
pub(super) fn shoots(all: u32) -> Count {
    Count { shoots: Some(Shoots { all, secondary: None, base: None }), ..Count::default() }
}

/// So many shoots on a vine.
pub(super) fn on(row: u32, vine: u32, all: u32) -> Count {
    let spot = Spot { row: Some(row), vine: Some(vine), ..Spot::default() };
    Count { spot, ..shoots(all) }
}

/// So many shoots on a whole panel.
pub(super) fn on_panel(row: u32, panel: u32, all: u32) -> Count {
    let spot = Spot { row: Some(row), panel: Some(panel), ..Spot::default() };
    Count { spot, ..shoots(all) }
}

pub(super) fn told(findings: &Findings, words: &str) -> usize {
    findings.iter().filter(|finding| finding.to_string().contains(words)).count()
}

pub(super) fn on_window(vine: u32, label: &str, all: u32, over_m: f64) -> Count {
    let window = Some(label.to_owned());
    Count { window, counted_length: Some(Metres::new(over_m)), ..on(1, vine, all) }
}

pub(super) fn visited(label: &str, day: i8, count: Count) -> Count {
    Count { visit: Some(label.to_owned()), date: Some(date(2026, 5, day)), ..count }
}

#[track_caller]
pub(super) fn densities(counts: &[Count], expected: &[f64]) -> (Joined, Findings) {
    let (joined, findings) = Field::new().join(counts);
    let found: Vec<f64> = joined.shoots.iter().map(|one| one.per_m).collect();
    let off = found.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-12);
    assert!(found.len() == expected.len() && off, "{found:?}, not {expected:?}");
    (joined, findings)
}

pub(super) fn timed(count: Count) -> Count {
    Count { minutes: Some(2.0), ..count }
}

fn site() -> Site {
    let origin = LonLat::new(15.9, 46.3).unwrap();
    let bearing = AppliedBearing::from_true_north(Degrees::new(14.5));
    let frame = Frame::new(origin, Metres::new(300.0), bearing, RowsTo::Right).unwrap();
    let outline = MultiPolygon::new(vec![polygon![
        (x: -1.0, y: -2.0), (x: 12.0, y: -2.0), (x: 12.0, y: 7.0), (x: -1.0, y: 7.0),
    ]]);
    Site {
        name: "North".parse().unwrap(),
        frame,
        outline,
        outline_origin: crate::block::OutlineOrigin::default(),
        keep_outs: Vec::new(),
        standing_rows: Vec::new(),
        row_line: None,
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        given_vines: Vec::new(),
        rules: rules(),
        plantings: plantings(),
        missing: Vec::new(),
        terrain: None,
    }
}

fn plantings() -> PlantingRules {
    let block = crate::block::Block {
        name: "North".parse().unwrap(),
        outline: MultiPolygon::new(Vec::new()),
        keys: crate::block::BlockKeys::default(),
        keep_outs: Vec::new(),
        row_lines: Vec::new(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        vines: Vec::new(),
        place: crate::finding::Place::default(),
    };
    let rules = crate::settings::planting_rules(&block);
    assert!(matches!(rules.all(), [Planting { curtains: 1, .. }]));
    rules
}

fn rules() -> RowRules {
    RowRules {
        standing: true,
        bearing: Some(Degrees::new(14.5)),
        north: North::True,
        date: None,
        grid: None,
        row_spacing: Metres::new(ROW_M),
        vine_spacing: Metres::new(VINE_M),
        headland: Metres::new(0.0),
        anchor_gap: Metres::new(0.0),
        side_margin: Metres::new(0.0),
        anchor: RowAnchor::Edge,
        pattern: VinePattern::RowEnd,
        end_gap: Metres::new(VINE_M / 2.0),
        vines_per_panel: 4,
        first_panel_vines: 4,
        shortest_row: ShortestRow::Vines(3),
        shortest_gap: Metres::new(0.0),
        elevation: Metres::new(300.0),
        ground_spacing: false,
        rows_to: RowsTo::Right,
        first_row: 1,
        vine_1: VineOne::Start,
        most_vines: 1000,
    }
}

/// Row 1 lies at 0 m across; vine 1 of every row at 0.6 m along.
fn layout() -> Layout {
    let line = |from_m: f64, to_m: f64, across_m: f64| {
        LineString::from(vec![(from_m, across_m), (to_m, across_m)])
    };
    let mut layout = Layout {
        rows: Vec::new(),
        pieces: Vec::new(),
        vines: Vec::new(),
        panels: Vec::new(),
        posts: Vec::new(),
        digits: IdDigits::for_greatest(3, 8, 2),
        left_out: Vec::new(),
        quantities: quantities(),
    };
    let mut across_m = 0.0;
    for (piece, number) in (1..=3).enumerate() {
        let (vines, panels) = (layout.vines.len(), layout.panels.len());
        let mut along_m = VINE_M / 2.0;
        for vine in 1..=8_u32 {
            let panel = panels + usize::from(vine > 4);
            let at = RowPoint { along_m, across_m };
            layout.vines.push(Vine { row: number, vine, piece, panel, at, chainage_m: along_m });
            along_m += VINE_M;
        }
        for panel in 1..=2_u32 {
            let (from, from_m) = if panel == 1 { (vines, 0.0) } else { (vines + 4, 4.8) };
            let path = line(from_m, from_m + 4.8, across_m);
            layout.panels.push(Panel { row: number, panel, piece, vines: from..from + 4, path });
        }
        layout.rows.push(Row { number, across_m, pieces: piece..piece + 1 });
        layout.pieces.push(Piece {
            row: number,
            letter: None,
            path: line(0.0, 9.6, across_m),
            length_m: 9.6,
            relief: None,
            vines: vines..vines + 8,
            panels: panels..panels + 2,
            clear_m: None,
        });
        across_m += ROW_M;
    }
    layout
}

fn quantities() -> Quantities {
    Quantities {
        rows: 3,
        vines: 24,
        posts_end: 6,
        posts_line: 3,
        anchors: 0,
        row_length_m: 28.8,
        row_lengths_m: [9.6; 3],
        planted_ha: 0.0072,
        block_ha: 0.0117,
        vines_per_ha: 3333.3,
        least_clear_m: None,
    }
}
