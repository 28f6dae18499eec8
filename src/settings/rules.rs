//! From the keys of a block to rules without gaps: defaults settled, limits held.

use std::{collections::BTreeMap, ops::RangeInclusive};

use super::{LayoutDefaults, Planting, PlantingRules, RowRules};
use crate::{
    block::{Block, North, PlantingKeys, RowAnchor, RowsTo, ShortestRow, VineOne, VinePattern},
    finding::{Finding, Findings, Place},
    units::Metres,
};

/// Limits of the row spacing, metres; outside only with `--allow-unusual`.
const ROW_SPACING_M: RangeInclusive<f64> = 0.5..=12.0;
/// Limits of the vine spacing, metres.
const VINE_SPACING_M: RangeInclusive<f64> = 0.2..=6.0;
/// Limits of every other length of a block, metres.
const OTHER_LENGTH_M: RangeInclusive<f64> = 0.0..=200.0;
/// Heights of ground on earth where vines might grow, metres above the ellipsoid.
const ELEVATION_M: RangeInclusive<f64> = -500.0..=6000.0;

/// What the rules need besides the block's own keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Circumstances {
    /// Defaults of keys that are settings.
    pub defaults: LayoutDefaults,
    /// The vines are there unless the block says otherwise; `None`: the block must say.
    pub standing: Option<bool>,
    /// Spacings outside the limits are let pass.
    pub allow_unusual: bool,
    /// The projected grid of `--crs`, for grid bearings.
    pub grid: Option<String>,
}

/// The rules of a block's rows.
///
/// # Errors
/// Every key that is missing or outside its limits.
pub fn row_rules(block: &Block, circumstances: &Circumstances) -> Result<RowRules, Findings> {
    let mut checker = Checker { block, circumstances, findings: Findings::none() };
    let rules = checker.rules();
    match rules {
        Some(rules) if !checker.findings.any_fault() => Ok(rules),
        _ => Err(checker.findings),
    }
}

struct Checker<'a> {
    block: &'a Block,
    circumstances: &'a Circumstances,
    findings: Findings,
}

