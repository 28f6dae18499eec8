//! Blocks on their plane, made by hand or drawn at random, for the tests of the layout.

use catchwire::{
    block::{ListedRow, North, RowAnchor, RowsTo, ShortestRow, VineOne, VinePattern},
    error::Error,
    finding::Findings,
    frame::{RowPoint, RowTerrain, SiteKeepOut, StandingRow},
    layout::{Layout, Plot, lay_out_plot},
    settings::RowRules,
    units::{Degrees, Metres},
};
use geo::{Coord, LineString, MapCoords, MultiPolygon, Polygon};

/// A block on its plane that owns its parts.
#[derive(Debug, Clone)]
pub(crate) struct Field {
    pub(crate) outline: MultiPolygon<f64>,
    pub(crate) keep_outs: Vec<SiteKeepOut>,
    pub(crate) standing_rows: Vec<StandingRow>,
    pub(crate) row_list: Vec<(ListedRow, Option<RowPoint>)>,
    pub(crate) row_line: Option<LineString<f64>>,
    pub(crate) given_vines: Vec<(u32, u32, RowPoint)>,
    pub(crate) rules: RowRules,
}

impl Field {
    /// A new planting inside an outline, 2.5 m by 1.2 m, without anchors.
    pub(crate) fn new(outline: MultiPolygon<f64>) -> Self {
        let rules = rules();
        Self {
            outline,
            keep_outs: Vec::new(),
            standing_rows: Vec::new(),
            row_list: Vec::new(),
            row_line: None,
            given_vines: Vec::new(),
            rules,
        }
    }

    pub(crate) fn lay_out(&self) -> Result<(Layout, Findings), Error> {
        self.lay_out_on(None)
    }

    pub(crate) fn lay_out_on(
        &self,
        terrain: Option<RowTerrain<'_>>,
    ) -> Result<(Layout, Findings), Error> {
        lay_out_plot(&Plot {
            name: &"Test block".parse().expect("a name"),
            outline: &self.outline,
            keep_outs: &self.keep_outs,
            standing_rows: &self.standing_rows,
            row_line: self.row_line.as_ref(),
            row_list: &self.row_list,
            given_vines: &self.given_vines,
            rules: &self.rules,
            terrain,
        })
    }
}

pub(crate) fn rules() -> RowRules {
    RowRules {
        standing: false,
        bearing: Some(Degrees::new(0.0)),
        north: North::True,
        date: None,
        grid: None,
        row_spacing: Metres::new(2.5),
        vine_spacing: Metres::new(1.2),
        headland: Metres::new(9.0),
        anchor_gap: Metres::new(0.0),
        side_margin: Metres::new(2.5),
        anchor: RowAnchor::Edge,
        pattern: VinePattern::RowEnd,
        end_gap: Metres::new(0.6),
        vines_per_panel: 4,
        first_panel_vines: 4,
        shortest_row: ShortestRow::Vines(3),
        shortest_gap: Metres::new(0.0),
        elevation: Metres::new(0.0),
        ground_spacing: false,
        rows_to: RowsTo::Right,
        first_row: 1,
        vine_1: VineOne::Start,
        most_vines: 5_000_000,
    }
}

/// A rectangle with one corner at the origin.
pub(crate) fn rectangle(along: f64, across: f64) -> MultiPolygon<f64> {
    polygon(&[(0.0, 0.0), (along, 0.0), (along, across), (0.0, across)]).into()
}

pub(crate) fn polygon(points: &[(f64, f64)]) -> Polygon<f64> {
    Polygon::new(LineString::from(points.to_vec()), Vec::new())
}

/// Seeded draws (Steele, Lea & Flood 2014, `SplitMix64`): the same on every machine.
#[derive(Debug)]
pub(crate) struct Draws(pub(crate) u64);

impl Draws {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From `low` to `high`.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// One of 0 … `number` − 1.
    pub(crate) fn below(&mut self, number: usize) -> usize {
        let number = u64::try_from(number).expect("a small number");
        usize::try_from(self.next() % number).expect("a small number")
    }

    /// True so many times in a hundred.
    pub(crate) fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }
}

/// A random block: concave, stepped, holed, in parts, with keep-outs, under random rules.
pub(crate) fn random_field(draws: &mut Draws) -> Field {
    let mut outline = MultiPolygon::new(vec![random_part(draws, (0.0, 0.0))]);
    if draws.chance(15) {
        outline.0.push(random_part(draws, (160.0, 25.0)));
    }
    let mut field = Field::new(outline);
    field.rules = random_rules(draws);
    for _ in 0..draws.below(3) {
        let centre = (draws.between(-40.0, 40.0), draws.between(-25.0, 25.0));
        let shape = star(draws, centre, (2.0, 6.0), 9).into();
        let clearance = Metres::new(draws.between(0.0, 2.0));
        field.keep_outs.push(SiteKeepOut {
            name: None,
            shape,
            clearance,
            turning: draws.chance(40),
        });
    }
    field
}

