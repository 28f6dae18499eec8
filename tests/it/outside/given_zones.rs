//! Zones that the grower drew, and what they explain beside drawn ones.

use catchwire::{block::GivenZone, counts::Spot, finding::Place, layout::Layout};
use geo::{Coord, Rect};

use super::zones::{check_partition, counts_in_halves, halves, square_block, zoned};

#[test]
fn the_growers_own_zones_replace_drawn_ones_and_must_not_overlap() {
    let at =
        |east: f64, north: f64| Coord { x: 8.0 + east / 76_056.0, y: 47.0 + north / 111_180.0 };
    let zone = |name: &str, from: f64, to: f64| GivenZone {
        name: name.to_owned(),
        shape: Rect::new(at(-5.0, from), at(65.0, to)).to_polygon(),
        place: Place::file("square.geojson"),
    };
    let mut square = square_block();
    square.zones = vec![zone("pond side", -5.0, 30.0), zone("middle", 30.0, 60.0)];
    let block = halves(&square);
    check_partition(&block);
    let names: Vec<Option<&str>> =
        block.zones.zones.iter().map(|zone| zone.name.as_deref()).collect();
    assert_eq!(names, [Some("pond side"), Some("middle"), None]);
    // The counts change in the middle of the block, not at 30 and 60 m: drawn borders foretell more.
    let (own, drawn) = (block.zones.held_out_reduction, block.zones.drawn_reduction);
    assert!(own.unwrap() > 0.0 && drawn > own, "{own:?} of the variance, {drawn:?} if drawn");
    assert!(block.zones.why.contains("would explain"), "{}", block.zones.why);
    square.zones = vec![zone("pond side", -5.0, 40.0), zone("middle", 30.0, 60.0)];
    let refused = zoned(&square, |layout| counts_in_halves(layout, [10.0, 18.0])).unwrap_err();
    assert_eq!(refused.exit_code(), 3);
    assert!(refused.to_string().contains("`pond side` and `middle`"), "{refused}");
}

#[test]
fn a_zone_of_the_growers_without_a_count_is_said_to_have_none() {
    let at =
        |east: f64, north: f64| Coord { x: 8.0 + east / 76_056.0, y: 47.0 + north / 111_180.0 };
    let mut square = square_block();
    square.zones = vec![GivenZone {
        name: "corner".to_owned(),
        shape: Rect::new(at(-5.0, -5.0), at(65.0, 12.0)).to_polygon(),
        place: Place::file("square.geojson"),
    }];
    let elsewhere = |layout: &Layout| {
        let counts = counts_in_halves(layout, [10.0, 18.0]);
        let south = |spot: &Spot| {
            let is =
                |v: &&catchwire::layout::Vine| Some(v.row) == spot.row && Some(v.vine) == spot.vine;
            layout.vines.iter().find(is).is_some_and(|vine| vine.at.along_m < -30.0)
        };
        counts.into_iter().filter(|count| !south(&count.spot)).collect()
    };
    let block = zoned(&square, elsewhere).unwrap();
    assert_eq!(block.zones.zones.iter().filter(|zone| zone.counted_vines == 0).count(), 1);
    assert!(block.zones.why.contains("1 zone has no count"), "{}", block.zones.why);
}
