//! What lies on a block: keep-outs, row-lines, zones and control points, each from its feature.

use std::collections::BTreeSet;

use geo::LineString;
use geojson::GeometryValue;

use super::{
    block_features::{polygon_shape, property},
    features::{Feature, corners},
    key_values::yes_or_no,
    keys::unknown_key,
};
use crate::{
    block::{Block, Control, GivenZone, KeepOut, RowLine, RowSet},
    finding::{Finding, Findings, Place},
    geodesy::LonLat,
    units::Metres,
};

/// Limits of a clearance or a gap, metres.
const LENGTH_M: std::ops::RangeInclusive<f64> = 0.0..=200.0;

/// What a feature is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    Block,
    KeepOut,
    RowLine,
    Zone,
    Control,
}

impl Role {
    /// The words of the block file, in the order of the variants.
    pub(super) const WORDS: &[&str] = &["block", "keep-out", "row-line", "zone", "control"];
    const ALL: [Self; 5] = [Self::Block, Self::KeepOut, Self::RowLine, Self::Zone, Self::Control];

    /// The role that a word names, in either case, `_` or a space for `-` allowed.
    pub(super) fn from_word(word: &str) -> Option<Self> {
        let plain = word.trim().to_lowercase().replace(['_', ' '], "-");
        Self::ALL.into_iter().find(|role| role.word() == plain)
    }

    /// The word of the block file.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Block => "block",
            Self::KeepOut => "keep-out",
            Self::RowLine => "row-line",
            Self::Zone => "zone",
            Self::Control => "control",
        }
    }

    const fn keys(self) -> &'static [&'static str] {
        match self {
            Self::Block => &[],
            Self::KeepOut => &["role", "block", "name", "clearance", "turning"],
            Self::RowLine => &["role", "block", "name", "row", "vines", "skipped", "end_gap"],
            Self::Zone => &["role", "block", "name"],
            Self::Control => &["role", "block", "name", "order"],
        }
    }
}

/// A thing that lies on a block, with the name of the block if it names one.
#[derive(Debug, Clone)]
pub(super) enum Lying {
    KeepOut(KeepOut, Option<String>),
    RowLine(RowLine, Option<String>),
    Zone(GivenZone, Option<String>),
    Control(Control, Option<String>),
}

impl Lying {
    pub(super) fn block_named(&self) -> Option<&str> {
        match self {
            Self::KeepOut(_, name)
            | Self::RowLine(_, name)
            | Self::Zone(_, name)
            | Self::Control(_, name) => name.as_deref(),
        }
    }

    pub(super) const fn role(&self) -> Role {
        match self {
            Self::KeepOut(..) => Role::KeepOut,
            Self::RowLine(..) => Role::RowLine,
            Self::Zone(..) => Role::Zone,
            Self::Control(..) => Role::Control,
        }
    }

    pub(super) fn put_on(self, block: &mut Block) {
        match self {
            Self::KeepOut(keep_out, _) => block.keep_outs.push(keep_out),
            Self::RowLine(row_line, _) => block.row_lines.push(row_line),
            Self::Zone(zone, _) => block.zones.push(zone),
            Self::Control(control, _) => block.controls.push(control),
        }
    }
}

/// The thing that a feature with a role describes; what is wrong is in the findings.
pub(super) fn lying_of(
    feature: Feature,
    role: Role,
    findings: &mut Findings,
) -> Option<(Lying, Place)> {
    for name in feature.properties.keys() {
        if !role.keys().contains(&name.as_str()) {
            findings.push(unknown_key(name, role.keys(), &feature.place));
        }
    }
    let place = feature.place.clone();
    let block = property(&feature.properties, "block").map(|name| name.trim().to_owned());
    let lying = match role {
        Role::Block => None,
        Role::KeepOut => keep_out(feature, findings).map(|it| Lying::KeepOut(it, block)),
        Role::RowLine => row_line(&feature, findings).map(|it| Lying::RowLine(it, block)),
        Role::Zone => zone(feature, findings).map(|it| Lying::Zone(it, block)),
        Role::Control => control(&feature, findings).map(|it| Lying::Control(it, block)),
    };
    lying.map(|lying| (lying, place))
}

fn keep_out(feature: Feature, findings: &mut Findings) -> Option<KeepOut> {
    let clearance = length(&feature, "clearance", findings);
    let turning = property(&feature.properties, "turning");
    let turning = match turning.as_deref().map(yes_or_no) {
        None => Some(false),
        Some(Ok(turning)) => Some(turning),
        Some(Err(what)) => {
            findings.push(Finding::fault(feature.place.at_field("turning"), what));
            None
        }
    };
    let name = property(&feature.properties, "name");
    let shape = polygon_shape(feature.geometry, &feature.place, findings)?;
    Some(KeepOut { name, shape, clearance, turning: turning? })
}

