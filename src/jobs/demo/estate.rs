//! The invented estate: its files, as a grower would hand them in.
//!
//! Plovermoss on the isle of Quernsay does not exist, nor does anything that grows there. The block
//! files come first; laying out the blocks that stand gives the places at which the field book's
//! vines are. Same program, same bytes.

use super::{
    blocks::{LONG_RIGG, SOUTH_BRAE, TARN_FIELD, block_to_plant, standing_blocks},
    field_book::{Field, Habits, Naming},
    flight::vigor_raster,
    last_year,
    mistakes::add_mistakes,
    records::{Record, table},
    truth::{Bump, Profile, truth},
};
use crate::{error::Error, frame::Site, layout::Layout};

/// A file of the estate.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EstateFile {
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: String,
}

/// A block of the estate with its rows and vines.
#[derive(Debug, Clone, Copy)]
pub struct LaidOut<'a> {
    /// The block's name.
    pub name: &'a str,
    /// Its rows and vines.
    pub layout: &'a Layout,
}

/// The file with the blocks that stand.
pub const BLOCKS: &str = "blocks.geojson";
/// The file with the block to be planted.
pub const NEW_GROUND: &str = "new-ground.geojson";
/// The file with the elevation model of the block to be planted.
pub const ELEVATION: &str = "elevation.tif";
/// The file with the counts before the thinning.
pub const COUNTS: &str = "counts.csv";
/// The file with last winter's pruning weights, buds and the crop before.
pub const PRUNING: &str = "pruning.csv";
/// The file with the recount after the thinning.
pub const RECOUNT: &str = "recount.csv";

/// The file with the counts of the year before.
pub const LAST_YEAR: &str = "counts-2025.csv";

/// The file with the raster of vigor of [`FLOWN`].
pub const VIGOR: &str = "tarn-field-vigor.tif";
/// The block that was flown over.
pub const FLOWN: &str = TARN_FIELD;

/// The bytes of [`VIGOR`]: how green the canopy of [`FLOWN`] is.
///
/// # Errors
/// A fault of the program: a raster that cannot be made.
pub(super) fn vigor(site: &Site, layout: &Layout) -> Result<Vec<u8>, Error> {
    vigor_raster(VIGOR, (site, layout), &truth(&TARN_FIELD_HABITS.profile, layout))
}

/// The block files: [`BLOCKS`] and [`NEW_GROUND`].
pub fn block_files() -> [EstateFile; 2] {
    [
        EstateFile { name: BLOCKS, text: standing_blocks() },
        EstateFile { name: NEW_GROUND, text: block_to_plant() },
    ]
}