impl Checker<'_> {
    fn rules(&mut self) -> Option<RowRules> {
        let keys = &self.block.keys;
        let standing = self.standing();
        let row_spacing = self.spacing("row_spacing", keys.row_spacing, &ROW_SPACING_M);
        let vine_spacing = self.spacing("vine_spacing", keys.vine_spacing, &VINE_SPACING_M);
        self.lengths_within_limits();
        self.bearing_is_given();
        self.ground_spacing_is_possible();
        let (standing, row_spacing, vine_spacing) = (standing?, row_spacing?, vine_spacing?);
        let defaults = &self.circumstances.defaults;
        let zero = Metres::new(0.0);
        let new = |length: Metres| if standing { zero } else { length };
        let half_vine = Metres::new(vine_spacing.metres() / 2.0);
        let vines_per_panel = keys.vines_per_panel.unwrap_or(defaults.vines_per_panel);
        Some(RowRules {
            standing,
            bearing: keys.row_bearing,
            north: keys.north.unwrap_or(North::True),
            date: keys.date,
            grid: self.circumstances.grid.clone(),
            row_spacing,
            vine_spacing,
            headland: keys.headland.unwrap_or_else(|| new(defaults.headland)),
            anchor_gap: keys.anchor_gap.unwrap_or(zero),
            side_margin: keys.side_margin.unwrap_or_else(|| new(row_spacing)),
            anchor: keys.row_anchor.unwrap_or(default_anchor(standing)),
            pattern: keys.vine_pattern.unwrap_or(VinePattern::RowEnd),
            end_gap: keys.end_gap.unwrap_or(half_vine),
            vines_per_panel,
            first_panel_vines: keys.first_panel_vines.unwrap_or(vines_per_panel),
            shortest_row: keys
                .shortest_row
                .unwrap_or(ShortestRow::Vines(defaults.shortest_row_vines)),
            shortest_gap: keys.shortest_gap.unwrap_or(zero),
            elevation: keys.elevation.unwrap_or(zero),
            ground_spacing: keys.ground_spacing.unwrap_or(false),
            rows_to: keys.rows_to.unwrap_or(RowsTo::Right),
            first_row: keys.first_row.unwrap_or(1),
            vine_1: keys.vine_1.unwrap_or(VineOne::Start),
            most_vines: defaults.most_vines,
        })
    }

    fn standing(&mut self) -> Option<bool> {
        let standing = self.block.keys.standing.or(self.circumstances.standing);
        if standing.is_none() {
            self.fault(
                "standing",
                "the block does not say whether its vines stand already",
                "a standing block has no headland inside its outline, a new one has",
                "add \"standing\": true to the block, or pass --standing true",
            );
        }
        standing
    }

    fn spacing(
        &mut self,
        key: &str,
        given: Option<Metres>,
        limits: &RangeInclusive<f64>,
    ) -> Option<Metres> {
        let Some(length) = given else {
            let mend = format!("add \"{key}\": \"2.5 m\" to the block, or pass --{}", dashed(key));
            self.fault(key, "missing", "rows cannot be laid out without it", &mend);
            return None;
        };
        self.within(key, length, limits);
        // Zero and negative spacings make no rows whatever is allowed.
        (length.metres() > 0.0).then_some(length)
    }

    fn lengths_within_limits(&mut self) {
        let keys = &self.block.keys;
        let lengths = [
            ("headland", keys.headland),
            ("anchor_gap", keys.anchor_gap),
            ("side_margin", keys.side_margin),
            ("end_gap", keys.end_gap),
            ("shortest_gap", keys.shortest_gap),
            ("outline_accuracy", keys.outline_origin.accuracy),
        ];
        for (key, length) in lengths {
            if let Some(length) = length {
                self.within(key, length, &OTHER_LENGTH_M);
            }
        }
        if let Some(elevation) = keys.elevation {
            self.within("elevation", elevation, &ELEVATION_M);
        }
        for (key, vines) in [
            ("vines_per_panel", keys.vines_per_panel),
            ("first_panel_vines", keys.first_panel_vines),
        ] {
            if vines == Some(0) {
                self.fault(key, "0 vines", "a panel holds at least one vine", "write 1 or more");
            }
        }
    }

    fn within(&mut self, key: &str, length: Metres, limits: &RangeInclusive<f64>) {
        let sound = length.metres() > 0.0 || *limits.start() <= 0.0;
        let usual = limits.contains(&length.metres());
        if usual || (self.circumstances.allow_unusual && sound && length.metres().is_finite()) {
            return;
        }
        let what =
            format!("{} m is outside {} … {} m", length.metres(), limits.start(), limits.end());
        self.fault(
            key,
            &what,
            "a number without a unit is metres",
            "check the unit, or pass --allow-unusual",
        );
    }

    fn bearing_is_given(&mut self) {
        let keys = &self.block.keys;
        if keys.row_bearing.is_none() && self.block.row_lines.is_empty() {
            self.fault(
                "row_bearing",
                "missing",
                "neither a bearing nor a row-line says which way the rows run",
                "add \"row_bearing\": 14.5 (degrees clockwise from true north), or draw a row-line",
            );
        }
        if keys.north == Some(North::Magnetic) && keys.date.is_none() {
            self.fault(
                "date",
                "missing with a magnetic bearing",
                "magnetic north moves from year to year",
                "add the \"date\" on which the compass was read, such as \"2026-05-01\"",
            );
        }
        if keys.north == Some(North::Grid) && self.circumstances.grid.is_none() {
            self.fault(
                "north",
                "a grid bearing without a grid",
                "grid north differs from grid to grid",
                "pass the grid with --crs EPSG:n",
            );
        }
    }

    /// Along the ground every row keeps its own measure: nothing that counts level along all rows
    /// goes with it.
    fn ground_spacing_is_possible(&mut self) {
        let keys = &self.block.keys;
        if keys.ground_spacing != Some(true) {
            return;
        }
        if matches!(keys.vine_pattern, Some(VinePattern::Square | VinePattern::Staggered)) {
            self.fault(
                "vine_pattern",
                "square and staggered do not go with ground_spacing",
                "rows over different slopes drift apart when each is measured along its own ground",
                "use \"vine_pattern\": \"row-end\", or leave ground_spacing out",
            );
        }
        if keys.row_anchor == Some(RowAnchor::MostVines) {
            self.fault(
                "row_anchor",
                "most-vines does not go with ground_spacing",
                "the offset with the most vines is sought by level distances",
                "use \"row_anchor\": \"edge\" or \"centre\", or leave ground_spacing out",
            );
        }
    }

    fn fault(&mut self, key: &str, what: &str, why: &str, mend: &str) {
        let place = Place { field: Some(key.to_owned()), ..self.block.place.clone() };
        self.findings.push(Finding::fault(place, what).because(why).mend(mend));
    }
}

const fn default_anchor(standing: bool) -> RowAnchor {
    if standing { RowAnchor::Centre } else { RowAnchor::Edge }
}

fn dashed(key: &str) -> String {
    key.replace('_', "-")
}

