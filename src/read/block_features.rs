//! Features with roles and keys -> blocks with what lies on them.

use std::path::Path;

use geo::MultiPolygon;
use geojson::{GeometryValue, JsonObject, JsonValue, Position};

use super::{
    features::{Document, Feature, corners},
    homes::place_on,
    keys::{did_you_mean, keys_from_properties, text_of},
    outline::{area_m2, shape_of},
    role_features::{Role, lying_of},
    walked::close_boundaries,
};
use crate::{
    block::{Block, BlockKeys},
    finding::{Finding, Findings, Place},
    names::BlockName,
};

/// Blocks are 0.001 … 500 ha, unless what is unusual is allowed.
const AREA_M2: std::ops::RangeInclusive<f64> = 10.0..=5_000_000.0;

/// How the features of a block file are read.
#[derive(Debug)]
pub(super) struct BlockReading<'a> {
    pub(super) overriding: &'a BlockKeys,
    pub(super) allow_unusual: bool,
    /// The file's own name, which names a lone block without a name.
    pub(super) file: &'a str,
}

/// The blocks of a document, in its order; what is wrong is in the findings.
pub(super) fn blocks_of(
    document: Document,
    reading: &BlockReading<'_>,
    findings: &mut Findings,
) -> Vec<Block> {
    let (mut outlines, mut lying) = (Vec::new(), Vec::new());
    let features = close_boundaries(document.features, findings);
    let roles = roles_of(&features, findings);
    for (feature, role) in features.into_iter().zip(roles) {
        match role {
            Some(Role::Block) => outlines.push(feature),
            Some(role) => lying.extend(lying_of(feature, role, findings)),
            None => {}
        }
    }
    if outlines.is_empty() && !findings.any_fault() {
        findings.push(
            Finding::fault(Place::file(reading.file), "no block in the file")
                .mend("draw its outline as a polygon with \"role\": \"block\""),
        );
    }
    let alone = outlines.len() == 1;
    let mut blocks: Vec<Block> = outlines
        .into_iter()
        .filter_map(|feature| block_of(feature, alone, reading, findings))
        .collect();
    refuse_same_names(&blocks, findings);
    for (thing, place) in lying {
        place_on(&mut blocks, thing, &place, findings);
    }
    blocks
}

/// The role of every feature; a lone polygon without one is the block.
fn roles_of(features: &[Feature], findings: &mut Findings) -> Vec<Option<Role>> {
    let unsaid = |feature: &&Feature| feature.properties.get("role").is_none_or(JsonValue::is_null);
    let polygons = features.iter().filter(unsaid).filter(|f| is_polygon(&f.geometry)).count();
    let only = features.iter().filter(unsaid).count() == features.len();
    features
        .iter()
        .map(|feature| match feature.properties.get("role").filter(|role| !role.is_null()) {
            Some(role) => named_role(&text_of(role), &feature.place, findings),
            None if polygons == 1 && is_polygon(&feature.geometry) => Some(Role::Block),
            None => {
                findings.push(without_role(feature, only));
                None
            }
        })
        .collect()
}

fn named_role(word: &str, place: &Place, findings: &mut Findings) -> Option<Role> {
    let role = Role::from_word(word);
    if role.is_none() {
        let mend = did_you_mean(word, Role::WORDS)
            .unwrap_or_else(|| format!("write one of {}", Role::WORDS.join(", ")));
        findings
            .push(Finding::fault(place.at_field("role"), format!("no role `{word}`")).mend(mend));
    }
    role
}

fn without_role(feature: &Feature, no_roles_at_all: bool) -> Finding {
    let place = feature.place.at_field("role");
    let kind = feature.geometry.type_name();
    if is_polygon(&feature.geometry) {
        return Finding::fault(place, "several polygons and no role that tells them apart")
            .mend("give each a \"role\": \"block\", \"keep-out\" or \"zone\"");
    }
    if no_roles_at_all {
        return Finding::fault(place, format!("a {kind} where the outline of a block is needed"))
            .mend(
                "draw the outline as a polygon, or walk around the block with the track recorded",
            );
    }
    Finding::warning(place, format!("a {kind} without a role is left out"))
        .mend(format!("give it one of the roles {}", Role::WORDS.join(", ")))
}

