//! `demo`: the invented estate and its files.

use std::{fs, path::Path};

use crate::support::{
    demo, files, json,
    pictures::{is_blessing, keep},
};

/// The demo writes what is stored, or `make bless` stores what it writes.
fn stored(stored: &Path, made: &Path) -> (Vec<u8>, Vec<u8>) {
    let made = fs::read(made).expect("a file of the demo");
    if is_blessing() {
        keep(stored, &made);
    }
    (fs::read(stored).expect("a stored file; `make bless` makes it"), made)
}

#[test]
fn the_estate_is_the_blessed_one() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-geometries/estate");
    let names: Vec<_> = files(&demo().join("estate")).into_keys().collect();
    assert_eq!(names.len(), 8, "{names:?}");
    for name in names {
        let (stored, made) = stored(&folder.join(&name), &demo().join("estate").join(&name));
        assert!(stored == made, "{} differs; `make bless` accepts it", name.display());
    }
}

#[test]
fn mistakes_of_the_field_book_are_caught() {
    let record = json(&demo().join("3-thin/south-brae/run.json"));
    let told = record["findings"].to_string();
    for words in [
        "2 different counts of one visit",
        "is missing, but 18 shoots were counted",
        "no canopy carries so many",
        "is taken for",
    ] {
        assert!(told.contains(words), "`{words}` is not told: {told}");
    }
    assert_eq!(record["counts"]["left_out"], 2);
}

#[test]
fn the_flight_over_one_block_is_read_and_weighed_there_alone() {
    let told = |block: &str| {
        let record = json(&demo().join("3-thin").join(block).join("run.json"));
        record["findings"].to_string()
    };
    let flown = told("tarn-field");
    // Prunings were weighed: the raster moves no target. The map of shoots says whether it follows it.
    assert!(flown.contains("its correlation with pruning weight is 0."), "{flown}");
    assert!(flown.contains("the map of shoots"), "{flown}");
    for block in ["south-brae", "long-rigg"] {
        let told = told(block);
        assert!(told.contains("the raster of vigor does not reach this block"), "{told}");
        assert!(!told.contains("follows the raster"), "{told}");
    }
}
