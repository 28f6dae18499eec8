//! Zones by every stage, on blocks whose truth is known.
#![expect(clippy::cast_precision_loss, reason = "numbers of panels")]

use std::collections::BTreeSet;

use catchwire::{
    block::{Block, PlantingKeys, PlantingRows, RowSet},
    counts::{Count, Shoots, Spot},
    error::Error,
    estimate::{Estimate, estimate},
    frame::{Site, place_block},
    join::{Joined, join},
    layout::{Layout, lay_out},
    maths::random::Random,
    settings::{Circumstances, Settings, planting_rules, row_rules},
    units::Metres,
    zones::{Zones, draw_zones},
};
use geo::Area;
use jiff::civil::date;

pub(super) use crate::support::two_halves::square_block;

/// A block as far as the zones, by every stage before.
#[derive(Debug)]
pub(super) struct Zoned {
    pub(super) site: Site,
    pub(super) layout: Layout,
    pub(super) joined: Joined,
    pub(super) estimate: Estimate,
    pub(super) zones: Zones,
}

/// A count of a whole vine on the tenth of May.
pub(super) fn count(row: u32, vine: u32, shoots: u32) -> Count {
    Count {
        spot: Spot { row: Some(row), vine: Some(vine), ..Default::default() },
        date: Some(date(2026, 5, 10)),
        shoots: Some(Shoots { all: shoots, secondary: None, base: None }),
        shoot_length: Some(Metres::new(0.15)),
        ..Default::default()
    }
}

/// Every sixteenth vine counted: `per_m` shoots a metre south and north of the middle, and a spread.
pub(super) fn counts_in_halves(layout: &Layout, per_m: [f64; 2]) -> Vec<Count> {
    let mut random = Random::new(3);
    let counted = layout.vines.iter().skip(5).step_by(16);
    let counts = counted.map(|vine| {
        let mean = if vine.at.along_m < 0.0 { per_m[0] } else { per_m[1] };
        let shoots = (1.8 * (mean + 2.5 * random.normal())).round().clamp(0.0, 90.0);
        let shoots = (0..=90).find(|n| f64::from(*n) >= shoots).unwrap();
        count(vine.row, vine.vine, shoots)
    });
    counts.collect()
}

/// Everything up to the zones, with counts that may depend on the layout.
pub(super) fn zoned(block: &Block, counts: impl Fn(&Layout) -> Vec<Count>) -> Result<Zoned, Error> {
    zoned_as(block, counts, &Settings::default())
}

pub(super) fn zoned_as(
    block: &Block,
    counts: impl Fn(&Layout) -> Vec<Count>,
    settings: &Settings,
) -> Result<Zoned, Error> {
    let circumstances = Circumstances {
        defaults: settings.layout(),
        standing: None,
        allow_unusual: false,
        grid: None,
    };
    let rules = row_rules(block, &circumstances).map_err(Error::Input)?;
    let (site, _) = place_block(block, rules, planting_rules(block))?;
    let (layout, _) = lay_out(&site)?;
    let (joined, _) = join(&site, &layout, &counts(&layout), &settings.join());
    let (estimate, _) = estimate(&site, &layout, &joined, &settings.estimate())?;
    let (zones, _) = draw_zones(&site, &layout, &joined, &estimate, &settings.zones())?;
    Ok(Zoned { site, layout, joined, estimate, zones })
}

pub(super) fn halves(block: &Block) -> Zoned {
    zoned(block, |layout| counts_in_halves(layout, [10.0, 18.0])).unwrap()
}

/// Every present vine and every panel with one belongs to exactly one zone of its planting.
pub(super) fn check_partition(block: &Zoned) {
    let mut zone_of = vec![None; block.layout.vines.len()];
    for (index, zone) in block.zones.zones.iter().enumerate() {
        assert_eq!(zone.id, format!("Z{}", index + 1));
        for &vine in &zone.vines {
            assert_eq!(zone_of[vine].replace(index), None, "vine {vine} is in two zones");
            assert_eq!(block.joined.vines[vine].planting, zone.planting);
        }
        let of_panels: Vec<usize> = zone
            .panels
            .iter()
            .flat_map(|&panel| block.layout.panels[panel].vines.clone())
            .collect();
        assert!(zone.vines.iter().all(|vine| of_panels.contains(vine)));
        let variance = block.zones.covariance[index * (block.zones.zones.len() + 1)];
        let se = zone.density.unwrap().se;
        assert!((variance.sqrt() - se).abs() < 1e-12);
    }
    assert_eq!(zone_of, block.zones.of_vine);
    for (vine, record) in block.joined.vines.iter().enumerate() {
        assert_eq!(zone_of[vine].is_some(), !record.status.is_missing(), "vine {vine}");
    }
}

