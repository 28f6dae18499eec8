//! Slopes and spacings on ground whose slope is known: closed forms, and GDAL's.

use catchwire::{
    block::{RowsTo, VineOne},
    error::Error,
    finding::Findings,
    frame::{AppliedBearing, Frame, GroundPoint, RowPoint, Terrain},
    geodesy::{GridTransform, LonLat},
    grid::{Affine, Georeference, Grid, Lies},
    layout::{Layout, Plot, PostKind, lay_out_plot},
    settings::RowRules,
    units::{Degrees, Metres},
};
use geo::{MultiPolygon, polygon};

use crate::laws::plots::{Draws, random_field, rules};

const BEARING: f64 = 33.0;

fn frame(lon: f64, lat: f64, bearing: f64) -> Frame {
    let bearing = AppliedBearing::from_true_north(Degrees::new(bearing));
    let origin = LonLat::new(lon, lat).expect("a place");
    Frame::new(origin, Metres::new(0.0), bearing, RowsTo::Right).expect("a frame")
}

fn number(index: usize) -> f64 {
    f64::from(u32::try_from(index).expect("few"))
}

fn north_up(origin: [f64; 2], cell: f64) -> Affine {
    let [origin_x, origin_y] = origin;
    Affine { origin_x, column_x: cell, row_x: 0.0, origin_y, column_y: 0.0, row_y: -cell }
}

/// Cells around a frame's origin that hold a height of the ground's own metres east and north.
pub(super) fn model(
    frame: &Frame,
    lies: Lies,
    cell: f64,
    height: impl Fn(f64, f64) -> f64,
) -> Grid {
    let side = 120;
    let middle = match &lies {
        Lies::Projected(grid) => {
            let there = grid.from_lon_lat(frame.origin()).expect("a place of the grid");
            [there.east, there.north]
        }
        Lies::Degrees => [frame.origin().lon(), frame.origin().lat()],
    };
    let half = number(side) / 2.0 * cell;
    let affine = north_up([middle[0] - half, middle[1] + half], cell);
    let georeference = Georeference { affine, lies };
    let value = |at: usize| {
        let cell = [number(at % side) + 0.5, number(at / side) + 0.5];
        let place = georeference.place(cell).expect("a place");
        let ground = frame.to_ground(frame.to_row(place));
        height(ground.east_m, ground.north_m)
    };
    let values = (0..side * side).map(value).collect();
    Grid::new("plane.tif", [side, side], values, georeference.clone(), "m").expect("a grid")
}

pub(super) fn utm(code: &str) -> Lies {
    Lies::Projected(GridTransform::new(code).expect("a grid"))
}

/// 86 m along the rows and 45 m across, around the frame's origin.
fn outline() -> MultiPolygon<f64> {
    polygon![(x: -43.0, y: -22.5), (x: 43.0, y: -22.5), (x: 43.0, y: 22.5), (x: -43.0, y: 22.5)]
        .into()
}

fn on_ground() -> RowRules {
    let metres = Metres::new;
    RowRules {
        ground_spacing: true,
        headland: metres(9.0),
        anchor_gap: metres(2.0),
        side_margin: metres(2.5),
        row_spacing: metres(2.5),
        vine_spacing: metres(1.2),
        end_gap: metres(0.6),
        vines_per_panel: 4,
        first_panel_vines: 4,
        ..rules()
    }
}

fn lay_out(rules: &RowRules, terrain: Option<&Terrain>) -> Result<(Layout, Findings), Error> {
    lay_out_plot(&Plot {
        name: &"Plane".parse().expect("a name"),
        outline: &outline(),
        keep_outs: &[],
        standing_rows: &[],
        row_line: None,
        row_list: &[],
        given_vines: &[],
        rules,
        terrain: terrain.map(|terrain| terrain.along(Degrees::new(BEARING), RowsTo::Right)),
    })
}

fn terrain(height: impl Fn(f64, f64) -> f64) -> Terrain {
    let frame = frame(-5.77, 56.075, BEARING);
    let grid = model(&frame, utm("EPSG:32630"), 2.0, height);
    Terrain::of(&frame, &outline(), &grid, Metres::new(10.0))
}

