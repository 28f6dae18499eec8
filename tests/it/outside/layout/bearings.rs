//! Candidate bearings against layouts that are really laid, on random blocks.

use catchwire::{
    block::{RowAnchor, VinePattern},
    frame::{AppliedBearing, Frame, Site, SiteKeepOut, Terrain},
    geodesy::LonLat,
    layout::{
        Layout,
        compare::{BearingRange, Candidate, Comparison, Counted, compare},
    },
    settings::{PlantingRules, Settings},
    units::{Degrees, Metres},
};
use geo::{Coord, LineString, MapCoords};

use crate::{
    laws::plots::{Draws, Field, random_field, rectangle},
    outside::terrain,
};

/// A field as a site whose rows run north and south.
pub(super) fn site(field: &Field) -> Site {
    let north = AppliedBearing::from_true_north(Degrees::new(0.0));
    let origin = LonLat::new(-5.77, 56.07).unwrap();
    let frame = Frame::new(origin, Metres::new(0.0), north, field.rules.rows_to).unwrap();
    Site {
        name: "Test block".parse().unwrap(),
        frame,
        outline: field.outline.clone(),
        keep_outs: field.keep_outs.clone(),
        standing_rows: Vec::new(),
        row_line: field.row_line.clone(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        given_vines: Vec::new(),
        rules: field.rules.clone(),
        plantings: PlantingRules::default(),
        missing: Vec::new(),
        terrain: None,
        outline_origin: catchwire::block::OutlineOrigin::default(),
    }
}

fn compared(site: &Site, step: f64) -> Comparison {
    let settings = Settings::default().compare();
    compare(site, true, &BearingRange::all(Degrees::new(step)), &settings, None).unwrap()
}

/// Turns a shape by some degrees clockwise, its `x` north and `y` east.
fn clockwise<G: MapCoords<f64, f64>>(shape: &G, degrees: f64) -> G::Output {
    let (sin, cos) = Degrees::new(degrees).radians().sin_cos();
    shape.map_coords(|Coord { x, y }| Coord { x: x * cos - y * sin, y: x * sin + y * cos })
}

/// The field on axes of rows with another bearing.
fn seen_along(field: &Field, bearing: f64) -> Field {
    let keep_outs = field.keep_outs.iter().map(|keep_out| SiteKeepOut {
        shape: clockwise(&keep_out.shape, -bearing),
        ..keep_out.clone()
    });
    Field {
        outline: clockwise(&field.outline, -bearing),
        keep_outs: keep_outs.collect(),
        ..field.clone()
    }
}

/// Holds what was counted to what was laid; on sloping ground lengths are level in both.
fn counts_what_is_laid(counted: &Counted, layout: &Layout) {
    let laid = &layout.quantities;
    assert_eq!((counted.vines, counted.rows), (laid.vines, laid.rows));
    assert_eq!((counted.posts_end(), counted.left_out), (laid.posts_end, layout.left_out.len()));
    let short = layout.pieces.iter().filter(|piece| piece.length_m < 30.0).count();
    assert_eq!((counted.pieces, counted.short_pieces), (layout.pieces.len(), short));
    assert!((counted.row_length_m - laid.row_length_m).abs() < 1e-4, "{counted:?} {laid:?}");
    assert!((counted.planted_ha - laid.planted_ha).abs() < 1e-7);
    for (one, other) in counted.row_lengths_m.unwrap().iter().zip(laid.row_lengths_m) {
        assert!((one - other).abs() < 1e-4, "{one} m, {other} m");
    }
}

/// Lays every candidate; how many hold a row, and how many do not.
fn lay_candidates(field: &Field, site: &Site, comparison: &Comparison) -> [usize; 2] {
    let mut laid = [0, 0];
    for candidate in &comparison.candidates {
        let terrain = site.terrain.as_ref();
        let terrain = terrain.map(|ground| ground.along(candidate.bearing, field.rules.rows_to));
        let seen = seen_along(field, candidate.bearing.degrees());
        let counted = &candidate.counted;
        if let Ok((layout, _)) = seen.lay_out_on(terrain) {
            counts_what_is_laid(counted, &layout);
            laid[0] += 1;
        } else {
            assert_eq!((counted.rows, counted.vines, counted.pieces), (0, 0, 0));
            laid[1] += 1;
        }
    }
    laid
}

#[test]
fn a_candidate_counts_what_a_layout_of_its_bearing_lays() {
    let mut draws = Draws(21);
    let (mut checked, mut empty) = (0, 0);
    while checked < 400 {
        let mut field = random_field(&mut draws);
        if draws.chance(20) {
            field.rules.shortest_gap = Metres::new(12.0);
        }
        let site = site(&field);
        let settings = Settings::default().compare();
        let step = draws.between(20.0, 60.0);
        let range = BearingRange::all(Degrees::new(step));
        let Ok(comparison) = compare(&site, true, &range, &settings, None) else { continue };
        let [with_rows, without] = lay_candidates(&field, &site, &comparison);
        (checked, empty) = (checked + with_rows, empty + without);
    }
    assert!(empty < checked / 4, "{empty} bearings without a row");
}

#[test]
fn on_a_slope_with_vines_by_tape_a_candidate_still_counts_what_is_laid() {
    let mut draws = Draws(24);
    let hills = |east_m: f64, north_m: f64| {
        200.0 + 0.12 * east_m + 6.0 * (north_m / 40.0).sin() * (east_m / 55.0).cos()
    };
    let mut model = None;
    let (mut checked, mut shrunk) = (0, 0);
    while checked < 60 {
        let mut field = random_field(&mut draws);
        field.rules.ground_spacing = true;
        field.rules.pattern = VinePattern::RowEnd;
        field.rules.anchor = RowAnchor::Centre;
        if draws.chance(30) {
            field.rules.shortest_gap = Metres::new(12.0);
        }
        let mut site = site(&field);
        let grid = model.get_or_insert_with(|| {
            terrain::model(&site.frame, terrain::utm("EPSG:32630"), 5.0, hills)
        });
        site.terrain = Some(Terrain::of(&site.frame, &site.outline, grid, Metres::new(10.0)));
        let settings = Settings::default().compare();
        let range = BearingRange::all(Degrees::new(60.0));
        let Ok(comparison) = compare(&site, true, &range, &settings, None) else { continue };
        let [with_rows, _] = lay_candidates(&field, &site, &comparison);
        checked += with_rows;
        let level = field.lay_out().map_or(0, |(layout, _)| layout.vines.len());
        let own = comparison.candidates.iter().find(|candidate| candidate.own).unwrap();
        shrunk += usize::from(own.counted.vines > level);
    }
    assert!(shrunk > 5, "the ground holds more vines than its map on {shrunk} blocks only");
}

#[test]
fn no_place_of_the_first_row_gives_fewer_or_more_vines() {
    let mut draws = Draws(22);
    let (mut checked, mut met) = (0, 0);
    while checked < 24 {
        let mut field = random_field(&mut draws);
        field.rules.anchor = RowAnchor::Edge;
        let Ok((edge, _)) = field.lay_out() else { continue };
        let all = compared(&site(&field), 45.0);
        let own = all.candidates.iter().find(|candidate| candidate.own).unwrap();
        let [fewest, most] = own.counted.vines_by_offset.unwrap();
        let (base, row) = (edge.rows[0].across_m, field.rules.row_spacing.metres());
        field.rules.anchor = RowAnchor::RowLine;
        let vines = (0..300).map(|step| {
            let v = base + f64::from(step) / 300.0 * row;
            field.row_line = Some(LineString::from(vec![(0.0, v), (10.0, v)]));
            field.lay_out().map_or(0, |(layout, _)| layout.vines.len())
        });
        let vines: Vec<usize> = vines.collect();
        let [low, high] = [vines.iter().min().unwrap(), vines.iter().max().unwrap()];
        assert!(fewest <= *low && *high <= most, "{low} to {high}, not in {fewest} to {most}");
        assert!((fewest..=most).contains(&own.counted.vines));
        met += usize::from(fewest == *low) + usize::from(most == *high);
        checked += 1;
    }
    // A grid of 300 places steps over the narrowest of them only.
    assert!(met * 3 > checked * 2 * 2, "{met} of {} ends met", 2 * checked);
}

/// A block whose rows are the same whichever way they are walked.
fn even_field(draws: &mut Draws) -> Field {
    let mut field = random_field(draws);
    field.rules.anchor = RowAnchor::Centre;
    field.rules.pattern = VinePattern::RowEnd;
    field
}

fn same(one: &Candidate, other: &Candidate) {
    let (a, b) = (&one.counted, &other.counted);
    let bearings = (one.bearing, other.bearing);
    assert_eq!((a.rows, a.vines, a.pieces), (b.rows, b.vines, b.pieces), "{bearings:?}");
    assert_eq!((a.short_pieces, a.left_out), (b.short_pieces, b.left_out), "{bearings:?}");
    assert_eq!(a.vines_by_offset, b.vines_by_offset, "{bearings:?}");
    assert!((a.row_length_m - b.row_length_m).abs() < 1e-3, "{bearings:?}");
}

/// The candidate of an axis.
fn at(comparison: &Comparison, degrees: f64) -> &Candidate {
    let axis = degrees.rem_euclid(180.0);
    let near = |candidate: &&Candidate| (candidate.axis().degrees() - axis).abs() < 1e-3;
    comparison.candidates.iter().find(near).unwrap()
}

#[test]
fn a_turned_block_has_its_table_turned_and_a_mirrored_one_mirrored() {
    let mut draws = Draws(23);
    let mut checked = 0;
    while checked < 12 {
        let field = even_field(&mut draws);
        if field.lay_out().is_err() {
            continue;
        }
        let plain = compared(&site(&field), 20.0);
        let turned = compared(&site(&seen_along(&field, -40.0)), 20.0);
        let mut flipped = field.clone();
        flipped.outline = field.outline.map_coords(|Coord { x, y }| Coord { x, y: -y });
        for keep_out in &mut flipped.keep_outs {
            keep_out.shape = keep_out.shape.map_coords(|Coord { x, y }| Coord { x, y: -y });
        }
        let flipped = compared(&site(&flipped), 20.0);
        for step in 0..9 {
            let degrees = 20.0 * f64::from(step);
            same(at(&plain, degrees), at(&turned, degrees + 40.0));
            same(at(&plain, degrees), at(&flipped, -degrees));
        }
        checked += 1;
    }
}

#[test]
fn a_square_is_the_same_after_a_quarter_turn_and_its_sides_are_the_longest_edges() {
    let mut field = Field::new(rectangle(120.0, 120.0));
    field.rules.anchor = RowAnchor::Centre;
    let comparison = compared(&site(&field), 15.0);
    for degrees in [0.0, 15.0, 30.0, 45.0, 60.0, 75.0] {
        same(at(&comparison, degrees), at(&comparison, degrees + 90.0));
    }
    let edge = comparison.candidates.iter().find(|candidate| candidate.longest_edge).unwrap();
    assert!(edge.own && edge.bearing.degrees().abs() < 1e-9, "{edge:?}");
    // 120 m less 2.5 m at each side holds 47 rows 2.5 m apart; 102 m between the headlands hold 85
    // vines 1.2 m apart.
    assert_eq!((edge.counted.rows, edge.counted.vines, edge.counted.turns()), (47, 47 * 85, 46));
    let oblong = compared(&site(&Field::new(rectangle(80.0, 200.0))), 30.0);
    let edge = oblong.candidates.iter().find(|candidate| candidate.longest_edge).unwrap();
    assert!((edge.bearing.degrees() - 90.0).abs() < 1e-9, "{:?}", edge.bearing);
}