#[test]
fn a_block_of_two_halves_has_two_zones_that_meet_in_its_middle() {
    let mut square = square_block();
    square.keys.missing = vec!["R002V003".to_owned(), "R009V020".to_owned()];
    let block = halves(&square);
    check_partition(&block);
    assert_eq!(block.zones.zones.len(), 2, "{}", block.zones.why);
    let north: Vec<f64> = block
        .zones
        .zones
        .iter()
        .map(|zone| {
            let north = zone.vines.iter().filter(|&&v| block.layout.vines[v].at.along_m > 0.0);
            north.count() as f64 / zone.vines.len() as f64
        })
        .collect();
    assert!(north[0].min(north[1]) < 0.1 && north[0].max(north[1]) > 0.9, "{north:?}");
    let ground: f64 = block.zones.zones.iter().map(|zone| zone.shape.unsigned_area()).sum();
    let rows: f64 = block.layout.pieces.iter().map(|piece| piece.length_m).sum();
    assert!((ground - 2.5 * rows).abs() < 0.1, "{ground} m² of zones, {rows} m of rows");
}

#[test]
fn cultivars_in_alternate_rows_have_their_own_zones_in_stripes() {
    let mut square = square_block();
    let rondo = PlantingKeys { cultivar: Some("Rondo".to_owned()), ..Default::default() };
    square.keys.plantings = vec![PlantingRows { rows: RowSet::Odd, planting: rondo }];
    let block = halves(&square);
    check_partition(&block);
    let plantings: BTreeSet<usize> = block.zones.zones.iter().map(|zone| zone.planting).collect();
    assert_eq!(plantings.len(), 2);
    for zone in &block.zones.zones {
        assert!(zone.rows.contains("/2"), "{}: rows {}", zone.id, zone.rows);
    }
}

#[test]
fn four_counts_draw_no_border() {
    let block =
        zoned(&square_block(), |_| [2, 8, 14, 20].map(|row| count(row, 9, 20)).to_vec()).unwrap();
    assert_eq!(block.zones.zones.len(), 1);
    assert_eq!(block.zones.zones[0].vines.len(), block.layout.vines.len());
    assert!(block.zones.why.contains("too few counts"), "{}", block.zones.why);
    // The mean of four counts of 20 shoots on 1.8 m, with the three degrees of freedom they leave.
    let density = block.zones.zones[0].density.unwrap();
    assert!((density.per_m - 20.0 / 1.8).abs() < 0.01, "{density:?}");
    assert_eq!(density.degrees_of_freedom, Some(3.0));
}

#[test]
fn zones_of_whole_rows_split_no_row_and_lie_side_by_side() {
    let settings = Settings::from_text("[zones]\nwhole_rows = true\n", "settings.toml").unwrap();
    let in_rows = |layout: &Layout| {
        let mut random = Random::new(4);
        let counted = layout.vines.iter().skip(5).step_by(16);
        let shoots = |row: u32| if row <= 12 { 18.0 } else { 32.0 };
        counted
            .map(|vine| {
                let shoots = (shoots(vine.row) + 4.0 * random.normal()).round();
                let shoots = (0..=90).find(|n| f64::from(*n) >= shoots).unwrap();
                count(vine.row, vine.vine, shoots)
            })
            .collect()
    };
    let block = zoned_as(&square_block(), in_rows, &settings).unwrap();
    check_partition(&block);
    assert_eq!(block.zones.zones.len(), 2, "{}", block.zones.why);
    let rows: Vec<BTreeSet<u32>> = block
        .zones
        .zones
        .iter()
        .map(|zone| zone.panels.iter().map(|&panel| block.layout.panels[panel].row).collect())
        .collect();
    assert!(rows[0].is_disjoint(&rows[1]), "{rows:?}");
    assert!(rows[0].last() < rows[1].first(), "{rows:?}");
    assert!(rows[0].last().unwrap().abs_diff(12) <= 2, "{rows:?}");
    assert!(block.zones.why.contains("whole rows"), "{}", block.zones.why);
}

#[test]
fn the_difference_of_two_zones_has_the_error_of_their_common_solve() {
    let block = halves(&square_block());
    let [difference] = block.zones.differences[..] else { panic!("two zones, one difference") };
    let [one, other] = [0, 1].map(|zone: usize| block.zones.zones[zone].density.unwrap());
    let [a, between, _, b] = block.zones.covariance[..] else { panic!("two by two") };
    let se = (a + b - 2.0 * between).sqrt();
    assert!((difference.per_m - (one.per_m - other.per_m)).abs() < 1e-12);
    let factor = (difference.hi90 - difference.per_m) / se;
    let factor_of_zone = (one.hi90 - one.per_m) / one.se;
    assert!((factor - factor_of_zone).abs() < 0.05, "{factor}, {factor_of_zone} of a zone");
    assert!(difference.touching && difference.is_clear(), "{difference:?}");
    // The counts were drawn with 8 shoots a metre between the halves; a map that is smooth over a
    // step keeps most of it, and its interval does not know of the step.
    assert!((4.0..9.0).contains(&difference.per_m.abs()), "{difference:?}");
}