/// A plane that rises by these along and across rows of the bearing.
fn plane(along: f64, across: f64) -> Terrain {
    let (sin, cos) = Degrees::new(BEARING).radians().sin_cos();
    terrain(move |e, n| 200.0 + along * (e * sin + n * cos) + across * (e * cos - n * sin))
}

#[test]
fn on_a_plane_level_spacing_is_tape_over_the_length_of_the_slope() {
    for (along, across) in [(0.0, 0.0), (0.2, 0.0), (-0.35, 0.1), (0.0, 0.25), (0.5, -0.3)] {
        let plane = plane(along, across);
        let (layout, _) = lay_out(&on_ground(), Some(&plane)).expect("rows");
        let slope = f64::hypot(1.0, along);
        // From anchor to anchor 68 m level; 2 m + 0.6 m of tape to the first vine and to the last.
        let vines = ((68.0 * slope - 5.2) / 1.2 + 1e-9).floor() + 1.0;
        let row = |number: u32| layout.vines.iter().filter(move |vine| vine.row == number);
        assert!((number(row(1).count()) - vines).abs() < 0.5, "{along}: {}", row(1).count());
        for (at, vine) in row(5).enumerate() {
            let expected = -34.0 + (2.6 + 1.2 * number(at)) / slope;
            assert!((vine.at.along_m - expected).abs() < 1e-5, "{along} {at} {vine:?}");
            assert!((vine.chainage_m - 0.6 - 1.2 * number(at)).abs() < 1e-9, "{vine:?}");
        }
        let post = layout.posts.iter().find(|post| post.kind == PostKind::Line).expect("a post");
        let expected = -34.0 + (2.6 + 3.6 + 0.6) / slope;
        assert!((post.at.along_m - expected).abs() < 1e-5, "half a spacing of tape: {post:?}");
        let piece = &layout.pieces[4];
        let relief = piece.relief.expect("ground under it");
        assert!((relief.length_m - piece.length_m * slope).abs() < 1e-4, "{relief:?}");
        assert!((relief.along - along).abs() < 1e-6 && (relief.across - across).abs() < 1e-6);
        assert!((relief.along_most - along.abs()).abs() < 1e-6, "{relief:?}");
        assert!((relief.fall_m - piece.length_m * along.abs()).abs() < 1e-3, "{relief:?}");
        // Across the rows distances stay level.
        assert!((layout.rows[1].across_m - layout.rows[0].across_m - 2.5).abs() < 1e-9);
    }
}

#[test]
fn without_ground_spacing_slopes_are_told_and_no_vine_moves() {
    let level = RowRules { ground_spacing: false, ..on_ground() };
    let (with, told) = lay_out(&level, Some(&plane(0.2, 0.12))).expect("rows");
    let (without, _) = lay_out(&level, None).expect("rows");
    assert_eq!(with.vines, without.vines);
    assert!(without.pieces.iter().all(|piece| piece.relief.is_none()));
    let told: Vec<String> = told.iter().map(ToString::to_string).collect();
    let count = |words: &str| told.iter().filter(|text| text.contains(words)).count();
    assert_eq!(count("side slopes of up to 12 %"), 1, "{told:?}");
    assert_eq!(count("up and down slopes of 5 % or more"), 1, "{told:?}");
    assert!(told.iter().all(|text| !text.to_lowercase().contains(" safe")), "{told:?}");
}

#[test]
fn gentle_ground_asks_for_no_word_and_steep_ground_for_three() {
    let cautions = |along, across| {
        let findings = lay_out(&on_ground(), Some(&plane(along, across))).expect("rows").1;
        findings.iter().filter(|finding| finding.to_string().contains("plane.tif")).count()
    };
    assert_eq!(cautions(0.045, -0.045), 0);
    assert_eq!(cautions(0.0, -0.06), 1);
    assert_eq!(cautions(0.28, 0.2), 3);
}