pub(super) fn is_polygon(geometry: &GeometryValue) -> bool {
    matches!(geometry, GeometryValue::Polygon { .. } | GeometryValue::MultiPolygon { .. })
}

fn block_of(
    feature: Feature,
    alone: bool,
    reading: &BlockReading<'_>,
    findings: &mut Findings,
) -> Option<Block> {
    let place = feature.place.clone();
    let name = name_of(&feature, alone, reading.file, findings);
    let keys = keys_from_properties(&feature.properties, &["name", "role"], &place, findings);
    let outline = polygon_shape(feature.geometry, &place, findings)?;
    if !plausible_area(&outline, &place, reading.allow_unusual, findings) {
        return None;
    }
    if outline.0.len() > 1 {
        let what = format!("a block of {} parts: rows are numbered across them", outline.0.len());
        findings.push(Finding::note(place.clone(), what));
    }
    Some(Block {
        name: name?,
        outline,
        keys: keys.overruled_by(reading.overriding),
        keep_outs: Vec::new(),
        row_lines: Vec::new(),
        zones: Vec::new(),
        controls: Vec::new(),
        row_list: Vec::new(),
        vines: Vec::new(),
        place,
    })
}

/// The valid shape of a polygon feature; any other geometry is a fault.
pub(super) fn polygon_shape(
    geometry: GeometryValue,
    place: &Place,
    findings: &mut Findings,
) -> Option<MultiPolygon<f64>> {
    let kind = geometry.type_name();
    let polygons = if let GeometryValue::Polygon { coordinates } = geometry {
        vec![coordinates]
    } else if let GeometryValue::MultiPolygon { coordinates } = geometry {
        coordinates
    } else {
        let what = format!("a {kind} where a polygon is needed");
        findings.push(Finding::fault(place.clone(), what).mend("draw its outline as a polygon"));
        return None;
    };
    let rings = |rings: &Vec<Vec<Position>>| rings.iter().map(|ring| corners(ring)).collect();
    shape_of(polygons.iter().map(rings).collect(), place, findings)
}

fn name_of(
    feature: &Feature,
    alone: bool,
    file: &str,
    findings: &mut Findings,
) -> Option<BlockName> {
    let given = feature.properties.get("name").filter(|name| !name.is_null()).map(text_of);
    let stem = || Path::new(file).file_stem().map(|stem| stem.to_string_lossy().into_owned());
    let name = given.or_else(|| feature.id.clone()).or_else(|| alone.then(stem).flatten());
    let place = feature.place.at_field("name");
    let Some(name) = name else {
        let what = "a block without a name, where there are several";
        findings.push(Finding::fault(place, what).mend("give each block its own \"name\""));
        return None;
    };
    name.parse()
        .map_err(|error: crate::names::NameError| {
            findings.push(Finding::fault(place, error.to_string()).mend("give it another name"));
        })
        .ok()
}

fn plausible_area(
    outline: &MultiPolygon<f64>,
    place: &Place,
    allow_unusual: bool,
    findings: &mut Findings,
) -> bool {
    let hectares = area_m2(outline) / 10_000.0;
    let plausible = AREA_M2.contains(&(hectares * 10_000.0)) || (allow_unusual && hectares > 0.0);
    if !plausible {
        let what = format!("the block would be {} ha", short(hectares));
        findings.push(
            Finding::fault(place.clone(), what)
                .because("blocks are 0.001 to 500 ha")
                .mend("check the coordinates, or pass --allow-unusual"),
        );
    }
    plausible
}

fn short(number: f64) -> String {
    if number >= 0.001 { format!("{number:.3}") } else { format!("{number:.2e}") }
}

fn refuse_same_names(blocks: &[Block], findings: &mut Findings) {
    for (index, block) in blocks.iter().enumerate() {
        if blocks[..index].iter().any(|earlier| earlier.name == block.name) {
            let what = format!("another block is called \"{}\" too", block.name);
            let place = block.place.at_field("name");
            findings.push(Finding::fault(place, what).mend("give each block its own name"));
        }
    }
}

/// The text of a property, unless it is absent or null.
pub(super) fn property(properties: &JsonObject, name: &str) -> Option<String> {
    properties.get(name).filter(|value| !value.is_null()).map(text_of)
}
