//! Candidate bearings against layouts that are really laid, on random blocks.

use catchwire::{
    frame::{AppliedBearing, Frame, Site, SiteKeepOut},
    geodesy::LonLat,
    layout::{
        Plot,
        compare::{BearingRange, Candidate, Comparison, compare},
        lay_out, lay_out_plot,
    },
    settings::{PlantingRules, RowRules, Settings},
    units::{Degrees, Metres},
};
use geo::{Coord, LineString, MapCoords, MultiPolygon};

use crate::laws::plots::{Draws, Field, random_field, rectangle};

/// A field as a site whose rows run north and south.
fn site(field: &Field) -> Site {
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
        for candidate in &comparison.candidates {
            let seen = seen_along(&field, candidate.bearing.degrees());
            let counted = &candidate.counted;
            let Ok((layout, _)) = seen.lay_out() else {
                assert_eq!((counted.rows, counted.vines, counted.pieces), (0, 0, 0));
                empty += 1;
                continue;
            };
            let laid = &layout.quantities;
            assert_eq!(counted.vines, laid.vines, "{:?} {:?}", candidate.bearing, field.rules);
            assert_eq!((counted.rows, counted.posts_end()), (laid.rows, laid.posts_end));
            assert_eq!(counted.left_out, layout.left_out.len());
            let short = layout.pieces.iter().filter(|piece| piece.length_m < 30.0).count();
            assert_eq!((counted.pieces, counted.short_pieces), (layout.pieces.len(), short));
            assert!((counted.row_length_m - laid.row_length_m).abs() < 1e-4);
            assert!((counted.planted_ha - laid.planted_ha).abs() < 1e-7);
            for (one, other) in counted.row_lengths_m.unwrap().iter().zip(laid.row_lengths_m) {
                assert!((one - other).abs() < 1e-4, "{one} m, {other} m");
            }
            checked += 1;
        }
    }
    assert!(empty < checked / 4, "{empty} bearings without a row");
}
