//! Vine positions taken as they are, instead of a layout.

use std::collections::BTreeSet;

use geo::{Contains, Point};

use super::{
    block_features::property,
    features::{Document, Feature},
    homes::home,
    keys::unknown_key,
    role_features::point_of,
};
use crate::{
    block::{Block, GivenVine},
    finding::{Finding, Findings, Place},
    names::PlaceId,
};

const VINE_KEYS: &[&str] = &["block", "id", "name", "row", "vine"];
const GREATEST_NUMBER: u32 = 1_000_000;

/// Puts vine positions on their blocks: by name, else on the block around them.
pub(super) fn take_vines(document: &Document, blocks: &mut [Block], findings: &mut Findings) {
    let mut told = BTreeSet::new();
    for feature in &document.features {
        for name in feature.properties.keys() {
            if !VINE_KEYS.contains(&name.as_str()) && told.insert(name.clone()) {
                findings.push(unknown_key(name, VINE_KEYS, &feature.place));
            }
        }
        match vine_of(feature) {
            Ok(vine) => put_vine(feature, vine, blocks, findings),
            Err(finding) => findings.push(finding),
        }
    }
    for block in blocks.iter() {
        refuse_same_vines(block, findings);
    }
}

fn vine_of(feature: &Feature) -> Result<GivenVine, Finding> {
    let at = point_of(feature)?;
    let (row, vine) = (number(feature, "row")?, number(feature, "vine")?);
    if let (Some(row), Some(vine)) = (row, vine) {
        return Ok(GivenVine { row, vine, at });
    }
    let text = |name: &str| property(&feature.properties, name);
    let id = text("id").or_else(|| feature.id.clone()).or_else(|| text("name"));
    match id.and_then(|id| id.parse::<PlaceId>().ok()) {
        Some(PlaceId::Vine { row, vine }) => Ok(GivenVine { row, vine, at }),
        Some(PlaceId::Panel { .. }) | None => {
            Err(Finding::fault(feature.place.clone(), "a vine without row and number")
                .mend("give it `row` and `vine`, or an `id` such as R012V034"))
        }
    }
}

fn number(feature: &Feature, key: &str) -> Result<Option<u32>, Finding> {
    let Some(text) = property(&feature.properties, key) else { return Ok(None) };
    let number = text.trim().parse::<u32>().ok().filter(|number| *number <= GREATEST_NUMBER);
    number.map(Some).ok_or_else(|| {
        Finding::fault(feature.place.at_field(key), format!("`{text}` is no whole number"))
            .mend("write digits only")
    })
}

fn put_vine(feature: &Feature, vine: GivenVine, blocks: &mut [Block], findings: &mut Findings) {
    let name = property(&feature.properties, "block");
    let around = blocks
        .iter()
        .position(|block| block.outline.contains(&Point::new(vine.at.lon(), vine.at.lat())));
    let index = match (&name, around) {
        (None, Some(index)) => Some(index),
        _ => home(name.as_deref(), blocks, &feature.place, findings),
    };
    if let Some(index) = index {
        blocks[index].vines.push(vine);
    }
}

fn refuse_same_vines(block: &Block, findings: &mut Findings) {
    let mut seen = BTreeSet::new();
    for vine in &block.vines {
        if !seen.insert((vine.row, vine.vine)) {
            let what = format!(
                "vine {} of row {} of block \"{}\" has two positions",
                vine.vine, vine.row, block.name
            );
            findings.push(Finding::fault(Place::default(), what).mend("keep one of the two"));
        }
    }
}