pub(crate) fn random_rules(draws: &mut Draws) -> RowRules {
    let spacing = draws.between(0.8, 2.5);
    let anchors = [RowAnchor::Edge, RowAnchor::Edge, RowAnchor::Centre, RowAnchor::MostVines];
    let patterns = [VinePattern::RowEnd, VinePattern::Square, VinePattern::Staggered];
    let zero = draws.chance(15);
    let length = |draws: &mut Draws, most| if zero { 0.0 } else { draws.between(0.0, most) };
    RowRules {
        row_spacing: Metres::new(draws.between(1.5, 4.0)),
        vine_spacing: Metres::new(spacing),
        headland: Metres::new(length(draws, 12.0)),
        side_margin: Metres::new(length(draws, 5.0)),
        anchor_gap: Metres::new(length(draws, 3.0)),
        end_gap: Metres::new(draws.between(0.0, spacing)),
        anchor: anchors[draws.below(anchors.len())],
        pattern: patterns[draws.below(patterns.len())],
        ..rules()
    }
}

fn random_part(draws: &mut Draws, centre: (f64, f64)) -> Polygon<f64> {
    if draws.chance(30) {
        return stepped(draws, centre);
    }
    let vertices = [3, 4, 7, 12, 40, 150, 400][draws.below(7)];
    let mut part = star(draws, centre, (30.0, 75.0), vertices);
    if draws.chance(30) && vertices > 6 {
        let hole = star(draws, centre, (4.0, 15.0), 3 + vertices / 4);
        part.interiors_push(hole.exterior().clone());
    }
    part
}

/// A small random block: convex, concave, thin, holed, with an island in its hole, in parts, with
/// keep-outs that may hold an island of ground themselves. Cheap enough for thousands.
pub(crate) fn small_field(draws: &mut Draws) -> Field {
    let vertices = 3 + draws.below(10);
    let mut part = star(draws, (0.0, 0.0), (22.0, 42.0), vertices);
    let thin = if draws.chance(20) { draws.between(0.1, 0.4) } else { 1.0 };
    part.exterior_mut(|ring| ring.0.iter_mut().for_each(|c| c.y *= thin));
    let mut outline = MultiPolygon::new(vec![part]);
    if vertices > 6 && draws.chance(40) {
        let hole = star(draws, (0.0, 0.0), (10.0, 14.0), 8);
        outline.0[0].interiors_push(hole.exterior().map_coords(|c| (c.x, c.y * thin).into()));
        if draws.chance(50) {
            let island = star(draws, (0.0, 0.0), (6.0, 8.0), 6);
            outline.0.push(island.map_coords(|c| (c.x, c.y * thin).into()));
        }
    }
    if draws.chance(15) {
        outline.0.push(star(draws, (90.0, 8.0), (15.0, 30.0), 5));
    }
    let mut field = Field::new(outline);
    field.rules = random_rules(draws);
    for length in [&mut field.rules.headland, &mut field.rules.side_margin] {
        *length = Metres::new(length.metres() * 0.4);
    }
    if field.rules.anchor == RowAnchor::MostVines && draws.chance(95) {
        field.rules.anchor = RowAnchor::Centre;
    }
    if draws.chance(30) {
        let mut shape = star(draws, (12.0, 4.0), (3.0, 6.0), 5);
        if draws.chance(40) {
            shape.interiors_push(star(draws, (12.0, 4.0), (1.0, 1.5), 4).exterior().clone());
        }
        let clearance = Metres::new(draws.between(0.0, 1.0));
        let turning = draws.chance(40);
        field.keep_outs.push(SiteKeepOut { name: None, shape: shape.into(), clearance, turning });
    }
    field
}

/// A closed outline seen from its centre, so it never crosses itself.
fn star(draws: &mut Draws, centre: (f64, f64), radii: (f64, f64), vertices: usize) -> Polygon<f64> {
    let smooth = draws.chance(50);
    let mut radius = draws.between(radii.0, radii.1);
    let turn = draws.between(0.0, 1.0);
    let points = (0..vertices).map(|at| {
        let share = (f64::from(u32::try_from(at).expect("few")) + turn)
            / f64::from(u32::try_from(vertices).expect("few"));
        radius = if smooth {
            (radius + draws.between(-2.0, 2.0)).clamp(radii.0, radii.1)
        } else {
            draws.between(radii.0, radii.1)
        };
        let (sin, cos) = (share * std::f64::consts::TAU).sin_cos();
        Coord { x: centre.0 + radius * cos, y: centre.1 + 0.7 * radius * sin }
    });
    Polygon::new(points.collect::<LineString>(), Vec::new())
}

/// A block along steps, as a cadastre draws it: many edges exactly along and across the rows.
fn stepped(draws: &mut Draws, centre: (f64, f64)) -> Polygon<f64> {
    let mut steps = |side: f64| -> Vec<f64> {
        (0..8)
            .map(|_| side * (15.0 + 2.5 * f64::from(u8::try_from(draws.below(9)).unwrap())))
            .collect()
    };
    let (below, above) = (steps(-1.0), steps(1.0));
    let at = |step: usize| 17.5 * f64::from(u8::try_from(step).unwrap()) - 70.0 + centre.0;
    let mut points = Vec::new();
    for (step, v) in below.iter().enumerate() {
        points.extend([(at(step), v + centre.1), (at(step + 1), v + centre.1)]);
    }
    for (step, v) in above.iter().enumerate().rev() {
        points.extend([(at(step + 1), v + centre.1), (at(step), v + centre.1)]);
    }
    polygon(&points)
}