#[test]
fn tape_along_the_ground_without_its_heights_is_refused() {
    let error = lay_out(&on_ground(), None).expect_err("no ground").to_string();
    assert!(error.contains("--dem FILE.tif"), "{error}");
    let standing = RowRules { standing: true, ..on_ground() };
    let told = lay_out(&standing, None).expect("rows").1;
    assert!(told.iter().any(|f| f.what.contains("are set level here")), "{told:?}");
}

#[test]
fn over_a_ridge_the_tape_is_longer_than_level_and_water_falls_both_ways() {
    let (sin, cos) = Degrees::new(BEARING).radians().sin_cos();
    let roof = terrain(move |e, n| 300.0 - 0.3 * (e * sin + n * cos).abs());
    let (layout, _) = lay_out(&on_ground(), Some(&roof)).expect("rows");
    let relief = layout.pieces[6].relief.expect("ground");
    let length = layout.pieces[6].length_m;
    // Rounded by the support over 10 m, the roof is a little shorter than its two sides.
    let sides = length * 0.3_f64.hypot(1.0);
    assert!(relief.length_m < sides && relief.length_m > sides - 0.4, "{relief:?} {sides}");
    assert!(relief.along.abs() < 0.01 && (relief.along_most - 0.3).abs() < 1e-3, "{relief:?}");
    assert!((relief.fall_m - 0.3 * length / 2.0).abs() < 1.0, "{relief:?}");
    let row: Vec<f64> =
        layout.vines.iter().filter(|v| v.row == 7).map(|vine| vine.at.along_m).collect();
    let gaps: Vec<f64> = row.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let middle = gaps.iter().copied().fold(0.0, f64::max);
    assert!((middle - 1.2).abs() < 1e-3, "level on the ridge: {middle}");
    assert!((gaps[0] - 1.2 / 0.3_f64.hypot(1.0)).abs() < 1e-3, "{}", gaps[0]);
}

#[test]
fn south_and_west_of_the_world_and_in_degrees_a_plane_is_the_same_plane() {
    for (lon, lat, code) in
        [(-70.6, -33.4, "EPSG:32719"), (19.1, -33.9, "EPSG:32734"), (-73.2, 44.45, "EPSG:32618")]
    {
        let frame = frame(lon, lat, BEARING);
        for (lies, cell) in [(utm(code), 3.0), (Lies::Degrees, 3e-5)] {
            let grid = model(&frame, lies, cell, |e, n| 50.0 + 0.07 * e - 0.11 * n);
            let terrain = Terrain::of(&frame, &outline(), &grid, Metres::new(10.0));
            for (east_m, north_m) in [(0.0, 0.0), (31.0, -20.0), (-40.0, 12.0)] {
                let at = GroundPoint { east_m, north_m };
                let [east, north] = terrain.gradient(at).expect("ground");
                assert!((east - 0.07).hypot(north + 0.11) < 1e-6, "{lon} {east} {north}");
                let height = terrain.height_m(at).expect("ground");
                assert!((height - (50.0 + 0.07 * east_m - 0.11 * north_m)).abs() < 1e-5);
            }
        }
    }
}