fn row_line(feature: &Feature, findings: &mut Findings) -> Option<RowLine> {
    let row = whole(feature, "row", findings);
    let vines = whole(feature, "vines", findings);
    let end_gap = length(feature, "end_gap", findings);
    let skipped = places(feature, "skipped", findings);
    let line = line_of(feature).map_err(|finding| findings.push(finding)).ok()?;
    Some(RowLine { line, row, vines, skipped, end_gap, place: feature.place.clone() })
}

/// Numbers of places, written as rows are: `41-49,60`.
fn places(feature: &Feature, name: &str, findings: &mut Findings) -> BTreeSet<u32> {
    match property(&feature.properties, name).map(|text| text.parse::<RowSet>()) {
        None => BTreeSet::new(),
        Some(Ok(RowSet::Listed(places))) => places,
        Some(Ok(RowSet::Odd | RowSet::Even) | Err(_)) => {
            let what = "these are no places along a row";
            let mend = "write such as \"41-49,60\"";
            findings.push(Finding::fault(feature.place.at_field(name), what).mend(mend));
            BTreeSet::new()
        }
    }
}

fn line_of(feature: &Feature) -> Result<LineString<f64>, Finding> {
    let GeometryValue::LineString { coordinates: positions } = &feature.geometry else {
        let kind = feature.geometry.type_name();
        let what = format!("a {kind} where the line of a row is needed");
        return Err(Finding::fault(feature.place.clone(), what).mend("draw it as one line"));
    };
    let mut points = corners(positions);
    points.dedup();
    if points.len() < 2 {
        let what = "a line of fewer than two different points";
        return Err(Finding::fault(feature.place.clone(), what).mend("draw it from post to post"));
    }
    Ok(LineString::new(points))
}

fn zone(feature: Feature, findings: &mut Findings) -> Option<GivenZone> {
    let place = feature.place.clone();
    let name = property(&feature.properties, "name").filter(|name| !name.trim().is_empty());
    if name.is_none() {
        let mend = "give it the name by which you know it";
        findings.push(Finding::fault(place.at_field("name"), "a zone without a name").mend(mend));
    }
    let mut parts = polygon_shape(feature.geometry, &place, findings)?.0;
    if parts.len() > 1 {
        let what = format!("a zone of {} parts", parts.len());
        findings.push(Finding::fault(place, what).mend("draw each part as its own zone"));
        return None;
    }
    Some(GivenZone { name: name?, shape: parts.pop()?, place })
}

fn control(feature: &Feature, findings: &mut Findings) -> Option<Control> {
    let order = whole(feature, "order", findings);
    let name = property(&feature.properties, "name").filter(|name| !name.trim().is_empty());
    if name.is_none() {
        let what = "a control point without a name";
        findings.push(Finding::fault(feature.place.at_field("name"), what).mend("give it a name"));
    }
    let at = point_of(feature).map_err(|finding| findings.push(finding)).ok()?;
    Some(Control { name: name?, at, order })
}

/// The position of a point feature.
pub(super) fn point_of(feature: &Feature) -> Result<LonLat, Finding> {
    let GeometryValue::Point { coordinates } = &feature.geometry else {
        let what = format!("a {} where a point is needed", feature.geometry.type_name());
        return Err(Finding::fault(feature.place.clone(), what).mend("draw it as a point"));
    };
    let at = match coordinates.as_slice() {
        [lon, lat, ..] => LonLat::new(*lon, *lat),
        _ => None,
    };
    at.ok_or_else(|| {
        Finding::fault(feature.place.clone(), "a point without a position")
            .because("it has no longitude and latitude")
            .mend("draw it again, or delete it")
    })
}

/// A length property; what is wrong is in the findings, and stops the job.
fn length(feature: &Feature, key: &str, findings: &mut Findings) -> Option<Metres> {
    let text = property(&feature.properties, key)?;
    let place = feature.place.at_field(key);
    match text.parse::<Metres>() {
        Ok(length) if LENGTH_M.contains(&length.metres()) => return Some(length),
        Ok(length) => {
            let what = format!("{} m is outside 0 … 200 m", length.metres());
            findings.push(Finding::fault(place, what).mend("check the unit"));
        }
        Err(error) => findings.push(Finding::fault(place, error.what).mend(error.mend)),
    }
    None
}

/// A whole number from 1; what is wrong is in the findings, and stops the job.
fn whole(feature: &Feature, key: &str, findings: &mut Findings) -> Option<u32> {
    let text = property(&feature.properties, key)?;
    let plain = text.bytes().all(|b| b.is_ascii_digit());
    let number = text.parse::<u32>().ok().filter(|n| plain && (1..=1_000_000).contains(n));
    if number.is_none() {
        let what = format!("`{text}` is no whole number from 1 up");
        findings.push(Finding::fault(feature.place.at_field(key), what).mend("write digits only"));
    }
    number
}