/// What grows on which rows of a block: its own keys, then `plantings`, then its list of rows.
pub fn planting_rules(block: &Block) -> PlantingRules {
    let mut rules = PlantingRules::default();
    let base = &block.keys.planting;
    rules.index_of(settled(base, base));
    for rows in &block.keys.plantings {
        let planting = rules.index_of(settled(&rows.planting, base));
        rules.otherwise.push((rows.rows.clone(), planting));
    }
    let mut by_row = BTreeMap::new();
    for listed in &block.row_list {
        if let Some(cultivar) = &listed.cultivar {
            let of_row = rules.plantings[rules.of_row(listed.row)].clone();
            let planting = Planting { cultivar: Some(cultivar.clone()), ..of_row };
            by_row.insert(listed.row, rules.index_of(planting));
        }
    }
    rules.by_row = by_row;
    rules
}

impl PlantingRules {
    fn index_of(&mut self, planting: Planting) -> usize {
        self.plantings.iter().position(|known| *known == planting).unwrap_or_else(|| {
            self.plantings.push(planting);
            self.plantings.len() - 1
        })
    }
}

/// The keys of some rows, filled up from the block's.
fn settled(keys: &PlantingKeys, base: &PlantingKeys) -> Planting {
    Planting {
        cultivar: keys.cultivar.clone().or_else(|| base.cultivar.clone()),
        vine_type: keys.vine_type.or(base.vine_type),
        training: keys.training.clone().or_else(|| base.training.clone()),
        curtains: keys.curtains.or(base.curtains).unwrap_or(1).max(1),
        planted: keys.planted.or(base.planted),
        target: keys.target.or(base.target),
    }
}

#[cfg(test)]
mod tests {
    use geo::MultiPolygon;

    use super::*;
    use crate::{
        block::{BlockKeys, PlantingRows, RowSet},
        settings::Settings,
    };

    fn block(keys: BlockKeys) -> Block {
        Block {
            name: "North".parse().unwrap(),
            outline: MultiPolygon::new(Vec::new()),
            keys,
            keep_outs: Vec::new(),
            row_lines: Vec::new(),
            zones: Vec::new(),
            controls: Vec::new(),
            row_list: Vec::new(),
            vines: Vec::new(),
            place: Place::file("blocks.geojson"),
        }
    }

    fn circumstances() -> Circumstances {
        let defaults = Settings::default().layout();
        Circumstances { defaults, standing: Some(false), allow_unusual: false, grid: None }
    }

    fn keys() -> BlockKeys {
        BlockKeys {
            row_bearing: Some(crate::units::Degrees::new(10.0)),
            row_spacing: Some(Metres::new(2.5)),
            vine_spacing: Some(Metres::new(1.2)),
            ..BlockKeys::default()
        }
    }

    #[test]
    fn defaults_follow_the_contract() {
        let rules = row_rules(&block(keys()), &circumstances()).unwrap();
        assert_eq!((rules.headland, rules.side_margin), (Metres::new(9.0), Metres::new(2.5)));
        assert_eq!((rules.end_gap, rules.anchor), (Metres::new(0.6), RowAnchor::Edge));
        let standing = BlockKeys { standing: Some(true), ..keys() };
        let rules = row_rules(&block(standing), &circumstances()).unwrap();
        assert_eq!((rules.headland, rules.side_margin), (Metres::new(0.0), Metres::new(0.0)));
        assert_eq!(rules.anchor, RowAnchor::Centre);
    }

    #[test]
    fn everything_wrong_is_told_at_once() {
        let wrong = BlockKeys {
            row_spacing: Some(Metres::new(250.0)),
            vine_spacing: None,
            north: Some(North::Magnetic),
            ..keys()
        };
        let findings = row_rules(&block(wrong), &circumstances()).unwrap_err();
        let fields: Vec<_> = findings.iter().filter_map(|f| f.place.field.clone()).collect();
        assert_eq!(fields, ["row_spacing", "vine_spacing", "date"]);
    }

    #[test]
    fn a_zero_spacing_is_refused_even_when_unusual_is_allowed() {
        let zero = BlockKeys { row_spacing: Some(Metres::new(0.0)), ..keys() };
        let allowed = Circumstances { allow_unusual: true, ..circumstances() };
        assert!(row_rules(&block(zero), &allowed).is_err());
    }

    #[test]
    fn plantings_that_are_the_same_are_one() {
        let rondo = PlantingKeys { cultivar: Some("Rondo".into()), ..PlantingKeys::default() };
        let odd = PlantingRows { rows: RowSet::Odd, planting: rondo };
        let again = PlantingRows { rows: RowSet::Listed([2].into()), ..odd.clone() };
        let rules = planting_rules(&block(BlockKeys { plantings: vec![odd, again], ..keys() }));
        assert_eq!(rules.all().len(), 2);
        assert_eq!([1, 2, 4].map(|row| rules.of_row(row)), [1, 1, 0]);
    }
}