#[test]
fn slopes_on_curved_ground_are_those_of_horn() {
    let side = 80;
    let height =
        |x: f64, y: f64| 185.0 + 0.06 * x - 0.09 * y + 3.0 * (x / 40.0).sin() * (y / 35.0).cos();
    let affine = north_up([327_255.0, 6_218_130.0], 5.0);
    let offset = |index: usize| (number(index) + 0.5 - 40.0) * 5.0;
    let value = |at: usize| height(offset(at % side), -offset(at / side));
    let values = (0..side * side).map(value).collect();
    let georeference = Georeference { affine, lies: utm("EPSG:32630") };
    let grid = Grid::new("curved.tif", [side, side], values, georeference, "m").expect("a grid");
    let frame = frame(-5.7723, 56.0753, 0.0);
    let square: MultiPolygon<f64> = polygon![
        (x: -150.0, y: -150.0), (x: 150.0, y: -150.0), (x: 150.0, y: 150.0), (x: -150.0, y: 150.0),
    ]
    .into();
    let terrain = Terrain::of(&frame, &square, &grid, Metres::new(10.0));
    // Source: `gdaldem slope -p` of GDAL 3.6.2 (Horn 1981, Proc. IEEE 69:14–47) at the middles of
    // these cells, percent.
    for (column, row, percent) in
        [(40, 40, 16.128_138), (20, 33, 5.275_537), (55, 60, 11.300_108), (30, 50, 17.973_754)]
    {
        let cell = [number(column) + 0.5, number(row) + 0.5];
        let place = grid.georeference().place(cell).expect("a place");
        let at = frame.to_ground(frame.to_row(place));
        let [east, north] = terrain.gradient(at).expect("ground");
        let found = east.hypot(north) * 100.0;
        assert!((found - percent).abs() < 0.1, "{column} {row}: {found} %, Horn {percent} %");
    }
    assert!(terrain.height_m(GroundPoint { east_m: 400.0, north_m: 0.0 }).is_none());
    let rows = terrain.along(Degrees::new(90.0), RowsTo::Left);
    let [along, across] = rows.gradient(RowPoint { along_m: 0.0, across_m: 0.0 }).expect("ground");
    let [east, north] =
        terrain.gradient(GroundPoint { east_m: 0.0, north_m: 0.0 }).expect("ground");
    assert!((along - east).hypot(across - north) < 1e-12, "east is along, north is left");
}

#[test]
fn on_level_ground_tape_and_level_lay_the_same_block() {
    let frame = frame(-5.77, 56.075, 0.0);
    let level = model(&frame, Lies::Degrees, 3e-4, |_, _| 120.0);
    let mut draws = Draws(77);
    let mut laid = 0;
    while laid < 40 {
        let mut field = random_field(&mut draws);
        field.rules.vine_1 = [VineOne::Start, VineOne::End, VineOne::Serpentine][draws.below(3)];
        let Ok((expected, _)) = field.lay_out() else { continue };
        let terrain = Terrain::of(&frame, &field.outline, &level, Metres::new(10.0));
        field.rules.ground_spacing = true;
        let ground = terrain.along(Degrees::new(0.0), RowsTo::Right);
        let (found, _) = field.lay_out_on(Some(ground)).expect("the same rows");
        assert_eq!(found.vines.len(), expected.vines.len());
        for (one, other) in found.vines.iter().zip(&expected.vines) {
            assert_eq!((one.row, one.vine, one.panel), (other.row, other.vine, other.panel));
            let off =
                (one.at.along_m - other.at.along_m).hypot(one.at.across_m - other.at.across_m);
            assert!(off < 1e-8 && (one.chainage_m - other.chainage_m).abs() < 1e-8, "{one:?}");
        }
        let posts = found.posts.iter().zip(&expected.posts);
        assert_eq!(found.posts.len(), expected.posts.len());
        assert!(posts.into_iter().all(|(one, other)| {
            (one.at.along_m - other.at.along_m).hypot(one.at.across_m - other.at.across_m) < 1e-8
        }));
        laid += 1;
    }
}

#[test]
fn counted_from_either_end_no_vine_on_a_slope_moves() {
    let uneven = terrain(|e, n| 250.0 + 0.15 * e - 0.002 * n * n);
    let places = |vine_1| {
        let rules = RowRules { vine_1, ..on_ground() };
        let (layout, _) = lay_out(&rules, Some(&uneven)).expect("rows");
        let mut places: Vec<_> = layout.vines.iter().map(|vine| vine.at).collect();
        places.sort_by(|a, b| {
            a.across_m.total_cmp(&b.across_m).then(a.along_m.total_cmp(&b.along_m))
        });
        let first = layout.vines.first().expect("a vine").clone();
        (places, first)
    };
    let (from_start, _) = places(VineOne::Start);
    let (from_end, first) = places(VineOne::End);
    assert_eq!(from_start.len(), from_end.len());
    for (one, other) in from_start.iter().zip(&from_end) {
        assert!((one.along_m - other.along_m).hypot(one.across_m - other.across_m) < 1e-8);
    }
    assert!(first.at.along_m > 30.0 && first.chainage_m >= 0.6 - 1e-9, "{first:?}");
}