/// The field book: [`COUNTS`], [`PRUNING`] and [`RECOUNT`] of the blocks in [`BLOCKS`].
///
/// A block that is not the estate's gets no lines.
pub fn field_files(blocks: &[LaidOut<'_>]) -> [EstateFile; 3] {
    let [mut counts, mut prunings, mut recount] = [Vec::new(), Vec::new(), Vec::new()];
    for block in blocks {
        let Some(habits) = HABITS.iter().find(|habits| habits.profile.name == block.name) else {
            continue;
        };
        let field = Field::new(habits, block.layout);
        counts.extend(counts_with_mistakes(block.name, &field));
        prunings.extend(field.prunings());
        recount.extend(field.recount());
    }
    [
        EstateFile { name: COUNTS, text: table(COUNT_COLUMNS, &counts) },
        EstateFile { name: PRUNING, text: table(PRUNING_COLUMNS, &prunings) },
        EstateFile { name: RECOUNT, text: table(RECOUNT_COLUMNS, &recount) },
    ]
}

/// [`LAST_YEAR`]: the counts of the year before, of the blocks in [`BLOCKS`].
pub fn last_year_file(blocks: &[LaidOut<'_>]) -> EstateFile {
    let of = |block: &LaidOut<'_>| {
        let habits = HABITS.iter().find(|habits| habits.profile.name == block.name);
        habits.map_or_else(Vec::new, |habits| last_year::counts(habits, block.layout))
    };
    let records: Vec<Record> = blocks.iter().flat_map(of).collect();
    EstateFile { name: LAST_YEAR, text: table(RECOUNT_COLUMNS, &records) }
}

fn counts_with_mistakes(block: &str, field: &Field<'_>) -> Vec<Record> {
    let mut records = field.counts();
    add_mistakes(block, &mut records);
    records
}

const COUNT_COLUMNS: &[&str] = &[
    "block",
    "id",
    "row",
    "vine",
    "panel",
    "place",
    "date",
    "visit",
    "window",
    "window_start_cm",
    "counted_length_cm",
    "canopy_length_cm",
    "shoots",
    "primary",
    "secondary",
    "base",
    "suckers",
    "shoot_length_cm",
    "minutes",
    "status",
    "counted_by",
    "note",
];

const PRUNING_COLUMNS: &[&str] = &[
    "block",
    "row",
    "vine",
    "date",
    "visit",
    "pruning_weight_g",
    "buds",
    "buds_dead",
    "yield_kg",
    "counted_by",
];

const RECOUNT_COLUMNS: &[&str] =
    &["block", "id", "row", "vine", "panel", "place", "date", "visit", "shoots", "counted_by"];

/// A low corner that is crowded, a dry crown that is sparse.
const SOUTH_BRAE_HABITS: Habits = Habits {
    profile: Profile {
        name: SOUTH_BRAE,
        shoots_per_m: [17.0, 17.0],
        bumps: &[
            Bump { at: [0.08, 0.12], reach_m: 22.0, height_per_m: 11.0 },
            Bump { at: [0.72, 0.7], reach_m: 19.0, height_per_m: -6.0 },
        ],
        vine_spacing_m: 1.2,
        seed: 4_101,
    },
    naming: Naming::Id,
    parts: false,
    window_cm: None,
    crew: "crew A",
    missing: &[(4, 17), (11, 52), (19, 33)],
    dead_buds: 0.13,
    share_done: 1.0,
    recount_step: 2,
    left_per_m: 16.4,
};

/// Crowded all round the tarn, sparse on the dry side; counted in windows.
const TARN_FIELD_HABITS: Habits = Habits {
    profile: Profile {
        name: TARN_FIELD,
        shoots_per_m: [18.0, 18.0],
        bumps: &[
            Bump { at: [0.7, 0.3], reach_m: 27.0, height_per_m: 9.5 },
            Bump { at: [0.1, 0.85], reach_m: 24.0, height_per_m: -5.5 },
        ],
        vine_spacing_m: 1.25,
        seed: 4_201,
    },
    naming: Naming::RowAndVine,
    parts: false,
    window_cm: Some(60.0),
    crew: "crew A",
    missing: &[],
    dead_buds: 0.28,
    share_done: 0.7,
    recount_step: 2,
    left_per_m: 16.4,
};

/// Regent in odd rows stands well, Solaris in even rows is crowded, most at the low end. Its crew had
/// only begun when it was recounted, with little more than doubles: there is something to go back for,
/// and every counted vine is looked at again.
const LONG_RIGG_HABITS: Habits = Habits {
    profile: Profile {
        name: LONG_RIGG,
        shoots_per_m: [15.5, 20.0],
        bumps: &[
            Bump { at: [0.9, 0.5], reach_m: 30.0, height_per_m: 5.0 },
            Bump { at: [0.3, 0.4], reach_m: 20.0, height_per_m: -3.0 },
        ],
        vine_spacing_m: 1.1,
        seed: 4_301,
    },
    naming: Naming::Panel,
    parts: true,
    window_cm: None,
    crew: "crew B",
    missing: &[],
    dead_buds: 0.13,
    share_done: 0.2,
    recount_step: 1,
    left_per_m: 26.0,
};

const HABITS: [Habits; 3] = [SOUTH_BRAE_HABITS, TARN_FIELD_HABITS, LONG_RIGG_HABITS];

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::jobs::demo::support::grid;

    fn book() -> [EstateFile; 3] {
        let layouts = [grid(27, 80), grid(34, 95), grid(30, 120)];
        let names = [SOUTH_BRAE, TARN_FIELD, LONG_RIGG];
        let blocks: Vec<LaidOut<'_>> =
            names.iter().zip(&layouts).map(|(name, layout)| LaidOut { name, layout }).collect();
        field_files(&blocks)
    }

    /// The lines of a file as column name → cell.
    fn lines(file: &EstateFile) -> Vec<BTreeMap<&str, &str>> {
        let mut lines = file.text.lines();
        let header: Vec<&str> = lines.next().unwrap().split(',').collect();
        lines
            .map(|line| {
                let cells: Vec<&str> = line.split(',').collect();
                assert_eq!(cells.len(), header.len(), "{line}");
                header.iter().copied().zip(cells).collect()
            })
            .collect()
    }

    #[test]
    fn the_block_files_are_json_with_the_promised_blocks() {
        let [standing, new] = block_files();
        let names = |file: &EstateFile| -> Vec<String> {
            let json: serde_json::Value = serde_json::from_str(&file.text).unwrap();
            let features = json["features"].as_array().unwrap().clone();
            features.iter().map(|f| f["properties"]["name"].as_str().unwrap().to_owned()).collect()
        };
        assert_eq!(names(&standing), ["South Brae", "Tarn Field", "the tarn", "Long Rigg"]);
        assert_eq!(names(&new), ["New Ground", "the old thorn"]);
    }

    #[test]
    fn outlines_are_sound_counter_clockwise_and_of_the_promised_size() {
        use geo::{GeodesicArea, Validation};
        let features = block_files()
            .into_iter()
            .flat_map(|file| file.text.parse::<geojson::FeatureCollection>().unwrap().features);
        for feature in features {
            let name = feature.property("name").unwrap().to_string();
            let is_block = feature.property("role").unwrap() == "block";
            let polygon: geo::Polygon = feature.geometry.unwrap().try_into().unwrap();
            let ha = polygon.geodesic_area_signed() / 10_000.0;
            let [least, most] = if is_block { [0.4, 1.21] } else { [0.0005, 0.04] };
            assert!(polygon.is_valid() && ha > least && ha < most, "{name}: {ha} ha");
        }
    }

    #[test]
    fn about_a_hundred_and_twenty_records_of_every_kind() {
        let [counts, pruning, recount] = book();
        let counts = lines(&counts);
        let having = |column: &str| counts.iter().filter(|line| !line[column].is_empty()).count();
        let panels = counts.iter().filter(|line| line["note"] == "whole panel").count();
        let single = counts
            .iter()
            .filter(|line| line["visit"] == "before" && line["status"].is_empty())
            .filter(|line| line["window"] != "2" && line["note"] != "whole panel")
            .count();
        assert_eq!(panels, 15);
        assert!((105..=125).contains(&single), "{single} vines");
        assert_eq!(counts.iter().filter(|line| line["window"] == "2").count(), 6);
        assert!((10..=14).contains(&having("minutes")), "{}", having("minutes"));
        assert!(having("suckers") > 30 && having("shoot_length_cm") > 50);
        assert!(counts.iter().filter(|line| line["status"] == "missing").count() >= 9);
        assert!(lines(&pruning).len() > 90 && lines(&recount).len() > 30);
    }

    #[test]
    fn counts_are_believable() {
        let [counts, pruning, recount] = book();
        let number = |cell: &str| cell.parse::<f64>().unwrap_or(0.0);
        for line in lines(&counts).iter().filter(|line| line["note"] != "whole panel") {
            let shoots =
                number(line["shoots"]) + number(line["primary"]) + number(line["secondary"]);
            assert!(shoots <= 60.0 || shoots > 100.0, "{line:?}");
        }
        for line in lines(&pruning) {
            assert!((100.0..1300.0).contains(&number(line["pruning_weight_g"])), "{line:?}");
        }
        let left: Vec<f64> = lines(&recount).iter().map(|line| number(line["shoots"])).collect();
        assert!(left.iter().all(|shoots| *shoots > 4.0));
    }

    #[test]
    fn every_mistake_is_there_once() {
        let [counts, ..] = book();
        let counts = lines(&counts);
        let count = |test: &dyn Fn(&BTreeMap<&str, &str>) -> bool| {
            counts.iter().filter(|line| test(line)).count()
        };
        assert_eq!(count(&|line| line["id"] == "R061V012"), 1);
        assert_eq!(count(&|line| line["id"] == "R004V017" && !line["shoots"].is_empty()), 1);
        assert_eq!(count(&|line| !line["id"].is_empty() && line["id"].len() < 8), 1);
        assert_eq!(count(&|line| line["block"] == "Tarn Feild"), 1);
        assert_eq!(count(&|line| line["block"] == SOUTH_BRAE && line["counted_by"] == "crew B"), 1);
        let impossible = |line: &BTreeMap<&str, &str>| {
            line["note"] != "whole panel" && line["shoots"].parse::<u32>().is_ok_and(|n| n > 100)
        };
        assert_eq!(count(&impossible), 1);
    }

    #[test]
    fn the_same_estate_every_time() {
        assert_eq!(book(), book());
    }
}
